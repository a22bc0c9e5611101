//! One change by hand on a finished plan, carried out at once: nothing but the stations it concerns is touched.
//!
//! [`feeder`] sets a feeder elsewhere in the document itself, so that going there and back changes nothing;
//! [`part`] takes the plan over as a state of the search, moves a part's work, and writes the stations concerned
//! down again. Whoever calls sees to rules that keep the change, to the bound and to the checker.

mod feeder;
mod part;

pub use feeder::move_feeder;
pub use part::{PartMove, Spot, move_part};

use crate::outage::slots_up;
use diag::{Finding, codes::change as code};
use domain::job::Job;
use domain::line::Line;
use domain::plan::{Plan, SupplyPlace};
use domain::rules::Rules;
use motion::line_time;
use units::Time;

/// Why a change cannot be carried out.
type Refused = Vec<Finding>;

/// Slots of one bank that a feeder covers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Run {
    bank: u32,
    slot: u32,
    width: u32,
}

impl Run {
    /// Those of a supply; `None` for trays, and for a feeder kind that does not exist.
    fn of(line: &Line, place: &SupplyPlace) -> Option<Self> {
        match *place {
            SupplyPlace::Feeder { bank, slot, feeder } => Some(Self { bank, slot, width: line.feeder.get(feeder as usize)?.slots }),
            SupplyPlace::Tray { .. } => None,
        }
    }

    fn end(self) -> u32 {
        self.slot.saturating_add(self.width)
    }

    fn meets(self, other: Self) -> bool {
        self.bank == other.bank && self.slot < other.end() && other.slot < self.end()
    }
}

/// Whether these slots exist at a station and are up.
fn lies(plan: &Plan, station: usize, run: Run) -> Result<(), Refused> {
    let sheet = &plan.line.station[station];
    let bank = &sheet.bank[run.bank as usize];
    if run.slot == 0 || run.end() > bank.slots + 1 {
        let text = format!("a feeder of {} slots does not lie inside bank `{}`, which has {}", run.width, bank.name, bank.slots);
        return Err(vec![Finding::new(code::SLOT, text).value(run.slot.to_string())]);
    }
    let up = slots_up(&plan.rules, sheet, run.bank as usize);
    match (run.slot..run.end()).find(|k| !up[*k as usize - 1]) {
        None => Ok(()),
        Some(k) => {
            let text = format!("slot {k} of bank `{}` at station `{}` is down", bank.name, sheet.name);
            Err(vec![Finding::new(code::DOWN, text).value(k.to_string())])
        }
    }
}

fn number(plan: &Plan, part: usize) -> &str {
    &plan.product.parts[part].number
}

/// Everything that contradicts in rules for a job: what a change adds must go with what is there.
pub fn contradictions(job: &Job<'_>, line: &Line, rules: &Rules) -> Vec<Finding> {
    crate::check_rules::check_rules(job, line, rules)
}

/// The takt of the stations as they are timed now; what was said about the old plan is forgotten.
fn settled(mut plan: Plan) -> Plan {
    let times: Vec<Time> = plan.stations.iter().map(|s| s.time_us).collect();
    plan.takt_us = line_time(&plan.line, &times).takt;
    plan.reasons.clear();
    plan
}
