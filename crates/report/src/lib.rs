//! What leaves the program as a document: one self-contained page, printed sheets, spreadsheets.
//!
//! Reading order: [`Report`] (a plan and how to present it), [`mod@code`] (the text to scan),
//! `table` and `tables` (what is told, once for all three forms), then `html`, `pdf` and `xlsx`
//! (how it looks); `sheet` for one sheet by itself; `family` for several products on one set-up. `docs/report.md` describes the contents to users.
//!
//! Nothing is computed here but counts and shares of what the plan states. A plan that refers to
//! things that do not exist is reported as far as it can be, with a word where something is missing.

pub mod cautions;
pub mod code;

mod error;
mod family;
mod headline;
mod html;
mod passes;
mod pdf;
mod present;
mod sheet;
mod supply;
mod table;
mod tables;
mod xlsx;

pub use error::ReportError;
pub use family::{family_html, family_pdf, family_xlsx};
pub use headline::{method as method_words, outcome as outcome_words};
pub use passes::{beam_stretches, pass_times};
pub use present::Report;
pub use sheet::{Sheet, SheetPart, WhichSheet, sheet, work_of};
pub use table::{Align, Cell, Column, Table};

use domain::plan::Plan;

/// The plan as one self-contained page.
pub fn html(plan: &Plan) -> String {
    Report::new(plan).html()
}

/// The plan as printed sheets, A4 landscape.
///
/// # Errors
/// When a picture has more shapes than the sheet writer takes (about a million), or the sheets cannot be written.
pub fn pdf(plan: &Plan) -> Result<Vec<u8>, ReportError> {
    Report::new(plan).pdf()
}

/// The plan as a workbook.
///
/// # Errors
/// When a sheet would have more rows than a workbook can hold.
pub fn xlsx(plan: &Plan) -> Result<Vec<u8>, ReportError> {
    Report::new(plan).xlsx()
}

/// A parts table as a workbook to fill in: `cells` are its rows, the header first. What reads as a figure stands as one.
///
/// # Errors
/// When it has more rows or columns than a workbook can hold.
pub fn parts_workbook(title: &str, cells: &[Vec<String>]) -> Result<Vec<u8>, ReportError> {
    xlsx::book(title, &[("Parts", table::Table::of_cells(cells))])
}

/// The pictures of a plan by themselves, as SVG: for each a file name and its text.
pub fn pictures(plan: &Plan) -> Vec<(String, String)> {
    let mut pictures =
        vec![("balance.svg".to_owned(), draw::balance::scene(plan).to_svg()), ("board.svg".to_owned(), draw::board::scene(plan).to_svg())];
    for (s, planned) in plan.stations.iter().enumerate() {
        let banks = draw::lookup::station(plan, planned).map_or(0, |sheet| sheet.bank.len());
        for b in 0..banks {
            pictures.extend(draw::bank::scene(plan, s, b).map(|scene| (format!("station-{}-bank-{}.svg", s + 1, b + 1), scene.to_svg())));
        }
        pictures.extend(draw::tray::scene(plan, s).map(|scene| (format!("station-{}-trays.svg", s + 1), scene.to_svg())));
    }
    pictures
}
