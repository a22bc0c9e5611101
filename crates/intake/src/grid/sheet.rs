//! Spreadsheets (`.xlsx`, `.xls`, `.ods`) as grids, by `calamine`.
//!
//! A workbook is somebody else's compressed file: its unpacked size is looked up before it
//! is unpacked, cells are counted while they are read, and a panic of the reading library
//! is caught and turned into an error. Left out: formulas, styles, macros, merged areas.

use super::{Grid, MAX_COLUMNS, Row};
use calamine::{Data, Dimensions, Reader, Sheets, Xlsx, open_workbook_auto_from_rs};
use std::io::Cursor;
use std::panic::{AssertUnwindSafe, catch_unwind};

/// Unpacked bytes accepted of one workbook; a real one takes a few megabytes.
const MAX_UNPACKED: u64 = 256 * 1024 * 1024;
/// Cells accepted of one sheet.
const MAX_CELLS: u64 = 4_000_000;

/// Whether the bytes start like a spreadsheet file: a zip container, or the older compound file.
pub(crate) fn looks_like_one(bytes: &[u8]) -> bool {
    bytes.starts_with(b"PK\x03\x04") || bytes.starts_with(&[0xd0, 0xcf, 0x11, 0xe0])
}

/// All sheets that hold anything.
///
/// # Errors
/// What is wrong with the workbook, in words.
pub(crate) fn sheets(bytes: &[u8]) -> Result<Vec<Grid>, String> {
    let unpacked = unpacked_size(bytes);
    if unpacked > MAX_UNPACKED {
        return Err(format!("it unpacks to {} MB, more than is read ({} MB)", unpacked >> 20, MAX_UNPACKED >> 20));
    }
    catch_unwind(AssertUnwindSafe(|| read_all(bytes))).unwrap_or_else(|_| Err("its inside contradicts itself".to_owned()))
}

fn read_all(bytes: &[u8]) -> Result<Vec<Grid>, String> {
    let mut book = open_workbook_auto_from_rs(Cursor::new(bytes)).map_err(|e| e.to_string())?;
    let mut grids = Vec::new();
    for name in book.sheet_names() {
        let cells = match &mut book {
            Sheets::Xlsx(book) => xlsx_cells(book, &name)?,
            other => range_cells(&other.worksheet_range(&name).map_err(|e| e.to_string())?)?,
        };
        let rows = rows(cells);
        if !rows.is_empty() {
            grids.push(Grid { split: "spreadsheet".to_owned(), sheet: Some(name), rows, ..Grid::default() });
        }
    }
    Ok(grids)
}

/// Row, column (both from 0) and text of a cell that is not empty.
type Cell = (u32, u32, String);

/// Cell by cell, since a sheet that claims two far corners must not be laid out in full.
fn xlsx_cells(book: &mut Xlsx<Cursor<&[u8]>>, name: &str) -> Result<Vec<Cell>, String> {
    let mut reader = match book.worksheet_cells_reader(name) {
        Ok(reader) => reader,
        // A chart sheet has no cells.
        Err(calamine::XlsxError::NotAWorksheet(_)) => return Ok(Vec::new()),
        Err(e) => return Err(e.to_string()),
    };
    let mut cells = Vec::new();
    while let Some(cell) = reader.next_cell().map_err(|e| e.to_string())? {
        let (row, column) = cell.get_position();
        push(&mut cells, row, column, &Data::from(cell.get_value().clone()))?;
    }
    Ok(cells)
}

fn range_cells(range: &calamine::Range<Data>) -> Result<Vec<Cell>, String> {
    let Dimensions { start: (row0, column0), .. } = Dimensions::new(range.start().unwrap_or_default(), range.end().unwrap_or_default());
    let mut cells = Vec::new();
    for (row, column, value) in range.used_cells() {
        push(&mut cells, row0 + row as u32, column0 + column as u32, value)?;
    }
    Ok(cells)
}

fn push(cells: &mut Vec<Cell>, row: u32, column: u32, value: &Data) -> Result<(), String> {
    let text = text_of(value);
    if text.trim().is_empty() || column as usize >= MAX_COLUMNS {
        return Ok(());
    }
    if cells.len() as u64 >= MAX_CELLS {
        return Err(format!("a sheet holds more than {MAX_CELLS} cells"));
    }
    cells.push((row, column, text));
    Ok(())
}

fn text_of(value: &Data) -> String {
    match value {
        Data::Empty | Data::Error(_) => String::new(),
        Data::String(s) | Data::DateTimeIso(s) | Data::DurationIso(s) => s.clone(),
        // Dates matter to no column; a number that a sheet took for a date keeps its serial.
        Data::DateTime(d) => d.as_f64().to_string(),
        Data::Float(f) => f.to_string(),
        Data::Int(i) => i.to_string(),
        Data::Bool(b) => b.to_string(),
    }
}

fn rows(mut cells: Vec<Cell>) -> Vec<Row> {
    cells.sort_by_key(|c| (c.0, c.1));
    let mut rows: Vec<Row> = Vec::new();
    for (row, column, text) in cells {
        let line = row.saturating_add(1);
        if rows.last().is_none_or(|r| r.line != line) {
            rows.push(Row { line, cells: Vec::new() });
        }
        if let Some(last) = rows.last_mut() {
            last.cells.resize(column as usize, String::new());
            last.cells.push(text);
        }
    }
    rows
}

/// What a zip container says it unpacks to, summed over its directory; 0 for anything else.
///
/// Directory entry (`PK 1 2`): unpacked size at offset 24, as in the published format note
/// of the zip container, clause 4.3.12 (from memory).
fn unpacked_size(bytes: &[u8]) -> u64 {
    let mut total = 0_u64;
    let mut from = 0;
    while let Some(found) = find(&bytes[from..], b"PK\x01\x02") {
        let at = from + found;
        if let Some(&[a, b, c, d]) = bytes.get(at + 24..at + 28) {
            total += u64::from(u32::from_le_bytes([a, b, c, d]));
        }
        from = at + 4;
    }
    total
}

fn find(haystack: &[u8], needle: &[u8; 4]) -> Option<usize> {
    haystack.windows(4).position(|w| w == needle)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_sheets_and_number_cells_are_read() {
        let mut book = rust_xlsxwriter::Workbook::new();
        book.add_worksheet().set_name("empty").expect("name");
        let sheet = book.add_worksheet();
        sheet.write(2, 1, "Ref").expect("cell");
        sheet.write(3, 1, 2.5).expect("cell");
        sheet.write(3, 3, 4).expect("cell");
        let grids = sheets(&book.save_to_buffer().expect("buffer")).expect("sheets");
        assert_eq!(grids.len(), 1);
        assert_eq!(grids[0].rows[0].line, 3);
        assert_eq!(grids[0].rows[1].cells, ["", "2.5", "", "4"]);
    }

    #[test]
    fn a_broken_workbook_is_an_error() {
        let mut book = rust_xlsxwriter::Workbook::new();
        book.add_worksheet().write(0, 0, "Ref").expect("cell");
        let bytes = book.save_to_buffer().expect("buffer");
        for cut in [4, 30, bytes.len() / 2, bytes.len() - 10] {
            assert!(sheets(&bytes[..cut]).is_err(), "cut at {cut}");
        }
    }

    #[test]
    fn a_huge_unpacked_size_is_refused_unopened() {
        let mut entry = b"PK\x03\x04....PK\x01\x02".to_vec();
        entry.extend([0; 20]);
        entry.extend(u32::MAX.to_le_bytes());
        assert!(sheets(&entry).expect_err("refused").contains("unpacks"));
    }
}
