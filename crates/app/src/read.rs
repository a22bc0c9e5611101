//! Reading a designer's files, or a product document.

use diag::{Finding, codes};
use domain::library::Library;
pub use domain::product::Product;
use domain::product::{Side, Status};
pub use intake::parts::check::{ToMeasure, check as to_measure};
pub use intake::profile::{Concluded, write as write_profile};
use intake::{InputFile, ReadOptions};
use serde::Serialize;
use std::collections::BTreeSet;

/// A file as an edge hands it in.
#[derive(Clone, Debug)]
pub struct NamedBytes {
    /// Its name.
    pub name: String,
    /// Everything in it.
    pub bytes: Vec<u8>,
}

impl NamedBytes {
    pub(crate) fn input(&self) -> InputFile<'_> {
        InputFile { name: &self.name, bytes: &self.bytes }
    }
}

/// What to read, and what the engineer knows beyond it.
#[derive(Clone, Debug, Default)]
pub struct ReadRequest {
    /// Designer's files, or one product document.
    pub files: Vec<NamedBytes>,
    /// Name of the product.
    pub name: Option<String>,
    /// Mapping file.
    pub mapping: Option<NamedBytes>,
    /// Parts library.
    pub library: Option<NamedBytes>,
    /// Parts table.
    pub parts_table: Option<NamedBytes>,
}

/// What came of it. The JSON fields are part of the command line's contract.
#[derive(Clone, Debug, Serialize)]
pub struct ReadResult {
    /// Rows of the placement list.
    pub placements: usize,
    /// Rows to be placed.
    pub fitted: usize,
    /// Rows of parts that this variant leaves out.
    pub not_fitted: usize,
    /// Rows that are no parts.
    pub ignored: usize,
    /// Fitted rows on the top side.
    pub fitted_top: usize,
    /// Fitted rows on the bottom side.
    pub fitted_bottom: usize,
    /// Part types.
    pub parts: usize,
    /// What each file was taken for.
    pub files: Vec<FileRole>,
    /// Everything noticed.
    pub findings: Vec<Finding>,
    /// What was concluded about the form of the files in use, with the reasons.
    pub concluded: Vec<Concluded>,
    /// The product.
    #[serde(skip)]
    pub product: Option<Product>,
}

/// What a file was taken for.
#[derive(Clone, Debug, Serialize)]
pub struct FileRole {
    /// Its name.
    pub name: String,
    /// In words.
    pub role: String,
    /// Rows used or compared.
    pub rows: usize,
}

/// Reads files into a product.
pub fn read(request: &ReadRequest) -> ReadResult {
    let library = match request.library.as_ref().map(crate::library::read).transpose() {
        Ok(library) => library,
        Err(finding) => return result(None, vec![*finding], Vec::new()),
    };
    let library = library.as_ref().zip(request.library.as_ref()).map(|(known, file)| (known, file.name.as_str()));
    match request.files.as_slice() {
        [] => result(None, vec![Finding::new(codes::plan::USAGE, "there is no file to read")], Vec::new()),
        [only] if is_product(only) => read_document(only, library, request.parts_table.as_ref()),
        files => {
            let inputs: Vec<InputFile<'_>> = files.iter().map(NamedBytes::input).collect();
            let options = ReadOptions {
                name: request.name.clone(),
                mapping: request.mapping.as_ref().map(NamedBytes::input),
                library,
                parts_table: request.parts_table.as_ref().map(NamedBytes::input),
            };
            let reading = intake::read(&inputs, &options);
            let roles = reading.files.into_iter().map(|f| FileRole { name: f.name, role: f.role, rows: f.rows }).collect();
            ReadResult { concluded: reading.concluded, ..result(reading.product, reading.findings, roles) }
        }
    }
}

/// Pictures of the sides that have parts, as SVG by file name; what a warning or an error names is marked.
pub fn pictures(result: &ReadResult) -> Vec<(String, String)> {
    let Some(product) = &result.product else { return Vec::new() };
    let references: BTreeSet<&str> = product.placements.iter().map(|p| p.reference.as_str()).collect();
    let is_told = |f: &&Finding| f.severity >= diag::Severity::Warning;
    let words = result.findings.iter().filter(is_told).flat_map(|f| f.message.split([' ', ',', ':', ';', '`', '(', ')']));
    let named: BTreeSet<String> = words.filter(|w| references.contains(w)).map(str::to_owned).collect();
    let sides = [Side::Top, Side::Bottom].into_iter();
    let drawn = sides.filter(|s| product.placements.iter().any(|p| p.side == *s && p.status != Status::Ignored));
    drawn.map(|s| (format!("{}.svg", s.word()), draw::product::scene(product, s, &named).to_svg())).collect()
}

/// Whether a file is a product document: JSON that names its schema.
fn is_product(file: &NamedBytes) -> bool {
    let start = String::from_utf8_lossy(&file.bytes[..file.bytes.len().min(4096)]);
    start.trim_start().starts_with('{') && (file.name.ends_with(".json") || start.contains("evenline-product"))
}

fn read_document(file: &NamedBytes, library: Option<(&Library, &str)>, table: Option<&NamedBytes>) -> ReadResult {
    let text = String::from_utf8_lossy(&file.bytes);
    match intake::read_product(&file.name, &text) {
        Ok(mut product) => {
            let mut findings = library.map_or(Vec::new(), |(known, name)| intake::library::apply(&mut product.parts, known, name));
            findings.extend(table.map_or(Vec::new(), |t| intake::parts_table::apply(&mut product.parts, &t.input())));
            let rows = product.placements.len();
            result(Some(product), findings, vec![FileRole { name: file.name.clone(), role: "product document".to_owned(), rows }])
        }
        Err(findings) => result(None, findings, Vec::new()),
    }
}

fn result(product: Option<Product>, findings: Vec<Finding>, files: Vec<FileRole>) -> ReadResult {
    let count = |s: Status| product.as_ref().map_or(0, |p| p.count(s));
    let side = |s: Side| product.as_ref().map_or(0, |p| p.fitted_on(s));
    ReadResult {
        placements: product.as_ref().map_or(0, |p| p.placements.len()),
        fitted: count(Status::Fitted),
        not_fitted: count(Status::NotFitted),
        ignored: count(Status::Ignored),
        fitted_top: side(Side::Top),
        fitted_bottom: side(Side::Bottom),
        parts: product.as_ref().map_or(0, |p| p.parts.len()),
        files,
        findings,
        concluded: Vec::new(),
        product,
    }
}
