//! A file as a grid of cells, whatever it was written as.
//!
//! Text is split in every way that could fit it ([`delimited`], [`blanks`]); which split
//! makes sense is decided by the tables found in it, not here. Spreadsheets give one grid
//! a sheet ([`sheet`]).

pub(crate) mod blanks;
pub(crate) mod delimited;
pub(crate) mod sheet;

/// Cells kept of one row; real lists have some sixty columns at most.
pub(crate) const MAX_COLUMNS: usize = 512;

/// One row of cells and where it stands in the file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Row {
    /// Line of the file or row of the sheet, counted from 1.
    pub(crate) line: u32,
    pub(crate) cells: Vec<String>,
}

impl Row {
    /// A cell without the blanks around it; empty when the row is shorter.
    pub(crate) fn cell(&self, index: usize) -> &str {
        self.cells.get(index).map_or("", |c| c.trim())
    }

    /// Whether nothing is written in it.
    pub(crate) fn is_blank(&self) -> bool {
        self.cells.iter().all(|c| c.trim().is_empty())
    }

    /// All cells as one text, for looking at prose.
    pub(crate) fn joined(&self) -> String {
        self.cells.iter().map(|c| c.trim()).filter(|c| !c.is_empty()).collect::<Vec<_>>().join(" ")
    }
}

/// A grid of cells.
#[derive(Clone, Debug, Default)]
pub(crate) struct Grid {
    /// How it was split, in words; for messages.
    pub(crate) split: String,
    /// Name of the sheet, for spreadsheets.
    pub(crate) sheet: Option<String>,
    pub(crate) rows: Vec<Row>,
    /// Lines where a quote was never closed.
    pub(crate) broken_quotes: Vec<u32>,
    /// Lines that had more cells than are kept.
    pub(crate) cut: Vec<u32>,
}
