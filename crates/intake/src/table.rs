//! Tables in grids: where the headings stand, what rows follow, what each is about.
//!
//! Every split of a text file is tried and the one whose tables make most sense is kept;
//! a list without headings is read by what its columns hold.

mod find;
mod headless;
mod split;

pub(crate) use split::{TextHints, tables_of_text};

use crate::grid::{Grid, Row};
use crate::header::{Alias, Columns, Role};

/// What a table is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Kind {
    Bom,
    Placements,
}

/// A table found in a file.
#[derive(Clone, Debug)]
pub(crate) struct Table {
    pub(crate) kind: Kind,
    pub(crate) columns: Columns,
    /// Headings as written; empty for a list without headings.
    pub(crate) headings: Vec<String>,
    /// Line of the headings; 0 for none.
    pub(crate) line: u32,
    pub(crate) rows: Vec<Row>,
    /// The lines above, for units and sides in prose.
    pub(crate) preamble: Vec<Row>,
    pub(crate) sheet: Option<String>,
    pub(crate) split: String,
}

impl Table {
    /// The first written cell of a role in this row.
    pub(crate) fn cell<'r>(&self, row: &'r Row, role: Role) -> &'r str {
        self.columns.of_role(role).iter().map(|c| row.cell(*c)).find(|t| !t.is_empty()).unwrap_or("")
    }

    /// The first column of a role in this row, blank or not.
    pub(crate) fn first_cell<'r>(&self, row: &'r Row, role: Role) -> &'r str {
        self.columns.of_role(role).first().map_or("", |c| row.cell(*c))
    }

    /// What the columns were taken for, for a message.
    pub(crate) fn described(&self) -> String {
        let name = |c: usize| match self.headings.get(c) {
            Some(h) if !h.trim().is_empty() => h.trim().to_owned(),
            _ => format!("column {}", c + 1),
        };
        self.columns.firsts().map(|(role, c)| format!("{} = {}", role.word(), name(c))).collect::<Vec<_>>().join(", ")
    }
}

/// All tables of a spreadsheet or of a text split once.
pub(crate) fn tables_of_grid(grid: Grid, aliases: &[Alias]) -> Vec<Table> {
    find::tables(grid, aliases)
}
