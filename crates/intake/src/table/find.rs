//! Finds tables by their headings.

use super::{Kind, Table};
use crate::grid::{Grid, Row};
use crate::header::{Alias, Columns, Role};
use crate::number::number;
use crate::refs;
use std::collections::HashSet;

/// Lines searched for the first headings; preambles of real files have up to twenty.
const SEARCHED: usize = 300;

/// All tables of a grid, from top to bottom.
pub(super) fn tables(grid: Grid, aliases: &[Alias]) -> Vec<Table> {
    let Grid { rows, sheet, split, .. } = grid;
    let mut starts: Vec<(usize, Heading)> = Vec::new();
    let mut at = 0;
    while at < rows.len() {
        let searched = at < SEARCHED || starts.first().is_some_and(|(_, first)| first.could_repeat(&rows[at]));
        match searched.then(|| heading(&rows, at, aliases)).flatten() {
            Some(found) => {
                let next = at + found.lines;
                starts.push((at, found));
                at = next;
            }
            None => at += 1,
        }
    }
    cut(&rows, starts, sheet.as_ref(), &split)
}

fn cut(rows: &[Row], starts: Vec<(usize, Heading)>, sheet: Option<&String>, split: &str) -> Vec<Table> {
    let ends: Vec<usize> = starts.iter().skip(1).map(|(at, _)| *at).chain([rows.len()]).collect();
    let mut above = 0;
    let mut found = Vec::new();
    for ((at, heading), end) in starts.into_iter().zip(ends) {
        let body = at + heading.lines;
        let table = Table {
            kind: heading.kind,
            columns: heading.columns,
            headings: heading.texts,
            line: rows[at].line,
            rows: rows[body..end].to_vec(),
            preamble: rows[above..at].to_vec(),
            sheet: sheet.cloned(),
            split: split.to_owned(),
        };
        if has_data(&table) {
            above = end;
            found.push(table);
        }
    }
    found
}

struct Heading {
    kind: Kind,
    columns: Columns,
    texts: Vec<String>,
    lines: usize,
}

impl Heading {
    /// Whether a row far down may be headings once more: the same words in the same place.
    fn could_repeat(&self, row: &Row) -> bool {
        self.columns
            .of_role(Role::Reference)
            .first()
            .is_some_and(|c| self.texts.get(*c).is_some_and(|text| row.cell(*c).eq_ignore_ascii_case(text.trim())))
    }
}

/// Headings at this row, alone or together with the row below it.
fn heading(rows: &[Row], at: usize, aliases: &[Alias]) -> Option<Heading> {
    let row = &rows[at];
    if row.cells.len() < 2 {
        return None;
    }
    let alone = qualified(row.cells.clone(), 1, aliases);
    let stacked = rows.get(at + 1).filter(|below| is_second_line(row, below)).and_then(|below| qualified(stack(row, below), 2, aliases));
    match (alone, stacked) {
        (Some(one), Some(two)) if two.columns.count() > one.columns.count() => Some(two),
        (None, two) => two,
        (one, _) => one,
    }
}

fn qualified(texts: Vec<String>, lines: usize, aliases: &[Alias]) -> Option<Heading> {
    let columns = Columns::of(&texts, aliases);
    let kind = if columns.is_placements() {
        Kind::Placements
    } else if columns.is_bom() && columns.count() >= 2 {
        Kind::Bom
    } else {
        return None;
    };
    Some(Heading { kind, columns, texts, lines })
}

/// A row below headings that belongs to them: short words, no numbers, no references.
fn is_second_line(above: &Row, below: &Row) -> bool {
    let words = below.cells.iter().map(|c| c.trim()).filter(|c| !c.is_empty());
    above.line + 1 == below.line
        && below.cells.len() > 1
        && words.clone().count() > 0
        && words.clone().all(|w| w.chars().count() < 24 && number(w).is_none() && !refs::is_reference(w))
        && Columns::of(&below.cells, &[]).count() < 4
}

fn stack(above: &Row, below: &Row) -> Vec<String> {
    let width = above.cells.len().max(below.cells.len());
    (0..width).map(|c| format!("{} {}", above.cell(c), below.cell(c)).trim().to_owned()).collect()
}

/// Whether rows under the headings are what they promise: at least one, and in a text
/// without separators, where prose may look like a bill of materials, most of them.
fn has_data(table: &Table) -> bool {
    let data = table.rows.iter().filter(|row| is_data(table, row)).count();
    let prose_like = table.kind == Kind::Bom && matches!(table.split.as_str(), "separated by blanks" | "columns by place");
    if prose_like { table.columns.count() >= 3 && data * 2 > table.rows.len() } else { data > 0 }
}

pub(super) fn is_data(table: &Table, row: &Row) -> bool {
    let reference = table.first_cell(row, Role::Reference);
    match table.kind {
        Kind::Placements => {
            !reference.is_empty() && number(table.first_cell(row, Role::X)).is_some() && number(table.first_cell(row, Role::Y)).is_some()
        }
        Kind::Bom => refs::references(reference, &HashSet::new()).is_some(),
    }
}
