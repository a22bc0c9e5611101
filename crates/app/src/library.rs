//! The parts library: reading it, adding to it, showing it.

use crate::read::NamedBytes;
use diag::Finding;
use domain::product::Product;
use serde::Serialize;

pub use domain::library::{Library, Version};
pub use intake::library::Changed;

/// Reads a library document.
///
/// # Errors
/// As [`Library::parse`].
pub fn read(file: &NamedBytes) -> Result<Library, Box<Finding>> {
    Library::parse(&file.name, &String::from_utf8_lossy(&file.bytes))
}

/// Adds what is stated of a product's parts.
pub fn add(library: &mut Library, product: &Product, version: Version) -> (Changed, Vec<Finding>) {
    intake::library::add(library, &product.parts, version)
}

/// Adds the rows of a table.
pub fn import(library: &mut Library, table: &NamedBytes, version: Version) -> (Changed, Vec<Finding>) {
    intake::library::import(library, &table.input(), version)
}

/// The library as a document.
///
/// # Errors
/// Only if the JSON writer itself fails, which it does not for this type.
pub fn write(library: &Library) -> Result<String, serde_json::Error> {
    serde_json::to_string_pretty(library).map(|s| s + "\n")
}

/// The library as a text table.
pub fn table(library: &Library) -> String {
    intake::library::table(library)
}

/// The library as a workbook.
///
/// # Errors
/// As [`crate::documents::report`].
pub fn workbook(library: &Library) -> Result<Vec<u8>, report::ReportError> {
    report::parts_workbook(&format!("Parts library, version {}", library.version()), &intake::library::cells(library))
}

/// A value that a version brought. The JSON fields are part of the command line's contract.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Event {
    /// The version.
    pub version: u32,
    /// The day.
    pub on: String,
    /// Who.
    pub by: String,
    /// From what.
    pub from: String,
    /// Why.
    pub note: String,
    /// Part number.
    pub part: String,
    /// Column of the parts table.
    pub column: String,
    /// Value before; empty where there was none.
    pub before: String,
    /// Value from then on.
    pub after: String,
}

/// What was changed when, oldest first; of one part only if it is named.
pub fn history(library: &Library, part: Option<&str>) -> Vec<Event> {
    let mut events = Vec::new();
    for (number, entry) in library.parts.iter().filter(|(n, _)| part.is_none_or(|p| p == n.as_str())) {
        for (column, all) in &entry.values {
            for (k, s) in all.iter().enumerate() {
                let Some(v) = library.versions.get(s.version as usize - 1) else { continue };
                events.push(Event {
                    version: s.version,
                    on: v.on.clone(),
                    by: v.by.clone(),
                    from: v.from.clone(),
                    note: v.note.clone(),
                    part: number.clone(),
                    column: column.clone(),
                    before: k.checked_sub(1).map_or_else(String::new, |k| all[k].value.clone()),
                    after: s.value.clone(),
                });
            }
        }
    }
    events.sort_by(|a, b| (a.version, &a.part, &a.column).cmp(&(b.version, &b.part, &b.column)));
    events
}
