//! IPC-2581 documents and Gerber layers: small ones of our own for each trap, real ones against what stands in them.
//!
//! The traps are those of the standard's text and schemas (revisions A to C) and of the Gerber layer format specification,
//! clauses 5.6 and 6.9; the figures of the small boards are worked out by hand beside them.

mod common;

use common::{folder, messages, read_all, read_texts};
use domain::part::{Certainty, Mount, Source};
use domain::product::{Product, Side, Status};
use intake::Reading;
use std::collections::BTreeSet;
use units::{Length, Point};

/// A document of a small board in inches: a chip whose origin is its first pin, on both sides.
///
/// The package reaches from x = -0.01 to 0.05, its pick-up point is (0.02, 0). Pin 1 is at (0, 0), pin 2 at (0.04, 0).
fn document(bottom_pads: &str, tail: &str) -> String {
    format!(
        r#"<?xml version="1.0" encoding="UTF-8"?>
<IPC-2581 revision="B" xmlns="http://webstds.ipc.org/2581">
  <Bom name="b"><BomHeader assembly="gauge" revision="1"/>
    <BomItem OEMDesignNumberRef="RG-100" quantity="2" category="ELECTRICAL">
      <RefDes name="R1" packageRef="CH" populate="true" layerRef="TOP"/>
      <RefDes name="R2" packageRef="CH" populate="true" layerRef="BOT"/>
      <Characteristics category="ELECTRICAL"><Textual textualCharacteristicName="Value" textualCharacteristicValue="4k7 &amp; more"/></Characteristics>
    </BomItem>
    <BomItem OEMDesignNumberRef="RG-200" quantity="1" category="ELECTRICAL"><RefDes name="R3" populate="false" layerRef="TOP"/></BomItem>
  </Bom>
  <Ecad name="d"><CadHeader units="INCH"/><CadData>
    <Layer name="TOP" side="TOP" layerFunction="CONDUCTOR"/><Layer name="BOT" side="BOTTOM" layerFunction="CONDUCTOR"/>
    <Layer name="IN1" side="INTERNAL" layerFunction="CONDUCTOR"/>
    <Step name="panel"><StepRepeat stepRef="board" x="0" y="0" nx="2" ny="3" dx="2.5" dy="1.5" angle="0" mirror="false"/></Step>
    <Step name="board">
      <Profile><Polygon><PolyBegin x="-0.5" y="0"/><PolyStepSegment x="1.5" y="0"/><PolyStepSegment x="1.5" y="1"/><PolyStepSegment x="-0.5" y="1"/></Polygon>
        <Cutout><PolyBegin x="-9" y="-9"/></Cutout></Profile>
      <Package name="CH" type="OTHER" pinOne="1" height="0.02">
        <Outline><Polygon><PolyBegin x="-0.01" y="-0.01"/><PolyStepSegment x="0.05" y="-0.01"/><PolyStepSegment x="0.05" y="0.01"/></Polygon></Outline>
        <PickupPoint x="0.02" y="0"/>
        <Pin number="1" type="SURFACE"><Location x="0" y="0"/></Pin><Pin number="2" type="SURFACE"><Location x="0.04" y="0"/></Pin>
      </Package>
      <Component refDes="R1" packageRef="CH" part="RG-100" layerRef="TOP" mountType="SMT"><Xform rotation="90"/><Location x="0.5" y="0.5"/></Component>
      <Component refDes="R2" packageRef="CH" part="RG-100" layerRef="BOT" mountType="SMT"><Xform rotation="90" mirror="true"/><Location x="1" y="0.5"/></Component>
      <Component refDes="R3" packageRef="CH" part="RG-200" layerRef="TOP" mountType="THMT"><Location x="0" y="0.25"/></Component>
      <LayerFeature layerRef="BOT"><Set>{bottom_pads}</Set></LayerFeature>
    </Step>
  </CadData></Ecad>{tail}"#
    )
}

