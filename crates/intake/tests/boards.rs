//! Real boards against what is known of them: counts, units, sides, mirroring, what is not fitted.
//!
//! The figures are those of the collection's own statistics (`board-stats.csv`) and of the
//! provenance notes beside each board.

mod common;

use common::{boards, folder, messages, read_all, read_mapped};
use domain::product::{Placement, Product, Side, Status};
use intake::Reading;

fn product(board: &str) -> Option<(Product, Reading)> {
    let mut reading = read_all(&folder(board)?);
    Some((reading.product.take().unwrap_or_else(|| panic!("{board}: no product")), reading))
}

/// Board, rows, top, bottom, real parts.
fn statistics() -> Vec<(String, [usize; 4])> {
    let Some(path) = boards() else { return Vec::new() };
    let text = std::fs::read_to_string(path.join("board-stats.csv")).expect("board-stats.csv");
    let row = |line: &str| {
        let mut cells = line.split(',');
        let board = cells.next().expect("board").to_owned();
        let numbers: Vec<usize> = cells.take(4).map(|c| c.parse().expect("count")).collect();
        (board, [numbers[0], numbers[1], numbers[2], numbers[3]])
    };
    text.lines().skip(1).map(row).collect()
}

#[test]
fn rows_and_sides_are_counted_as_in_the_statistics() {
    for (board, [rows, top, bottom, _]) in statistics().iter() {
        let Some((product, _)) = product(board) else { continue };
        let side = |s: Side| product.placements.iter().filter(|p| p.side == s).count();
        assert_eq!((product.placements.len(), side(Side::Top), side(Side::Bottom)), (*rows, *top, *bottom), "{board}");
    }
}

#[test]
fn every_row_is_fitted_not_fitted_or_ignored_and_real_parts_stay() {
    for (board, [rows, _, _, real]) in statistics().iter() {
        let Some((product, _)) = product(board) else { continue };
        let count = |s| product.count(s);
        let parts = count(Status::Fitted) + count(Status::NotFitted);
        assert_eq!(parts + count(Status::Ignored), *rows, "{board}");
        // No board but a sample of the format: the word for marks holds for seven of its nine flashes.
        if board == "x3-librepcb-sample" {
            assert_eq!(product.fiducials.len(), 7);
            continue;
        }
        // The statistics are an estimate by simple rules: bought stand-offs and test points differ.
        assert!(parts.abs_diff(*real) * 100 <= real * 6, "{board}: {parts} parts, {real} estimated");
        for p in &product.placements {
            assert_eq!(p.part.is_none(), p.status == Status::Ignored, "{board} {}", p.reference);
            assert!(p.status == Status::Fitted || !p.why.is_empty(), "{board} {}: no reason", p.reference);
            assert!(p.origin.contains(':'), "{board} {}: no origin", p.reference);
        }
    }
}

#[test]
fn every_board_has_the_size_that_is_known_of_it() {
    // Outline, or extent of the placements and the margin, from the statistics [mm].
    for (board, x, y, allowed) in [
        ("voron-disco-xxl", 370.0, 11.0, 25.0),
        ("simplefoc-shield", 55.4, 53.3, 6.0),
        ("openbci-cyton", 61.5, 61.5, 8.0),
        ("vesc-bldc4", 42.1, 65.0, 8.0),
        ("ov-ftdi", 70.6, 125.2, 12.0),
        ("axxsolder", 39.0, 82.5, 8.0),
        ("orangecrab", 50.8, 22.86, 5.0),
        ("eez-dcp405", 180.0, 95.0, 5.0),
        ("beagle-ai64", 98.5 + 6.0, 74.2 + 6.0, 6.0),
        ("parasdr", 79.0 + 6.0, 85.0 + 6.0, 4.0),
        // Fiducials at the corners of 202.4 x 123.1 mm, on strips beside the board.
        ("limesdr-qpcie", 202.4 + 6.0, 123.1 + 6.0, 1.0),
    ] {
        let Some((product, _)) = product(board) else { continue };
        let (width, depth) = (product.width_um.to_mm(), product.depth_um.to_mm());
        assert!((width - x).abs() < allowed && (depth - y).abs() < allowed, "{board}: {width} x {depth}, known {x} x {y}");
        assert!(!product.size_stated);
    }
    // Outlines that the files state, after the statistics [mm].
    for (board, x, y) in [("ipc2581-dm0002", 15.0, 38.6), ("ipc2581-testcase3", 99.1, 110.5), ("ipc2581-testcase6", 219.0, 165.4)] {
        let Some((product, _)) = product(board) else { continue };
        let (width, depth) = (product.width_um.to_mm(), product.depth_um.to_mm());
        assert!((width - x).abs() < 0.06 && (depth - y).abs() < 0.06 && product.size_stated, "{board}: {width} x {depth}");
    }
}

