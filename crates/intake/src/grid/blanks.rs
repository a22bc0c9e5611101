//! Text in columns made of blanks.
//!
//! Two ways: every run of blanks separates ([`tokens`]; a quoted piece is one token), or
//! columns by place ([`aligned`]), for lists whose cells hold blanks themselves. A leading
//! `#` of a header line is no cell.

use super::{Grid, MAX_COLUMNS, Row};

/// Splits every line at its blanks.
pub(crate) fn tokens(lines: &[&str]) -> Grid {
    let rows = lines.iter().enumerate().map(|(i, line)| Row { line: i as u32 + 1, cells: split_line(line) }).collect();
    Grid { split: "separated by blanks".to_owned(), rows, ..Grid::default() }
}

fn split_line(line: &str) -> Vec<String> {
    let mut cells = Vec::new();
    let mut rest = unmarked(line).trim();
    while !rest.is_empty() && cells.len() < MAX_COLUMNS {
        let (cell, after) = token(rest);
        cells.push(cell.to_owned());
        rest = after.trim_start();
    }
    join_axis_words(cells)
}

/// The first token and what follows.
fn token(text: &str) -> (&str, &str) {
    if let Some(quoted) = text.strip_prefix('"')
        && let Some((cell, after)) = quoted.split_once('"')
        && (after.is_empty() || after.starts_with(char::is_whitespace))
    {
        return (cell, after);
    }
    text.split_once(char::is_whitespace).unwrap_or((text, ""))
}

/// `# Ref  Val` → `Ref  Val`, with the `#` blanked so that columns keep their places.
fn unmarked(line: &str) -> &str {
    match line.strip_prefix('#') {
        Some(rest) if rest.starts_with(' ') => rest,
        _ => line,
    }
}

/// Words that stand before a lone X or Y in headers.
const AXIS_WORDS: [&str; 8] = ["mid", "ref", "pad", "centre", "center", "pos", "location", "coord"];

/// `Mid` `X` is one heading.
fn join_axis_words(cells: Vec<String>) -> Vec<String> {
    let mut joined: Vec<String> = Vec::with_capacity(cells.len());
    for cell in cells {
        match joined.last_mut() {
            Some(last) if matches!(cell.as_str(), "X" | "Y" | "x" | "y") && AXIS_WORDS.contains(&last.to_ascii_lowercase().as_str()) => {
                last.push(' ');
                last.push_str(&cell);
            }
            _ => joined.push(cell),
        }
    }
    joined
}

/// Splits every line at the places that are blank in all lines around the header at `header`.
///
/// The table reaches from the header to the end; lines shorter than the first column's gap
/// (closing words, rules) are kept whole in the first cell.
pub(crate) fn aligned(lines: &[&str], header: usize) -> Grid {
    let body: Vec<Vec<char>> = lines.iter().map(|l| unmarked_in_place(l)).collect();
    let starts = column_starts(&body, header);
    let rows = body
        .iter()
        .enumerate()
        .map(|(i, line)| Row { line: i as u32 + 1, cells: if i < header { vec![line.iter().collect()] } else { cut(line, &starts) } })
        .collect();
    Grid { split: "columns by place".to_owned(), rows, ..Grid::default() }
}

fn unmarked_in_place(line: &str) -> Vec<char> {
    let mut chars: Vec<char> = line.trim_end().chars().map(|c| if c == '\t' { ' ' } else { c }).collect();
    if chars.first() == Some(&'#') && chars.get(1) == Some(&' ') {
        chars[0] = ' ';
    }
    chars
}

/// Where columns start: after a place that is blank in every line, under a heading.
fn column_starts(body: &[Vec<char>], header: usize) -> Vec<usize> {
    let head = &body[header];
    let widest = body[header..].iter().map(Vec::len).max().unwrap_or(0).min(MAX_COLUMNS * 64);
    let mut written = vec![false; widest];
    for line in body[header..].iter().filter(|l| !is_rule(l)) {
        for (place, c) in line.iter().enumerate().take(widest) {
            written[place] |= *c != ' ';
        }
    }
    let mut starts = Vec::new();
    for place in 0..widest {
        if written[place] && (place == 0 || !written[place - 1]) {
            starts.push(place);
        }
    }
    merge_headless(&starts, head)
}

/// A stretch without a heading over it belongs to the column before it.
fn merge_headless(starts: &[usize], head: &[char]) -> Vec<usize> {
    let mut kept: Vec<usize> = Vec::new();
    for (i, start) in starts.iter().enumerate() {
        let end = starts.get(i + 1).copied().unwrap_or(usize::MAX).min(head.len());
        let headed = head.get(*start..end.max(*start)).is_some_and(|h| h.iter().any(|c| *c != ' '));
        if headed || kept.is_empty() {
            kept.push(*start);
        }
    }
    kept
}

/// A line of dashes or equals signs.
fn is_rule(line: &[char]) -> bool {
    line.len() > 3 && line.iter().all(|c| matches!(c, '-' | '=' | '_' | ' ' | '+'))
}

fn cut(line: &[char], starts: &[usize]) -> Vec<String> {
    let mut cells = Vec::with_capacity(starts.len());
    for (i, start) in starts.iter().enumerate() {
        let end = starts.get(i + 1).copied().unwrap_or(line.len()).min(line.len());
        let text: String = line.get(*start..end).unwrap_or_default().iter().collect();
        cells.push(text.trim().trim_matches('"').to_owned());
    }
    join_axis_words(cells)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_with_blanks_keep_their_column() {
        let lines = [
            "Name      Component            Side     Centre X  Rotation",
            "D2        Quad TVS TPD4E1B06   Bottom        769      0.00",
            "J1        PINHEAD-8-LONG-NAME1 Top           543    315.00",
        ];
        let grid = aligned(&lines, 0);
        assert_eq!(grid.rows[0].cells, ["Name", "Component", "Side", "Centre X", "Rotation"]);
        assert_eq!(grid.rows[1].cells, ["D2", "Quad TVS TPD4E1B06", "Bottom", "769", "0.00"]);
    }

    #[test]
    fn a_marked_header_and_quoted_pieces_are_tokens() {
        let grid = tokens(&["# Ref  Val  PosX", "R1 \"Res Semi\" 1.5", "C1 10n 2"]);
        assert_eq!(grid.rows[0].cells, ["Ref", "Val", "PosX"]);
        assert_eq!(grid.rows[1].cells, ["R1", "Res Semi", "1.5"]);
    }
}
