//! The workbook of a report as openpyxl 3.1.5 (Python registry) reads it, against `calamine`, which is what evenline reads
//! spreadsheets with: the same cells with the same words and the same 64 bits of every number.

#[path = "../../draw/tests/common/mod.rs"]
mod common;
#[path = "../../intake/tests/common/oracle.rs"]
mod oracle;

use calamine::{Data, Reader, Xlsx};
use oracle::{Cell, Python, Value};
use std::io::Cursor;

fn by_calamine(book: &[u8]) -> Vec<Cell> {
    let mut book: Xlsx<_> = calamine::open_workbook_from_rs(Cursor::new(book)).expect("a workbook");
    let mut cells = Vec::new();
    for name in book.sheet_names() {
        let range = book.worksheet_range(&name).expect("the sheet");
        let (row0, column0) = range.start().unwrap_or_default();
        for (row, column, data) in range.used_cells() {
            let value = match data {
                Data::String(words) => Value::Text(words.clone()),
                Data::Float(number) => Value::Number(*number),
                other => panic!("{name}: a report holds words and figures, not {other:?}"),
            };
            cells.push((name.clone(), row0 + row as u32 + 1, column0 + column as u32 + 1, value));
        }
    }
    cells
}

#[test]
fn reports_hold_the_same_cells_for_others() {
    let Some(python) = Python::find() else { return };
    for (name, plan) in
        [("small", common::small()), ("large", common::large()), ("hostile", common::hostile()), ("broken", common::broken())]
    {
        let book = report::xlsx(&plan).expect("a workbook");
        // A cell of no letters is nothing to one reader and an empty text to the other.
        let written = |cells: Vec<Cell>| -> Vec<Cell> {
            let mut cells: Vec<Cell> = cells.into_iter().filter(|c| c.3 != Value::Text(String::new())).collect();
            cells.sort_by(|a, b| (&a.0, a.1, a.2).cmp(&(&b.0, b.1, b.2)));
            cells
        };
        let (ours, theirs) = (written(by_calamine(&book)), written(python.cells("xlsx", &book)));
        for (ours, theirs) in ours.iter().zip(&theirs) {
            assert_eq!(ours, theirs, "{name}");
        }
        assert_eq!(ours.len(), theirs.len(), "{name}");
        assert!(ours.len() > 50, "{name}: {} cells", ours.len());
        println!("{name}: {} cells agree", ours.len());
    }
}
