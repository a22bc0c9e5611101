//! Bills of materials: which part each reference is, and whether it is fitted.

use crate::fitted;
use crate::grid::Row;
use crate::header::Role;
use crate::list::{identity, tidy};
use crate::number::number;
use crate::refs;
use crate::table::Table;
use diag::{Finding, codes::read as code};
use std::collections::{BTreeMap, BTreeSet, HashSet};

/// What a bill of materials says of one reference.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Entry {
    pub(crate) file: String,
    pub(crate) line: u32,
    pub(crate) number: String,
    pub(crate) order: String,
    pub(crate) value: String,
    /// All texts that tell parts of one value apart.
    pub(crate) identity: String,
    pub(crate) package: String,
    pub(crate) description: String,
    /// Why it is not fitted.
    pub(crate) not_fitted: Option<String>,
}

/// One bill of materials.
#[derive(Clone, Debug, Default)]
pub(crate) struct Bom {
    pub(crate) entries: BTreeMap<String, Entry>,
    /// Rows with references.
    pub(crate) rows: usize,
}

impl Bom {
    /// How many references have a part number.
    fn numbered(&self) -> usize {
        self.entries.values().filter(|e| !e.number.is_empty()).count()
    }
}

/// Reads a table as a bill of materials; `known` are the references of the placement list.
pub(crate) fn read(table: &Table, name: &str, known: &HashSet<&str>, findings: &mut Vec<Finding>) -> Bom {
    let mut reader = Reader { table, name, known, counts: counts_pieces(table, known), bom: Bom::default(), left_out: Vec::new() };
    let mut state = RowState::default();
    let mut notes = Notes::default();
    for row in &table.rows {
        reader.row(row, &mut state, &mut notes);
    }
    for reference in std::mem::take(&mut reader.left_out) {
        let entry = reader.bom.entries.entry(reference).or_default();
        entry.not_fitted.get_or_insert_with(|| "listed as not fitted in the bill of materials".to_owned());
    }
    notes.report(name, findings);
    report_left_out(&reader.bom, name, findings);
    variants(table, name, known, findings);
    reader.bom
}

struct Reader<'a> {
    table: &'a Table,
    name: &'a str,
    known: &'a HashSet<&'a str>,
    /// Whether the quantity column counts pieces of one board.
    counts: bool,
    bom: Bom,
    /// References of lists that stand in no part's row.
    left_out: Vec<String>,
}

/// What rows above say of the rows below.
#[derive(Default)]
struct RowState {
    /// A line by itself such as "Not installed" holds for the rows below it.
    section: Option<String>,
}

/// Things noticed in many rows, reported once.
#[derive(Default)]
struct Notes {
    prose: Vec<(u32, String)>,
    quantity: Vec<(u32, String)>,
    twice: Vec<(u32, String)>,
    doubt: Vec<(u32, String)>,
}

impl Reader<'_> {
    fn row(&mut self, row: &Row, state: &mut RowState, notes: &mut Notes) {
        let cell = self.table.first_cell(row, Role::Reference);
        let Some(references) = refs::references(cell, self.known) else {
            let mut written = row.cells.iter().filter(|c| !c.trim().is_empty());
            if let (Some(only), None) = (written.next(), written.next()) {
                state.section = fitted::says_so_alone(only).then(|| only.trim().to_owned());
            }
            // A list by itself, as a summary under the table; in a sentence it is an example.
            let starts = |c: &&String| c.split('(').next().is_some_and(fitted::says_so_alone);
            self.left_out.extend(row.cells.iter().filter(starts).flat_map(|c| fitted::listed(c, self.known)));
            if !cell.is_empty() {
                notes.prose.push((row.line, cell.to_owned()));
            }
            return;
        };
        self.bom.rows += 1;
        let entry = self.entry(row, state, &references, notes);
        let left_out: HashSet<String> = row.cells.iter().flat_map(|c| fitted::listed(c, self.known)).collect();
        for reference in references {
            let mut entry = entry.clone();
            if left_out.contains(&reference) {
                entry.not_fitted = Some("listed as not fitted in the bill of materials".to_owned());
            }
            match self.bom.entries.get(&reference) {
                Some(first) if first.number == entry.number && first.not_fitted == entry.not_fitted => {}
                Some(_) => notes.twice.push((row.line, reference)),
                None => {
                    self.bom.entries.insert(reference, entry);
                }
            }
        }
    }

    fn entry(&self, row: &Row, state: &RowState, references: &[String], notes: &mut Notes) -> Entry {
        let text = |role| tidy(self.table.cell(row, role));
        let (said, words) = fitted::of_row(self.table, row);
        let quantity = number(self.table.cell(row, Role::Quantity)).map(|n| n.value);
        let zero = self.counts && quantity == Some(0.0);
        if self.counts && !zero && quantity.is_some_and(|q| q != references.len() as f64) {
            notes.quantity.push((row.line, format!("{} for {}", self.table.cell(row, Role::Quantity), references.join(" "))));
        }
        if zero && said == Some(true) {
            notes.doubt.push((row.line, references.join(" ")));
        }
        let not_fitted = match (said, zero, &state.section) {
            (Some(false), _, _) => Some(format!("the bill of materials says `{words}`")),
            (_, true, _) => Some("quantity 0 in the bill of materials".to_owned()),
            (_, _, Some(section)) => Some(format!("under `{section}` in the bill of materials")),
            _ => None,
        };
        Entry {
            file: self.name.to_owned(),
            line: row.line,
            number: part_number(&text(Role::Number)),
            order: part_number(&text(Role::Order)),
            value: text(Role::Value),
            identity: identity(self.table, row),
            package: text(Role::Package),
            description: text(Role::Description),
            not_fitted,
        }
    }
}

