//! The parts library on a product, and what a product or a table adds to it.
//!
//! What the library knows goes before package names and designer's files unless these are surer; the engineer's parts table
//! for one product goes before the library. Where they say different things a finding says so.

use crate::InputFile;
use crate::parts::refit;
use crate::parts_table::{Column, certainty_word, columns, file, refused, resized, source_word};
use diag::{Finding, codes};
use domain::library::{Entry, Library, Stated, Version};
use domain::part::{Certainty, Part, Source};

/// Puts what a library knows into parts of the same number.
pub fn apply(parts: &mut [Part], library: &Library, name: &str) -> Vec<Finding> {
    let mut findings = Vec::new();
    let (mut known, mut values) = (0, 0);
    let mut overruled = Vec::new();
    for part in parts.iter_mut() {
        let Some(entry) = library.parts.get(&file::key(&part.number)) else { continue };
        let before = part.clone();
        known += 1;
        for (column, stated) in entry.current() {
            let Some(column) = columns().iter().find(|c| c.name == column) else {
                let message = format!("the library has a column `{column}` for `{}`, which is not known here", part.number);
                findings.push(Finding::new(codes::parts::LIBRARY_VALUE, message).at(name, 0).value(column));
                continue;
            };
            if (column.check)(&stated.value).is_err() {
                let message = format!("`{}` is no value of `{}` for `{}`; it was not used", stated.value, column.name, part.number);
                findings.push(Finding::new(codes::parts::LIBRARY_VALUE, message).at(name, 0).value(&stated.value));
                continue;
            }
            let was = (column.shown)(part);
            let stands = stated.certainty >= was.sureness;
            let differs = was.value != stated.value;
            match was.from {
                Source::File if differs => {
                    let message = format!(
                        "`{}` of `{}` is {} in the library (version {}) and {} in the designer's file; that of the {} stands",
                        column.name,
                        part.number,
                        stated.value,
                        stated.version,
                        was.value,
                        if stands { "library" } else { "file" }
                    );
                    findings.push(Finding::new(codes::parts::LIBRARY_DIFFERS, message).at(name, 0).value(&part.number));
                }
                Source::Name if differs && stands && was.sureness >= Certainty::Likely => {
                    overruled.push(format!("{} of {}: {} in place of {}", column.name, part.number, stated.value, was.value));
                }
                _ => {}
            }
            if stands {
                (column.put)(part, &stated.value, Source::Library, stated.certainty);
                values += 1;
            }
        }
        if resized(&before, part) {
            refit(part);
        }
    }
    if !overruled.is_empty() {
        let message =
            format!("{} values of the library differ from what package names say and stand: {}", overruled.len(), overruled.join("; "));
        findings.push(Finding::new(codes::parts::LIBRARY_OVER_NAME, message).at(name, 0));
    }
    let message =
        format!("the library in version {} knows {known} of {} parts and gave {values} of their values", library.version(), parts.len());
    findings.push(Finding::new(codes::parts::LIBRARY_USED, message).at(name, 0));
    findings
}

/// What a change of a library did.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Changed {
    /// Parts that the library did not have.
    pub parts: usize,
    /// Values that are new or differ from before.
    pub values: usize,
}

/// Adds what designer's files and the engineer's table state of a product's parts; what only follows from names, sizes or the
/// library itself is not kept. Without anything new there is no new version; its number is set here.
pub fn add(library: &mut Library, parts: &[Part], version: Version) -> (Changed, Vec<Finding>) {
    let stated = parts.iter().map(|part| {
        let said = columns().iter().map(|c| (c.name, (c.shown)(part)));
        let kept = said.filter(|(_, s)| matches!(s.from, Source::File | Source::Engineer) && !s.value.is_empty());
        (part.number.as_str(), part.package.as_str(), kept.map(|(c, s)| (c, s.value, s.from, s.sureness)).collect())
    });
    put(library, stated.collect(), version)
}

