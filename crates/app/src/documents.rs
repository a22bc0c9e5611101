//! Documents: line sheets, plans, products, reports, schemas.

use diag::Finding;
use domain::line::Line;
use domain::plan::Plan;
use domain::product::Product;
use domain::rules::Rules;

pub use report::cautions::{ALL as CAUTIONS, Caution};
pub use report::{Align, Cell, Column, ReportError, Sheet, SheetPart, Table, WhichSheet, method_words, outcome_words, sheet, work_of};

/// The schemas and tables that can be printed.
pub const SCHEMAS: [&str; 8] = ["line", "plan", "product", "library", "locks", "family", "family-plan", "errors"];

/// A JSON Schema of a document, or the index of errors; `None` for an unknown name.
pub fn schema(name: &str) -> Option<String> {
    let schema = match name {
        "line" => schemars::schema_for!(Line),
        "plan" => schemars::schema_for!(Plan),
        "product" => schemars::schema_for!(Product),
        "library" => schemars::schema_for!(domain::library::Library),
        "locks" => schemars::schema_for!(Rules),
        "family" => schemars::schema_for!(domain::family::FamilySheet),
        "family-plan" => schemars::schema_for!(domain::family::plan::FamilyPlan),
        "errors" => return Some(diag::index()),
        _ => return None,
    };
    serde_json::to_string_pretty(&schema).ok().map(|s| s + "\n")
}

/// Schemas of what a program sends to a room and gets from it, by name; what they refer to is among them, below
/// `#/components/schemas/`.
pub fn described() -> serde_json::Map<String, serde_json::Value> {
    let mut generator =
        schemars::generate::SchemaSettings::draft2020_12().with(|s| s.definitions_path = "/components/schemas".into()).into_generator();
    generator.subschema_for::<Finding>();
    generator.subschema_for::<Product>();
    generator.subschema_for::<domain::library::Library>();
    generator.subschema_for::<Plan>();
    generator.subschema_for::<domain::job::Panel>();
    generator.subschema_for::<crate::try_out::Change>();
    generator.subschema_for::<crate::try_out::Price>();
    generator.subschema_for::<crate::diff::PlanDiff>();
    generator.take_definitions(true)
}

/// A plan as a document.
///
/// # Errors
/// Only if the JSON writer itself fails, which it does not for this type.
pub fn write_plan(plan: &Plan) -> Result<String, serde_json::Error> {
    serde_json::to_string(plan).map(|s| s + "\n")
}

/// A product as a document.
///
/// # Errors
/// As [`write_plan`].
pub fn write_product(product: &Product) -> Result<String, serde_json::Error> {
    intake::write_product(product)
}

/// Parts as a table to fill in.
pub fn write_parts(product: &Product) -> String {
    intake::parts_table::write(&product.parts)
}

/// Parts as a workbook to fill in.
///
/// # Errors
/// As [`report`].
pub fn write_parts_workbook(product: &Product) -> Result<Vec<u8>, ReportError> {
    report::parts_workbook(&format!("Parts of {}", product.name), &intake::parts_table::cells(&product.parts))
}

/// A file of a report.
#[derive(Clone, Debug)]
pub struct ReportFile {
    /// Its name.
    pub name: String,
    /// Everything in it.
    pub bytes: Vec<u8>,
}

/// The whole report of a plan: page, printed sheets, workbook, and the pictures by themselves.
///
/// # Errors
/// When a document cannot be written.
pub fn report(plan: &Plan) -> Result<Vec<ReportFile>, ReportError> {
    let report = timed(plan);
    let file = |name: &str, bytes: Vec<u8>| ReportFile { name: name.to_owned(), bytes };
    let mut files =
        vec![file("report.html", report.html().into_bytes()), file("report.pdf", report.pdf()?), file("report.xlsx", report.xlsx()?)];
    files.extend(report::pictures(plan).into_iter().map(|(name, svg)| file(&name, svg.into_bytes())));
    Ok(files)
}

fn timed(plan: &Plan) -> report::Report<'_> {
    report::Report::new(plan).timed(report::pass_times(plan)).played(report::beam_stretches(plan))
}

/// The printed sheets of the report alone.
///
/// # Errors
/// As [`report`].
pub fn printed(plan: &Plan) -> Result<Vec<u8>, ReportError> {
    timed(plan).pdf()
}

/// The workbook of the report alone.
///
/// # Errors
/// As [`report`].
pub fn workbook(plan: &Plan) -> Result<Vec<u8>, ReportError> {
    timed(plan).xlsx()
}

/// Reads a line sheet.
///
/// # Errors
/// Everything wrong with it.
pub fn read_line(name: &str, text: &str) -> Result<Line, Vec<Finding>> {
    Line::parse(name, text)
}
