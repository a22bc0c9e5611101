//! What a reading concluded about the form of the files, to be kept as a mapping file for all boards of one customer.
//!
//! Entries go by the headings of a table, which stay the same from board to board, and not by the names of files. A side is
//! not kept: it belongs to one file.

use crate::table::{Kind, Table};
use diag::{Finding, codes::read as code};
use serde::Serialize;
use std::fmt::Write;

/// What was concluded about one table.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Concluded {
    /// The file, and the sheet where there are several.
    pub name: String,
    /// `placements` or `bom`.
    pub role: &'static str,
    /// The headings as written.
    pub headings: Vec<String>,
    /// For each role the heading of the column that has it.
    pub columns: Vec<(&'static str, String)>,
    /// Unit of the coordinates; `None` for a bill.
    pub unit: Option<&'static str>,
    /// Whether the bottom's X is negated; `None` where no bottom told.
    pub mirrored: Option<bool>,
    /// The findings that say why.
    pub because: Vec<String>,
}

impl Concluded {
    /// From a table with headings; `None` for a list without any.
    pub(crate) fn new(name: &str, table: &Table, findings: &[Finding]) -> Option<Self> {
        let headings: Vec<String> = table.headings.iter().map(|h| h.trim().to_owned()).filter(|h| !h.is_empty()).collect();
        if headings.is_empty() {
            return None;
        }
        let heading = |c: usize| table.headings.get(c).map(|h| h.trim().to_owned()).filter(|h| !h.is_empty());
        let told = [code::UNIT_STATED, code::UNIT_INFERRED, code::UNIT_CONTRADICTION, code::MIRRORED, code::MIRROR_DOUBT];
        let because = findings.iter().filter(|f| f.file == name && told.iter().any(|c| c.id == f.code));
        Some(Self {
            name: name.to_owned(),
            role: if table.kind == Kind::Placements { "placements" } else { "bom" },
            headings,
            columns: table.columns.firsts().filter_map(|(role, c)| Some((role.word(), heading(c)?))).collect(),
            unit: None,
            mirrored: None,
            because: because.map(|f| f.message.clone()).collect(),
        })
    }
}

/// The conclusions as a mapping file.
pub fn write(all: &[Concluded]) -> String {
    let mut text = String::from(
        "# What evenline concluded about the form of these files. Entries go by headings, so they hold for every board whose\n\
         # files have them. Correct what is wrong; give the file back with --mapping.\n",
    );
    let quoted = |t: &str| toml::Value::String(t.to_owned()).to_string();
    let mut written: Vec<&Vec<String>> = Vec::new();
    for c in all {
        if written.contains(&&c.headings) {
            continue;
        }
        written.push(&c.headings);
        let list = |items: Vec<String>| items.join(", ");
        // Writing to a text cannot fail.
        let _ = writeln!(text, "\n# from {}", c.name.replace(char::is_control, " "));
        for why in &c.because {
            let _ = writeln!(text, "# {}", why.replace(char::is_control, " "));
        }
        let _ = writeln!(text, "[[file]]\nheadings = [{}]", list(c.headings.iter().map(|h| quoted(h)).collect()));
        let _ = writeln!(text, "role = {}", quoted(c.role));
        if let Some(unit) = c.unit {
            let _ = writeln!(text, "unit = {}", quoted(unit));
        }
        if let Some(mirrored) = c.mirrored {
            let _ = writeln!(text, "mirrored = {mirrored}");
        }
        let columns = c.columns.iter().map(|(role, heading)| format!("{role} = {}", quoted(heading)));
        let _ = writeln!(text, "columns = {{ {} }}", list(columns.collect()));
    }
    text
}
