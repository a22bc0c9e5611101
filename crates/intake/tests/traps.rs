//! One small sample for each trap of real files, so that they bite without any collection.

mod common;

use common::{messages, read_all, read_texts};
use domain::product::{Placement, Product, Side, Status};
use intake::{InputFile, ReadOptions, Reading, read, read_product, write_product};

const LIST: &str = "Ref,Val,Package,PosX,PosY,Rot,Side\n\
    C1,100n,C_0603_1608Metric,10.0,10.0,0,top\n\
    C2,100n,C_0603_1608Metric,12.5,10.0,90,top\n\
    R1,10k,R_0603_1608Metric,15.0,20.0,-90,bottom\n\
    U1,LM358,SOIC-8_3.9x4.9mm_P1.27mm,30.0,25.0,360,top\n";

fn product(reading: &Reading) -> &Product {
    reading.product.as_ref().expect("a product")
}

fn placement<'a>(reading: &'a Reading, reference: &str) -> &'a Placement {
    product(reading).placements.iter().find(|p| p.reference == reference).unwrap_or_else(|| panic!("{reference} is missing"))
}

fn codes(reading: &Reading) -> Vec<&str> {
    reading.findings.iter().map(|f| f.code.as_str()).collect()
}

#[test]
fn a_plain_list() {
    let reading = read_texts(&[("board.csv", LIST)]);
    let product = product(&reading);
    assert_eq!((product.placements.len(), product.parts.len(), product.name.as_str()), (4, 3, "board"));
    assert_eq!(placement(&reading, "R1").rotation_mdeg.to_deg(), 270.0);
    assert_eq!(placement(&reading, "U1").rotation_mdeg.to_deg(), 0.0);
    assert_eq!(placement(&reading, "R1").side, Side::Bottom);
    assert_eq!(placement(&reading, "C1").origin, "board.csv:2");
    // 2.5 mm apart in the files, 2.5 mm apart on the board.
    assert_eq!(placement(&reading, "C2").at.x.0 - placement(&reading, "C1").at.x.0, 2_500);
}

#[test]
fn separators_and_encodings_give_the_same_product() {
    let base = read_texts(&[("board.csv", LIST)]);
    let wide: Vec<u8> = [0xff, 0xfe].into_iter().chain(LIST.replace(',', "\t").encode_utf16().flat_map(u16::to_le_bytes)).collect();
    let blanks = LIST.replace(',', "   ");
    for bytes in [
        LIST.replace(',', ";").into_bytes(),
        LIST.replace(',', "\t").into_bytes(),
        LIST.replace('\n', "\r\n").into_bytes(),
        wide,
        blanks.into_bytes(),
    ] {
        let reading = read_all(&[("board.csv".to_owned(), bytes)]);
        assert_eq!(product(&reading), product(&base));
    }
}

#[test]
fn decimal_commas_and_latin_letters() {
    let text = "Bauteil;Wert;Gehäuse;X [mm];Y [mm];Drehung;Seite\nC1;10µF;C0603;10,5;3,25;90,0;Oben\nC2;10µF;C0603;12,5;3,25;90,0;Unten\n";
    let latin: Vec<u8> = text.chars().map(|c| c as u8).collect();
    let reading = read_all(&[("liste.csv".to_owned(), latin)]);
    assert_eq!(placement(&reading, "C2").at.x.0 - placement(&reading, "C1").at.x.0, 2_000);
    assert_eq!(placement(&reading, "C2").side, Side::Bottom);
    assert_eq!(product(&reading).parts[0].value, "10µF");
}

#[test]
fn an_inch_mark_swallows_nothing() {
    let text = "Ref,Val,X(mm),Y(mm),Rot,Side\nJ1,\"0.1\" header\",1,1,0,top\nJ2,\"2\" jack,5,1,0,top\nC1,\"100n\",9,1,0,top\n";
    let reading = read_texts(&[("a.csv", text)]);
    assert_eq!(product(&reading).placements.len(), 3);
    assert!(codes(&reading).contains(&"read.broken-quote"));
}

