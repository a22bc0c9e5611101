//! `evenline library`: a library is begun, added to, exported, used, and remembers.

mod common;

use common::{arg, example, folder, run};

#[test]
fn a_library_over_two_products() {
    let temporary = folder(&[("edits.csv", b"number,height_mm,moisture_level\nRG-TRAFO-DRIVE,6.4,1\n")]);
    let at = |name: &str| arg(&temporary.path().join(name));
    let library = at("parts.json");
    let add = |product: &str| {
        let parts = example(&format!("parts/{product}.csv"));
        run(&[
            "library",
            "add",
            &library,
            &example(&format!("products/{product}")),
            "--parts",
            &parts,
            "--by",
            "feeder room",
            "--on",
            "2026-11-02",
        ])
    };
    assert!(add("level-front").ends(0).out.starts_with("version 1: "));
    assert!(add("solar-charger").ends(0).out.starts_with("version 2: "));
    assert_eq!(add("solar-charger").ends(0).out, "nothing new; the library stays at version 2\n");
    let imported = run(&["library", "import", &library, &at("edits.csv"), "--by", "m. weir", "--note", "measured"]).ends(0);
    assert!(imported.err.contains("[parts.library-changed]"), "{}", imported.err);

    let history = run(&["library", "history", &library, "RG-TRAFO-DRIVE"]).ends(0).out;
    assert!(history.contains("version 1, 2026-11-02, feeder room, from level-front\n"), "{history}");
    assert!(
        history.contains("  RG-TRAFO-DRIVE height_mm: 6.2 -> 6.4\n") && history.contains("m. weir, from edits.csv: measured\n"),
        "{history}"
    );
    assert_eq!(run(&["library", "history", &library, "--json"]).ends(0).json().as_array().map(Vec::len), Some(history_lines(&library)));
    let old = run(&["library", "export", &library, "--at", "1"]).ends(0).out;
    assert!(old.contains("RG-TRAFO-DRIVE") && old.contains(",6.2,engineer,certain,") && !old.contains("RG-CHOKE-33U"), "{old}");

    // A workbook comes back as it went.
    run(&["library", "export", &library, "-o", &at("parts.xlsx")]).ends(0);
    let back = run(&["library", "import", &library, &at("parts.xlsx"), "--by", "m. weir"]).ends(0);
    assert_eq!(back.out, "nothing new; the library stays at version 3\n");

    // Without its own parts table the product is read alike with the library.
    let read = run(&["read", &example("products/level-front"), "--library", &library, "--json"]).ends(0).json();
    let says = |code: &str| read["findings"].as_array().unwrap().iter().any(|f| f["code"] == code);
    assert!(says("parts.library-used"), "{read}");
    let parts = run(&["parts", &example("products/level-front"), "--library", &library, "--json"]).ends(0).json();
    let trafo = parts.as_array().unwrap().iter().find(|p| p["number"] == "RG-TRAFO-DRIVE").unwrap();
    assert_eq!((&trafo["height_um"]["value"], &trafo["height_um"]["source"]), (&6_400.into(), &"library".into()));
}

fn history_lines(library: &str) -> usize {
    run(&["library", "history", library]).ends(0).out.lines().filter(|l| l.starts_with("  ")).count()
}

#[test]
fn what_cannot_be_done_is_said() {
    let temporary =
        folder(&[("lib.json", b"{\"schema\": 1}"), ("good.json", br#"{"schema":"evenline-library/1","versions":[],"parts":{}}"#)]);
    let at = |name: &str| arg(&temporary.path().join(name));
    run(&["library", "export", &at("lib.json")]).ends(3).says("parts.library-syntax");
    run(&["read", &example("products/level-front"), "--library", &at("lib.json")]).ends(3).says("parts.library-syntax");
    run(&["library", "export", &at("none.json")]).ends(4).says("use.file");
    run(&["library", "export", &at("good.json"), "--at", "1"]).ends(2).says("use.arguments");
    run(&["library", "history", &at("good.json"), "RG-NONE"]).ends(3).says("parts.table-unknown-part");
    run(&["library", "import", &at("good.json"), &at("lib.json"), "--by", "x", "--on", "yesterday"]).ends(2);
}
