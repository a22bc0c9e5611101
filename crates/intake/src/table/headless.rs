//! Lists without headings, read by what their columns hold.
//!
//! Two shapes: blank-separated `reference x y angle [m] [value] package`, where the value
//! may be missing and a lone `m` means mirrored; and delimited rows of one width.

use super::{Kind, Table};
use crate::grid::{Grid, Row};
use crate::header::{Columns, Role};
use crate::number::number;
use crate::{refs, side};

/// Share of rows that must fit before a file is taken for such a list, in percent.
const FITTING_PERCENT: usize = 80;

/// Reads a blank-separated grid.
pub(super) fn blank_separated(grid: &Grid) -> Option<Table> {
    let (rows, preamble) = parted(grid, |row| fields(row).is_some())?;
    let rows: Vec<Row> = rows.iter().map(|r| Row { line: r.line, cells: fields(r).unwrap_or_else(|| r.cells.clone()) }).collect();
    // Only where some rows are marked does the absence of a mark mean anything.
    let mirror = rows.iter().any(|r| r.cell(4) == "m").then_some(Role::Mirror);
    let roles = [Some(Role::Reference), Some(Role::X), Some(Role::Y), Some(Role::Rotation), mirror, Some(Role::Value), Some(Role::Package)];
    Some(table(rows, preamble, &roles, grid))
}

/// Reference, x, y, angle, mirror, value, package.
fn fields(row: &Row) -> Option<Vec<String>> {
    let cell = |i: usize| row.cell(i).to_owned();
    if !starts_like_a_placement(row) || number(row.cell(3)).is_none() {
        return None;
    }
    let mut rest: Vec<String> = row.cells[4..].to_vec();
    let mirrored = rest.first().is_some_and(|t| t == "m" || t == "M");
    if mirrored {
        rest.remove(0);
    }
    let package = rest.pop().unwrap_or_default();
    let mirror = if mirrored { "m" } else { "" };
    Some(vec![cell(0), cell(1), cell(2), cell(3), mirror.to_owned(), rest.join(" "), package])
}

fn starts_like_a_placement(row: &Row) -> bool {
    let reference = row.cell(0);
    !reference.is_empty()
        && number(reference).is_none()
        && reference.chars().count() <= 24
        && number(row.cell(1)).is_some()
        && number(row.cell(2)).is_some()
}

/// Reads a delimited grid whose rows all have one width.
pub(super) fn delimited(grid: &Grid) -> Option<Table> {
    let (rows, preamble) = parted(grid, |row| row.cells.len() >= 4 && refs::is_reference(row.cell(0)) && numeric(row).count() >= 2)?;
    let width = rows.iter().map(|r| r.cells.len()).max()?;
    let roles = column_roles(&rows, width)?;
    Some(table(rows, preamble, &roles, grid))
}

fn numeric(row: &Row) -> impl Iterator<Item = usize> + '_ {
    (0..row.cells.len()).filter(|c| number(row.cell(*c)).is_some())
}

/// Columns that hold numbers throughout are x, y, angle in this order; one of side words is
/// the side; texts that are left are value and package.
fn column_roles(rows: &[Row], width: usize) -> Option<Vec<Option<Role>>> {
    let all = |column: usize, test: &dyn Fn(&str) -> bool| rows.iter().filter(|r| test(r.cell(column))).count() * 100 >= rows.len() * 95;
    let mut roles: Vec<Option<Role>> = vec![None; width];
    let mut numbers = [Role::X, Role::Y, Role::Rotation].into_iter();
    let mut texts = [Role::Value, Role::Package].into_iter();
    for (column, role) in roles.iter_mut().enumerate() {
        *role = if column == 0 {
            Some(Role::Reference)
        } else if all(column, &|t| side::from_word(t).is_some() && number(t).is_none()) {
            Some(Role::Side)
        } else if all(column, &|t| number(t).is_some()) {
            numbers.next()
        } else {
            texts.next()
        };
    }
    roles.contains(&Some(Role::Y)).then_some(roles)
}

/// Rows that fit and, when nearly all rows below the first of them fit, what stands above.
fn parted(grid: &Grid, fits: impl Fn(&Row) -> bool) -> Option<(Vec<Row>, Vec<Row>)> {
    let first = grid.rows.iter().position(&fits)?;
    let body: Vec<&Row> = grid.rows[first..].iter().filter(|r| !r.is_blank()).collect();
    let fitting = body.iter().filter(|r| fits(r)).count();
    // Rows that do not fit stay in, so that they are reported and not lost.
    (fitting * 100 >= body.len() * FITTING_PERCENT).then(|| (body.into_iter().cloned().collect(), grid.rows[..first].to_vec()))
}

fn table(rows: Vec<Row>, preamble: Vec<Row>, roles: &[Option<Role>], grid: &Grid) -> Table {
    let mut columns = Columns::default();
    for (column, role) in roles.iter().enumerate() {
        if let Some(role) = role {
            columns.set(*role, column);
        }
    }
    Table {
        kind: Kind::Placements,
        columns,
        headings: Vec::new(),
        line: 0,
        rows,
        preamble,
        sheet: grid.sheet.clone(),
        split: grid.split.clone(),
    }
}
