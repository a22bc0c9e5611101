//! The engineer's table: what it states holds, what is wrong in it is named, nothing else is touched.

use diag::Finding;
use domain::part::{Certainty, NozzleClass, Part, Source, Supply};
use intake::parts::part;
use intake::{InputFile, parts_table};

fn parts() -> Vec<Part> {
    [("R-10k", "10k", "R_0402_1005Metric", "R1"), ("R-1k", "1k", "R_0402_1005Metric", "R2"), ("U-1", "controller", "PSX1", "U1")]
        .into_iter()
        .map(|(number, value, package, reference)| part(number, value, package, &[reference]).0)
        .collect()
}

fn apply(parts: &mut [Part], table: &str) -> Vec<Finding> {
    parts_table::apply(parts, &InputFile { name: "parts.csv", bytes: table.as_bytes() })
}

/// Code, line and value of each finding.
fn short(findings: &[Finding]) -> Vec<(&str, u32, &str)> {
    findings.iter().map(|f| (f.code.as_str(), f.line, f.value.as_str())).collect()
}

#[test]
fn what_the_engineer_states_is_certain_and_the_rest_follows() {
    let mut parts = parts();
    let findings = apply(&mut parts, "number;body_x_mm;body_y_mm;height_mm\nU-1;45;150;9,5\n");
    assert_eq!(short(&findings), []);
    let part = &parts[2];
    assert_eq!((part.body_x_um.value.0, part.body_y_um.value.0, part.height_um.value.0), (45_000, 150_000, 9_500));
    assert_eq!((part.body_x_um.source, part.body_x_um.certainty), (Source::Engineer, Certainty::Certain));
    assert_eq!((part.supply.value, part.nozzle_class.value), (Supply::Tray, NozzleClass::Wide));
    assert_eq!(part.supply.certainty, Certainty::Likely);
}

#[test]
fn a_row_by_package_serves_all_its_parts_and_a_row_by_number_overrules_it() {
    let mut parts = parts();
    let findings = apply(&mut parts, "number,package,height_mm\nR-1k,,0.4\n,r_0402_1005metric,0.3\n");
    assert_eq!(short(&findings), []);
    assert_eq!((parts[0].height_um.value.0, parts[1].height_um.value.0), (300, 400));
}

#[test]
fn bad_rows_are_named_and_good_ones_kept() {
    let mut parts = parts();
    let table = "number,body_x_mm,height_mm,hight_mm,supply\n\
                 R-10k,wide,0.4,,tape\n\
                 R-11k,1.0,0.4,,\n\
                 U-1,7,800,,crate\n\
                 ,1,1,1,\n\
                 R-1k,1.1,63 mil,,tape,extra\n";
    let findings = apply(&mut parts, table);
    assert_eq!(
        short(&findings),
        [
            ("parts.table-unknown-column", 1, "hight_mm"),
            ("parts.table-unreadable", 2, "wide"),
            ("parts.table-unknown-part", 3, "R-11k"),
            ("parts.table-out-of-range", 4, "800"),
            ("parts.table-unreadable", 4, "crate"),
            ("parts.table-no-key", 5, ", 1, 1, 1, "),
            ("parts.table-row-length", 6, "extra"),
        ]
    );
    assert_eq!(findings[0].hint, "did you mean `height_mm`?");
    assert!(findings[2].hint.starts_with("did you mean `R-1"), "{}", findings[2].hint);
    assert_eq!(findings[3].hint, "write 0.05 to 200 mm");
    assert_eq!(findings[4].hint, "write one of tape, stick, tray");
    assert_eq!((parts[0].body_x_um.value.0, parts[0].height_um.value.0), (1_000, 400));
    assert_eq!((parts[2].body_x_um.value.0, parts[2].height_um.value.0), (7_000, 2_000));
    assert_eq!((parts[1].body_x_um.value.0, parts[1].height_um.value.0), (1_100, 1_600));
}

