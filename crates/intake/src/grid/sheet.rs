//! Spreadsheets (`.xlsx`, `.xls`, `.ods`) as grids, by `calamine`.
//!
//! A workbook is somebody else's compressed file: its unpacked size is looked up before it
//! is unpacked, cells are counted while they are read, and a panic of the reading library
//! is caught and turned into an error. What a workbook claims is looked up first where the library believes it: memory
//! that cannot be had ends the program. Left out: formulas, styles, macros, merged areas.

use super::{Grid, MAX_COLUMNS, Row};
use calamine::{Data, Dimensions, Reader, Sheets, Xlsx, open_workbook_auto_from_rs};
use quick_xml::events::Event;
use std::io::{BufReader, Cursor};
use std::panic::{AssertUnwindSafe, catch_unwind};

/// Unpacked bytes accepted of one workbook; a real one takes a few megabytes.
const MAX_UNPACKED: u64 = 256 * 1024 * 1024;
/// Cells accepted of one sheet.
const MAX_CELLS: u64 = 4_000_000;
/// Cells of one sheet with the empty ones to the left of others.
const MAX_LAID_OUT: u64 = 8_000_000;
/// Least that a shared text takes in the file, `<si/>` [bytes].
const LEAST_TEXT: u64 = 5;

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
    if is_binary(bytes) {
        return Err("it is a binary workbook (.xlsb), which is not read; save it as .xlsx".to_owned());
    }
    if let Some(claimed) = false_texts(bytes) {
        return Err(format!("it claims {claimed} shared texts, more than it can hold"));
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
        let rows = rows(cells)?;
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

fn rows(mut cells: Vec<Cell>) -> Result<Vec<Row>, String> {
    cells.sort_by_key(|c| (c.0, c.1));
    let widths = cells.chunk_by(|a, b| a.0 == b.0).filter_map(|row| row.last()).map(|last| u64::from(last.1) + 1);
    if widths.sum::<u64>() > MAX_LAID_OUT {
        return Err(format!("a sheet is laid out over more than {MAX_LAID_OUT} cells, most of them empty"));
    }
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
    Ok(rows)
}

/// Whether a workbook is written in the binary form.
fn is_binary(bytes: &[u8]) -> bool {
    zip::ZipArchive::new(Cursor::new(bytes))
        .is_ok_and(|a| a.file_names().flatten().any(|n| n.to_ascii_lowercase().ends_with("workbook.bin")))
}

/// How many shared texts a workbook claims, if its part for them cannot hold so many; the library makes room for as many as it is told.
fn false_texts(bytes: &[u8]) -> Option<u64> {
    let mut archive = zip::ZipArchive::new(Cursor::new(bytes)).ok()?;
    let name = archive.file_names().flatten().find(|n| n.to_ascii_lowercase().ends_with("sharedstrings.xml"))?.into_owned();
    let part = archive.by_name(&name).ok()?;
    let most = part.size() / LEAST_TEXT + 1;
    let mut reader = quick_xml::Reader::from_reader(BufReader::new(part));
    let mut buffer = Vec::new();
    loop {
        buffer.clear();
        match reader.read_event_into(&mut buffer) {
            Ok(Event::Start(e) | Event::Empty(e)) if e.local_name().as_ref() == "sst" => {
                // `count` counts uses, and may be as large as it likes.
                let claims = e.attributes().flatten().filter(|a| a.key.as_ref() == "uniqueCount");
                return claims.filter_map(|a| a.value.trim().parse::<u64>().ok()).max().filter(|n| *n > most);
            }
            // What cannot be read, the library tells.
            Ok(Event::Eof) | Err(_) => return None,
            Ok(_) => {}
        }
    }
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

    /// A workbook whose part for shared texts is this.
    fn with_texts(texts: &str) -> Vec<u8> {
        let mut book = rust_xlsxwriter::Workbook::new();
        book.add_worksheet().write(0, 0, "Ref").expect("cell");
        let bytes = book.save_to_buffer().expect("buffer");
        let mut old = zip::ZipArchive::new(Cursor::new(bytes)).expect("an archive");
        let mut new = zip::ZipWriter::new(Cursor::new(Vec::new()));
        for i in 0..old.len() {
            let mut file = old.by_index(i).expect("a file");
            let mut body = Vec::new();
            std::io::Read::read_to_end(&mut file, &mut body).expect("a body");
            let name = file.name().expect("a name").into_owned();
            let body = if name.ends_with("sharedStrings.xml") { texts.as_bytes().to_vec() } else { body };
            new.start_file(name, zip::write::SimpleFileOptions::default()).expect("a file");
            std::io::Write::write_all(&mut new, &body).expect("it is written");
        }
        new.finish().expect("an archive").into_inner()
    }

    #[test]
    fn claims_that_would_take_all_memory_are_refused() {
        let claim = |n: &str| {
            format!(
                "<?xml version=\"1.0\"?><!-- x --><sst xmlns=\"http://schemas.openxmlformats.org/spreadsheetml/2006/main\" {n}><si><t>Ref</t></si></sst>"
            )
        };
        assert_eq!(sheets(&with_texts(&claim("count=\"1\" uniqueCount=\"1\""))).expect("sheets")[0].rows[0].cells, ["Ref"]);
        let refused = sheets(&with_texts(&claim("uniqueCount=\"10000000000000\""))).expect_err("refused");
        assert!(refused.contains("10000000000000 shared texts"), "{refused}");
        // One cell far to the right in each of many rows.
        let wide = (0..20_000).map(|row| (row, MAX_COLUMNS as u32 - 1, "x".to_owned())).collect();
        assert!(rows(wide).expect_err("refused").contains("most of them empty"));
    }

    #[test]
    fn a_huge_unpacked_size_is_refused_unopened() {
        let mut entry = b"PK\x03\x04....PK\x01\x02".to_vec();
        entry.extend([0; 20]);
        entry.extend(u32::MAX.to_le_bytes());
        assert!(sheets(&entry).expect_err("refused").contains("unpacks"));
    }
}