#[test]
fn units_are_found_where_they_are_stated_and_inferred_where_not() {
    for (board, code, unit) in [
        ("openbadge", "read.unit-stated", "mm"),
        ("ov-ftdi", "read.unit-stated", "mil"),
        ("parasdr", "read.unit-stated", "um"),
        ("simplefoc-shield", "read.unit-stated", "mm"),
        ("limesdr-qpcie", "read.unit-stated", "mm"),
        ("eez-dcp405", "read.unit-stated", "inch"),
        ("eez-dcp405", "read.unit-inferred", "mm"),
        ("voron-disco-xxl", "read.unit-inferred", "mm"),
        ("beagle-ai64", "read.unit-inferred", "mil"),
        ("openbci-cyton", "read.unit-inferred", "mil"),
        ("ipc2581-testcase3", "read.unit-stated", "inch"),
        ("ipc2581-testcase6", "read.unit-stated", "mm"),
        ("x3-mppt-2420-hc", "read.unit-stated", "mm"),
    ] {
        let Some((_, reading)) = product(board) else { continue };
        assert!(reading.findings.iter().any(|f| f.code == code && f.value == unit), "{board}: {code} {unit}");
    }
}

#[test]
fn only_the_negated_bottom_is_turned_back() {
    for (board, _) in statistics().iter() {
        let Some((_, reading)) = product(board) else { continue };
        assert_eq!(!messages(&reading, "read.mirrored").is_empty(), board == "orangecrab", "{board}");
    }
}

#[test]
fn what_is_not_fitted() {
    // (board, rows not fitted, words of a finding). The first bill marks 109 different
    // references (DNP-1 to DNP-22): 84 parts, 21 test points and 4 holes, which are set aside as
    // such. The second lists 162 in `NF(…)`; two more stand in the legend that explains it.
    for (board, rows, words) in [
        ("beagle-ai64", 84, "leaves out 109 references"),
        ("limesdr-qpcie", 162, "leaves out 162 references"),
        ("orangecrab", 2, "leaves out 23 references"),
        ("eez-dcp405", 5, "leaves out 5 references"),
        ("parasdr", 7, "leaves out 7 references"),
        ("canopi-base", 0, "leaves out 13 references"),
    ] {
        let Some((product, reading)) = product(board) else { continue };
        assert_eq!(product.count(Status::NotFitted), rows, "{board}");
        let said = messages(&reading, "read.not-fitted");
        assert!(said.contains(words), "{board}: {said}");
    }
}

