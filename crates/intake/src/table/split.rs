//! Tries every way to split a text and keeps the one that makes most sense.

use super::{Table, find, headless};
use crate::grid::{Grid, Row, blanks, delimited};
use crate::header::{Alias, Columns};

/// What the mapping file says of a text file.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct TextHints<'a> {
    /// The separator, when stated; a blank stands for columns of blanks.
    pub(crate) separator: Option<char>,
    /// Headings the engineer gives a role.
    pub(crate) aliases: &'a [Alias],
}

/// The tables of a text and the grid they were found in (its rows moved into the tables).
pub(crate) struct Split {
    pub(crate) tables: Vec<Table>,
    pub(crate) broken_quotes: Vec<u32>,
    pub(crate) cut: Vec<u32>,
}

const SEPARATORS: [char; 4] = [',', ';', '\t', '|'];

/// Finds the tables of a text.
pub(crate) fn tables_of_text(text: &str, hints: TextHints<'_>) -> Split {
    let lines: Vec<&str> = text.split('\n').map(|l| l.trim_end_matches('\r')).collect();
    // Old line ends: a text of carriage returns only.
    let lines = if lines.len() == 1 && text.contains('\r') { text.split('\r').collect() } else { lines };
    let mut best = Split { tables: Vec::new(), broken_quotes: Vec::new(), cut: Vec::new() };
    let mut best_score = 0;
    let mut keep = |grid: Grid, headless: fn(&Grid) -> Option<Table>| {
        let (broken_quotes, cut) = (grid.broken_quotes.clone(), grid.cut.clone());
        let whole = grid.clone();
        let mut tables = find::tables(grid, hints.aliases);
        if tables.is_empty() {
            tables.extend(headless(&whole));
        }
        let score: usize = tables.iter().map(sense).sum();
        if score > best_score {
            best_score = score;
            best = Split { tables, broken_quotes, cut };
        }
    };
    for separator in SEPARATORS.into_iter().filter(|s| wanted(*s, hints, &lines)) {
        keep(delimited::split(&lines, separator), headless::delimited);
    }
    if hints.separator.is_none_or(|s| s == ' ') && lines.iter().all(|l| l.len() < LONGEST_LINE) {
        let tokens = blanks::tokens(&lines);
        let header = tokens.rows.iter().take(300).position(|r| Columns::of(&r.cells, hints.aliases).is_placements());
        keep(tokens, headless::blank_separated);
        if let Some(header) = header {
            keep(blanks::aligned(&lines, header), |_| None);
        }
    }
    best
}

/// Lines longer than this hold no columns of blanks.
const LONGEST_LINE: usize = 16 * 1024;

/// A separator is worth a try when a third of the written lines hold it.
fn wanted(separator: char, hints: TextHints<'_>, lines: &[&str]) -> bool {
    if let Some(stated) = hints.separator {
        return stated == separator;
    }
    let written = lines.iter().filter(|l| !l.trim().is_empty()).count();
    let holding = lines.iter().filter(|l| l.contains(separator)).count();
    holding > 0 && holding * 3 >= written
}

/// How much sense a table makes: rows that are what they should be, columns known.
fn sense(table: &Table) -> usize {
    let width = table.headings.len();
    // Rows that were split into more or fewer cells than there are headings count only if
    // the split knows its columns by place.
    let fits = |row: &&Row| find::is_data(table, row) && (table.split != "separated by blanks" || width == 0 || row.cells.len() == width);
    table.rows.iter().filter(fits).count() * 100 + table.columns.count()
}
