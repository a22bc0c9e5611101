//! Findings: what was noticed about the input, where, and what to do next.
//!
//! Every finding carries a [`Code`] from the register in [`codes`]; a code never
//! changes its meaning. `docs/errors.md` is the index of all codes, printed from the
//! same register by [`index`].

pub mod codes;
mod index;

pub use index::index;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::fmt;

/// One kind of finding: its stable name, how bad it is, and how it is cured.
#[derive(Debug, PartialEq, Eq)]
pub struct Code {
    /// Stable name, `area.what-is-wrong`.
    pub id: &'static str,
    /// How bad it is.
    pub severity: Severity,
    /// One sentence saying what it means.
    pub meaning: &'static str,
    /// A small input that raises it.
    pub sample: &'static str,
    /// What to do next.
    pub cure: &'static str,
}

/// How bad a finding is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Severity {
    /// Something decided from evidence, worth knowing.
    Note,
    /// A doubt: the result stands, but somebody should look.
    Warning,
    /// The input cannot be used as it is.
    Error,
}

impl fmt::Display for Severity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Note => "note",
            Self::Warning => "warning",
            Self::Error => "error",
        })
    }
}

/// Something noticed about an input.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Finding {
    /// Stable name of the kind of finding; see the error index.
    pub code: String,
    /// How bad it is.
    pub severity: Severity,
    /// Name of the file it was seen in, empty when it belongs to no file.
    #[serde(default)]
    pub file: String,
    /// Line (or spreadsheet row) in that file, counted from 1; 0 when it belongs to no line.
    #[serde(default)]
    pub line: u32,
    /// The offending value as it was read.
    #[serde(default)]
    pub value: String,
    /// What was found, in a sentence.
    pub message: String,
    /// The next step.
    pub hint: String,
}

impl Finding {
    /// A finding of this kind, with the code's own cure as the hint.
    pub fn new(code: &'static Code, message: impl Into<String>) -> Self {
        Self {
            code: code.id.to_owned(),
            severity: code.severity,
            file: String::new(),
            line: 0,
            value: String::new(),
            message: message.into(),
            hint: code.cure.to_owned(),
        }
    }

    /// With the place it was seen at.
    #[must_use]
    pub fn at(mut self, file: impl Into<String>, line: u32) -> Self {
        self.file = file.into();
        self.line = line;
        self
    }

    /// With the offending value. Long values are cut, since a message is for reading.
    #[must_use]
    pub fn value(mut self, value: impl Into<String>) -> Self {
        let value: String = value.into();
        self.value = match value.char_indices().nth(120) {
            Some((cut, _)) => format!("{}…", &value[..cut]),
            None => value,
        };
        self
    }

    /// With a next step more exact than the code's own.
    #[must_use]
    pub fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hint = hint.into();
        self
    }

    /// Whether it forbids going on.
    pub fn is_error(&self) -> bool {
        self.severity == Severity::Error
    }
}

impl fmt::Display for Finding {
    /// `error[read.empty-file] parts.csv:3: message (`value`)` and a hint line.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}[{}]", self.severity, self.code)?;
        match (self.file.is_empty(), self.line) {
            (true, _) => {}
            (false, 0) => write!(f, " {}", self.file)?,
            (false, line) => write!(f, " {}:{line}", self.file)?,
        }
        write!(f, ": {}", self.message)?;
        if !self.value.is_empty() && !self.message.contains(&self.value) {
            write!(f, " (`{}`)", self.value)?;
        }
        write!(f, "\n  hint: {}", self.hint)
    }
}
