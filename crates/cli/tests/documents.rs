//! What lies beside the code stays true: printed documents, example sheets, examples in the docs.
//!
//! `UPDATE_GOLDEN=1` writes the printed documents anew.

mod common;

use common::{arg, example, folder, root, run};
use domain::family::FamilySheet;
use domain::line::{Line, TrayKind};
use domain::rules::Rules;
use std::path::PathBuf;
use units::Length;

/// Stacking height of a low tray [µm]: 6.35 mm, as `docs/parts.md` says.
const LOW_TRAY: Length = Length(6_350);

/// Whether the documents are to be written anew.
fn updating() -> bool {
    std::env::var_os("UPDATE_GOLDEN").is_some_and(|v| v == "1")
}

/// Compares a document with what the program prints, or writes it anew.
fn up_to_date(file: &str, name: &str) {
    let path = root().join("docs").join(file);
    let printed = run(&["schema", name]).ends(0).out;
    if updating() {
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(&path, &printed).unwrap();
    }
    let kept = std::fs::read_to_string(&path).unwrap_or_default();
    assert!(kept == printed, "docs/{file} is not what `evenline schema {name}` prints; UPDATE_GOLDEN=1 writes it anew");
}

#[test]
fn printed_documents_are_up_to_date() {
    up_to_date("errors.md", "errors");
    for name in ["line", "plan", "product", "locks", "family", "family-plan"] {
        up_to_date(&format!("schemas/{name}.json"), name);
    }
}

#[test]
fn the_example_document_is_what_its_folder_reads_as() {
    let temporary = folder(&[]);
    let written = temporary.path().join("product.json");
    run(&["read", &example("products/gauge-node"), "-o", &arg(&written)]).ends(0);
    let (kept, read) = (PathBuf::from(example("products/gauge-node.json")), std::fs::read(&written).unwrap());
    if updating() {
        std::fs::write(&kept, &read).unwrap();
    }
    assert!(std::fs::read(&kept).unwrap() == read, "examples/products/gauge-node.json is old; UPDATE_GOLDEN=1 writes it anew");
}

/// All files of an example folder with this ending, sorted.
fn examples(folder: &str, ending: &str) -> Vec<PathBuf> {
    let entries = std::fs::read_dir(example(folder)).unwrap();
    let mut files: Vec<PathBuf> = entries.map(|e| e.unwrap().path()).filter(|p| p.extension().is_some_and(|e| e == ending)).collect();
    files.sort();
    assert!(!files.is_empty(), "no .{ending} in examples/{folder}");
    files
}

