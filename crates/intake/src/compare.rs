//! What is worth saying of the settled rows: kinds set aside, parts not fitted, rows missing
//! on either side of list and bill, references and places that occur twice.
//!
//! One finding a kind of thing, at the first row it is true of, naming every reference.

use crate::bom::Entry;
use crate::draft::Draft;
use crate::panel;
use crate::pseudo::Kind;
use crate::refs;
use crate::value;
use diag::{Code, Finding, codes::read as code};
use domain::product::{Side, Status};
use std::collections::{BTreeMap, HashSet};

/// A reference and where it was read.
type Seen<'a> = (&'a str, &'a str, u32);

fn seen<'a>(draft: &Draft<'a>) -> Seen<'a> {
    (&draft.row.reference, draft.file, draft.row.line)
}

/// Reports everything about these rows and the bill of materials.
pub(crate) fn report(drafts: &[Draft<'_>], bill: &BTreeMap<String, Entry>, findings: &mut Vec<Finding>) {
    kinds(drafts, findings);
    let left_out = drafts.iter().filter(|d| d.status == Status::NotFitted).map(seen);
    named(code::NOT_FITTED, "placements are not fitted", left_out.collect(), findings);
    if bill.is_empty() {
        findings.push(Finding::new(code::NO_BOM, "no bill of materials was found"));
    } else {
        with_bill(drafts, bill, findings);
    }
    repeats(drafts, findings);
    same_place(drafts, findings);
}

/// One finding about all these references.
fn named(kind: &'static Code, what: &str, mut all: Vec<Seen<'_>>, findings: &mut Vec<Finding>) {
    let Some((_, file, line)) = all.first().copied() else { return };
    all.sort_by_cached_key(|(reference, ..)| refs::natural_key(reference));
    let names: Vec<&str> = all.iter().map(|(reference, ..)| *reference).collect();
    let message = format!("{} {what}: {}", names.len(), names.join(" "));
    findings.push(Finding::new(kind, message).at(file, line).value(refs::some(&names)));
}

fn kinds(drafts: &[Draft<'_>], findings: &mut Vec<Finding>) {
    let mut aside: BTreeMap<Kind, Vec<Seen<'_>>> = BTreeMap::new();
    let mut kept: BTreeMap<Kind, Vec<Seen<'_>>> = BTreeMap::new();
    for (draft, kind) in drafts.iter().filter_map(|d| Some((d, d.kind?))) {
        match draft.status {
            Status::Ignored => aside.entry(kind).or_default().push(seen(draft)),
            Status::Fitted => kept.entry(kind).or_default().push(seen(draft)),
            Status::NotFitted => {}
        }
    }
    for (kind, rows) in aside {
        named(code::PSEUDO_PART, &format!("rows set aside, each a {}", kind.word()), rows, findings);
    }
    for (kind, rows) in kept {
        named(code::DOUBTFUL_PART, &format!("rows with a part number look each like a {}", kind.word()), rows, findings);
    }
}

/// What stands in only one of list and bill, and values that contradict each other.
fn with_bill(drafts: &[Draft<'_>], bill: &BTreeMap<String, Entry>, findings: &mut Vec<Finding>) {
    let listed: HashSet<&str> = drafts.iter().map(|d| d.row.reference.as_str()).collect();
    let fitted = || drafts.iter().filter(|d| d.status == Status::Fitted);
    let unlisted = fitted().filter(|d| d.entry.is_none()).map(seen).collect();
    named(code::NOT_IN_BOM, "placements have no row in the bill of materials", unlisted, findings);
    let placeless = bill.iter().filter(|(reference, entry)| entry.not_fitted.is_none() && !listed.contains(reference.as_str()));
    let placeless = placeless.map(|(reference, entry)| (reference.as_str(), entry.file.as_str(), entry.line)).collect();
    named(code::ONLY_IN_BOM, "parts of the bill of materials have no place on the board", placeless, findings);
    let differing =
        fitted().filter(|d| d.entry.is_some_and(|e| value::differ(&d.row.reference, &d.row.value, &e.value))).map(seen).collect();
    named(code::VALUE_DIFFERS, "placements state another value than the bill of materials", differing, findings);
}

/// References that occur again; all of them alike mean a panel. Marks may share a reference.
fn repeats(drafts: &[Draft<'_>], findings: &mut Vec<Finding>) {
    let mut rows: BTreeMap<&str, Vec<Seen<'_>>> = BTreeMap::new();
    for draft in drafts.iter().filter(|d| d.kind != Some(Kind::Fiducial)) {
        rows.entry(&draft.row.reference).or_default().push(seen(draft));
    }
    let times = rows.values().map(Vec::len).max().unwrap_or(1);
    let alike = rows.values().filter(|r| r.len() == times).count();
    if times > 1 && rows.len() > 1 && alike * 10 >= rows.len() * 9 {
        let mut places: BTreeMap<&str, Vec<(i64, i64)>> = BTreeMap::new();
        for draft in drafts.iter().filter(|d| d.kind != Some(Kind::Fiducial)) {
            places.entry(&draft.row.reference).or_default().extend(draft.at);
        }
        let repeated: Vec<Vec<(i64, i64)>> = places.into_values().filter(|p| p.len() == times).collect();
        let mm = |um: i64| um as f64 / 1e3;
        let laid_out = panel::grid(&repeated).map_or("a panel of boards that are not only shifted".to_owned(), |g| {
            format!("a panel of {} x {} boards at a pitch of {} x {} mm", g.columns, g.rows, mm(g.pitch.0), mm(g.pitch.1))
        });
        let message = format!("{alike} of {} references occur {times} times each: {laid_out}; all are planned as one board", rows.len());
        findings.push(Finding::new(code::PANEL, message).at(drafts[0].file, 0));
    } else {
        let again = rows.values().filter(|r| r.len() > 1).filter_map(|r| r.get(1).copied()).collect();
        named(code::DUPLICATE_REFERENCE, "references occur more than once", again, findings);
    }
}

fn same_place(drafts: &[Draft<'_>], findings: &mut Vec<Finding>) {
    let mut by_place: BTreeMap<(i64, i64, Side), Vec<Seen<'_>>> = BTreeMap::new();
    for draft in drafts.iter().filter(|d| d.status == Status::Fitted) {
        if let Some((x, y)) = draft.at {
            by_place.entry((x, y, draft.side)).or_default().push(seen(draft));
        }
    }
    for ((x, y, side), rows) in by_place.into_iter().filter(|(_, r)| r.len() > 1) {
        let names = rows.iter().map(|(reference, ..)| *reference).collect::<Vec<_>>().join(" ");
        let message = format!("{names} lie at the same place ({}, {} mm, {})", x as f64 / 1e3, y as f64 / 1e3, side.word());
        findings.push(Finding::new(code::SAME_PLACE, message).at(rows[0].1, rows[0].2).value(names));
    }
}
