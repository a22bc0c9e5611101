//! Why something cannot be placed: the smallest set of parts, rules or figures that stand against each other, and
//! what would cure it.
//!
//! A set is *smallest* in the sense that without any one of its members the rest could be placed
//! (`docs/planning.md` §7). Sets of parts that compete for room come from Hall's condition: some parts need more
//! room than all places together that any of them can use (P. Hall, On representatives of subsets, 1935, from
//! memory); the violating set is found by a maximum flow and thinned out member by member.

mod cycle;
mod entries;
mod envelope;
mod hall;
mod nozzle;
mod room;
mod sequence;

pub(crate) use cycle::explain as explain_cycle;

use crate::kinds::StandIns;
use crate::problem::Problem;
use diag::{Code, Finding};
use domain::job::Job;
use domain::line::Line;
use domain::plan::Unplaced;
use domain::rules::Rules;
use std::collections::BTreeSet;

/// Members named in a message before the rest is only counted.
const NAMED: usize = 12;

/// Parts, rules or figures that cannot hold together.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Conflict {
    /// Kind of conflict.
    pub code: &'static Code,
    /// The smallest set, each member by name.
    pub members: Vec<String>,
    /// In a sentence, with figures.
    pub text: String,
    /// What would cure it, each by itself.
    pub cures: Vec<String>,
}

impl Conflict {
    /// As a finding: the members as its value, the cures as its hint.
    pub fn finding(&self) -> Finding {
        let finding = Finding::new(self.code, self.text.clone()).value(self.members.join(", "));
        if self.cures.is_empty() { finding } else { finding.hint(format!("{}.", self.cures.join("; or "))) }
    }
}

/// The conflicts behind the tasks that a plan leaves out; none where they could not be told apart from the
/// search having missed something.
pub fn conflicts(job: &Job<'_>, line: &Line, rules: &Rules, unplaced: &[Unplaced]) -> Vec<Conflict> {
    if unplaced.is_empty() {
        return Vec::new();
    }
    let stand_ins = StandIns::of(line, job, rules);
    let Ok(p) = Problem::on(job, line, stand_ins.as_ref(), rules) else { return Vec::new() };
    let codes: BTreeSet<&str> = unplaced.iter().map(|u| u.code.as_str()).collect();
    let parts_with = |wanted: &[&'static Code]| -> Vec<usize> {
        let mine = unplaced.iter().filter(|u| wanted.iter().any(|c| c.id == u.code));
        mine.map(|u| p.part_of(u.task)).collect::<BTreeSet<_>>().into_iter().collect()
    };
    use diag::codes::plan;
    let mut found = Vec::new();
    for part in parts_with(&[plan::TOO_LARGE, plan::TOO_SMALL]) {
        found.extend(envelope::outside(&p, part));
    }
    for part in parts_with(&[plan::NO_NOZZLE]) {
        found.extend(nozzle::missing(&p, part));
    }
    for part in parts_with(&[plan::LOCK_CONFLICT, plan::DOWN]) {
        found.extend(entries::against(&p, part));
    }
    if codes.contains(plan::ORDER_NO_HEAD.id) {
        let mine = unplaced.iter().filter(|u| u.code == plan::ORDER_NO_HEAD.id).map(|u| u.task);
        found.extend(sequence::against_the_line(&p, &mine.collect::<Vec<_>>()));
    }
    if codes.contains(plan::NO_SLOT.id) || codes.contains(plan::NO_STOCK.id) {
        found.extend(room::short_of_feeders(&p));
        found.extend(room::short_of_slots(&p));
        found.extend(room::short_of_tray_places(&p));
    }
    found
}

/// Names for a message: the first few, and how many more.
fn named(names: &[String]) -> String {
    let more = names.len().saturating_sub(NAMED);
    let shown: Vec<String> = names.iter().take(NAMED).map(|n| format!("`{n}`")).collect();
    if more > 0 { format!("{} and {more} more", shown.join(", ")) } else { shown.join(", ") }
}