/// Adds the rows of a table, as the engineer's statements: cells that say what the library says already are none, and rows
/// without a part number are told.
pub fn import(library: &mut Library, table: &InputFile<'_>, version: Version) -> (Changed, Vec<Finding>) {
    let (read, mut findings) = match file::read(table) {
        Ok(read) => read,
        Err(findings) => return (Changed::default(), findings),
    };
    let mut rows: Vec<Row<'_>> = Vec::new();
    let mut derived = 0;
    for row in &read.rows {
        if row.number.is_empty() {
            let message = format!("the row for package `{}` names no part number; a library is kept by part number", row.package);
            findings.push(Finding::new(codes::parts::TABLE_NO_KEY, message).at(table.name, row.line).value(&row.package));
            continue;
        }
        let mut said = Vec::new();
        for column in columns() {
            let Some(text) = read.cell(row, &file::Header::Value(column.name)).filter(|t| !t.is_empty()) else { continue };
            let value = match (column.check)(text) {
                Ok(value) => value,
                Err(refusal) => {
                    findings.push(refused(column, text, &refusal).at(table.name, row.line));
                    continue;
                }
            };
            let entry = library.parts.get(&file::key(&row.number)).and_then(|e| e.values.get(column.name));
            let is_known = entry.and_then(|all| all.last()).is_some_and(|last| last.value == value);
            match read.cell(row, &file::Header::Source(column.name)).unwrap_or_default().to_ascii_lowercase().as_str() {
                // What was printed and nobody changed says nothing, least of all that it is certain.
                word if is_known && word != "engineer" => {}
                "default" | "name" => derived += 1,
                _ => said.push((column.name, value, Source::Engineer, Certainty::Certain)),
            }
        }
        rows.push((&row.number, &row.package, said));
    }
    if derived > 0 {
        let message = format!("{derived} cells come from package names or were assumed and were not taken into the library");
        findings.push(Finding::new(codes::parts::LIBRARY_DERIVED, message).at(table.name, 0));
    }
    let (changed, told) = put(library, rows, version);
    findings.extend(told);
    (changed, findings)
}

/// Number, package, and for each column stated its value, source and certainty.
type Row<'r> = (&'r str, &'r str, Vec<(&'static str, String, Source, Certainty)>);

fn put(library: &mut Library, rows: Vec<Row<'_>>, version: Version) -> (Changed, Vec<Finding>) {
    let (mut changed, mut findings) = (Changed::default(), Vec::new());
    let number = library.version() + 1;
    for (part, package, said) in rows {
        if said.is_empty() {
            continue;
        }
        let key = file::key(part);
        changed.parts += usize::from(!library.parts.contains_key(&key));
        let entry: &mut Entry = library.parts.entry(key).or_default();
        if entry.package.is_empty() {
            entry.package = file::key(package);
        }
        for (column, value, source, certainty) in said {
            let all = entry.values.entry(column.to_owned()).or_default();
            if let Some(last) = all.last() {
                if last.value == value && last.certainty >= certainty && last.source >= source {
                    continue;
                }
                if last.value != value && certainty < last.certainty {
                    let message =
                        format!("`{column}` of `{part}` is {value} here and {} in the library, which is surer and stands", last.value);
                    findings.push(Finding::new(codes::parts::LIBRARY_DIFFERS, message).at(&version.from, 0).value(part));
                    continue;
                }
                if last.value != value {
                    let message = format!("`{column}` of `{part}` was {} and is {value} from version {number} on", last.value);
                    findings.push(Finding::new(codes::parts::LIBRARY_CHANGED, message).at(&version.from, 0).value(part));
                }
            }
            all.push(Stated { value, source, certainty, version: number });
            changed.values += 1;
        }
    }
    if changed.values > 0 {
        library.versions.push(Version { version: number, ..version });
    }
    (changed, findings)
}

/// The library as a table of cells, its header first: the columns of the parts table, empty where nothing is known.
pub fn cells(library: &Library) -> Vec<Vec<String>> {
    let rows = library.parts.iter().map(|(number, entry)| {
        let keys = [number.clone(), entry.package.clone(), String::new()];
        let of = |column: &Column| match entry.values.get(column.name).and_then(|all| all.last()) {
            Some(s) => [s.value.clone(), source_word(s.source).to_owned(), certainty_word(s.certainty).to_owned()],
            None => Default::default(),
        };
        keys.into_iter().chain(columns().iter().flat_map(of)).collect()
    });
    std::iter::once(file::header_cells()).chain(rows).collect()
}

/// The library as a text table.
pub fn table(library: &Library) -> String {
    file::lines(&cells(library))
}