#[test]
fn units_in_headings_prose_and_numbers() {
    for (text, code) in [
        ("Ref,X(mil),Y(mil)\nC1,1000,1000\nC2,2000,1000\n", "read.unit-stated"),
        ("Units used: mil\n\nRef,X,Y\nC1,1000,1000\nC2,2000,1000\n", "read.unit-stated"),
        ("Measurements are in inches\nRef,X,Y\nC1,1,1\nC2,2,1\n", "read.unit-stated"),
        ("UUNITS = MICRONS\nRef,X,Y\nC1,25400,25400\nC2,50800,25400\n", "read.unit-stated"),
        ("Ref,X,Y\nC1,25.4mm,25.4mm\nC2,50.8mm,25.4mm\n", "read.unit-stated"),
        ("Units: mm\nRef,X(mil),Y(mil)\nC1,1000,1000\nC2,2000,1000\n", "read.unit-contradiction"),
    ] {
        let reading = read_texts(&[("a.csv", text)]);
        assert_eq!(placement(&reading, "C2").at.x.0 - placement(&reading, "C1").at.x.0, 25_400, "{text}");
        assert!(codes(&reading).contains(&code), "{text}: {:?}", codes(&reading));
    }
}

#[test]
fn a_unit_that_nothing_states_is_inferred_with_its_evidence() {
    let rows: String = (0..40).map(|i| format!("C{i},{},{},0,top\n", 150 + i % 8 * 85, 200 + i / 8 * 70)).collect();
    let reading = read_texts(&[("a.csv", &format!("Ref,X,Y,Rot,Side\n{rows}"))]);
    let said = messages(&reading, "read.unit-inferred");
    assert!(said.contains("mil was inferred") && said.contains("neighbours lie 1.8 mm apart"), "{said}");
}

#[test]
fn a_list_without_headings_and_with_missing_values() {
    let text = "C1 168.91 15.56 180 10n/200V C1206\nC2 171.39 36.58 180 10n/200V C1206\nC3 3.50 12.00   0 C0603\nSH1 148.34 80.96 270  SHORT_NOHOLE\n";
    let reading = read_texts(&[("board.mnt", text), ("board.mnb", "FM1 15.00 92.50   0 FIDUCIAL_2 FIDUCIAL_DUAL\n")]);
    let product = product(&reading);
    assert_eq!((product.placements.len(), product.fiducials.len()), (5, 1));
    assert_eq!(product.fiducials[0].side, Side::Bottom);
    assert_eq!(placement(&reading, "SH1").status, Status::Ignored);
    assert!(codes(&reading).contains(&"read.no-header"));
}

#[test]
fn a_lone_m_is_the_bottom() {
    let text = "UUNITS = MICRONS\nR1 44340.0 32475.0 90 515-70\nR2 3190.0 3675.0 270 m 515-70\nR3 9190.0 3675.0 270 m 515-70\nR4 9990.0 9675.0 0 515-70\n";
    let reading = read_texts(&[("a.txt", text)]);
    assert_eq!((placement(&reading, "R1").side, placement(&reading, "R2").side), (Side::Top, Side::Bottom));
    assert_eq!(product(&reading).parts[0].package, "515-70");
}

#[test]
fn files_of_one_side_each_are_joined_and_a_negated_bottom_turned_back() {
    let top = "Ref,Val,Package,PosX,PosY,Rot\nC1,1n,C0402,5,5,0\nC2,1n,C0402,20,9,0\nC3,1n,C0402,45,5,0\n";
    let bottom = "Ref,Val,Package,PosX,PosY,Rot\nC4,1n,C0402,-6,5,0\nC5,1n,C0402,-22,8,0\nC6,1n,C0402,-44,5,0\n";
    let reading = read_texts(&[("b-top.csv", top), ("b-bottom.csv", bottom), ("readme.md", "# A board\n\nUnits are a matter of taste.\n")]);
    assert_eq!(product(&reading).placements.len(), 6);
    assert_eq!(placement(&reading, "C4").at.x.0 - placement(&reading, "C1").at.x.0, 1_000);
    for code in ["read.lists-joined", "read.mirrored", "read.side-from-file", "read.not-a-table"] {
        assert!(codes(&reading).contains(&code), "{code}");
    }
}