fn line(name: &str, text: &str) -> Line {
    Line::parse(name, text)
        .unwrap_or_else(|found| panic!("{name}: {}", found.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")))
}

fn example_line(name: &str) -> Line {
    line(name, &std::fs::read_to_string(example(&format!("lines/{name}.toml"))).unwrap())
}

#[test]
fn example_sheets_parse() {
    for path in examples("lines", "toml") {
        line(&arg(&path), &std::fs::read_to_string(&path).unwrap());
    }
}

#[test]
fn example_locks_parse() {
    for path in examples("locks", "toml") {
        let text = std::fs::read_to_string(&path).unwrap();
        assert!(Rules::parse(&arg(&path), &text).is_ok(), "{}", path.display());
    }
}

#[test]
fn example_products_leave_no_size_open() {
    for product in ["river-logger", "gauge-node", "weir-radio", "level-front", "solar-charger", "rain-counter"] {
        let mut arguments = vec!["parts".to_owned(), example(&format!("products/{product}")), "--json".to_owned()];
        let table = PathBuf::from(example(&format!("parts/{product}.csv")));
        if table.is_file() {
            arguments.extend(["--parts".to_owned(), arg(&table)]);
        }
        let parts = run(&arguments).ends(0).json();
        for part in parts.as_array().unwrap() {
            for field in ["body_x_um", "body_y_um", "height_um"] {
                assert_ne!(part[field]["certainty"], "guess", "{product}: {field} of {}", part["number"]);
            }
        }
    }
}

/// The fenced blocks of this language in a document.
fn blocks(document: &str, language: &str) -> Vec<String> {
    let text = std::fs::read_to_string(root().join("docs").join(document)).unwrap();
    let fence = format!("```{language}\n");
    text.split(&fence).skip(1).map(|rest| rest.split("```").next().unwrap_or_default().to_owned()).collect()
}

#[test]
fn the_sheet_in_the_docs_plans() {
    let sheets = blocks("line-sheet.md", "toml");
    let [sheet] = sheets.as_slice() else { panic!("docs/line-sheet.md holds {} toml blocks, one is wanted", sheets.len()) };
    line("docs/line-sheet.md", sheet);
    let temporary = folder(&[("small.toml", sheet.as_bytes())]);
    let path = arg(&temporary.path().join("small.toml"));
    let (product, plan) = (example("products/gauge-node"), arg(&temporary.path().join("plan.json")));
    run(&["plan", &product, "--line", &path, "--side", "bottom", "--work", "500", "-o", &plan]).ends(0);
    run(&["verify", &plan]).ends(0);
}

#[test]
fn the_line_sheet_page_names_every_key() {
    let page = std::fs::read_to_string(root().join("docs/line-sheet.md")).unwrap();
    let schema: serde_json::Value = serde_json::from_str(&run(&["schema", "line"]).ends(0).out).unwrap();
    let objects = std::iter::once(&schema).chain(schema["$defs"].as_object().unwrap().values());
    for key in objects.filter_map(|o| o["properties"].as_object()).flat_map(|p| p.keys()) {
        assert!(page.contains(&format!("`{key}`")), "docs/line-sheet.md does not explain `{key}`");
    }
}

#[test]
fn the_locks_in_the_docs_parse() {
    for text in blocks("planning.md", "toml") {
        assert!(Rules::parse("docs/planning.md", &text).is_ok(), "{text}");
    }
}

#[test]
fn example_families_and_the_one_in_the_docs_parse() {
    for path in examples("families", "toml") {
        let text = std::fs::read_to_string(&path).unwrap();
        let sheet = FamilySheet::parse(&arg(&path), &text).unwrap();
        for product in &sheet.product {
            for file in product.files.iter().chain(&product.parts) {
                let file = path.parent().unwrap().join(file);
                assert!(file.exists(), "{}: {}", path.display(), file.display());
            }
        }
    }
    let in_docs = blocks("families.md", "toml");
    assert!(!in_docs.is_empty() && in_docs.iter().all(|text| FamilySheet::parse("docs/families.md", text).is_ok()));
}

/// One line spans parts from 0.4 x 0.2 mm chips to 45 x 150 mm bodies (common practice, no source).
#[test]
fn one_line_spans_the_smallest_chip_and_the_largest_body() {
    let rows = "Ref,Value,Package,X(mm),Y(mm),Rot,Side\nC1,1n,CAPC0402X22N,5,5,0,top\nC2,1n,CAPC0402X22N,90,5,0,top\n\
                U1,large,MODULE_45.0x150.0x9.0mm,60,100,0,top\n";
    let temporary = folder(&[("span.csv", rows.as_bytes())]);
    let (list, plan) = (arg(&temporary.path().join("span.csv")), arg(&temporary.path().join("plan.json")));
    for sheet in ["fixed-roles", "head-swap"] {
        let sheet = example(&format!("lines/{sheet}.toml"));
        let json = run(&["plan", &list, "--line", &sheet, "--work", "500", "-o", &plan, "--json"]).ends(0).json();
        assert_eq!((&json["placed"], json["unplaced"].as_array().map(Vec::len)), (&3.into(), Some(0)), "{sheet}: {json}");
        run(&["verify", &plan]).ends(0);
    }
}

/// Five tray places with 32 mm stacks hold about 25 trays (common practice, no source).
#[test]
fn five_stacks_hold_twenty_five_trays() {
    for sheet in ["fixed-roles", "head-swap"] {
        let line = example_line(sheet);
        let stacks: Vec<_> = line.station.iter().flat_map(|s| &s.tray).filter(|t| t.kind == TrayKind::Stack).collect();
        assert!(stacks.iter().all(|t| t.stack_height.is_some_and(|h| h.0 == Length(32_000))), "{sheet}");
        let trays: u32 = stacks.iter().map(|t| t.trays_held(LOW_TRAY)).sum();
        assert_eq!((stacks.len(), trays), (5, 25), "{sheet}");
    }
}