fn pad(pin: u32, x: f64, y: f64) -> String {
    format!(r#"<Pad><Location x="{x}" y="{y}"/><PinRef componentRef="R2" pin="{pin}"/></Pad>"#)
}

fn read_document(text: &str) -> (Product, Reading) {
    let mut reading = read_texts(&[("gauge.xml", text)]);
    (reading.product.take().expect("a product"), reading)
}

fn at(product: &Product, reference: &str) -> Point {
    product.placements.iter().find(|p| p.reference == reference).expect("the placement").at
}

const END: &str = "</IPC-2581>";

#[test]
fn places_are_those_of_the_pick_up_point_in_the_frame_of_the_outline() {
    let (product, reading) = read_document(&document("", END));
    // The outline begins at (-0.5, 0) and is 2 x 1 inches.
    assert_eq!((product.width_um, product.depth_um, product.size_stated), (Length(50_800), Length(25_400), true));
    // (0.5, 0.5) and 0.02 up, as it is turned by 90°.
    assert_eq!(at(&product, "R1"), Point::from_um(25_400, 13_208));
    // (0, 0.25) and 0.02 to the right.
    assert_eq!(at(&product, "R3"), Point::from_um(13_208, 6_350));
    assert!(messages(&reading, "read.pick-point").contains("R1 R2 R3"));
    let statuses: Vec<Status> = product.placements.iter().map(|p| p.status).collect();
    assert_eq!(statuses, [Status::Fitted, Status::Fitted, Status::NotFitted]);
    assert_eq!(product.placements[1].side, Side::Bottom);
    let part = product.parts.iter().find(|p| p.number == "RG-100").expect("the part");
    assert_eq!(part.value, "4k7 & more");
    assert_eq!((part.body_x_um.value, part.body_y_um.value), (Length(1_524), Length(508)));
    assert_eq!((part.body_x_um.source, part.body_x_um.certainty), (Source::File, Certainty::Likely));
    assert_eq!((part.height_um.value, part.mount.value), (Length(508), Mount::Smt));
    assert!(messages(&reading, "read.panel-stated").contains("2 x 3 at a pitch of 63.5 x 38.1 mm"));
    assert_eq!(messages(&reading, "read.mirrored"), "", "the document is seen from the top");
}

#[test]
fn pads_tell_how_a_mirrored_part_is_turned() {
    // Pin 2 lies at (0.04, 0). Turned by 90°, then mirrored it stands 0.04 above pin 1; mirrored, then turned 0.04 below.
    let doubt = read_document(&document("", END));
    assert!(messages(&doubt.1, "read.bottom-turn-doubt").contains("1 mirrored parts"));
    let (product, reading) = read_document(&document(&(pad(1, 1.0, 0.5) + &pad(2, 1.0, 0.54)), END));
    assert!(messages(&reading, "read.bottom-turn").contains("turned, then mirrored: 1 of 1 pins"));
    assert_eq!(at(&product, "R2"), Point::from_um(38_100, 13_208));
    let (product, reading) = read_document(&document(&(pad(1, 1.0, 0.5) + &pad(2, 1.0, 0.46)), END));
    assert!(messages(&reading, "read.bottom-turn").contains("mirrored, then turned as seen from the top: 1 of 1 pins"));
    assert_eq!(at(&product, "R2"), Point::from_um(38_100, 12_192));
    // Pin 1 lies at the package's origin, 0.02 inch left of the pick-up point.
    let pins: Vec<Option<Point>> = product.parts.iter().map(|p| p.handling.pin_one.value).collect();
    assert!(pins.contains(&Some(Point::from_um(-508, 0))), "{pins:?}");
}

#[test]
fn a_document_cut_short_keeps_what_stands_before() {
    let whole = document("", END);
    let cut = whole.find(r#"<Component refDes="R3""#).expect("the third component");
    let (product, reading) = read_document(&whole[..cut + 20]);
    assert_eq!(product.placements.len(), 2);
    let broken = reading.findings.iter().find(|f| f.code == "read.xml-broken").expect("a finding");
    assert_eq!(broken.line as usize, whole[..cut].lines().count(), "{broken:?}");
}

#[test]
fn an_inner_layer_takes_the_side_of_the_mirror_flag_and_alternates_are_told() {
    let avl = r#"<Avl name="a"><AvlItem OEMDesignNumber="RG-100"><AvlVmpn><AvlMpn name="WX-2" rank="2"/></AvlVmpn><AvlVmpn><AvlMpn name="WX-1" rank="1" moistureSensitivity="168_HOURS"/></AvlVmpn></AvlItem></Avl></IPC-2581>"#;
    let text = document("", avl).replace(r#"part="RG-100" layerRef="BOT""#, r#"part="RG-100" layerRef="IN1""#);
    let (product, reading) = read_document(&text);
    assert_eq!(product.placements[1].side, Side::Bottom);
    assert!(messages(&reading, "read.side-unknown").contains("`IN1`"));
    assert!(messages(&reading, "read.alternates").contains("RG-100: WX-1, WX-2"));
    let alternates = |number: &str| &product.parts.iter().find(|p| p.number == number).expect("the part").handling.alternates.value;
    assert_eq!(alternates("RG-100"), &["WX-1", "WX-2"]);
    let part = product.parts.iter().find(|p| p.number == "RG-100").expect("the part");
    assert_eq!(part.handling.moisture.value, Some(domain::part::Moisture::Three));
}

#[test]
fn other_xml_and_empty_documents_are_named() {
    let reading = read_texts(&[("a.xml", "<?xml version=\"1.0\"?>\n<svg/>"), ("b.xml", "<IPC-2581 revision=\"C\"></IPC-2581>")]);
    assert!(reading.product.is_none());
    let codes: Vec<&str> = reading.findings.iter().map(|f| f.code.as_str()).collect();
    assert_eq!(codes, ["read.format-later", "read.not-a-table", "read.no-placements"]);
}

const LAYER: &str = "%TF.FileFunction,Component,L4,Bot*%\n%FSLAX46Y46*%\n%MOMM*%\n%TA.AperFunction,ComponentMain*%\n%ADD10C,0.3*%\n\
%TA.AperFunction,ComponentOutline,Body*%\n%ADD11C,0.1*%\n%TA.AperFunction,ComponentPin*%\n%ADD12C,0.1*%\n%TD*%\n\
D10*\n%TO.C,U1*%\n%TO.CFtp,Odd\\u002CThing*%\n%TO.CVal,53µH*%\n%TO.CMnt,SMD*%\n%TO.CHgt,2.5*%\n%TO.CRot,90*%\nX10000000Y20000000D03*\n\
D11*\nX9000000Y17000000D02*\nX11000000D01*\nY23000000D01*\nX9000000D01*\nY17000000D01*\nD12*\n%TO.P,U1,1*%\nX9500000Y20200000D03*\n%TD*%\n\
D10*\nG04 #@! TO.C,FID1*\nG04 #@! TO.CMnt,Fiducial*\nY-1500000D03*\nM02*\n";

#[test]
fn a_component_is_a_flash_with_the_attributes_in_force() {
    let mut reading = read_texts(&[("gauge-bottom.gbr", LAYER)]);
    let product = reading.product.take().expect("a product");
    assert_eq!(product.placements.len(), 2, "pins and outlines begin none");
    let u1 = &product.placements[0];
    assert_eq!((u1.reference.as_str(), u1.side, u1.rotation_mdeg.to_deg()), ("U1", Side::Bottom, 90.0));
    assert_eq!(product.fiducials.len(), 1);
    // The second flash names no X: it stays that of the last operation, 9.5 mm.
    assert_eq!(u1.at - product.fiducials[0].at, Point::from_um(500, 21_500));
    let part = &product.parts[0];
    assert_eq!((part.package.as_str(), part.value.as_str()), ("Odd,Thing", "53µH"));
    // As seen from the bottom with the part turned back: 0.2 left of its middle, 0.5 above.
    assert_eq!(part.handling.pin_one.value, Some(Point::from_um(-200, 500)));
    // 2 x 6 mm as it lies, turned back by 90°.
    assert_eq!((part.body_x_um.value, part.body_y_um.value, part.height_um.value), (Length(6_000), Length(2_000), Length(2_500)));
}

/// A package looks the same from its own top wherever it lies: on either side, turned by any angle. And at zero rotation pin one of
/// gull-wing packages lies at the upper left (IPC-7351B, orientation A; from memory).
#[test]
fn pin_one_of_real_layers_is_that_of_the_package() {
    if let Some(files) = folder("x3-librepcb-sample") {
        let product = read_all(&files).product.expect("a product");
        let pins: Vec<_> = product.parts.iter().filter(|p| p.package == "Demo Package").map(|p| p.handling.pin_one.value).collect();
        let sides: BTreeSet<_> = product.placements.iter().filter(|p| p.part.is_some()).map(|p| p.side).collect();
        assert!(pins.len() == 2 && sides.len() == 2 && pins[0].is_some() && pins[0] == pins[1], "{pins:?} on {sides:?}");
    }
    if let Some(files) = folder("x3-mppt-2420-hc") {
        let product = read_all(&files).product.expect("a product");
        let pin = |p: &domain::part::Part| p.handling.pin_one.value;
        let of = |package: &str| -> Vec<_> { product.parts.iter().filter(|p| p.package.starts_with(package)).map(pin).collect() };
        assert!(of("SOIC-8").len() == 3 && of("SOIC-8").iter().all(|p| *p == Some(Point::from_um(-2_700, 1_905))), "{:?}", of("SOIC-8"));
        let chips = of("R_0603_1608");
        assert!(chips.len() > 5 && chips.iter().all(|p| *p == Some(Point::from_um(-800, 0))), "{chips:?}");
        assert!(of("LQFP-48").iter().flatten().all(|p| p.x < Length(0) && p.y > Length(0)));
    }
}

#[test]
fn the_profile_gives_the_board() {
    let profile = "%TF.FileFunction,Profile,NP*%\n%FSLAX35Y35*%\n%MOIN*%\n%ADD10C,0.01*%\nD10*\nG01*\nX0Y0D02*\nX200000D01*\nG75*\nG03*\nX200000Y100000J50000D01*\nG01*\nX0D01*\nY0D01*\nM02*\n";
    let mut reading = read_texts(&[("gauge-bottom.gbr", LAYER), ("gauge-edge.gbr", profile)]);
    let product = reading.product.take().expect("a product");
    // Two inches, and half an inch of arc beyond; one inch deep.
    assert_eq!((product.width_um, product.depth_um), (Length(63_500), Length(25_400)));
    assert_eq!(product.placements[0].at, Point::from_um(10_000, 20_000));
    assert_eq!(reading.files[1].role, "outline of the board");
}

#[test]
fn an_outline_with_another_origin_is_not_used() {
    let profile = "%TF.FileFunction,Profile,NP*%\n%FSLAX35Y35*%\n%MOMM*%\n%ADD10C,0.01*%\nD10*\nX10000000Y10000000D02*\nX15000000D01*\nY14000000D01*\nX10000000D01*\nY10000000D01*\nM02*\n";
    let list = "Ref,Val,Package,X (mm),Y (mm),Rot,Side\nC1,1u,C_0603_1608Metric,5,5,0,top\nC2,1u,C_0603_1608Metric,45,30,0,top\n";
    let mut reading = read_texts(&[("list.csv", list), ("edge.gbr", profile)]);
    let product = reading.product.take().expect("a product");
    assert!(messages(&reading, "read.outline-elsewhere").contains("50 mm x 40 mm holds 0 of 2 placements"), "{:?}", reading.findings);
    assert!(!product.size_stated && product.width_um < Length(50_000));
}

/// Sizes by the name against the drawings inside the real documents: a name must never make a body certain that does not
/// fit into its drawing (leads and courtyard make the drawing larger).
#[test]
fn no_size_stated_as_certain_contradicts_the_drawing_in_the_file() {
    for board in ["ipc2581-dm0002", "ipc2581-testcase3", "ipc2581-testcase6"] {
        let Some(files) = folder(board) else { continue };
        let reading = read_all(&files);
        let product = reading.product.as_ref().expect("a product");
        assert_eq!(messages(&reading, "parts.size-differs"), "", "{board}");
        let placed: Vec<_> = product.placements.iter().filter_map(|p| Some((p, &product.parts[p.part?.index()]))).collect();
        let known = placed.iter().filter(|(_, part)| part.body_x_um.certainty > Certainty::Guess).count();
        println!("{board}: the size of {known} of {} placements is known", placed.len());
        assert!(known * 10 >= placed.len() * 9, "{board}: {known} of {}", placed.len());
    }
}