#[test]
fn all_ways_to_say_not_fitted() {
    let rows: String = (1..=12).map(|i| format!("C{i},1n,C0402,{},5,0,top\n", i * 3)).collect();
    let list = format!("Ref,Val,Package,X(mm),Y(mm),Rot,Side\n{rows}");
    let bom = "Reference,Quantity,Part Number,Place (YES/NO),Assembly Info,Comment\n\
        \"C1,C2\",2,ABC1,YES,,1n\nC3,0,ABC1,,,1n\nC4,1,DNP,,,1n\nC5,1,ABC1,NO,,1n\n\"C6,C7\",2,ABC1,,NF(C7),1n\n\
        C8,1,ABC1,,,1n DNM\nC9,1,ABC1,,do not populate,1n\n,,Not installed,,,\nC10,1,ABC1,,,1n\n,,Screws,,,\nC11,1,ABC1,,,1n\n";
    let reading = read_texts(&[("list.csv", &list), ("bom.csv", bom)]);
    let status = |r: &str| placement(&reading, r).status;
    for reference in ["C3", "C4", "C5", "C7", "C8", "C9", "C10"] {
        assert_eq!(status(reference), Status::NotFitted, "{reference}");
        assert!(!placement(&reading, reference).why.is_empty());
    }
    for reference in ["C1", "C2", "C6", "C11", "C12"] {
        assert_eq!(status(reference), Status::Fitted, "{reference}");
    }
    assert!(messages(&reading, "read.not-in-bom").contains("C12"));
}

#[test]
fn a_quantity_column_of_zeros_means_nothing() {
    let bom = "Reference,Quantity,Part Number\nC1,0,A\nC2,0,A\nR1,0,B\nU1,0,C\n";
    let reading = read_texts(&[("board.csv", LIST), ("bom.csv", bom)]);
    assert_eq!(product(&reading).count(Status::Fitted), 4);
}

#[test]
fn numbers_of_parts_join_by_the_bill_and_missing_rows_are_named() {
    let bom = "Designator,MPN,Qty\n\"C1-C2 (note 1)\",CL10B104,2\nR1,RC0603-10K,1\nU9,STM32,1\ntotal,,4\n";
    let reading = read_texts(&[("board.csv", LIST), ("bom.csv", bom)]);
    let numbers: Vec<&str> = product(&reading).parts.iter().map(|p| p.number.as_str()).collect();
    assert_eq!(numbers, ["CL10B104", "LM358 SOIC-8_3.9x4.9mm_P1.27mm", "RC0603-10K"]);
    assert!(messages(&reading, "read.only-in-bom").contains("U9"));
    assert!(messages(&reading, "read.not-in-bom").contains("U1"));
}

#[test]
fn library_names_do_not_merge_parts_of_different_value() {
    let list = "Designator,Comment,Footprint,X(mm),Y(mm),Rotation,Layer\nC1,Cap Semi,CAPC2012N,1,1,0,TopLayer\nC2,Cap Semi,CAPC2012N,4,1,0,TopLayer\n";
    let bom = "Comment,Designator,Footprint,Quantity,Value\n\nCap Semi,C1,CAPC2012N,1,10uF\nCap Semi,C2,CAPC2012N,1,4.7uF\n";
    let reading = read_texts(&[("list.csv", list), ("bom.csv", bom)]);
    assert_eq!(product(&reading).parts.len(), 2);
}

#[test]
fn contradictions_are_named() {
    let list = format!("{LIST}C2,100n,C_0805_2012Metric,40.0,30.0,0,top\nC7,100n,C_0603_1608Metric,30.0,25.0,0,top\n");
    let bom = "Reference,Value,MPN\n\"C1,C2,C7\",10n,X1\nR1,10k,X2\nU1,LM358,X3\n";
    let reading = read_texts(&[("board.csv", &list), ("bom.csv", bom)]);
    assert!(messages(&reading, "read.duplicate-reference").contains("C2"));
    assert!(messages(&reading, "read.same-place").contains("U1 C7"));
    assert!(messages(&reading, "read.package-differs").contains("X1"));
    assert!(messages(&reading, "read.value-differs").contains("C1"));
    assert_eq!(product(&reading).placements.len(), 6);
}

