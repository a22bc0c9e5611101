//! Sorts files: which is a placement list, which a bill of materials, which neither.

use crate::decode::decode;
use crate::grid::sheet;
use crate::header::{Alias, plain};
use crate::input::{FileRole, InputFile};
use crate::mapping::{File, FileUse, Mapping};
use crate::table::{Kind, Table, TextHints, tables_of_grid, tables_of_text};
use diag::{Finding, codes::read as code};

/// Bytes read of one file.
const MAX_BYTES: usize = 64 * 1024 * 1024;

/// A table and the file it is from.
#[derive(Debug)]
pub(crate) struct Found {
    /// Index among the files given.
    pub(crate) file: usize,
    /// Name for messages: the file's, and the sheet's where there are several.
    pub(crate) name: String,
    pub(crate) table: Table,
}

/// All tables of all files, and a role for each file.
pub(crate) fn sort(files: &[InputFile<'_>], mapping: &Mapping, findings: &mut Vec<Finding>) -> (Vec<Found>, Vec<FileRole>) {
    let mut found = Vec::new();
    let mut roles = Vec::new();
    for (index, file) in files.iter().enumerate() {
        let entry = mapping.for_file(file.name);
        let (role, tables) = match entry.and_then(|e| e.role) {
            Some(FileUse::Ignore) => ("left out by the mapping file".to_owned(), Vec::new()),
            _ => tables_of(file, entry, findings),
        };
        let several = tables.iter().any(|t| t.sheet != tables[0].sheet);
        for table in tables {
            let name = match &table.sheet {
                Some(sheet) if several => format!("{} ({sheet})", file.name),
                _ => file.name.to_owned(),
            };
            described(&name, &table, findings);
            found.push(Found { file: index, name, table });
        }
        roles.push(FileRole { name: file.name.to_owned(), role, rows: 0 });
    }
    (found, roles)
}

fn described(name: &str, table: &Table, findings: &mut Vec<Finding>) {
    let what = match table.kind {
        Kind::Placements => "a placement list",
        Kind::Bom => "a bill of materials",
    };
    let message = format!("{what}, {}: {}", table.split, table.described());
    let kind = if table.line == 0 { code::NO_HEADER } else { code::FILE_ROLE };
    findings.push(Finding::new(kind, message).at(name, table.line));
}

/// The tables of one file, and its role in words when it has none.
fn tables_of(file: &InputFile<'_>, entry: Option<&File>, findings: &mut Vec<Finding>) -> (String, Vec<Table>) {
    if let Some((role, finding)) = unreadable(file) {
        findings.push(finding.at(file.name, 0));
        return (role.to_owned(), Vec::new());
    }
    let aliases: Vec<Alias> =
        entry.map(|e| e.roles().map(|(role, heading)| Alias { heading: plain(heading).0, role }).collect()).unwrap_or_default();
    let tables =
        if sheet::looks_like_one(file.bytes) { spreadsheet(file, &aliases, findings) } else { text(file, entry, &aliases, findings) };
    let Some(tables) = tables else { return ("could not be read".to_owned(), Vec::new()) };
    let tables = wanted(joined(tables), entry.and_then(|e| e.role));
    if tables.is_empty() {
        findings.push(Finding::new(code::NOT_A_TABLE, "no placements and no bill of materials in it").at(file.name, 0));
        return ("neither placements nor a bill of materials".to_owned(), tables);
    }
    (String::new(), tables)
}

fn unreadable(file: &InputFile<'_>) -> Option<(&'static str, Finding)> {
    if file.bytes.iter().all(u8::is_ascii_whitespace) {
        return Some(("empty", Finding::new(code::EMPTY_FILE, "the file is empty")));
    }
    if file.bytes.len() > MAX_BYTES {
        let message = format!("the file has {} MB; at most {} are read", file.bytes.len() >> 20, MAX_BYTES >> 20);
        return Some(("too large", Finding::new(code::TOO_LARGE, message)));
    }
    later_format(file.bytes).map(|what| {
        ("a format for a later version", Finding::new(code::FORMAT_LATER, format!("the file is {what}, which this version does not read")))
    })
}

/// Formats known by how they start.
fn later_format(bytes: &[u8]) -> Option<&'static str> {
    let start = String::from_utf8_lossy(&bytes[..bytes.len().min(4096)]);
    let start = start.trim_start_matches('\u{feff}').trim_start();
    if start.starts_with("<?xml") || start.starts_with("<IPC-2581") {
        return Some(if start.contains("IPC-2581") { "an IPC-2581 document" } else { "an XML document" });
    }
    let photoplot = start.starts_with("G04") || start.starts_with("%FS") || start.starts_with("%TF") || start.contains("%FSLA");
    photoplot.then_some("a Gerber layer")
}

fn spreadsheet(file: &InputFile<'_>, aliases: &[Alias], findings: &mut Vec<Finding>) -> Option<Vec<Table>> {
    match sheet::sheets(file.bytes) {
        Ok(grids) => Some(grids.into_iter().flat_map(|grid| tables_of_grid(grid, aliases)).collect()),
        Err(why) => {
            findings.push(Finding::new(code::SPREADSHEET, format!("the spreadsheet cannot be read: {why}")).at(file.name, 0));
            None
        }
    }
}

fn text(file: &InputFile<'_>, entry: Option<&File>, aliases: &[Alias], findings: &mut Vec<Finding>) -> Option<Vec<Table>> {
    let Some(decoded) = decode(file.bytes) else {
        findings.push(Finding::new(code::BINARY, "the file is neither text nor a spreadsheet").at(file.name, 0));
        return None;
    };
    let hints = TextHints { separator: entry.and_then(|e| e.separator).map(|s| s.character()), aliases };
    let split = tables_of_text(&decoded.text, hints);
    if split.tables.is_empty() {
        return Some(Vec::new());
    }
    let mut add = |kind, line: u32, message: String| findings.push(Finding::new(kind, message).at(file.name, line));
    if decoded.inferred {
        add(code::ENCODING, 0, format!("the letters were read as {}", decoded.encoding.name()));
    }
    if decoded.damaged {
        add(code::DAMAGED_TEXT, 0, format!("some bytes are no letters in {}", decoded.encoding.name()));
    }
    if let Some(line) = split.broken_quotes.first() {
        add(code::BROKEN_QUOTE, *line, format!("{} lines have a quote that is not closed", split.broken_quotes.len()));
    }
    if let Some(line) = split.cut.first() {
        add(code::LINE_CUT, *line, format!("{} lines have more cells than are read", split.cut.len()));
    }
    Some(split.tables)
}

/// Joins stretches of one table whose headings are repeated, as on printed pages.
fn joined(tables: Vec<Table>) -> Vec<Table> {
    let mut joined: Vec<Table> = Vec::new();
    for table in tables {
        match joined.last_mut() {
            Some(last) if last.sheet == table.sheet && last.kind == table.kind && last.headings == table.headings => {
                last.rows.extend(table.preamble);
                last.rows.extend(table.rows);
            }
            _ => joined.push(table),
        }
    }
    joined
}

/// Only what the engineer says the file is.
fn wanted(mut tables: Vec<Table>, role: Option<FileUse>) -> Vec<Table> {
    match role {
        Some(FileUse::Placements) => tables.retain(|t| t.kind == Kind::Placements),
        Some(FileUse::Bom) => tables.iter_mut().for_each(|t| t.kind = Kind::Bom),
        _ => {}
    }
    tables
}
