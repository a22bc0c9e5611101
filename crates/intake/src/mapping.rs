//! The engineer's mapping file: what overrules the reader's own conclusions.
//!
//! TOML, described in `docs/reading.md`; unknown keys are refused.

use crate::InputFile;
use crate::decode::decode;
use crate::grid::sheet;
use crate::header::Role;
use crate::number::Unit;
use diag::{Finding, codes::read as code};
use domain::product::Side;
use serde::Deserialize;
use std::collections::BTreeMap;
use units::{Length, Text};

/// The whole file.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Mapping {
    /// Name of the product.
    pub(crate) product: Option<String>,
    pub(crate) board: Option<Board>,
    #[serde(default)]
    pub(crate) file: Vec<File>,
    #[serde(default)]
    pub(crate) references: References,
}

/// Size of the board, and where its lower left corner lies in the coordinates of the files.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Board {
    pub(crate) width: Text<Length>,
    pub(crate) depth: Text<Length>,
    pub(crate) origin_x: Option<Text<Length>>,
    pub(crate) origin_y: Option<Text<Length>>,
}

/// What holds for the files whose name fits.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct File {
    /// Name of the file; `*` stands for anything.
    pub(crate) name: Option<String>,
    /// Instead of a name: the headings of a table, for all files that have them in one row, none left out and none besides.
    pub(crate) headings: Option<Vec<String>>,
    pub(crate) role: Option<FileUse>,
    pub(crate) unit: Option<UnitWord>,
    pub(crate) side: Option<Side>,
    pub(crate) mirrored: Option<bool>,
    pub(crate) separator: Option<Separator>,
    /// Role → heading.
    #[serde(default)]
    pub(crate) columns: BTreeMap<String, String>,
}

/// What a file is to be used as.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub(crate) enum FileUse {
    Placements,
    Bom,
    Ignore,
}

#[derive(Clone, Copy, Debug, Deserialize)]
#[serde(rename_all = "lowercase")]
pub(crate) enum UnitWord {
    Mm,
    Mil,
    Inch,
    Um,
}

impl From<UnitWord> for Unit {
    fn from(word: UnitWord) -> Self {
        match word {
            UnitWord::Mm => Self::Mm,
            UnitWord::Mil => Self::Mil,
            UnitWord::Inch => Self::Inch,
            UnitWord::Um => Self::Um,
        }
    }
}

#[derive(Clone, Copy, Debug, Deserialize)]
#[serde(rename_all = "lowercase")]
pub(crate) enum Separator {
    Comma,
    Semicolon,
    Tab,
    Bar,
    Blank,
}

impl Separator {
    /// As a character; a blank stands for columns made of blanks.
    pub(crate) const fn character(self) -> char {
        match self {
            Self::Comma => ',',
            Self::Semicolon => ';',
            Self::Tab => '\t',
            Self::Bar => '|',
            Self::Blank => ' ',
        }
    }
}

/// References by pattern; `*` stands for anything.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct References {
    #[serde(default)]
    pub(crate) fitted: Vec<String>,
    #[serde(default)]
    pub(crate) not_fitted: Vec<String>,
    #[serde(default)]
    pub(crate) ignored: Vec<String>,
}

/// The stated facts about one list.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct FileHints {
    pub(crate) unit: Option<Unit>,
    pub(crate) side: Option<Side>,
    pub(crate) mirrored: Option<bool>,
}

impl File {
    pub(crate) fn hints(&self) -> FileHints {
        FileHints { unit: self.unit.map(Unit::from), side: self.side, mirrored: self.mirrored }
    }

    /// The columns named, as roles.
    pub(crate) fn roles(&self) -> impl Iterator<Item = (Role, &str)> {
        self.columns.iter().filter_map(|(key, heading)| Some((Role::from_word(key)?, heading.as_str())))
    }
}

impl Mapping {
    /// What holds for this file: the last entry that fits its name, else the last one whose headings it has.
    pub(crate) fn for_file(&self, file: &InputFile<'_>) -> Option<&File> {
        let named = |f: &&File| f.name.as_ref().is_some_and(|n| fits(n, file.name));
        let headed = |f: &&File| f.headings.as_ref().is_some_and(|h| has_headings(file.bytes, h));
        self.file.iter().rev().find(named).or_else(|| self.file.iter().rev().find(headed))
    }
}

