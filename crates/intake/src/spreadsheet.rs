//! The cells of a spreadsheet by themselves, exactly as the tables are looked for in them.

use crate::grid::sheet;

/// A sheet that holds anything.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sheet {
    /// Its name.
    pub name: String,
    /// Its cells, by row, then by column.
    pub cells: Vec<Cell>,
}

/// A cell that holds more than blanks.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cell {
    /// Row, counted from 1.
    pub row: u32,
    /// Column, counted from 1; at most 512.
    pub column: u32,
    /// Words as they stand, blanks around them too. A number in the shortest decimal form that gives it again; a date as the
    /// workbook keeps it (the day's number in `.xlsx` and `.xls`, `2026-03-01` in `.ods`); `true` or `false`.
    pub text: String,
}

/// The sheets of an `.xlsx`, `.xls` or `.ods` workbook, in its order; hidden ones too. Formulas give what they last came to,
/// errors nothing.
///
/// # Errors
/// What is wrong with the workbook, in words.
///
/// ```
/// assert!(intake::spreadsheet::sheets(b"Ref,X,Y\n").is_err());
/// ```
pub fn sheets(bytes: &[u8]) -> Result<Vec<Sheet>, String> {
    let grids = sheet::sheets(bytes)?;
    Ok(grids.into_iter().map(|g| Sheet { name: g.sheet.unwrap_or_default(), cells: g.rows.iter().flat_map(cells).collect() }).collect())
}

fn cells(row: &crate::grid::Row) -> impl Iterator<Item = Cell> {
    let written = row.cells.iter().enumerate().filter(|(_, text)| !text.trim().is_empty());
    written.map(|(index, text)| Cell { row: row.line, column: index as u32 + 1, text: text.clone() })
}
