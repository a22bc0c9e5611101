//! No input makes the reader panic or lose a row: arbitrary bytes and damaged real-looking files.

mod common;
#[path = "../../domain/tests/common/kept.rs"]
mod kept;

use common::read_all;
use domain::product::Status;
use intake::{InputFile, ReadOptions, Reading, read};
use kept::{kept, kept_texts};
use proptest::collection::vec;
use proptest::prelude::*;

const SAMPLES: [&str; 5] = [
    "Ref,Val,Package,PosX,PosY,Rot,Side\nC1,\"100n\",C_0603,10.0,10.0,0,top\nR1,\"0.1\" x\",R_0603,15.0,-20.0,-90,bottom\nU1,,SOIC-8,3e1,25.0,360,top\n",
    "# Ref     Val    Package     PosX     PosY    Rot  Side\nC1        100n   C_0603      10.0     10.0    0.0  top\nC2        1 n F  C_0603      11.0     10.0    0.0  bottom\n## End\n",
    "C1 168.91 15.56 180 10n/200V C1206\nC2 171.39 36.58 180 m 10n C1206\nSH1 148.34 80.96 270  SHORT\n",
    "Reference;Qty;MPN;DNP\n\"C1,C2-C9\";9;ABC;\nR1;0;DNP;x\n\nNot fitted\nU1;1;X;\n",
    "[[file]]\nname = \"*.csv\"\nunit = \"mil\"\n[references]\nfitted = [\"C*\"]\n",
];

const DOCUMENT: &str = r#"<IPC-2581 revision="C"><Bom name="b"><BomItem OEMDesignNumberRef="N" quantity="1" category="ELECTRICAL"><RefDes name="R1" packageRef="P" populate="true"/><Characteristics><Textual textualCharacteristicName="Value" textualCharacteristicValue="1k"/></Characteristics></BomItem></Bom>
<Ecad><CadHeader units="INCH"/><CadData><Layer name="T" side="TOP"/><Step name="s"><Profile><Polygon><PolyBegin x="0" y="0"/><PolyStepCurve x="2" y="0" centerX="1" centerY="0" clockwise="true"/></Polygon></Profile>
<Package name="P" height="0.02"><Outline><Circle diameter="0.1"/></Outline><PickupPoint x="0.1" y="0"/><Pin number="1"><Location x="0" y="0"/></Pin></Package>
<Component refDes="R1" packageRef="P" part="N" layerRef="T" mountType="SMT"><Xform rotation="90" mirror="true"/><Location x="1" y="0.5"/></Component>
<LayerFeature><Set><Pad><Location x="1" y="0.5"/><PinRef componentRef="R1" pin="1"/></Pad></Set></LayerFeature></Step></CadData></Ecad></IPC-2581>"#;

const LAYER: &str = "%TF.FileFunction,Component,L1,Top*%\n%FSLAX46Y46*%%MOMM*%\n%TA.AperFunction,ComponentMain*%%ADD10C,0.3*%\n%TA.AperFunction,ComponentOutline,Body*%%ADD11C,0.1*%\n%TD*%D10*\n%TO.C,U1*%%TO.CRot,90*%%TO.CHgt,1*%\nX1000000Y2000000D03*\nD11*X0Y0D02*G02X2000000I1000000D01*\nG04 #@! TD.C*\nM02*\n";

fn sound(reading: &Reading) {
    for finding in &reading.findings {
        assert!(diag::codes::find(&finding.code).is_some(), "{} is not registered", finding.code);
        assert!(!finding.message.is_empty() && !finding.hint.is_empty());
    }
    let Some(product) = &reading.product else { return };
    let count = |s| product.count(s);
    assert_eq!(count(Status::Fitted) + count(Status::NotFitted) + count(Status::Ignored), product.placements.len());
    let text = intake::write_product(product).expect("text");
    assert_eq!(intake::read_product("p", &text).as_ref(), Ok(product));
}

fn workbook() -> Vec<u8> {
    let mut book = rust_xlsxwriter::Workbook::new();
    let sheet = book.add_worksheet();
    for (r, line) in SAMPLES[0].lines().enumerate() {
        for (c, cell) in line.split(',').enumerate() {
            sheet.write(r as u32, c as u16, cell).expect("cell");
        }
    }
    book.save_to_buffer().expect("buffer")
}

