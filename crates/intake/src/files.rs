//! Sorts files: which is a placement list, which a bill of materials, which neither.

use crate::decode::decode;
use crate::gerber::{self, Layer};
use crate::grid::sheet;
use crate::header::{Alias, plain};
use crate::input::{FileRole, InputFile};
use crate::ipc2581;
use crate::mapping::{File, FileHints, FileUse, Mapping};
use crate::number::Unit;
use crate::stated::{Parsed, Stated};
use crate::table::{Kind, Table, TextHints, tables_of_grid, tables_of_text};
use diag::{Finding, codes::read as code};

/// Bytes read of one file.
const MAX_BYTES: usize = 64 * 1024 * 1024;
/// Bytes read of a document in a standard format, of which little is kept.
const MAX_STANDARD_BYTES: usize = 1024 * 1024 * 1024;

/// A table and the file it is from.
#[derive(Debug)]
pub(crate) struct Found {
    /// Index among the files given.
    pub(crate) file: usize,
    /// Name for messages: the file's, and the sheet's where there are several.
    pub(crate) name: String,
    pub(crate) table: Table,
    /// Whether the file's format settles units and sides.
    is_standard: bool,
}

impl Found {
    /// Whether the file's format settles units and sides.
    pub(crate) fn is_standard(&self) -> bool {
        self.is_standard
    }

    /// What is known of the list beforehand, `mapped` being the engineer's word.
    pub(crate) fn hints(&self, mapped: FileHints) -> FileHints {
        if self.is_standard { FileHints { unit: Some(Unit::Mm), mirrored: mapped.mirrored.or(Some(false)), ..mapped } } else { mapped }
    }
}

/// What the files hold.
#[derive(Debug, Default)]
pub(crate) struct Sorted {
    pub(crate) found: Vec<Found>,
    /// What files in a standard format state beside their rows, by file.
    pub(crate) stated: Vec<(usize, Stated)>,
    /// A role for each file; empty where its tables decide.
    pub(crate) roles: Vec<FileRole>,
}

/// What one file holds.
#[derive(Debug, Default)]
struct Contents {
    tables: Vec<Table>,
    stated: Option<Stated>,
    is_standard: bool,
    /// In words, where no table decides.
    role: &'static str,
}

/// All tables of all files, and a role for each file.
pub(crate) fn sort(files: &[InputFile<'_>], mapping: &Mapping, findings: &mut Vec<Finding>) -> Sorted {
    let mut sorted = Sorted::default();
    for (index, file) in files.iter().enumerate() {
        let entry = mapping.for_file(file);
        if entry.is_some_and(|e| e.name.is_none()) {
            findings.push(Finding::new(code::MAPPING_BY_HEADINGS, "an entry of the mapping file holds for its headings").at(file.name, 0));
        }
        let contents = match entry.and_then(|e| e.role) {
            Some(FileUse::Ignore) => Contents { role: "left out by the mapping file", ..Contents::default() },
            _ => contents(file, entry, findings),
        };
        let tables = contents.tables;
        let several = tables.iter().any(|t| t.sheet != tables[0].sheet);
        for table in tables {
            let name = match &table.sheet {
                Some(sheet) if several => format!("{} ({sheet})", file.name),
                _ => file.name.to_owned(),
            };
            described(&name, &table, findings);
            sorted.found.push(Found { file: index, name, table, is_standard: contents.is_standard });
        }
        sorted.stated.extend(contents.stated.map(|s| (index, s)));
        sorted.roles.push(FileRole { name: file.name.to_owned(), role: contents.role.to_owned(), rows: 0 });
    }
    sorted
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

fn contents(file: &InputFile<'_>, entry: Option<&File>, findings: &mut Vec<Finding>) -> Contents {
    if let Some((role, finding)) = unreadable(file) {
        findings.push(finding.at(file.name, 0));
        return Contents { role, ..Contents::default() };
    }
    if let Some(contents) = standard(file, findings) {
        let tables = wanted(contents.tables, entry.and_then(|e| e.role));
        return Contents { tables, ..contents };
    }
    let aliases: Vec<Alias> =
        entry.map(|e| e.roles().map(|(role, heading)| Alias { heading: plain(heading).0, role }).collect()).unwrap_or_default();
    let tables =
        if sheet::looks_like_one(file.bytes) { spreadsheet(file, &aliases, findings) } else { text(file, entry, &aliases, findings) };
    let Some(tables) = tables else { return Contents { role: "could not be read", ..Contents::default() } };
    let tables = wanted(joined(tables), entry.and_then(|e| e.role));
    let role = if tables.is_empty() { neither(file, findings) } else { "" };
    Contents { tables, role, ..Contents::default() }
}

fn neither(file: &InputFile<'_>, findings: &mut Vec<Finding>) -> &'static str {
    findings.push(Finding::new(code::NOT_A_TABLE, "no placements and no bill of materials in it").at(file.name, 0));
    "neither placements nor a bill of materials"
}

fn unreadable(file: &InputFile<'_>) -> Option<(&'static str, Finding)> {
    if file.bytes.iter().all(u8::is_ascii_whitespace) {
        return Some(("empty", Finding::new(code::EMPTY_FILE, "the file is empty")));
    }
    let most = if format_of(file.bytes).is_some() { MAX_STANDARD_BYTES } else { MAX_BYTES };
    (file.bytes.len() > most).then(|| {
        let message = format!("the file has {} MB; at most {} are read", file.bytes.len() >> 20, most >> 20);
        ("too large", Finding::new(code::TOO_LARGE, message))
    })
}

/// Formats with a grammar of their own.
#[derive(Clone, Copy)]
enum Format {
    Ipc2581,
    OtherXml,
    Gerber,
}

/// Formats known by how they start.
fn format_of(bytes: &[u8]) -> Option<Format> {
    let start = &bytes[..bytes.len().min(4096)];
    let start = decode(start).map(|d| d.text.into_owned()).unwrap_or_default();
    let start = start.trim_start_matches('\u{feff}').trim_start();
    match () {
        () if ipc2581::looks_like_one(start) => Some(Format::Ipc2581),
        () if start.starts_with("<?xml") => Some(Format::OtherXml),
        () if gerber::looks_like_one(start) => Some(Format::Gerber),
        () => None,
    }
}

/// A file in a format with a grammar of its own.
fn standard(file: &InputFile<'_>, findings: &mut Vec<Finding>) -> Option<Contents> {
    let format = format_of(file.bytes)?;
    let decoded = decode(file.bytes)?;
    let of = |Parsed { tables, stated }| Contents { tables, stated: Some(stated), is_standard: true, role: "" };
    let mut contents = match format {
        Format::Ipc2581 => of(ipc2581::read(&decoded.text, file.name, findings)),
        Format::OtherXml => {
            findings.push(Finding::new(code::FORMAT_LATER, "the file is an XML document of another kind than IPC-2581").at(file.name, 0));
            Contents { role: "an XML document that is not read", ..Contents::default() }
        }
        Format::Gerber => match gerber::read(&decoded.text, file.name, findings) {
            Layer::Components(parsed) => of(parsed),
            Layer::Outline(stated) => Contents { stated: Some(stated), role: "outline of the board", ..Contents::default() },
            Layer::Other => Contents { role: "a Gerber layer without components", ..Contents::default() },
        },
    };
    if contents.tables.is_empty() && contents.role.is_empty() {
        contents.role = neither(file, findings);
    }
    Some(contents)
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