#[test]
fn traps_of_single_boards() {
    for (board, code, words) in [
        ("orangecrab", "read.only-in-bom", "U3"),
        ("axxsolder", "read.same-place", "S1 U2"),
        ("axxsolder", "read.list-chosen", "118 of 118"),
        ("openbadge", "read.lists-differ", "BAT2 BAT3 BAT4"),
        ("openbci-cyton", "read.bom-quantity", "1 rows"),
        ("openbci-cyton", "read.pseudo-part", "LOGO1"),
        ("parasdr", "read.pseudo-part", "315 rows set aside, each a single pin"),
        ("limesdr-qpcie", "read.parked", "MECH19"),
        ("simplefoc-shield", "read.pseudo-part", "15 rows set aside, each a solder jumper"),
        ("diff-probe", "read.pseudo-part", "SG1 SG2"),
        ("eez-dcp405", "read.lists-joined", "292 rows"),
        ("beagle-ai64", "read.doubtful-part", "MH4"),
        ("ov-ftdi", "read.only-in-bom", "16 parts"),
        ("ulx3s", "read.fitted-doubt", "R27"),
        ("ipc2581-testcase3", "read.bottom-turn", "pins then lie on their pads"),
        ("ipc2581-testcase6", "read.pick-point", "origin beside the body"),
        ("ipc2581-dm0002", "read.not-fitted", "leaves out 5 references"),
        ("x3-mppt-2420-hc", "read.only-in-bom", "F1"),
    ] {
        let Some((_, reading)) = product(board) else { continue };
        let said = messages(&reading, code);
        assert!(said.contains(words), "{board} {code}: {said}");
    }
}

#[test]
fn shield_clips_stay_parts_and_brackets_do_not() {
    let Some((product, _)) = product("limesdr-qpcie") else { return };
    let status = |r: &str| product.placements.iter().find(|p| p.reference == r).map(|p| p.status);
    assert_eq!(status("MECH1"), Some(Status::NotFitted));
    assert_eq!(status("MECH19"), Some(Status::Ignored));
}

#[test]
fn one_reading_gives_one_document_that_reads_back() {
    for (board, _) in statistics().iter() {
        let (Some((first, _)), Some((second, _))) = (product(board), product(board)) else { continue };
        let text = intake::write_product(&first).expect("text");
        assert_eq!(text, intake::write_product(&second).expect("text"), "{board}");
        assert_eq!(intake::read_product(board, &text).as_ref(), Ok(&first), "{board}");
    }
}

/// A reading with what it concluded itself, given back by headings, gives the same board, and asks nothing about units any more.
#[test]
fn what_was_concluded_holds_when_it_is_given_back() {
    let mut remembered = 0;
    for (board, _) in statistics() {
        let Some(files) = folder(&board) else { continue };
        let first = read_all(&files);
        let profile = intake::profile::write(&first.concluded);
        remembered += profile.matches("[[file]]").count();
        let again = read_mapped(&files, &profile);
        let wrong = again.findings.iter().find(|f| f.code.starts_with("read.mapping") && f.code != "read.mapping-by-headings");
        assert!(wrong.is_none(), "{board}: {wrong:?}\n{profile}");
        let (one, two) = (first.product.expect("a product"), again.product.expect("a product"));
        // Of two lists of one board the other may be used now that both have a unit; they agree to their decimals.
        assert_eq!(one.placements.len(), two.placements.len(), "{board}");
        for (a, b) in one.placements.iter().zip(&two.placements) {
            let told = |p: &Placement| (p.reference.clone(), p.side, p.status, p.rotation_mdeg);
            assert_eq!(told(a), told(b), "{board}");
            assert!((a.at.x - b.at.x).0.abs() <= 20 && (a.at.y - b.at.y).0.abs() <= 20, "{board} {}: {:?} {:?}", a.reference, a.at, b.at);
        }
        let numbers = |p: &Product| p.parts.iter().map(|x| x.number.clone()).collect::<Vec<_>>();
        assert_eq!(numbers(&one), numbers(&two), "{board}");
        let doubts = |r: &[diag::Finding]| r.iter().filter(|f| f.code == "read.unit-inferred").count();
        assert!(doubts(&again.findings) <= doubts(&first.findings), "{board}");
    }
    assert!(boards().is_none() || remembered >= 20, "{remembered} tables have headings");
}