fn damaged(mut bytes: Vec<u8>, damage: &[(usize, u8, u8)]) -> Vec<u8> {
    for (place, byte, kind) in damage {
        if bytes.is_empty() {
            break;
        }
        let at = place % bytes.len();
        match kind % 4 {
            0 => bytes[at] = *byte,
            1 => bytes.insert(at, *byte),
            2 => drop(bytes.remove(at)),
            _ => bytes.truncate(at.max(1)),
        }
    }
    bytes
}

/// Mostly the characters that mean something in lists.
fn byte() -> impl Strategy<Value = u8> {
    prop_oneof![any::<u8>(), proptest::sample::select(b",;\t|\"'\n\r #.-+eE0123456789()*mM<>/&%=".to_vec())]
}

fn damage(most: usize) -> impl Strategy<Value = Vec<(usize, u8, u8)>> {
    vec((any::<usize>(), byte(), any::<u8>()), 0..most)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1_000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn arbitrary_bytes(bytes in vec(byte(), 0..600), name in "[a-z]{1,8}\\.(csv|txt|pos|xlsx|mnb)") {
        sound(&read_all(&[(name, bytes)]));
    }

    #[test]
    fn damaged_texts(first in 0..4_usize, second in 0..4_usize, a in damage(12), b in damage(12)) {
        let file = |i: usize, d: &[(usize, u8, u8)]| damaged(SAMPLES[i].as_bytes().to_vec(), d);
        sound(&read_all(&[("top.csv".to_owned(), file(first, &a)), ("bottom.csv".to_owned(), file(second, &b))]));
    }

    #[test]
    fn damaged_standard_formats(document in damage(12), layer in damage(12)) {
        let files = [
            ("a.xml".to_owned(), damaged(DOCUMENT.as_bytes().to_vec(), &document)),
            ("a-top.gbr".to_owned(), damaged(LAYER.as_bytes().to_vec(), &layer)),
        ];
        sound(&read_all(&files[..1]));
        sound(&read_all(&files[1..]));
        sound(&read_all(&files));
    }

    #[test]
    fn damaged_mapping_files(d in damage(8)) {
        let map = damaged(SAMPLES[4].as_bytes().to_vec(), &d);
        let options = ReadOptions { mapping: Some(InputFile { name: "map.toml", bytes: &map }), ..ReadOptions::default() };
        sound(&read(&[InputFile { name: "a.csv", bytes: SAMPLES[0].as_bytes() }], &options));
    }

    #[test]
    fn damaged_documents(d in damage(4)) {
        let reading = read_all(&[("a.csv".to_owned(), SAMPLES[0].as_bytes().to_vec())]);
        let text = intake::write_product(reading.product.as_ref().expect("product")).expect("text");
        let bytes = damaged(text.into_bytes(), &d);
        if let Err(findings) = intake::read_product("p", &String::from_utf8_lossy(&bytes)) {
            prop_assert!(!findings.is_empty());
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn damaged_workbooks(d in damage(6)) {
        sound(&read_all(&[("a.xlsx".to_owned(), damaged(workbook(), &d))]));
    }
}

#[test]
fn kept_inputs_of_fuzzing_are_read() {
    let mut seen = 0;
    for data in kept("document").iter().chain(&kept("read")) {
        sound(&read(&[InputFile { name: "board", bytes: data }], &ReadOptions::default()));
        seen += 1;
    }
    for data in kept("parts_table") {
        let (part, _) = intake::parts::part("R-10K", "10k", "RESC1005X40N", &["R1"]);
        intake::parts_table::apply(&mut [part], &InputFile { name: "parts.csv", bytes: &data });
        seen += 1;
    }
    for data in kept("library") {
        let Ok(library) = domain::library::Library::parse("parts.json", &String::from_utf8_lossy(&data)) else { continue };
        let (part, _) = intake::parts::part("R-10K", "10k", "RESC1005X40N", &["R1"]);
        intake::library::apply(&mut [part], &library, "parts.json");
        seen += 1;
    }
    for data in kept("mapping") {
        let mapping = Some(InputFile { name: "mapping.toml", bytes: &data });
        sound(&read(
            &[InputFile { name: "board-top.csv", bytes: SAMPLES[0].as_bytes() }],
            &ReadOptions { mapping, ..ReadOptions::default() },
        ));
        seen += 1;
    }
    for text in kept_texts("read_product") {
        match intake::read_product("p", &text) {
            Ok(product) => {
                let written = intake::write_product(&product).expect("text");
                assert_eq!(intake::read_product("p", &written).as_ref(), Ok(&product));
            }
            Err(findings) => assert!(!findings.is_empty()),
        }
        seen += 1;
    }
    assert!(seen > 300, "{seen}");
}
