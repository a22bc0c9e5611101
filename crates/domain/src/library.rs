//! The parts library: what is known of purchased parts over all products, with its history.
//!
//! A value is kept as the text that stands in its column of the parts table, so that the library, the table and the
//! workbook say the same. Nothing is overwritten: a new value is put behind the old one, with the version that brought it.

use crate::part::{Certainty, Source};
use diag::{Finding, codes};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// The schema of library documents.
pub const SCHEMA: &str = "evenline-library/1";

/// A parts library.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Library {
    /// Which schema: `evenline-library/1`.
    pub schema: String,
    /// What was changed when, oldest first, numbered from 1.
    pub versions: Vec<Version>,
    /// The parts by number.
    pub parts: BTreeMap<String, Entry>,
}

/// A change of the library.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Version {
    /// Its number, counted from 1.
    pub version: u32,
    /// The day, as YYYY-MM-DD.
    pub on: String,
    /// Who made it.
    pub by: String,
    /// What it was taken from: a product or a table.
    pub from: String,
    /// Why, for people.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
}

/// What is known of a part.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Entry {
    /// Package name, for people.
    #[serde(default)]
    pub package: String,
    /// For each column of the parts table its values, oldest first; the last one counts.
    pub values: BTreeMap<String, Vec<Stated>>,
}

/// A value that was stated.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Stated {
    /// The value as it stands in the parts table.
    pub value: String,
    /// Where it came from.
    pub source: Source,
    /// How sure it is.
    pub certainty: Certainty,
    /// The version that brought it.
    pub version: u32,
}

impl Default for Library {
    fn default() -> Self {
        Self { schema: SCHEMA.to_owned(), versions: Vec::new(), parts: BTreeMap::new() }
    }
}

impl Entry {
    /// The values that count, by column.
    pub fn current(&self) -> impl Iterator<Item = (&str, &Stated)> {
        self.values.iter().filter_map(|(column, all)| Some((column.as_str(), all.last()?)))
    }
}

impl Library {
    /// Reads a library document.
    ///
    /// # Errors
    /// `parts.library-syntax` with the line; also where versions are not numbered from 1, or a value names a version
    /// that the library does not have.
    pub fn parse(file: &str, text: &str) -> Result<Self, Box<Finding>> {
        let wrong = |message: String, line: u32| Box::new(Finding::new(codes::parts::LIBRARY_SYNTAX, message).at(file, line));
        let library: Self = serde_json::from_str(text).map_err(|e| wrong(e.to_string(), e.line() as u32))?;
        if library.schema != SCHEMA {
            return Err(wrong(format!("its schema is `{}`, not `{SCHEMA}`", library.schema), 1));
        }
        if let Some(v) = library.versions.iter().zip(1..).find(|(v, n)| v.version != *n) {
            return Err(wrong(format!("version {} stands where version {} is expected", v.0.version, v.1), 0));
        }
        let last = library.version();
        for (number, entry) in &library.parts {
            for (column, all) in &entry.values {
                let rises = all.windows(2).all(|w| w[0].version <= w[1].version);
                if !rises || all.iter().any(|s| s.version == 0 || s.version > last) {
                    return Err(wrong(format!("`{column}` of `{number}` names versions that do not follow each other up to {last}"), 0));
                }
            }
        }
        Ok(library)
    }

    /// The number of the last version; 0 while there is none.
    pub fn version(&self) -> u32 {
        self.versions.last().map_or(0, |v| v.version)
    }

    /// The library as it was at a version.
    pub fn at(&self, version: u32) -> Self {
        let mut old = self.clone();
        old.versions.retain(|v| v.version <= version);
        for entry in old.parts.values_mut() {
            entry.values.values_mut().for_each(|all| all.retain(|s| s.version <= version));
            entry.values.retain(|_, all| !all.is_empty());
        }
        old.parts.retain(|_, e| !e.values.is_empty());
        old
    }
}
