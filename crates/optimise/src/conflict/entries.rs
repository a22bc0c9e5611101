//! Entries of the rules that together leave no head for a part.

use super::Conflict;
use crate::capability::is_taken;
use crate::problem::Problem;
use diag::codes::conflict as code;
use domain::rules::Rules;

/// One entry of the rules, by its list and place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Entry {
    Lock(usize),
    Forbid(usize),
    Closed(usize),
    Down(usize),
}

/// A smallest set of locks, forbids, closed stations and outages that keeps a part off every head.
///
/// `None` if they are not what keeps it off. Each cure names one entry whose removal alone is enough.
pub(super) fn against(p: &Problem<'_>, part: usize) -> Option<Conflict> {
    let number = &p.job.product.parts[part].number;
    let all: Vec<Entry> = (0..p.rules.lock.len())
        .map(Entry::Lock)
        .chain((0..p.rules.forbid.len()).map(Entry::Forbid))
        .chain((0..p.rules.closed.len()).map(Entry::Closed))
        .chain((0..p.rules.down.len()).map(Entry::Down))
        .collect();
    let placeable = |entries: &[Entry]| is_taken(p.job, p.line, &only(p.rules, entries), &p.job.product.parts[part]);
    if placeable(&all) || !placeable(&[]) {
        return None;
    }
    let without = |e: &Entry| all.iter().copied().filter(|x| x != e).collect::<Vec<_>>();
    let cures: Vec<String> = all.iter().filter(|e| placeable(&without(e))).map(|e| cure(p.rules, *e)).collect();
    let mut set = all.clone();
    for e in &all {
        let rest: Vec<Entry> = set.iter().copied().filter(|x| x != e).collect();
        if !placeable(&rest) {
            set = rest;
        }
    }
    let members: Vec<String> = set.iter().map(|e| words(p.rules, *e)).collect();
    let text = format!("together, these leave no head for `{number}`: {}", members.join("; "));
    Some(Conflict { code: code::ENTRIES, members, text, cures })
}

/// The rules with only these entries; orders, inspections and kept feeders stay.
fn only(rules: &Rules, entries: &[Entry]) -> Rules {
    let mut less = Rules { lock: Vec::new(), forbid: Vec::new(), closed: Vec::new(), down: Vec::new(), ..rules.clone() };
    for e in entries {
        match e {
            Entry::Lock(i) => less.lock.push(rules.lock[*i].clone()),
            Entry::Forbid(i) => less.forbid.push(rules.forbid[*i].clone()),
            Entry::Closed(i) => less.closed.push(rules.closed[*i].clone()),
            Entry::Down(i) => less.down.push(rules.down[*i].clone()),
        }
    }
    less
}

fn words(rules: &Rules, e: Entry) -> String {
    let head = |h: &Option<String>| h.as_ref().map_or(String::new(), |h| format!(" head {h}"));
    match e {
        Entry::Lock(i) => {
            let l = &rules.lock[i];
            format!("lock of {} to {}{}", l.part, l.station.as_deref().unwrap_or("any station"), head(&l.head))
        }
        Entry::Forbid(i) => {
            let f = &rules.forbid[i];
            format!("forbid {} at {}{}", f.part, f.station, head(&f.head))
        }
        Entry::Closed(i) => format!("closed {}", rules.closed[i].station),
        Entry::Down(i) => format!("down {}", rules.down[i]),
    }
}

fn cure(rules: &Rules, e: Entry) -> String {
    match e {
        Entry::Down(i) => format!("repair {}", rules.down[i]),
        _ => format!("remove: {}", words(rules, e)),
    }
}