#[test]
fn an_edited_cell_counts_and_its_unedited_neighbours_do_not() {
    let mut parts = parts();
    let table =
        parts_table::write(&parts).replace("U-1,PSX1,controller,smt,default,guess,10,", "U-1,PSX1,controller,smt,default,guess,12.5,");
    assert_eq!(short(&apply(&mut parts, &table)), []);
    assert_eq!((parts[2].body_x_um.value.0, parts[2].body_x_um.source), (12_500, Source::Engineer));
    assert_eq!((parts[2].body_y_um.value.0, parts[2].body_y_um.source), (10_000, Source::Default));
    assert_eq!(parts[0], self::parts()[0]);
}

#[test]
fn the_word_engineer_confirms_a_guess() {
    let mut parts = parts();
    let table = "number,body_x_mm,body_x_source,body_y_mm,body_y_source\nU-1,10,engineer,10,default\n";
    assert_eq!(short(&apply(&mut parts, table)), []);
    assert_eq!((parts[2].body_x_um.certainty, parts[2].body_y_um.certainty), (Certainty::Certain, Certainty::Guess));
    let bad = apply(&mut parts, "number,body_x_mm,body_x_source\nU-1,10,me\n");
    assert_eq!(short(&bad), [("parts.table-unreadable", 2, "me")]);
}

#[test]
fn statements_survive_writing_and_reading_on_fresh_parts() {
    let mut stated = parts();
    apply(&mut stated, "number,height_mm,nozzle_class,speed_percent,ball_grid,adhesive_dots\nU-1,1.2,gripper,35%,yes,2\n");
    let table = parts_table::write(&stated);
    let mut fresh = parts();
    assert_eq!(short(&apply(&mut fresh, &table)), []);
    assert_eq!(fresh, stated);
}

#[test]
fn two_rows_that_disagree_are_named_and_the_later_stands() {
    let mut parts = parts();
    let findings = apply(&mut parts, "number,height_mm\nU-1,1.0\nU-1,1.2\n");
    assert_eq!(short(&findings), [("parts.table-disagrees", 3, "1.2")]);
    assert_eq!(parts[2].height_um.value.0, 1_200);
}

#[test]
fn tables_that_cannot_be_used_say_why() {
    let codes = |table: &str| apply(&mut parts(), table).into_iter().map(|f| f.code).collect::<Vec<_>>();
    assert_eq!(codes(""), ["parts.table-empty"]);
    assert_eq!(codes("number,height_mm\n"), ["parts.table-empty"]);
    assert_eq!(codes("body_x_mm,height_mm\n1,2\n"), ["parts.table-no-key"]);
    assert_eq!(codes("number,height_mm,height_mm\nU-1,1,2\n"), ["parts.table-repeated-column"]);
    assert_eq!(codes("number,height_mm\nU-1,\"1,000\"\n"), ["parts.table-unreadable"]);
    let of_bytes = |bytes: &[u8]| parts_table::apply(&mut parts(), &InputFile { name: "parts.xlsx", bytes });
    assert_eq!(short(&of_bytes(&[0x50, 0x4b, 3, 4, 0, 0, 8, 0, 1, 2, 3, 0, 0, 7, 1])), [("read.spreadsheet", 0, "")]);
    assert_eq!(short(&of_bytes(&[0x89, 0x50, 0x4e, 0x47, 0, 0, 0, 13, 1, 2, 3, 0, 0, 7, 1])), [("parts.table-not-text", 0, "")]);
}

#[test]
fn a_quote_left_open_does_not_swallow_the_rows_after_it() {
    let mut parts = parts();
    let findings = apply(&mut parts, "number,value,height_mm\nR-10k,\"1 inch,0.4\nR-1k,1k,0.4\nU-1,x,1.1\n");
    assert_eq!(findings.iter().map(|f| f.code.as_str()).collect::<Vec<_>>(), ["read.broken-quote"]);
    assert_eq!((parts[1].height_um.value.0, parts[2].height_um.value.0), (400, 1_100));
}
