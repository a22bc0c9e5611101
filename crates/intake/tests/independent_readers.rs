//! What we read of standard formats against general-purpose readers from the registry, on real files: `gerber_parser` for
//! Gerber layers, `roxmltree` (a tree of the whole document, where ours is one pass) for IPC-2581.

mod common;

use common::{folder, read_all};
use gerber_types::{Command, ComponentCharacteristics, DCode, ExtendedCode, FunctionCode, ObjectAttribute, Operation};
use std::collections::BTreeMap;
use std::io::BufReader;

/// Place [mm] and rotation of each component.
type Places = BTreeMap<String, (f64, f64, f64)>;

/// Flashes of aperture 10, which is the one with the function `ComponentMain` in files of the writer of these.
fn flashes(bytes: &[u8]) -> Places {
    let document = gerber_parser::parse(BufReader::new(bytes)).expect("a layer");
    let mut found = Places::new();
    let (mut reference, mut rotation, mut aperture, mut at) = (String::new(), 0.0, 0, (0.0, 0.0));
    for command in document.commands.into_iter().flatten() {
        match command {
            Command::ExtendedCode(ExtendedCode::ObjectAttribute(ObjectAttribute::Component(name))) => reference = name,
            Command::ExtendedCode(ExtendedCode::ObjectAttribute(ObjectAttribute::ComponentCharacteristics(
                ComponentCharacteristics::Rotation(degrees),
            ))) => rotation = degrees,
            Command::FunctionCode(FunctionCode::DCode(DCode::SelectAperture(code))) => aperture = code,
            Command::FunctionCode(FunctionCode::DCode(DCode::Operation(operation))) => {
                let (to, is_flash) = match operation {
                    Operation::Flash(to) => (to, true),
                    Operation::Move(to) | Operation::Interpolate(to, _) => (to, false),
                };
                if let Some(to) = to {
                    at = (to.x.map_or(at.0, f64::from), to.y.map_or(at.1, f64::from));
                }
                if is_flash && aperture == 10 {
                    found.insert(reference.clone(), (at.0, at.1, rotation));
                }
            }
            _ => {}
        }
    }
    found
}

/// Components of an IPC-2581 document whose package is picked up at its origin [mm].
fn components(text: &str) -> Places {
    let document = roxmltree::Document::parse(text).expect("XML");
    let unit = document.descendants().find(|n| n.tag_name().name() == "CadHeader").and_then(|n| n.attribute("units"));
    let mm = if unit == Some("INCH") { 25.4 } else { 1.0 };
    let child = |n: roxmltree::Node<'_, '_>, name: &str, attribute: &str| -> Option<f64> {
        n.children().find(|c| c.tag_name().name() == name)?.attribute(attribute)?.parse().ok()
    };
    let packages = document.descendants().filter(|n| n.tag_name().name() == "Package");
    let at_origin: Vec<&str> = packages
        .filter(|p| child(*p, "PickupPoint", "x") == Some(0.0) && child(*p, "PickupPoint", "y") == Some(0.0))
        .filter_map(|p| p.attribute("name"))
        .collect();
    let components = document.descendants().filter(|n| n.tag_name().name() == "Component");
    let of = |c: roxmltree::Node<'_, '_>| {
        at_origin.contains(&c.attribute("packageRef")?).then_some(())?;
        let place = (child(c, "Location", "x")? * mm, child(c, "Location", "y")? * mm, child(c, "Xform", "rotation").unwrap_or(0.0));
        Some((c.attribute("refDes")?.to_owned(), place))
    };
    components.filter_map(of).collect()
}

/// Our places agree with theirs to a micrometre and a millidegree, but for one origin for all.
fn agree(board: &str, theirs: &Places) {
    let product = read_all(&folder(board).expect("the board")).product.expect("a product");
    let ours: Places =
        product.placements.iter().map(|p| (p.reference.clone(), (p.at.x.to_mm(), p.at.y.to_mm(), p.rotation_mdeg.to_deg()))).collect();
    let (name, first) = theirs.iter().next().expect("a component");
    let origin = (ours[name].0 - first.0, ours[name].1 - first.1);
    for (reference, (x, y, degrees)) in theirs {
        let mine = ours.get(reference).unwrap_or_else(|| panic!("{board}: no {reference}"));
        let off = (mine.0 - x - origin.0).hypot(mine.1 - y - origin.1);
        let turned = (mine.2 - degrees).rem_euclid(360.0);
        assert!(off < 0.002 && turned.min(360.0 - turned) < 0.002, "{board} {reference}: {mine:?}, they read {:?}", (x, y, degrees));
    }
    println!("{board}: {} places agree", theirs.len());
}

#[test]
fn gerber_layers() {
    let Some(files) = folder("x3-mppt-2420-hc") else { return };
    let layers = files.iter().filter(|(name, _)| name.ends_with(".gbr"));
    let theirs: Places = layers.flat_map(|(_, bytes)| flashes(bytes)).collect();
    assert_eq!(theirs.len(), 141, "as the board's own notes say");
    agree("x3-mppt-2420-hc", &theirs);
}

#[test]
fn ipc_2581_documents() {
    for (board, at_least) in [("ipc2581-dm0002", 59), ("ipc2581-testcase3", 30), ("ipc2581-testcase6", 20)] {
        let Some(files) = folder(board) else { continue };
        let assembly = files.iter().find(|(name, bytes)| name.ends_with(".xml") && bytes.windows(10).any(|w| w == b"<Component"));
        let theirs = components(std::str::from_utf8(&assembly.expect("an assembly file").1).expect("UTF-8"));
        assert!(theirs.len() >= at_least, "{board}: only {} components to compare", theirs.len());
        agree(board, &theirs);
    }
}
