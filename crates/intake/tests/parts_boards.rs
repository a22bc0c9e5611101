//! How much of real boards the grammar of package names covers.

use domain::part::Certainty;
use intake::package::Family;
use intake::package::{Kind, read};
use std::collections::BTreeMap;

/// Codes of house libraries, which hold no size by design.
const OPAQUE: &[&str] = &["PSA", "PSD", "PSQ", "PSZ", "PZZ", "PSP", "PCZ"];
/// What placement lists hold beside parts.
const NO_PART: &[&str] = &["FIDUCIAL", "SOLDER_CONNECTION", "PCB_STANDOFF", "MTGH", "PTH_", "TP30", "TP-"];

/// Pieces of names that name the family beyond doubt, for the table of confusions.
const FAMILIES: &[(&str, Family)] = &[
    ("RES", Family::Chip),
    ("CAPC", Family::Chip),
    ("CAPAE", Family::Can),
    ("SOIC", Family::TwoRows),
    ("SOT-23", Family::Transistor),
    ("SOD", Family::Moulded),
    ("D2PAK", Family::PowerTab),
    ("SON", Family::NoLead),
    ("PLCC28", Family::FourSides),
];

#[test]
fn nine_of_ten_placements_with_a_speaking_package_name_get_a_size() {
    let path = format!("{}/../../../shared/boards/package-names.csv", env!("CARGO_MANIFEST_DIR"));
    let Ok(text) = std::fs::read_to_string(path) else {
        println!("the list of package names is not beside this workspace; nothing was counted");
        return;
    };
    let (mut sized, mut guessed, mut unread, mut opaque) = (0, 0, BTreeMap::new(), 0);
    let mut confusions = Vec::new();
    for row in csv::Reader::from_reader(text.as_bytes()).records() {
        let row = row.expect("a row of the list");
        let (name, count) = (row.get(0).expect("name"), row.get(1).and_then(|n| n.parse::<u32>().ok()).expect("count"));
        let upper = name.to_ascii_uppercase();
        if NO_PART.iter().any(|n| upper.starts_with(n)) {
            continue;
        }
        if upper.contains("-BYZ") || OPAQUE.iter().any(|o| upper.starts_with(o)) {
            opaque += count;
            continue;
        }
        let body = read(name, Kind::Other);
        match &body {
            Some(body) if body.size >= Certainty::Likely => sized += count,
            Some(_) => guessed += count,
            None => *unread.entry(name.to_owned()).or_insert(0) += count,
        }
        if let (Some((piece, family)), Some(body)) = (FAMILIES.iter().find(|(piece, _)| upper.starts_with(piece)), &body)
            && body.family != *family
        {
            confusions.push(format!("{name}: read as {:?}, `{piece}` is {family:?}", body.family));
        }
    }
    let missing: u32 = unread.values().sum();
    let all = sized + guessed + missing;
    println!(
        "{sized} of {all} placements sized ({:.1} %), {guessed} by a typical size, {missing} not read; {opaque} have opaque codes",
        100.0 * f64::from(sized) / f64::from(all)
    );
    println!("not read: {unread:?}");
    assert!(confusions.is_empty(), "{confusions:#?}");
    assert!(sized * 100 >= all * 90, "{sized} of {all}");
}
