//! Text with a separator character, quoted or not.
//!
//! Quoting is read more patiently than RFC 4180 has it, which is why no library does it:
//! lists from the trade hold inch marks inside quoted fields (`"conn 0.1" pitch"`). A quote
//! ends a field only before a separator or the end of the line, and a field may run over
//! lines only when the record then has as many cells as its neighbours; otherwise the line
//! stands for itself and is reported, so that no row is swallowed.

use super::{Grid, MAX_COLUMNS, Row};
use std::collections::BTreeMap;

/// Lines a quoted field may run over.
const MAX_FIELD_LINES: usize = 30;

/// Splits `lines` at `separator`.
pub(crate) fn split(lines: &[&str], separator: char) -> Grid {
    let width = usual_width(lines, separator);
    let mut grid = Grid { split: format!("separated by {}", name_of(separator)), ..Grid::default() };
    let mut at = 0;
    while at < lines.len() {
        let (cells, used, broken) = record(&lines[at..], separator, width);
        let line = at as u32 + 1;
        if broken {
            grid.broken_quotes.push(line);
        }
        push(&mut grid, line, cells);
        at += used;
    }
    grid
}

fn push(grid: &mut Grid, line: u32, mut cells: Vec<String>) {
    if cells.len() > MAX_COLUMNS {
        cells.truncate(MAX_COLUMNS);
        grid.cut.push(line);
    }
    grid.rows.push(Row { line, cells });
}

/// The separator in words.
pub(crate) fn name_of(separator: char) -> &'static str {
    match separator {
        ',' => "commas",
        ';' => "semicolons",
        '\t' => "tabs",
        '|' => "bars",
        _ => "a character",
    }
}

/// The commonest number of cells of lines that stand for themselves.
fn usual_width(lines: &[&str], separator: char) -> usize {
    let mut count: BTreeMap<usize, usize> = BTreeMap::new();
    for line in lines {
        let (cells, open) = fields(line, separator);
        if !open && cells.len() > 1 {
            *count.entry(cells.len()).or_default() += 1;
        }
    }
    count.into_iter().max_by_key(|(width, n)| (*n, *width)).map_or(1, |(width, _)| width)
}

/// The record that starts at the first of `lines`: its cells, the lines it takes, whether its quoting is broken.
fn record(lines: &[&str], separator: char, width: usize) -> (Vec<String>, usize, bool) {
    let (cells, open) = fields(lines[0], separator);
    if !open {
        return (cells, 1, false);
    }
    let mut text = lines[0].to_owned();
    for (extra, line) in lines.iter().enumerate().skip(1).take(MAX_FIELD_LINES) {
        // A line that is a whole record by itself is never the inside of a field.
        let (alone, alone_open) = fields(line, separator);
        if !alone_open && alone.len() == width && width > 1 {
            break;
        }
        text.push('\n');
        text.push_str(line);
        let (longer, still_open) = fields(&text, separator);
        if longer.len() > width {
            break;
        }
        if !still_open {
            return (longer, extra + 1, false);
        }
    }
    // The quote never closes sensibly: read the line as if it were not quoted at all.
    let bare = lines[0].split(separator).take(MAX_COLUMNS + 1).map(|c| c.trim().trim_matches('"').to_owned()).collect();
    (bare, 1, true)
}

/// The fields of one record, and whether a quote is still open at its end.
fn fields(text: &str, separator: char) -> (Vec<String>, bool) {
    let mut cells = Vec::new();
    let mut rest = text;
    loop {
        let trimmed = rest.trim_start_matches(|c: char| c == ' ' && c != separator);
        let (cell, after, open) = match trimmed.strip_prefix('"') {
            Some(quoted) => quoted_field(quoted, separator),
            None => bare_field(rest, separator),
        };
        cells.push(cell);
        if open || cells.len() > MAX_COLUMNS {
            return (cells, open);
        }
        match after {
            Some(next) => rest = next,
            None => return (cells, false),
        }
    }
}

/// Cell, what follows its separator (if any), whether its quote is still open.
type Field<'a> = (String, Option<&'a str>, bool);

fn bare_field(text: &str, separator: char) -> Field<'_> {
    match text.split_once(separator) {
        Some((cell, after)) => (cell.to_owned(), Some(after), false),
        None => (text.to_owned(), None, false),
    }
}

fn quoted_field(text: &str, separator: char) -> Field<'_> {
    let mut from = 0;
    while let Some(found) = text[from..].find('"') {
        let at = from + found;
        let after = &text[at + 1..];
        // Blanks before the separator belong to neither; a tab may be the separator itself.
        let behind = after.trim_start_matches(|c: char| c == ' ' && c != separator);
        if behind.is_empty() || behind.starts_with(separator) {
            let cell = text[..at].replace("\"\"", "\"");
            return (cell, behind.strip_prefix(separator), false);
        }
        // A doubled quote is one quote of the text; a single one in front of more text is an inch mark.
        from = at + if after.starts_with('"') { 2 } else { 1 };
    }
    (text.replace("\"\"", "\""), None, true)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cells(text: &str, separator: char) -> Vec<Vec<String>> {
        let lines: Vec<&str> = text.lines().collect();
        split(&lines, separator).rows.into_iter().map(|r| r.cells).collect()
    }

    #[test]
    fn quotes_hold_separators_and_quotes() {
        assert_eq!(cells("\"a,b\",\"say \"\"x\"\"\",c", ','), [["a,b", "say \"x\"", "c"]]);
    }

    #[test]
    fn an_inch_mark_does_not_swallow_the_next_row() {
        let grid = cells("J1,\"conn 0.1\" pitch\",1\nJ2,\"2\" spacer,2\nC1,\"100n\",3\nC2,\"100n\",4", ',');
        assert_eq!(grid.len(), 4);
        assert_eq!(grid[0], ["J1", "conn 0.1\" pitch", "1"]);
        assert_eq!(grid[2], ["C1", "100n", "3"]);
    }

    #[test]
    fn a_field_may_run_over_lines() {
        let grid = cells("a,b,c\n1,\"two\nlines\",3\n4,5,6", ',');
        assert_eq!(grid, [["a", "b", "c"], ["1", "two\nlines", "3"], ["4", "5", "6"]]);
    }
}