/// A chip 0.2 mm beside a can of 7.7 mm; another one 2 mm away; both sides apart.
#[test]
fn a_low_part_beside_a_tall_one_is_told() {
    let rows = "Ref,Val,Package,X (mm),Y (mm),Rot,Side\nE1,10u,CAPAE660X770N,10,10,0,top\nC1,100n,C_0603_1608Metric,14.3,10,0,top\nC2,100n,C_0603_1608Metric,18,10,0,top\nC3,100n,C_0603_1608Metric,14.3,10,0,bottom\n";
    let reading = read_texts(&[("list.csv", rows)]);
    let can = reading.product.as_ref().and_then(|p| p.parts.iter().find(|p| p.package.starts_with("CAPAE"))).expect("the can").clone();
    assert_eq!(can.height_um.value, units::Length(7_700));
    let told = messages(&reading, "read.tall-neighbour");
    assert!(told.ends_with("before these: C1 beside E1"), "{told}");
}

#[test]
fn a_panel_is_one_finding() {
    let rows: String = (0..4).flat_map(|k| (1..=10).map(move |i| format!("C{i},{},{}\n", i * 4 + k * 60, 5))).collect();
    let reading = read_texts(&[("p.csv", &format!("Units: mm\nRef,X,Y\n{rows}"))]);
    let told = messages(&reading, "read.panel");
    assert!(told.contains("4 times each: a panel of 4 x 1 boards at a pitch of 60 x 0 mm"), "{told}");
    assert!(!codes(&reading).contains(&"read.duplicate-reference"));
    assert_eq!(product(&reading).placements.len(), 40);
}

#[test]
fn unreadable_rows_are_kept_and_named() {
    let list = format!(
        "{LIST}C8,1n,C0402,abc,1,0,top\nC9,1n,C0402,NaN,1,0,top\nC10,1n,C0402,9e9,1,0,top\nC11,1n,C0402,3,1,north,top\n,1n,C0402,4,1,0,top\n"
    );
    let reading = read_texts(&[("board.csv", &list)]);
    assert_eq!(product(&reading).placements.len(), 9);
    assert_eq!(reading.findings.iter().filter(|f| f.code == "read.bad-coordinate").count(), 3);
    assert_eq!(placement(&reading, "C8").status, Status::Ignored);
    assert_eq!(placement(&reading, "C11").status, Status::Fitted);
    assert!(codes(&reading).contains(&"read.bad-rotation") && codes(&reading).contains(&"read.no-reference"));
}

#[test]
fn files_that_hold_nothing_are_said_to() {
    let noise: Vec<u8> = (0..4_000_u32).map(|i| (i.wrapping_mul(2_654_435_761) >> 13) as u8).collect();
    let files = [
        ("empty.csv", Vec::new()),
        ("picture.png", noise),
        ("book.xlsx", b"PK\x03\x04 cut short".to_vec()),
        ("x.xml", b"<?xml version=\"1.0\"?><a/>".to_vec()),
    ];
    let reading = read_all(&files.map(|(n, b)| (n.to_owned(), b)));
    for code in ["read.empty-file", "read.binary", "read.spreadsheet", "read.format-later", "read.no-placements"] {
        assert!(codes(&reading).contains(&code), "{code}");
    }
    assert_eq!(reading.files.len(), 4);
}

#[test]
fn a_huge_single_line_is_no_trouble() {
    let line = "C1,1,2,".repeat(1_500_000);
    let reading = read_texts(&[("line.csv", &line), ("board.csv", LIST)]);
    assert_eq!(product(&reading).placements.len(), 4);
}

