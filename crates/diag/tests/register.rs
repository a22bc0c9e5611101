//! The register of codes is sound, and the index shows all of it.

use std::collections::HashSet;

#[test]
fn every_code_is_well_formed_and_unique() {
    let mut seen = HashSet::new();
    for code in diag::codes::all() {
        assert!(seen.insert(code.id), "{} stands twice", code.id);
        let (area, name) = code.id.split_once('.').expect("area.name");
        for part in [area, name] {
            assert!(!part.is_empty() && part.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-'), "{}", code.id);
        }
        for text in [code.meaning, code.cure] {
            assert!(text.ends_with('.') && text.len() > 15, "{}: `{text}` is no sentence", code.id);
        }
        assert!(!code.sample.is_empty(), "{} has no sample", code.id);
    }
}

#[test]
fn the_printed_index_is_the_register() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../docs/errors.md");
    let printed = diag::index();
    if std::env::var_os("UPDATE_GOLDEN").is_some() {
        std::fs::write(path, &printed).expect("docs/errors.md can be written");
    }
    let kept = std::fs::read_to_string(path).expect("docs/errors.md");
    assert!(kept == printed, "docs/errors.md is stale: run UPDATE_GOLDEN=1 cargo test -p diag");
}
