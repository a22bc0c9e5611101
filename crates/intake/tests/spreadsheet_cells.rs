//! Every cell of a spreadsheet as evenline's tables are looked for in it, against packages of the Python registry: openpyxl 3.1.5
//! for `.xlsx`, xlrd 2.0.2 for `.xls`, odfpy 1.4.1 for `.ods`.
//!
//! Same sheet, row, column and value: words letter for letter, a number as the same 64 bits, a date kept as a number of days to half
//! a millisecond, a date of `.ods` as it is written. By rule neither reader's are: cells of blanks only, errors, and what lies beyond
//! column 512. Control characters, which `.xlsx` writes as `_x000D_`, are read as such (openpyxl leaves the escape standing).

mod common;
#[path = "common/oracle.rs"]
mod oracle;

use oracle::{Python, Value};
use std::collections::BTreeMap;
use std::path::PathBuf;

/// What stands at a sheet's row and column.
type Cells<T> = BTreeMap<(String, u32, u32), T>;

/// Last column that evenline keeps.
const LAST_COLUMN: u32 = 512;

/// Compares a workbook and tells how many cells agree.
fn agree(python: &Python, name: &str, bytes: &[u8]) -> usize {
    let ending = name.rsplit('.').next().expect("an ending");
    let blank = |value: &Value| matches!(value, Value::Text(words) if words.trim().is_empty());
    let theirs: Cells<Value> = python
        .cells(ending, bytes)
        .into_iter()
        .filter(|(_, _, column, value)| *column <= LAST_COLUMN && !blank(value))
        .map(|(sheet, row, column, value)| ((sheet, row, column), value))
        .collect();
    let mut ours: Cells<String> = BTreeMap::new();
    for sheet in intake::spreadsheet::sheets(bytes).unwrap_or_else(|e| panic!("{name}: {e}")) {
        ours.extend(sheet.cells.into_iter().map(|c| ((sheet.name.clone(), c.row, c.column), c.text)));
    }
    let mut differences = Vec::new();
    for (at, value) in &theirs {
        if !ours.get(at).is_some_and(|text| value.is_said_by(text)) {
            differences.push(format!("{at:?}: {:?}, they read {value:?}", ours.get(at)));
        }
    }
    differences
        .extend(ours.iter().filter(|(at, _)| !theirs.contains_key(at)).map(|(at, text)| format!("{at:?}: {text:?}, they read nothing")));
    assert!(differences.is_empty(), "{name}: {} cells differ\n{}", differences.len(), differences.join("\n"));
    println!("{name}: {} cells agree", theirs.len());
    theirs.len()
}

/// All spreadsheets below the collection, by path.
fn spreadsheets() -> Vec<PathBuf> {
    let Some(boards) = common::boards() else { return Vec::new() };
    let inside = |folder: PathBuf| std::fs::read_dir(folder).into_iter().flatten().flatten().map(|e| e.path());
    let is_one = |p: &PathBuf| p.extension().is_some_and(|e| ["xlsx", "xls", "ods"].iter().any(|known| e.eq_ignore_ascii_case(known)));
    let mut found: Vec<PathBuf> = inside(boards).filter(|p| p.is_dir()).flat_map(inside).filter(is_one).collect();
    found.sort();
    found
}

#[test]
fn spreadsheets_of_real_boards() {
    let Some(python) = Python::find() else { return };
    let all = spreadsheets();
    if all.is_empty() {
        return;
    }
    let mut cells = 0;
    for path in &all {
        cells += agree(&python, &path.to_string_lossy(), &std::fs::read(path).expect("the file"));
    }
    assert!(all.len() >= 9 && cells >= 7_505, "{cells} cells of {} spreadsheets", all.len());
}

#[test]
fn odd_cells_that_others_wrote() {
    let Some(python) = Python::find() else { return };
    for (ending, at_least) in [("xlsx", 30), ("xls", 30), ("ods", 40)] {
        let cells = agree(&python, &format!("odd.{ending}"), &python.make(ending));
        assert!(cells >= at_least, "{ending}: {cells} cells");
    }
}

#[test]
fn odd_cells_that_the_library_of_our_own_tables_writes() {
    use rust_xlsxwriter::{ExcelDateTime, Format, Formula, Workbook};
    let Some(python) = Python::find() else { return };
    let mut book = Workbook::new();
    let sheet = book.add_worksheet();
    for (row, text) in
        ["Ref", " a  b ", "a\tb\nc", "_x0041_", "Ω <&>", "=1+1", "0402", "\u{a0}", "\u{85}x", "a\r\nb", "a\u{1}b"].iter().enumerate()
    {
        sheet.write_string(row as u32, 0, *text).expect("cell");
    }
    for (row, number) in [0.0, -0.1, 0.1 + 0.2, 1e-12, 1e21, 123_456_789.25, f64::MAX, 5e-324, 1.0 / 3.0].iter().enumerate() {
        sheet.write_number(row as u32, 2, *number).expect("cell");
    }
    let day = Format::new().set_num_format("yyyy-mm-dd hh:mm");
    let date = ExcelDateTime::from_ymd(2026, 3, 1).and_then(|d| d.and_hms(18, 30, 5)).expect("a date");
    sheet.write_with_format(0, 3, &date, &day).expect("cell");
    sheet.write_boolean(1, 3, true).expect("cell");
    sheet.write_formula(2, 3, Formula::new("=1/4").set_result("0.25")).expect("cell");
    sheet.write_formula(3, 3, Formula::new("=A1").set_result("Ref")).expect("cell");
    sheet.write_rich_string(4, 3, &[(&Format::new().set_bold(), "bold "), (&Format::new(), "and not")]).expect("cell");
    sheet.merge_range(20, 0, 21, 2, "merged", &Format::new()).expect("cells");
    sheet.write_string(1_048_575, 0, "last row").expect("cell");
    sheet.write_string(5, 511, "last column that is read").expect("cell");
    sheet.write_string(5, 512, "beyond").expect("cell");
    let cells = agree(&python, "own.xlsx", &book.save_to_buffer().expect("buffer"));
    assert!(cells >= 25, "{cells}");
}
