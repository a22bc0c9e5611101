//! The rules of the house as a test: which crate may depend on which, and what the core never does.
//!
//! `ARCHITECTURE.md` tells the rules to people. The order is read from `cargo metadata`; the text
//! of the sources is searched for doors to the outside world.

mod common;

use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::Command;

/// Crates by tier; a crate may depend on crates of lower tiers only.
const TIERS: &[&[&str]] = &[
    &["units", "diag"],
    &["domain"],
    &["intake", "motion", "draw"],
    &["verify", "optimise"],
    &["report"],
    &["app", "store"],
    &["web"],
    &["cli"],
];

/// Crates that know no file, no net, no environment and no clock.
const PURE: &[&str] = &["units", "diag", "domain", "intake", "motion", "draw", "verify", "optimise", "report", "app"];

/// Doors to the outside world.
const DOORS: &[&str] = &["std::fs", "std::net", "std::process", "std::env::", "SystemTime", "Instant", "println!", "eprintln!"];

/// Longest source file [lines].
const MOST_LINES: usize = 600;

/// A dependency between two crates of the workspace.
struct Arrow {
    from: String,
    to: String,
    kind: String,
}

fn arrows() -> Vec<Arrow> {
    let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let output = Command::new(cargo)
        .args(["metadata", "--no-deps", "--offline", "--format-version", "1"])
        .current_dir(common::root())
        .output()
        .unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let metadata: Value = serde_json::from_slice(&output.stdout).unwrap();
    let mut arrows = Vec::new();
    for package in metadata["packages"].as_array().unwrap() {
        for dependency in package["dependencies"].as_array().unwrap().iter().filter(|d| d["path"].is_string()) {
            arrows.push(Arrow {
                from: package["name"].as_str().unwrap().to_owned(),
                to: dependency["name"].as_str().unwrap().to_owned(),
                kind: dependency["kind"].as_str().unwrap_or("normal").to_owned(),
            });
        }
    }
    arrows
}

fn tier(name: &str) -> usize {
    TIERS.iter().position(|t| t.contains(&name)).unwrap_or_else(|| panic!("crate `{name}` has no tier: add it here and to ARCHITECTURE.md"))
}

#[test]
fn arrows_point_one_way() {
    let wrong: Vec<String> = arrows()
        .iter()
        .filter(|a| a.kind == "normal" && tier(&a.from) <= tier(&a.to))
        .map(|a| format!("rule `arrows point one way`: {} must not depend on {}", a.from, a.to))
        .collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_checker_knows_no_planner() {
    let wrong = arrows().iter().any(|a| a.from == "verify" && a.to == "optimise");
    assert!(!wrong, "rule `the checker is independent`: verify must not depend on optimise, not even for tests");
}

#[test]
fn every_crate_has_a_tier_and_a_module_head() {
    for folder in std::fs::read_dir(common::root().join("crates")).unwrap() {
        let folder = folder.unwrap().path();
        let name = folder.file_name().unwrap().to_string_lossy().into_owned();
        tier(&name);
        let main = ["src/lib.rs", "src/main.rs"].map(|f| folder.join(f)).into_iter().find(|p| p.is_file());
        let text = std::fs::read_to_string(main.unwrap_or_else(|| panic!("crate `{name}` has no source"))).unwrap();
        assert!(text.starts_with("//! "), "rule `module heads`: crate `{name}` does not begin by saying what it is for");
    }
}

#[test]
fn the_core_is_pure() {
    let mut wrong = Vec::new();
    for name in PURE {
        for file in sources(name) {
            let text = std::fs::read_to_string(&file).unwrap();
            for (number, line) in text.lines().enumerate() {
                // What is said in comments opens no door; tests in the file may.
                if line.trim_start().starts_with("#[cfg(test)]") {
                    break;
                }
                let code = line.split("//").next().unwrap_or_default();
                if let Some(door) = DOORS.iter().find(|d| holds_word(code, d)) {
                    wrong.push(format!("rule `the core is pure`: `{door}` in {}:{}", file.display(), number + 1));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn files_are_small() {
    for name in TIERS.iter().flat_map(|t| t.iter()) {
        for file in sources(name) {
            let lines = std::fs::read_to_string(&file).unwrap().lines().count();
            assert!(lines <= MOST_LINES, "rule `one idea per file`: {} has {lines} lines, at most {MOST_LINES}", file.display());
        }
    }
}

/// Whether the text holds the door as a word of its own, not as part of a longer name.
fn holds_word(text: &str, door: &str) -> bool {
    let name = |c: char| c.is_alphanumeric() || c == '_';
    text.match_indices(door).any(|(at, _)| {
        let after = &text[at + door.len()..];
        !text[..at].ends_with(name) && (door.ends_with([':', '!']) || !after.starts_with(name))
    })
}

/// All Rust files of a crate's `src`, sorted.
fn sources(name: &str) -> Vec<PathBuf> {
    fn collect(folder: &Path, into: &mut Vec<PathBuf>) {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                collect(&path, into);
            } else if path.extension().is_some_and(|e| e == "rs") {
                into.push(path);
            }
        }
    }
    let mut files = Vec::new();
    collect(&common::root().join("crates").join(name).join("src"), &mut files);
    files.sort();
    files
}
