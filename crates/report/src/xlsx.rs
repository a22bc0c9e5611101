//! The workbook: one table a sheet, figures as figures, heads frozen and filtered.
//!
//! The date of creation is fixed, so that the same plan gives the same bytes. Words are always
//! written as words: a part number that looks like a formula stays one.

use crate::error::ReportError;
use crate::present::Report;
use crate::table::{Cell, Table};
use crate::tables;
use rust_xlsxwriter::{Color, DocProperties, ExcelDateTime, Format, FormatAlign, FormatBorder, Workbook, Worksheet};

/// Letters a cell can hold (the limit of the workbook format, as the writing library states it).
const MOST_LETTERS: usize = 32_767;

/// The plan as a workbook.
pub(crate) fn workbook(report: &Report<'_>) -> Result<Vec<u8>, ReportError> {
    let sheets = [
        ("Summary", tables::summary(report)),
        ("Set-up", tables::setup(report)),
        ("Kit", tables::kit(report)),
        ("Program", tables::program(report)),
        ("First panel", tables::first_panel(report)),
        ("Parts", tables::all_parts(report)),
        ("Unplaced", tables::unplaced(report)),
        ("Findings", tables::findings(report)),
    ];
    book(&report.title, &sheets)
}

/// A workbook of these tables, each a sheet with its name.
pub(crate) fn book(title: &str, sheets: &[(&str, Table)]) -> Result<Vec<u8>, ReportError> {
    let mut book = Workbook::new();
    let fixed = ExcelDateTime::from_ymd(2000, 1, 1)?;
    book.set_properties(&DocProperties::new().set_title(within(title)).set_creation_datetime(&fixed));
    for (name, table) in sheets {
        sheet(book.add_worksheet().set_name(*name)?, table)?;
    }
    Ok(book.save_to_buffer()?)
}

fn sheet(sheet: &mut Worksheet, table: &Table) -> Result<(), ReportError> {
    let head = Format::new()
        .set_bold()
        .set_background_color(Color::RGB(0xE8_EF_F3))
        .set_border_bottom(FormatBorder::Thin)
        .set_text_wrap()
        .set_align(FormatAlign::Top);
    for (c, column) in table.columns.iter().enumerate() {
        let c = column_index(c)?;
        sheet.write_string_with_format(0, c, within(&column.name), &head)?;
        sheet.set_column_width(c, width(table, usize::from(c)))?;
    }
    for (r, row) in table.rows.iter().enumerate() {
        let r = u32::try_from(r + 1).map_err(|_| rust_xlsxwriter::XlsxError::RowColumnLimitError)?;
        for (c, cell) in row.iter().enumerate() {
            write_cell(sheet, r, column_index(c)?, cell)?;
        }
    }
    sheet.set_freeze_panes(1, 0)?;
    if let (Ok(rows), false) = (u32::try_from(table.rows.len()), table.is_empty()) {
        sheet.autofilter(0, 0, rows, column_index(table.columns.len().saturating_sub(1))?)?;
    }
    sheet.set_landscape();
    sheet.set_paper_size(9);
    sheet.set_print_fit_to_pages(1, 0);
    sheet.set_repeat_rows(0, 0)?;
    Ok(())
}

fn column_index(column: usize) -> Result<u16, ReportError> {
    u16::try_from(column).map_err(|_| rust_xlsxwriter::XlsxError::RowColumnLimitError.into())
}

fn write_cell(sheet: &mut Worksheet, row: u32, column: u16, cell: &Cell) -> Result<(), ReportError> {
    match cell {
        Cell::Text(text) | Cell::Code(text) => drop(sheet.write_string(row, column, within(text))?),
        Cell::Number(value, digits) => {
            let pattern = if *digits == 0 { "0".to_owned() } else { format!("0.{}", "0".repeat(*digits)) };
            sheet.write_number_with_format(row, column, *value, &Format::new().set_num_format(pattern))?;
        }
        Cell::Empty => {}
    }
    Ok(())
}

/// The text, cut with `…` where it is longer than a cell can hold; the page and the sheets have all of it.
fn within(text: &str) -> String {
    match text.char_indices().nth(MOST_LETTERS) {
        Some(_) => text.chars().take(MOST_LETTERS - 1).chain(['…']).collect(),
        None => text.to_owned(),
    }
}

/// A width that suits most cells of a column.
fn width(table: &Table, column: usize) -> f64 {
    let head = table.columns[column].name.chars().count();
    let longest = table.rows.iter().filter_map(|r| r.get(column)).map(|c| c.words().chars().count()).max().unwrap_or(0);
    (longest.max(head) as f64 + 3.0).clamp(8.0, 60.0)
}