/// Reads a mapping file; a broken one gives findings and no mapping.
pub(crate) fn read(file: &InputFile<'_>, findings: &mut Vec<Finding>) -> Mapping {
    let Some(decoded) = decode(file.bytes) else {
        findings.push(Finding::new(code::MAPPING_SYNTAX, "the mapping file is no text").at(file.name, 0));
        return Mapping::default();
    };
    let mut mapping = match toml::from_str::<Mapping>(&decoded.text) {
        Ok(mapping) => mapping,
        Err(error) => {
            findings.push(syntax(file.name, &decoded.text, &error));
            return Mapping::default();
        }
    };
    for entry in mapping.file.iter().filter(|e| e.name.is_some() == e.headings.is_some()) {
        let message = "a [[file]] entry needs a name or headings, and not both";
        let value = entry.name.clone().unwrap_or_else(|| "[[file]]".to_owned());
        findings.push(Finding::new(code::MAPPING_SYNTAX, message).at(file.name, 0).value(value));
    }
    if let Some(board) = &mapping.board {
        let lengths = [
            ("width", Some(&board.width)),
            ("depth", Some(&board.depth)),
            ("origin_x", board.origin_x.as_ref()),
            ("origin_y", board.origin_y.as_ref()),
        ];
        let far = lengths.into_iter().filter_map(|(key, length)| Some((key, length?.0))).find(|(_, length)| length.0.abs() > FARTHEST);
        if let Some((key, length)) = far {
            let message =
                format!("`{key}` of the board is {length}, more than any board has; what the mapping says of the board is left out");
            findings.push(Finding::new(code::MAPPING_SYNTAX, message).at(file.name, 0).value(length.to_string()));
            mapping.board = None;
        }
    }
    for entry in &mapping.file {
        for key in entry.columns.keys().filter(|k| Role::from_word(k).is_none()) {
            let message = format!("`{key}` under columns is not known");
            findings.push(Finding::new(code::MAPPING_KEY, message).at(file.name, 0).value(key));
        }
    }
    mapping
}

fn syntax(name: &str, text: &str, error: &toml::de::Error) -> Finding {
    let span = error.span().unwrap_or(0..0);
    let line = text.get(..span.start).map_or(0, |t| t.matches('\n').count() as u32 + 1);
    let message = error.message().lines().next().unwrap_or_default().to_owned();
    let value = text.get(span).unwrap_or_default().lines().next().unwrap_or_default().trim().to_owned();
    let unknown = message.starts_with("unknown field") || message.starts_with("unknown variant");
    Finding::new(if unknown { code::MAPPING_KEY } else { code::MAPPING_SYNTAX }, message).at(name, line).value(value)
}

/// Lengths beyond this are no board's [µm]: three metres, as of coordinates.
const FARTHEST: i64 = 3_000_000;

/// Rows in which headings are looked for.
const HEADING_ROWS: usize = 300;

/// Whether one row of a file holds these headings, none left out and none besides.
fn has_headings(bytes: &[u8], headings: &[String]) -> bool {
    let wanted: Vec<&str> = headings.iter().map(|h| h.trim()).filter(|h| !h.is_empty()).collect();
    let is_row = |cells: &mut dyn Iterator<Item = &str>| cells.filter(|c| !c.is_empty()).eq(wanted.iter().copied());
    if wanted.is_empty() {
        return false;
    }
    if sheet::looks_like_one(bytes) {
        let grids = sheet::sheets(bytes).unwrap_or_default();
        return grids.iter().flat_map(|g| g.rows.iter().take(HEADING_ROWS)).any(|row| is_row(&mut row.cells.iter().map(|c| c.trim())));
    }
    let words: Vec<&str> = wanted.iter().flat_map(|h| h.split_whitespace()).collect();
    let Some(decoded) = decode(bytes) else { return false };
    decoded.text.lines().take(HEADING_ROWS).any(|line| {
        let line = line.trim_start_matches('\u{feff}');
        [',', ';', '\t', '|'].into_iter().any(|s| is_row(&mut line.split(s).map(|c| c.trim().trim_matches('"').trim())))
            || line.trim_start_matches(['#', ' ']).split_whitespace().eq(words.iter().copied())
    })
}

/// Whether a text answers to a pattern in which `*` stands for anything.
pub(crate) fn fits(pattern: &str, text: &str) -> bool {
    let mut pieces = pattern.split('*');
    let first = pieces.next().unwrap_or_default();
    let Some(mut rest) = text.strip_prefix(first) else { return false };
    let mut last = None;
    for piece in pieces {
        if let Some(middle) = last.replace(piece) {
            match rest.find(middle) {
                Some(at) => rest = &rest[at + middle.len()..],
                None => return false,
            }
        }
    }
    last.map_or(rest.is_empty(), |ending: &str| rest.ends_with(ending))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn patterns() {
        for (pattern, text, expected) in [
            ("C1", "C1", true),
            ("C1", "C12", false),
            ("C*", "C12", true),
            ("*top*.csv", "x-top-pos.csv", true),
            ("*", "", true),
            ("a*a", "a", false),
            ("*.pos", "a.csv", false),
        ] {
            assert_eq!(fits(pattern, text), expected, "{pattern} {text}");
        }
    }

    #[test]
    fn misspelt_keys_are_refused_by_name() {
        let mut findings = Vec::new();
        read(&InputFile { name: "map.toml", bytes: b"[[file]]\nname = \"a\"\nsparator = \"tab\"\n" }, &mut findings);
        assert_eq!((findings[0].code.as_str(), findings[0].line), ("read.mapping-key", 3));
    }
}
