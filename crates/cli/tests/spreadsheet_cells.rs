//! Workbooks that the program writes, as openpyxl 3.1.5 (Python registry) reads them, against the same table printed as text, as
//! the csv module of Python reads it: cell by cell, a number by its value.

mod common;
#[path = "../../intake/tests/common/oracle.rs"]
mod oracle;

use common::{arg, example, folder, run};
use oracle::{Python, Value};
use std::collections::BTreeMap;

/// What stands at a row and a column.
type Cells = BTreeMap<(u32, u32), Value>;

fn cells(python: &Python, ending: &str, bytes: &[u8]) -> Cells {
    let all = python.cells(ending, bytes);
    assert!(all.iter().all(|c| c.0 == all[0].0), "one sheet");
    all.into_iter().filter(|c| c.3 != Value::Text(String::new())).map(|(_, row, column, value)| ((row, column), value)).collect()
}

/// Compares a workbook with the text of the same table.
fn agree(python: &Python, name: &str, book: &str, text: &str) {
    let book = cells(python, "xlsx", &std::fs::read(book).unwrap());
    let text = cells(python, "csv", text.as_bytes());
    assert_eq!(book.keys().collect::<Vec<_>>(), text.keys().collect::<Vec<_>>(), "{name}: the cells that hold anything");
    for (at, value) in &book {
        let Value::Text(printed) = &text[at] else { panic!("{name}: csv knows words only") };
        assert!(value.is_said_by(printed), "{name} {at:?}: {value:?} in the workbook, {printed:?} in the text");
    }
    assert!(book.len() > 100, "{name}: {} cells", book.len());
    println!("{name}: {} cells agree", book.len());
}

#[test]
fn tables_are_the_same_as_workbook_and_as_text() {
    let Some(python) = Python::find() else { return };
    let temporary = folder(&[]);
    let at = |name: &str| arg(&temporary.path().join(name));
    for board in ["river-logger", "weir-radio"] {
        let (files, table) = (example(&format!("products/{board}")), example(&format!("parts/{board}.csv")));
        let book = at(&format!("{board}.xlsx"));
        run(&["parts", &files, "--parts", &table, "-o", &book]).ends(0);
        let text = run(&["parts", &files, "--parts", &table]).ends(0).out;
        agree(&python, board, &book, &text);
        let library = at("library.json");
        run(&["library", "add", &library, &files, "--parts", &table, "--by", "m. weir"]).ends(0);
    }
    let (library, book) = (at("library.json"), at("library.xlsx"));
    run(&["library", "export", &library, "-o", &book]).ends(0);
    agree(&python, "library", &book, &run(&["library", "export", &library]).ends(0).out);
}
