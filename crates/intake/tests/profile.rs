//! What one board of a customer teaches about the next.

mod common;

use common::{messages, read_all, read_mapped};

const HEADER: &str = "Mark;Cx;Cy;Turn;Face;Val;Body\n";

fn list(name: &str, rows: &[(i64, i64, &str)]) -> Vec<(String, Vec<u8>)> {
    let mut text =
        HEADER.replace("Mark", "Designator").replace("Cx", "X").replace("Cy", "Y").replace("Turn", "Rotation").replace("Face", "Side");
    for (k, (x, y, side)) in rows.iter().enumerate() {
        text += &format!("C{k};{x};{y};0;{side};100n;C_0603_1608Metric\n");
    }
    vec![(name.to_owned(), text.into_bytes())]
}

#[test]
fn a_bottom_that_cannot_tell_is_told_by_the_board_before() {
    // In mil, the bottom's X negated.
    let rows: Vec<(i64, i64, &str)> =
        (0..40).map(|k| if k % 2 == 0 { (200 + 90 * k, 300 + 50 * k, "top") } else { (-(200 + 90 * k), 300 + 50 * k, "bottom") }).collect();
    let first = read_all(&list("level.csv", &rows));
    assert!(messages(&first, "read.mirrored").contains("negated"), "{:#?}", first.findings);
    let profile = intake::profile::write(&first.concluded);
    assert!(profile.contains("mirrored = true") && profile.contains("unit = \"mil\""), "{profile}");
    assert!(profile.contains("# bottom X reach over"), "the evidence stands beside it: {profile}");

    let lone: Vec<(i64, i64, &str)> = (0..6).map(|k| (-(300 + 200 * k), 400 + 100 * k, "bottom")).collect();
    let unsure = read_all(&list("sluice.csv", &lone));
    assert!(!messages(&unsure, "read.mirror-doubt").is_empty());
    let told = read_mapped(&list("sluice.csv", &lone), &profile);
    assert_eq!((messages(&told, "read.mirror-doubt"), messages(&told, "read.unit-inferred")), (String::new(), String::new()));
    assert!(!messages(&told, "read.mapping-by-headings").is_empty());
    let xs: Vec<i64> = told.product.expect("a product").placements.iter().map(|p| p.at.x.0).collect();
    assert!(xs.windows(2).all(|w| w[1] - w[0] == 5_080), "turned back, 200 mil apart: {xs:?}");

    // Another customer's headings are left alone.
    let mut other = list("sluice.csv", &lone);
    other[0].1 = String::from_utf8(other[0].1.clone()).expect("text").replace("Body", "Package").into_bytes();
    assert!(!messages(&read_mapped(&other, &profile), "read.mirror-doubt").is_empty());
}

#[test]
fn an_entry_goes_by_name_or_by_headings() {
    for entry in ["[[file]]\nunit = \"mm\"\n", "[[file]]\nname = \"a\"\nheadings = [\"X\"]\n"] {
        let reading = read_mapped(&list("level.csv", &[(1, 1, "top")]), entry);
        assert!(messages(&reading, "read.mapping-syntax").contains("name or headings"), "{:#?}", reading.findings);
    }
}
