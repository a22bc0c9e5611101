//! Several placement lists: which to use, which belong together, which say the same again.
//!
//! Files of one side each are joined. Among lists of the same parts the richest is used:
//! one that names value, package and number, states its unit, lists most rows, has the
//! finest decimals, in this order, provided it lists at least four fifths of the rows of
//! the longest. The others are compared with it.

use crate::header::Role;
use crate::input::FileRole;
use crate::list::{List, ListRow};
use crate::number::{Number, Unit};
use crate::refs;
use crate::unit;
use diag::{Finding, codes::read as code};
use domain::product::Side;
use std::collections::{BTreeMap, HashMap, HashSet};

/// Coordinates beyond this are no board's [µm]: three metres.
const FARTHEST: f64 = 3e6;

/// A list whose unit is known.
#[derive(Debug)]
pub(crate) struct Placed {
    pub(crate) list: List,
    pub(crate) unit: Unit,
    /// Whether the file or the engineer states the unit.
    pub(crate) stated: bool,
}

/// Decides the unit of every list. One that states none is told by its evidence together
/// with lists of the same shape: a side with four parts proves nothing by itself.
pub(crate) fn with_units(lists: Vec<List>, findings: &mut Vec<Finding>) -> Vec<Placed> {
    let stated: Vec<Option<Unit>> = lists.iter().map(|l| unit::stated(l, findings)).collect();
    let mut inferred: HashMap<usize, Unit> = HashMap::new();
    let mut units = Vec::with_capacity(lists.len());
    for (index, list) in lists.iter().enumerate() {
        let longest = (0..lists.len())
            .filter(|i| stated[*i].is_none() && shape(&lists[*i]) == shape(list))
            .max_by_key(|i| (lists[*i].rows.len(), std::cmp::Reverse(*i)))
            .unwrap_or(index);
        let unit = stated[index].unwrap_or_else(|| *inferred.entry(longest).or_insert_with(|| unit::infer(&lists[longest], findings)));
        units.push(unit);
    }
    lists.into_iter().zip(units).zip(stated).map(|((list, unit), stated)| Placed { list, unit, stated: stated.is_some() }).collect()
}

impl Placed {
    /// Place of a row in the file's own frame [µm]; `None` when unreadable or out of this world.
    pub(crate) fn at(&self, row: &ListRow) -> Option<(i64, i64)> {
        let um = |n: Number| {
            let um = n.value * n.unit.unwrap_or(self.unit).um();
            (um.abs() <= FARTHEST).then_some(um.round() as i64)
        };
        let (x, y) = row.at?;
        Some((um(x)?, um(y)?))
    }

    /// The one side all rows are on.
    fn only_side(&self) -> Option<Side> {
        let first = self.list.rows.first()?.side?;
        self.list.rows.iter().all(|r| r.side == Some(first)).then_some(first)
    }

    fn references(&self) -> impl Iterator<Item = &str> {
        self.list.rows.iter().map(|r| r.reference.as_str())
    }
}

/// Chooses the lists to use, in the order of the files; the rest is compared and reported.
pub(crate) fn choose(mut lists: Vec<Placed>, roles: &mut [FileRole], findings: &mut Vec<Finding>) -> Vec<Placed> {
    let Some(best) = best_set(&lists) else { return Vec::new() };
    let mut chosen = best.clone();
    let mut known: HashSet<String> = chosen.iter().flat_map(|i| lists[*i].references()).map(str::to_owned).collect();
    for other in 0..lists.len() {
        if chosen.contains(&other) {
            continue;
        }
        let shared = lists[other].references().filter(|r| known.contains(*r)).count();
        let rows = lists[other].list.rows.len();
        if shared == 0 {
            known.extend(lists[other].references().map(str::to_owned));
            chosen.push(other);
        } else if shared * 2 >= rows {
            compare(&lists, &best, other, findings);
            set_role(roles, &lists[other], "the same placements again; compared only");
        } else {
            let message = format!("{shared} of its {rows} references are in the list in use; it seems to be of another board");
            findings.push(Finding::new(code::OTHER_BOARD, message).at(&lists[other].list.name, 0));
            set_role(roles, &lists[other], "placements of another board; left out");
        }
    }
    chosen.sort_unstable();
    for i in &chosen {
        set_role(roles, &lists[*i], "placement list");
    }
    report_join(&lists, &chosen, findings);
    let mut index = 0;
    lists.retain(|_| {
        index += 1;
        chosen.contains(&(index - 1))
    });
    lists
}

fn set_role(roles: &mut [FileRole], list: &Placed, role: &str) {
    if let Some(entry) = roles.get_mut(list.list.file) {
        role.clone_into(&mut entry.role);
        entry.rows += list.list.rows.len();
    }
}

fn report_join(lists: &[Placed], chosen: &[usize], findings: &mut Vec<Finding>) {
    if chosen.len() > 1 {
        let parts: Vec<String> = chosen.iter().map(|i| format!("{} ({} rows)", lists[*i].list.name, lists[*i].list.rows.len())).collect();
        findings.push(Finding::new(code::LISTS_JOINED, format!("joined: {}", parts.join(", "))).at(&lists[chosen[0]].list.name, 0));
    }
}

