//! No text breaks the reader, and every size lies in what a machine may meet.

use domain::part::Part;
use intake::package::{Kind, read};
use intake::parts::part;
use intake::{InputFile, parts_table};
use proptest::prelude::*;

fn sizes_are_sane(part: &Part) -> bool {
    let body = |um: i64| (100..=400_000).contains(&um);
    body(part.body_x_um.value.0)
        && body(part.body_y_um.value.0)
        && (50..=400_000).contains(&part.height_um.value.0)
        && (1..=100).contains(&part.speed.value.0)
        && (25..=100).contains(&part.accuracy_um.value.0)
        && part.tray_pockets.value >= 1
        && part.tray_height_um.value.0 > 0
        && part.tape_pitch_um.value.0 > 0
}

/// Texts made of the pieces that package names are made of.
fn name_like() -> impl Strategy<Value = String> {
    let piece = prop::sample::select(vec![
        "C", "R", "QFN", "SOIC", "BGA", "SOT", "0402", "1005", "Metric", "_", "-", "x", "X", "3.5", "0D5", "mm", "MM", "P", "127P600X",
        "1X", "H", "EIA-", "CAPC", "CAPAE", "Layout", "SQX", "99999999", "D", "LS", "é", "µ", "[", ":", ".", "TO-252", "CR", "2032", "HDR",
        "SMA", "0", "7",
    ]);
    prop::collection::vec(piece, 0..12).prop_map(|pieces| pieces.concat())
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_text_gives_a_sane_part(number in ".{0,40}", value in ".{0,40}", package in ".{0,60}", reference in ".{0,6}") {
        let (part, _) = part(&number, &value, &package, &[&reference]);
        prop_assert!(sizes_are_sane(&part), "{part:?}");
    }

    #[test]
    fn anything_like_a_name_gives_a_sane_part(package in name_like(), number in name_like(), reference in "[A-Z]{1,3}[0-9]{0,3}") {
        let (part, _) = part(&number, &package, &package, &[&reference]);
        prop_assert!(sizes_are_sane(&part), "{part:?}");
    }

    #[test]
    fn reading_is_the_same_every_time(package in name_like()) {
        prop_assert_eq!(read(&package, Kind::Other), read(&package, Kind::Other));
    }

    #[test]
    fn any_bytes_as_table_leave_the_parts_sane(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        let (one, _) = part("A", "1k", "R_0402_1005Metric", &["R1"]);
        let mut parts = vec![one];
        parts_table::apply(&mut parts, &InputFile { name: "t.csv", bytes: &bytes });
        prop_assert!(sizes_are_sane(&parts[0]));
    }

    #[test]
    fn a_table_read_back_unedited_changes_nothing(names in prop::collection::vec((name_like(), ".{0,12}", "[A-Z]{1,2}[0-9]"), 1..6)) {
        let mut parts: Vec<Part> = names.iter().enumerate()
            .map(|(i, (package, value, reference))| part(&format!("N{i}"), value, package, &[reference]).0)
            .collect();
        let before = parts.clone();
        let table = parts_table::write(&parts);
        let findings = parts_table::apply(&mut parts, &InputFile { name: "t.csv", bytes: table.as_bytes() });
        prop_assert_eq!(parts, before);
        prop_assert!(findings.is_empty(), "{:?}", findings);
    }

    #[test]
    fn any_cell_in_any_column_is_used_or_named(column in 0usize..15, text in "[^,;\t\"\r\n|]{1,12}") {
        let header = parts_table::write(&[]);
        let name = header.trim().split(',').skip(3).step_by(3).nth(column).expect("a column").to_owned();
        let (one, _) = part("A", "1k", "R_0402_1005Metric", &["R1"]);
        let mut parts = vec![one.clone()];
        let table = format!("number,{name}\nA,{text}\n");
        let findings = parts_table::apply(&mut parts, &InputFile { name: "t.csv", bytes: table.as_bytes() });
        let blank = text.trim().is_empty();
        prop_assert!(blank || !findings.is_empty() || parts[0] != one, "{table}");
    }
}
