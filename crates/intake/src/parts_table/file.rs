//! The table as a file: header, rows, and the findings about both.

use super::column::{COLUMNS, certainty_word, source_word};
use crate::InputFile;
use crate::decode::decode;
use crate::grid::{self, Grid, delimited, sheet};
use diag::{Finding, codes};
use domain::part::Part;
use std::collections::BTreeMap;

/// What a column of a file is.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Header {
    /// The part number.
    Number,
    /// The package name.
    Package,
    /// Value or description, for people; and certainties. Not read back.
    ForPeople(String),
    /// A value, by the name of its column.
    Value(&'static str),
    /// Where a value came from, by the name of the value's column.
    Source(&'static str),
}

/// A read table.
pub(crate) struct Table {
    columns: BTreeMap<Header, usize>,
    pub(crate) rows: Vec<Row>,
}

/// One row.
pub(crate) struct Row {
    pub(crate) line: u32,
    pub(crate) number: String,
    pub(crate) package: String,
    cells: Vec<String>,
}

impl Table {
    /// The cell of a row under a header, without the blanks around it; `None` when the table lacks the column.
    pub(crate) fn cell<'a>(&self, row: &'a Row, header: &Header) -> Option<&'a str> {
        self.columns.get(header).map(|at| row.cells.get(*at).map_or("", String::as_str))
    }
}

/// Reads the file; the findings are about columns and rows that cannot be used.
pub(crate) fn read(file: &InputFile<'_>) -> Result<(Table, Vec<Finding>), Vec<Finding>> {
    let (grid, damaged) = grid_of(file)?;
    let trimmed = |row: &grid::Row| row.cells.iter().map(|c| c.trim().to_owned()).collect::<Vec<_>>();
    let mut records = grid.rows.iter().filter(|row| !row.is_blank()).map(|row| (row.line, trimmed(row)));
    let empty = || vec![Finding::new(codes::parts::TABLE_EMPTY, "the parts table is empty").at(file.name, 0)];
    let (header_line, header) = records.next().ok_or_else(empty)?;
    let (columns, mut findings) = headers(&header, header_line, file.name);
    if !columns.contains_key(&Header::Number) && !columns.contains_key(&Header::Package) {
        let message = "the first row names neither `number` nor `package`";
        return Err(vec![Finding::new(codes::parts::TABLE_NO_KEY, message).at(file.name, header_line).value(header.join(", "))]);
    }
    findings.extend(damaged);
    let broken =
        |line: &u32| Finding::new(codes::read::BROKEN_QUOTE, "a quote is not closed; the line was read by itself").at(file.name, *line);
    findings.extend(grid.broken_quotes.iter().map(broken));
    let mut table = Table { columns, rows: Vec::new() };
    for (line, cells) in records {
        let (row, finding) = row(&table, line, cells, header.len());
        findings.extend(finding.map(|f| f.at(file.name, line)));
        table.rows.extend(row);
    }
    if table.rows.is_empty() && findings.iter().all(|f| f.line <= header_line) {
        findings.push(Finding::new(codes::parts::TABLE_EMPTY, "the parts table has a header and no row").at(file.name, header_line));
    }
    Ok((table, findings))
}

/// The cells of the file: of a text, or of the first sheet of a spreadsheet that has a row; and what is wrong with its letters.
fn grid_of(file: &InputFile<'_>) -> Result<(Grid, Option<Finding>), Vec<Finding>> {
    if sheet::looks_like_one(file.bytes) {
        let unreadable =
            |why: String| vec![Finding::new(codes::read::SPREADSHEET, format!("the spreadsheet cannot be read: {why}")).at(file.name, 0)];
        let grids = sheet::sheets(file.bytes).map_err(unreadable)?;
        return Ok((grids.into_iter().next().unwrap_or_default(), None));
    }
    let no_text = || vec![Finding::new(codes::parts::TABLE_NOT_TEXT, "the parts table is neither text nor a spreadsheet").at(file.name, 0)];
    let decoded = decode(file.bytes).ok_or_else(no_text)?;
    let lines: Vec<&str> = decoded.text.lines().collect();
    let damaged = decoded.damaged.then(|| {
        let message = format!("some bytes make no sense in {}; they were replaced", decoded.encoding.name());
        Finding::new(codes::read::DAMAGED_TEXT, message).at(file.name, 0)
    });
    Ok((delimited::split(&lines, separator(&lines)), damaged))
}

/// The separator that stands most often in the first line with text; a comma when none does.
fn separator(lines: &[&str]) -> char {
    let header = lines.iter().find(|line| !line.trim().is_empty()).copied().unwrap_or_default();
    // The last of equals is kept, so the comma stands last.
    ['|', '\t', ';', ','].into_iter().max_by_key(|separator| header.matches(*separator).count()).unwrap_or(',')
}

