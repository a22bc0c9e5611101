//! Why a document could not be written.

use std::fmt;

/// Why a document could not be written.
#[derive(Debug)]
pub enum ReportError {
    /// The embedded font cannot be used.
    Font,
    /// A picture could not be set into the sheets; the reason follows.
    Picture(String),
    /// The sheets could not be written; the reason follows.
    Pdf(String),
    /// The workbook could not be written.
    Workbook(rust_xlsxwriter::XlsxError),
}

impl fmt::Display for ReportError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Font => f.write_str("the embedded font cannot be used"),
            Self::Picture(why) => write!(f, "a picture could not be set into the sheets: {why}"),
            Self::Pdf(why) => write!(f, "the sheets could not be written: {why}"),
            Self::Workbook(why) => write!(f, "the workbook could not be written: {why}"),
        }
    }
}

impl std::error::Error for ReportError {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::Workbook(why) => Some(why),
            Self::Font | Self::Picture(_) | Self::Pdf(_) => None,
        }
    }
}

impl From<rust_xlsxwriter::XlsxError> for ReportError {
    fn from(why: rust_xlsxwriter::XlsxError) -> Self {
        Self::Workbook(why)
    }
}
