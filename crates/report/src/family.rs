//! What leaves the program for a family: the shared set-up once, and how each product does on it.
//!
//! The full report of a product is that of its own plan ([`crate::Report`]).

mod page;
mod sheets;
mod tables;

use crate::error::ReportError;
use crate::table::Table;
use domain::family::plan::FamilyPlan;

/// The family plan as one self-contained page.
pub fn family_html(family: &FamilyPlan) -> String {
    page::page(family)
}

/// The family plan as printed sheets, A4 landscape: the set-up with its codes to scan, and the balances.
///
/// # Errors
/// As [`crate::pdf`].
pub fn family_pdf(family: &FamilyPlan) -> Result<Vec<u8>, ReportError> {
    sheets::sheets(family)
}

/// The family plan as a workbook: products, set-up, reasons.
///
/// # Errors
/// As [`crate::xlsx`].
pub fn family_xlsx(family: &FamilyPlan) -> Result<Vec<u8>, ReportError> {
    let sheets: [(&str, Table); 3] =
        [("Products", tables::products(family)), ("Set-up", tables::setup(family)), ("Reasons", tables::reasons(family))];
    crate::xlsx::book(&title(family), &sheets)
}

fn title(family: &FamilyPlan) -> String {
    let line = family.members.first().map_or("", |m| m.plan.line.name.as_str());
    format!("{}, {} products on one set-up, on {line}", family.name, family.members.len())
}

/// How it ended, in a sentence.
fn outcome(family: &FamilyPlan) -> String {
    let hours = |t: units::Time| t.to_s() / 3600.0;
    format!(
        "The whole demand takes {:.2} h without stops. No family plan of these products on this line takes less than {:.2} h; this one is {:.1} % above that.",
        hours(family.time_us),
        hours(family.bound_us),
        100.0 * family.gap()
    )
}