#[test]
fn the_mapping_file_overrules() {
    let list = "A|B|C|D\nC1|1000|2000|x\nC2|2000|2000|x\nTP1|1500|2500|x\nU1|1500|2600|x\n";
    let mapping = "product = \"demo\"\n[board]\nwidth = \"60 mm\"\ndepth = \"80 mm\"\norigin_x = \"0 mm\"\norigin_y = \"0 mm\"\n\
        [[file]]\nname = \"*.lst\"\nunit = \"mil\"\nside = \"bottom\"\nmirrored = false\nseparator = \"bar\"\ncolumns = { reference = \"A\", x = \"B\", y = \"C\" }\n\
        [references]\nfitted = [\"TP*\"]\nnot_fitted = [\"C2\", \"Z9\"]\nignored = [\"U1\"]\n";
    let options = ReadOptions { mapping: Some(InputFile { name: "map.toml", bytes: mapping.as_bytes() }), ..ReadOptions::default() };
    let reading = read(&[InputFile { name: "a.lst", bytes: list.as_bytes() }], &options);
    let product = product(&reading);
    assert_eq!((product.name.as_str(), product.size_stated, product.width_um.to_mm()), ("demo", true, 60.0));
    assert_eq!(placement(&reading, "C1").at.x.0, 25_400);
    assert_eq!(placement(&reading, "C1").side, Side::Bottom);
    let status = |r: &str| placement(&reading, r).status;
    assert_eq!((status("TP1"), status("C2"), status("U1")), (Status::Fitted, Status::NotFitted, Status::Ignored));
    assert!(messages(&reading, "read.mapping-unused").contains("Z9"));
}

#[test]
fn the_printed_example_of_a_mapping_file_is_understood() {
    let text = include_bytes!("../../../docs/mapping-example.toml");
    let options = ReadOptions { mapping: Some(InputFile { name: "mapping-example.toml", bytes: text }), ..ReadOptions::default() };
    let reading = read(&[InputFile { name: "board.csv", bytes: LIST.as_bytes() }], &options);
    assert!(!codes(&reading).iter().any(|c| *c == "read.mapping-syntax" || *c == "read.mapping-key"), "{:?}", reading.findings);
}

#[test]
fn spreadsheets_of_several_sheets_and_stacked_headings() {
    let mut book = rust_xlsxwriter::Workbook::new();
    book.add_worksheet().set_name("notes").expect("name").write(0, 0, "made by hand").expect("cell");
    let sheet = book.add_worksheet();
    let rows = [
        ["Demo board", "", "", "", "", ""],
        ["Ref", "Center", "Center", "Rotation", "Board", "Value"],
        ["", "X (mm)", "Y (mm)", "", "Side", ""],
        ["C1", "1.5", "2.5", "0", "Top", "1n"],
        ["C2", "4.5", "2.5", "90", "Bottom", "1n"],
    ];
    for (r, row) in rows.iter().enumerate() {
        for (c, cell) in row.iter().enumerate() {
            sheet.write(r as u32, c as u16, *cell).expect("cell");
        }
    }
    let reading = read_all(&[("board.xlsx".to_owned(), book.save_to_buffer().expect("buffer"))]);
    assert_eq!(product(&reading).placements.len(), 2);
    assert_eq!(placement(&reading, "C2").side, Side::Bottom);
    assert_eq!(placement(&reading, "C2").at.x.0 - placement(&reading, "C1").at.x.0, 3_000);
}

#[test]
fn product_documents_are_checked() {
    let reading = read_texts(&[("board.csv", LIST)]);
    let text = write_product(product(&reading)).expect("text");
    let code = |text: &str| read_product("p.json", text).expect_err("refused")[0].code.clone();
    assert_eq!(code(&text[..text.len() / 2]), "read.product-syntax");
    assert_eq!(code(&text.replace("evenline-product/1", "evenline-product/9")), "read.product-schema");
    assert_eq!(code(&text.replace("\"part\": 0", "\"part\": 99")), "read.product-invalid");
    assert_eq!(code(&text.replace("\"reference\"", "\"referenc\"")), "read.product-syntax");
}