/// Without what only stands in for a number.
fn part_number(text: &str) -> String {
    let word = text.to_lowercase();
    let empty =
        matches!(word.as_str(), "n/a" | "na" | "tbd" | "none" | "any" | "generic" | "0" | "x" | "." | "*") || fitted::says_so_alone(text);
    if empty { String::new() } else { text.to_owned() }
}

/// A quantity counts pieces of one board when some row counts exactly what it lists.
fn counts_pieces(table: &Table, known: &HashSet<&str>) -> bool {
    table.columns.has(Role::Quantity)
        && table.rows.iter().any(|row| {
            let listed = refs::references(table.first_cell(row, Role::Reference), known).map(|r| r.len() as f64);
            listed.is_some() && number(table.cell(row, Role::Quantity)).map(|n| n.value) == listed
        })
}

impl Notes {
    fn report(self, name: &str, findings: &mut Vec<Finding>) {
        let mut add = |what: &'static diag::Code, seen: &[(u32, String)], message: String| {
            if let Some((line, value)) = seen.first() {
                findings.push(Finding::new(what, message).at(name, *line).value(value));
            }
        };
        add(code::BOM_TEXT, &self.prose, format!("{} rows list no references", self.prose.len()));
        add(code::BOM_QUANTITY, &self.quantity, format!("in {} rows the quantity is not the number of references", self.quantity.len()));
        add(code::FITTED_DOUBT, &self.doubt, format!("{} rows are marked as fitted and have quantity 0", self.doubt.len()));
        let twice: Vec<&str> = self.twice.iter().map(|(_, r)| r.as_str()).collect();
        add(code::BOM_TWICE, &self.twice, format!("listed twice with different parts: {}", refs::some(&twice)));
    }
}

fn report_left_out(bom: &Bom, name: &str, findings: &mut Vec<Finding>) {
    let left_out: Vec<&str> = bom.entries.iter().filter(|(_, e)| e.not_fitted.is_some()).map(|(r, _)| r.as_str()).collect();
    if !left_out.is_empty() {
        let message = format!("the bill of materials leaves out {} references: {}", left_out.len(), refs::some(&left_out));
        findings.push(Finding::new(code::NOT_FITTED, message).at(name, 0).value(refs::some(&left_out)));
    }
}

/// Reports texts about variants that say neither fitted nor not.
fn variants(table: &Table, name: &str, known: &HashSet<&str>, findings: &mut Vec<Finding>) {
    let mut seen: BTreeSet<&str> = BTreeSet::new();
    let mut line = 0;
    for column in table.columns.of_role(Role::Option) {
        let heading = table.headings.get(*column).map_or("", String::as_str).to_lowercase();
        if !["variant", "config", "option"].iter().any(|w| heading.contains(w)) {
            continue;
        }
        for row in table.rows.iter().filter(|r| refs::references(table.first_cell(r, Role::Reference), known).is_some()) {
            let text = row.cell(*column);
            if !text.is_empty() && !fitted::says_so(text) && fitted::yes_no(text).is_none() {
                line = if line == 0 { row.line } else { line };
                seen.insert(text);
            }
        }
    }
    if !seen.is_empty() {
        let list = seen.into_iter().collect::<Vec<_>>().join(", ");
        findings.push(Finding::new(code::VARIANT, "rows are marked for variants; all were taken as fitted").at(name, line).value(list));
    }
}

/// Joins several bills: for each reference the best bill that lists it, gaps filled from others.
pub(crate) fn join(mut boms: Vec<Bom>, findings: &mut Vec<Finding>) -> BTreeMap<String, Entry> {
    boms.sort_by_key(|b| std::cmp::Reverse((b.numbered(), b.entries.len())));
    let mut joined: BTreeMap<String, Entry> = BTreeMap::new();
    let mut contrary: Vec<String> = Vec::new();
    for bom in boms {
        for (reference, entry) in bom.entries {
            let Some(first) = joined.get_mut(&reference) else {
                joined.insert(reference, entry);
                continue;
            };
            if first.not_fitted.is_some() != entry.not_fitted.is_some() {
                first.not_fitted = first.not_fitted.take().or(entry.not_fitted);
                contrary.push(reference);
            }
            for (mine, other) in [
                (&mut first.number, entry.number),
                (&mut first.order, entry.order),
                (&mut first.value, entry.value),
                (&mut first.identity, entry.identity),
                (&mut first.package, entry.package),
            ] {
                if mine.is_empty() {
                    *mine = other;
                }
            }
        }
    }
    if !contrary.is_empty() {
        let names: Vec<&str> = contrary.iter().map(String::as_str).collect();
        let message = format!("one bill of materials fits these references, another does not; they are left out: {}", refs::some(&names));
        findings.push(Finding::new(code::FITTED_DOUBT, message).value(refs::some(&names)));
    }
    joined
}