fn headers(cells: &[String], line: u32, file: &str) -> (BTreeMap<Header, usize>, Vec<Finding>) {
    let (mut columns, mut findings) = (BTreeMap::new(), Vec::new());
    for (at, cell) in cells.iter().enumerate().filter(|(_, c)| !c.is_empty()) {
        let name = cell.to_lowercase().replace([' ', '-'], "_");
        match header(&name) {
            None => findings.push(unknown_column(cell, &name).at(file, line)),
            Some(header) if columns.contains_key(&header) => {
                let message = format!("the column `{cell}` stands twice; the first one was used");
                findings.push(Finding::new(codes::parts::TABLE_REPEATED_COLUMN, message).at(file, line).value(cell.as_str()));
            }
            Some(header) => {
                columns.insert(header, at);
            }
        }
    }
    (columns, findings)
}

fn header(name: &str) -> Option<Header> {
    match name {
        "number" => return Some(Header::Number),
        "package" => return Some(Header::Package),
        "value" => return Some(Header::ForPeople(name.to_owned())),
        _ => {}
    }
    COLUMNS.iter().find_map(|column| match name.strip_prefix(column.stem)? {
        "_source" => Some(Header::Source(column.name)),
        "_certainty" => Some(Header::ForPeople(name.to_owned())),
        _ if name == column.name => Some(Header::Value(column.name)),
        _ => None,
    })
}

fn unknown_column(cell: &str, name: &str) -> Finding {
    let known = ["number", "package", "value"].into_iter().chain(COLUMNS.iter().map(|c| c.name));
    let finding =
        Finding::new(codes::parts::TABLE_UNKNOWN_COLUMN, format!("the column `{cell}` is not known; its cells were not used")).value(cell);
    match nearest(name, known.clone()) {
        Some(near) => finding.hint(format!("did you mean `{near}`?")),
        None => finding.hint(format!("known here: {}", known.collect::<Vec<_>>().join(", "))),
    }
}

/// The known name that is most like the given one, if one is like it.
pub(super) fn nearest<'a>(name: &str, known: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    // Very long texts are no misspelt names, and comparing them costs their square.
    if name.len() > 100 {
        return None;
    }
    known
        .filter(|k| !k.is_empty() && k.len() <= 100)
        .map(|k| (strsim::jaro_winkler(&k.to_lowercase(), &name.to_lowercase()), k))
        .filter(|(likeness, _)| *likeness > 0.85)
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, k)| k)
}

fn row(table: &Table, line: u32, cells: Vec<String>, width: usize) -> (Option<Row>, Option<Finding>) {
    let get = |header| table.columns.get(&header).and_then(|at| cells.get(*at)).cloned().unwrap_or_default();
    let (number, package) = (get(Header::Number), get(Header::Package));
    if number.is_empty() && package.is_empty() {
        let finding = Finding::new(codes::parts::TABLE_NO_KEY, "the row names neither a part number nor a package; it was not used");
        return (None, Some(finding.value(cells.join(", "))));
    }
    let beyond: Vec<&str> = cells.iter().skip(width).map(String::as_str).filter(|c| !c.is_empty()).collect();
    let finding = (!beyond.is_empty()).then(|| {
        let message = format!("the row has {} cells under {width} headers; those beyond were not used", cells.len());
        Finding::new(codes::parts::TABLE_ROW_LENGTH, message).value(beyond.join(", "))
    });
    (Some(Row { line, number, package, cells }), finding)
}

/// The header of the table.
pub(crate) fn header_cells() -> Vec<String> {
    let names = COLUMNS.iter().flat_map(|c| [c.name.to_owned(), format!("{}_source", c.stem), format!("{}_certainty", c.stem)]);
    ["number", "package", "value"].into_iter().map(str::to_owned).chain(names).collect()
}

/// The table of these parts as cells, its header first.
pub(super) fn cells_of(parts: &[Part]) -> Vec<Vec<String>> {
    let rows = parts.iter().map(|part| {
        let keys = [key(&part.number), key(&part.package), key(&part.value)];
        keys.into_iter().chain(COLUMNS.iter().flat_map(|column| cells(column.shown, part))).collect::<Vec<_>>()
    });
    std::iter::once(header_cells()).chain(rows).collect()
}

/// Cells as lines of text, quoted where they must be.
pub(crate) fn lines(table: &[Vec<String>]) -> String {
    let mut text = String::new();
    for row in table {
        let quoted: Vec<String> = row.iter().map(|cell| quoted(cell)).collect();
        text.push_str(&quoted.join(","));
        text.push('\n');
    }
    text
}

fn cells(shown: fn(&Part) -> super::column::Shown, part: &Part) -> [String; 3] {
    let shown = shown(part);
    // A value that is not known has no source either.
    let (source, certainty) = match shown.value.is_empty() {
        true => ("", ""),
        false => (source_word(shown.from), certainty_word(shown.sureness)),
    };
    [shown.value, source.to_owned(), certainty.to_owned()]
}

/// A part number or package as the table holds it: on one line, without control characters.
pub(crate) fn key(text: &str) -> String {
    text.replace(char::is_control, " ").trim().to_owned()
}

/// A cell as RFC 4180 has it.
fn quoted(cell: &str) -> String {
    let plain = !cell.contains([',', ';', '\t', '|', '"', '\n', '\r']) && cell.trim() == cell;
    if plain { cell.to_owned() } else { format!("\"{}\"", cell.replace('"', "\"\"")) }
}
