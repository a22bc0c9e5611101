//! The parts library: what it adds, what it refuses, and that nothing of it is lost.

use diag::Finding;
use domain::library::{Library, Version};
use domain::part::{Certainty, Moisture, Part, Quadrant, Source, Sourced};
use intake::{InputFile, library, parts, parts_table};
use units::Length;

fn version(from: &str) -> Version {
    Version { version: 0, on: "2026-11-28".to_owned(), by: "floor".to_owned(), from: from.to_owned(), note: String::new() }
}

fn gauge() -> Vec<Part> {
    vec![parts::part("RG-CAP-100N", "100n", "C_0603_1608Metric", &["C1", "C2"]).0, parts::part("RG-ADC-16", "ADC", "ODD-ADC", &["U1"]).0]
}

fn codes(findings: &[Finding]) -> Vec<&str> {
    findings.iter().map(|f| f.code.as_str()).collect()
}

fn file<'a>(name: &'a str, text: &'a str) -> InputFile<'a> {
    InputFile { name, bytes: text.as_bytes() }
}

#[test]
fn only_what_was_stated_is_kept_and_nothing_new_makes_no_version() {
    let mut known = Library::default();
    let (changed, findings) = library::add(&mut known, &gauge(), version("gauge"));
    assert_eq!((changed, findings.len(), known.version()), (library::Changed::default(), 0, 0), "names can be read again at any time");
    let mut parts = gauge();
    parts_table::apply(&mut parts, &file("t.csv", "number,height_mm,moisture_level,alternates\nRG-ADC-16,1.2,2a,RG-ADC-16B; RG-ADC-18\n"));
    parts[0].body_x_um = Sourced::new(Length(1_650), Source::File, Certainty::Likely);
    let (changed, _) = library::add(&mut known, &parts, version("gauge"));
    assert_eq!((changed.parts, changed.values, known.version()), (2, 4, 1));
    let (again, _) = library::add(&mut known, &parts, version("gauge"));
    assert_eq!((again.values, known.version()), (0, 1));
}

#[test]
fn a_product_is_read_with_it_and_differences_are_told() {
    let mut known = Library::default();
    let table = "number,body_x_mm,body_y_mm,height_mm,pocket_quadrant,moisture_level,attrition_permille\nRG-ADC-16,5,4,1.2,Q2,3,2\nRG-CAP-100N,1.7,0.9,,,,8\n";
    let (changed, findings) = library::import(&mut known, &file("t.csv", table), version("t.csv"));
    assert_eq!((changed.parts, changed.values), (2, 9), "{findings:#?}");
    let mut read = gauge();
    // A file says something else, less surely.
    read[1].height_um = Sourced::new(Length(2_000), Source::File, Certainty::Likely);
    let found = library::apply(&mut read, &known, "lib.json");
    assert_eq!(codes(&found), ["parts.library-differs", "parts.library-over-name", "parts.library-used"], "{found:#?}");
    let adc = &read[1];
    assert_eq!((adc.height_um.value, adc.height_um.source), (Length(1_200), Source::Library));
    assert_eq!(adc.handling.pocket_quadrant.value, Some(Quadrant(2)));
    assert_eq!(adc.handling.moisture.value, Some(Moisture::Three));
    assert_eq!(read[0].handling.attrition_permille.value, Some(8));
    // What follows from the size follows from the library's.
    assert_eq!((adc.tape_width_um.value, adc.nozzle_class.value), (Length(12_000), domain::part::NozzleClass::Large));
    // The engineer's table for this product goes before the library.
    parts_table::apply(&mut read, &file("t.csv", "number,height_mm\nRG-ADC-16,1.3\n"));
    assert_eq!((read[1].height_um.value, read[1].height_um.source), (Length(1_300), Source::Engineer));
}

#[test]
fn a_surer_file_stands() {
    let mut known = Library::default();
    let mut parts = gauge();
    parts[1].height_um = Sourced::new(Length(2_000), Source::File, Certainty::Likely);
    library::add(&mut known, &parts, version("gauge"));
    parts[1].height_um = Sourced::new(Length(1_900), Source::File, Certainty::Certain);
    let found = library::apply(&mut parts, &known, "lib.json");
    assert!(codes(&found).contains(&"parts.library-differs"), "{found:#?}");
    assert_eq!(parts[1].height_um.value, Length(1_900));
    // The other way round the library keeps what is surer, and says so.
    library::add(&mut known, &parts, version("gauge"));
    parts[1].height_um = Sourced::new(Length(2_100), Source::File, Certainty::Guess);
    let (changed, found) = library::add(&mut known, &parts, version("gauge"));
    assert_eq!((changed.values, codes(&found)), (0, vec!["parts.library-differs"]));
}

#[test]
fn history_is_kept_and_an_exported_table_says_nothing_new() {
    let mut known = Library::default();
    library::import(&mut known, &file("a.csv", "number,height_mm\nRG-ADC-16,1.2\n"), version("a.csv"));
    let (_, found) = library::import(&mut known, &file("b.csv", "number,height_mm\nRG-ADC-16,1.4\n"), version("b.csv"));
    assert_eq!(codes(&found), ["parts.library-changed"]);
    assert_eq!(library::table(&known.at(1)).matches("1.2,engineer,certain").count(), 1);
    let printed = library::table(&known);
    assert_eq!(printed.matches("1.4,engineer,certain").count(), 1, "{printed}");
    let (changed, found) = library::import(&mut known, &file("c.csv", &printed), version("c.csv"));
    assert_eq!((changed.values, found.len(), known.version()), (0, 0, 2));
    let written = serde_json::to_string(&known).expect("it can be written");
    assert_eq!(Library::parse("lib.json", &written), Ok(known));
}

#[test]
fn a_table_as_it_was_printed_brings_no_guess_into_the_library() {
    let mut known = Library::default();
    let (changed, found) = library::import(&mut known, &file("t.csv", &parts_table::write(&gauge())), version("t.csv"));
    assert_eq!((changed, codes(&found)), (library::Changed::default(), vec!["parts.library-derived"]));
}

#[test]
fn what_cannot_be_used_is_named() {
    let mut known = Library::default();
    let table = "number,package,height_mm\nRG-ADC-16,,many\n,ODD-ADC,1.2\n";
    let (changed, found) = library::import(&mut known, &file("t.csv", table), version("t.csv"));
    assert_eq!(changed.values, 0);
    assert_eq!(codes(&found), ["parts.table-unreadable", "parts.table-no-key"]);
    let entry = |column: &str, value: &str| {
        format!(
            r#"{{"schema":"evenline-library/1","versions":[{{"version":1,"on":"","by":"","from":""}}],"parts":{{"RG-ADC-16":{{"values":{{"{column}":[{{"value":"{value}","source":"engineer","certainty":"certain","version":1}}]}}}}}}}}"#
        )
    };
    for (column, value) in [("height_mm", "0"), ("colour", "grey")] {
        let strange = Library::parse("lib.json", &entry(column, value)).expect("its form is right");
        let mut parts = gauge();
        let found = library::apply(&mut parts, &strange, "lib.json");
        assert_eq!((codes(&found)[0], &parts), ("parts.library-value", &gauge()));
    }
    let bad = [
        "{".to_owned(),
        entry("height_mm", "1").replace("library/1", "library/9"),
        entry("height_mm", "1").replace("\"version\":1}]}}", "\"version\":2}]}}"),
        entry("height_mm", "1").replacen("\"version\":1", "\"version\":3", 1),
    ];
    for text in bad {
        assert_eq!(Library::parse("lib.json", &text).expect_err("it is refused").code, "parts.library-syntax", "{text}");
    }
}
