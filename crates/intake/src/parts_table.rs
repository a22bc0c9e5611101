//! The engineer's parts table: printed with what is known, filled in, and fed back.
//!
//! A CSV file or a spreadsheet with one row per part. Every value has a column beside it for its source and
//! one for its certainty; units are in the header. A row is keyed by `number`, or, where
//! that is empty, by `package` and then serves every part of that package; rows by number
//! overrule rows by package. Empty cells say nothing. A cell whose source column says
//! anything but `engineer` counts only when its value was changed, so that an unedited table
//! changes nothing; writing `engineer` beside a value confirms it. Without source columns
//! every filled cell is a statement. Rows and cells that cannot be used are named, and the
//! good ones beside them are kept.

mod cell;
mod column;
pub(crate) mod file;

use crate::InputFile;
use crate::parts::refit;
use column::{COLUMNS, Refusal};
pub(crate) use column::{Column, certainty_word, source_word};
use diag::{Finding, codes};
use domain::part::{Part, Source};
use file::{Header, Row, Table};
use std::collections::BTreeMap;

/// Applies a table to parts and says what could not be used.
pub fn apply(parts: &mut [Part], file: &InputFile<'_>) -> Vec<Finding> {
    let (table, mut findings) = match file::read(file) {
        Ok(read) => read,
        Err(findings) => return findings,
    };
    let before: Vec<Part> = parts.to_vec();
    let keys: Vec<Keys> = parts.iter().map(|p| (file::key(&p.number), file::key(&p.package))).collect();
    let (by_number, by_package): (Vec<&Row>, Vec<&Row>) = table.rows.iter().partition(|row| !row.number.is_empty());
    for rows in [by_package, by_number] {
        let mut stated = BTreeMap::new();
        for row in rows {
            let targets = targets(&keys, row);
            if targets.is_empty() {
                findings.push(unknown(parts, row, file.name));
            }
            findings.extend(apply_row(parts, &targets, row, &table, file.name, &mut stated));
        }
    }
    for (part, old) in parts.iter_mut().zip(&before) {
        if resized(old, part) {
            refit(part);
        }
    }
    findings.sort_by_key(|f| f.line);
    findings
}

/// The table of these parts, to be filled in.
///
/// ```
/// let (part, _) = intake::parts::part("R-10k", "10k", "R_0402_1005Metric", &["R1"]);
/// let table = intake::parts_table::write(std::slice::from_ref(&part));
/// assert!(table.starts_with("number,package,value,mount,mount_source,mount_certainty,body_x_mm,"));
/// ```
pub fn write(parts: &[Part]) -> String {
    file::lines(&file::cells_of(parts))
}

/// The table as cells, its header first.
pub fn cells(parts: &[Part]) -> Vec<Vec<String>> {
    file::cells_of(parts)
}

/// The columns that hold values, in the order of the table.
pub(crate) fn columns() -> &'static [Column] {
    COLUMNS
}

/// Number and package of a part, as the table holds them.
type Keys = (String, String);

/// Indices of the parts a row speaks of.
fn targets(keys: &[Keys], row: &Row) -> Vec<usize> {
    let wanted = |(number, package): &Keys| match row.number.is_empty() {
        false => *number == row.number,
        true => !row.package.is_empty() && package.eq_ignore_ascii_case(&row.package),
    };
    keys.iter().enumerate().filter(|(_, k)| wanted(k)).map(|(i, _)| i).collect()
}

/// What was stated of a part's column before: the cell and its line.
type Stated = BTreeMap<(usize, &'static str), (String, u32)>;

fn apply_row(parts: &mut [Part], targets: &[usize], row: &Row, table: &Table, file: &str, stated: &mut Stated) -> Vec<Finding> {
    let mut findings = Vec::new();
    for column in COLUMNS {
        let Some(text) = table.cell(row, &Header::Value(column.name)).filter(|t| !t.is_empty()) else { continue };
        let said_source = match source(table.cell(row, &Header::Source(column.name)).unwrap_or_default()) {
            Ok(source) => source,
            Err(word) => {
                findings.push(bad_source(column, word).at(file, row.line));
                continue;
            }
        };
        // A cell is judged even when no part is meant, so that its mistake shows at once.
        if let Err(refusal) = (column.check)(text) {
            findings.push(refused(column, text, &refusal).at(file, row.line));
            continue;
        }
        for &target in targets {
            let Some(part) = parts.get_mut(target) else { continue };
            if (column.state)(part, text, said_source) {
                findings.extend(disagreement(stated, (target, column.name), text, row.line, part).map(|f| f.at(file, row.line)));
            }
        }
    }
    findings
}

fn disagreement(stated: &mut Stated, key: (usize, &'static str), text: &str, line: u32, part: &Part) -> Option<Finding> {
    let (earlier, at) = stated.insert(key, (text.to_owned(), line))?;
    (earlier != text).then(|| {
        let message = format!("`{}` of `{}` was {earlier} in line {at} and is {text} here; {text} stands", key.1, part.number);
        Finding::new(codes::parts::TABLE_DISAGREES, message).value(text)
    })
}

fn source(word: &str) -> Result<Option<Source>, &str> {
    match word.to_ascii_lowercase().as_str() {
        "" => Ok(None),
        "engineer" => Ok(Some(Source::Engineer)),
        "library" => Ok(Some(Source::Library)),
        "file" => Ok(Some(Source::File)),
        "name" => Ok(Some(Source::Name)),
        "default" => Ok(Some(Source::Default)),
        _ => Err(word),
    }
}

fn bad_source(column: &Column, word: &str) -> Finding {
    let message = format!("`{word}` is no source of `{}`; the cell was not used", column.name);
    Finding::new(codes::parts::TABLE_UNREADABLE, message)
        .value(word)
        .hint("write engineer, or leave what stood there: library, file, name, default")
}

pub(crate) fn refused(column: &Column, text: &str, refusal: &Refusal) -> Finding {
    match refusal {
        Refusal::Unreadable(expected) => {
            Finding::new(codes::parts::TABLE_UNREADABLE, format!("`{text}` is no value of `{}`", column.name)).value(text).hint(expected)
        }
        Refusal::OutOfRange(range) => {
            let message = format!("`{text}` is out of range for `{}`", column.name);
            Finding::new(codes::parts::TABLE_OUT_OF_RANGE, message).value(text).hint(range)
        }
    }
}

fn unknown(parts: &[Part], row: &Row, file: &str) -> Finding {
    let (what, name) = if row.number.is_empty() { ("package", &row.package) } else { ("part number", &row.number) };
    let finding = Finding::new(codes::parts::TABLE_UNKNOWN_PART, format!("no part of the product has the {what} `{name}`"));
    let known = parts.iter().map(|p| if row.number.is_empty() { p.package.as_str() } else { p.number.as_str() });
    let finding = match file::nearest(name, known) {
        Some(near) => finding.hint(format!("did you mean `{near}`? If not, leave the row if the table serves several products")),
        None => finding,
    };
    finding.value(name.as_str()).at(file, row.line)
}

/// Whether something changed from which other values follow.
pub(crate) fn resized(old: &Part, new: &Part) -> bool {
    old.body_x_um != new.body_x_um || old.body_y_um != new.body_y_um || old.height_um != new.height_um || old.mount != new.mount
}