/// The best list, or pair of lists of one side each.
fn best_set(lists: &[Placed]) -> Option<Vec<usize>> {
    let mut sets: Vec<Vec<usize>> = (0..lists.len()).map(|i| vec![i]).collect();
    sets.extend(pairs(lists));
    let rows = |set: &[usize]| set.iter().map(|i| lists[*i].list.rows.len()).sum::<usize>();
    let most = sets.iter().map(|s| rows(s)).max()?;
    sets.into_iter().filter(|s| rows(s) * 5 >= most * 4).max_by_key(|s| {
        let least = |f: &dyn Fn(&Placed) -> usize| s.iter().map(|i| f(&lists[*i])).min().unwrap_or(0);
        let facts = least(&|l| [Role::Value, Role::Package, Role::Number, Role::Order].iter().filter(|r| l.list.roles.contains(r)).count());
        let stated = least(&|l| usize::from(l.stated));
        let decimals = least(&decimals);
        // Fewer files, then earlier ones, break the tie.
        (facts, stated, rows(s), decimals, std::cmp::Reverse((s.len(), s.clone())))
    })
}

/// Finest decimals of a list, in digits behind the millimetre's decimal sign.
fn decimals(list: &Placed) -> usize {
    let written = list.list.rows.iter().filter_map(|r| r.at).map(|(x, y)| x.decimals.max(y.decimals)).max().unwrap_or(0);
    let per_unit = (list.unit.um() / 1_000.0).log10().round();
    (f64::from(written) - per_unit).clamp(0.0, 12.0) as usize
}

/// A list of the top with the list of the bottom that is most like it in shape and name.
fn pairs(lists: &[Placed]) -> Vec<Vec<usize>> {
    let of = |side: Side| (0..lists.len()).filter(move |i| lists[*i].only_side() == Some(side));
    let mut pairs = Vec::new();
    for top in of(Side::Top) {
        let alike = |bottom: &usize| shape(&lists[top].list) == shape(&lists[*bottom].list);
        let likeness = |bottom: &usize| {
            let ratio = strsim::normalized_levenshtein(&lists[top].list.name, &lists[*bottom].list.name);
            (ratio * 1_000.0) as u32
        };
        if let Some(bottom) = of(Side::Bottom).filter(alike).max_by_key(likeness) {
            pairs.push(vec![top, bottom]);
        }
    }
    pairs
}

/// What two files of one export have in common: columns and ending.
fn shape(list: &List) -> (Vec<Role>, String) {
    let ending = list.name.rsplit_once('.').map_or("", |(_, e)| e).to_lowercase();
    // The pair .mnt/.mnb differs in the last letter only.
    (list.roles.clone(), if ending.starts_with("mn") { "mn".to_owned() } else { ending })
}

/// Places nearer than this are the same: rounding of coarse lists (0.01 inch is 0.25 mm) [µm].
const SAME: i64 = 260;

/// Compares a list with those in use and reports what differs.
fn compare(lists: &[Placed], used: &[usize], other: usize, findings: &mut Vec<Finding>) {
    let mut places: HashMap<&str, (i64, i64)> = HashMap::new();
    for (list, row) in used.iter().flat_map(|i| lists[*i].list.rows.iter().map(move |r| (&lists[*i], r))) {
        if let Some(at) = list.at(row) {
            places.insert(&row.reference, at);
        }
    }
    let other = &lists[other];
    let mut offsets: BTreeMap<&str, (i64, i64)> = BTreeMap::new();
    let mut missing = Vec::new();
    for row in &other.list.rows {
        match (places.get(row.reference.as_str()), other.at(row)) {
            (Some(a), Some(b)) => {
                offsets.insert(&row.reference, (b.0 - a.0, b.1 - a.1));
            }
            (None, _) => missing.push(row.reference.as_str()),
            (Some(_), None) => {}
        }
    }
    report_compared(lists, used, other, &offsets, &missing, findings);
}

fn report_compared(
    lists: &[Placed],
    used: &[usize],
    other: &Placed,
    offsets: &BTreeMap<&str, (i64, i64)>,
    missing: &[&str],
    findings: &mut Vec<Finding>,
) {
    // Two exports may have different origins: only what moves against the rest differs.
    let median = |pick: fn(&(i64, i64)) -> i64| {
        let mut all: Vec<i64> = offsets.values().map(pick).collect();
        all.sort_unstable();
        all.get(all.len() / 2).copied().unwrap_or(0)
    };
    let (dx, dy) = (median(|o| o.0), median(|o| o.1));
    let moved: Vec<&str> =
        offsets.iter().filter(|(_, o)| (o.0 - dx).abs() > SAME || (o.1 - dy).abs() > SAME).map(|(reference, _)| *reference).collect();
    let in_use: Vec<&str> = used.iter().map(|i| lists[*i].list.name.as_str()).collect();
    let message =
        format!("lists the placements of {} again; {} of {} places agree", in_use.join(", "), offsets.len() - moved.len(), offsets.len());
    findings.push(Finding::new(code::LIST_CHOSEN, message).at(&other.list.name, 0));
    let mut differ = |what: &str, references: &[&str]| {
        if !references.is_empty() {
            let message = format!("{} references {what} {}: {}", references.len(), in_use.join(", "), refs::some(references));
            findings.push(Finding::new(code::LISTS_DIFFER, message).at(&other.list.name, 0).value(refs::some(references)));
        }
    };
    differ("lie elsewhere than in", &moved);
    differ("are not in", missing);
}
