//! Pairs of the order rules inside a station.

use super::{At, Search};
use crate::problem::Problem;
use crate::station::StationState;
use crate::station::state::PassWork;
use domain::job::TaskId;

/// For each task of the job the first pass it may be done in here: after its dots and after looks at its area.
pub(super) fn earliest_passes(p: &Problem<'_>, state: &StationState) -> Vec<u8> {
    let mut earliest = vec![0u8; p.job.tasks.len()];
    for (k, pass) in state.passes.iter().enumerate() {
        match &pass.work {
            PassWork::Dots(tasks) => tasks.iter().for_each(|t| earliest[t.index()] = earliest[t.index()].max(k as u8 + 1)),
            PassWork::Views(_) => {
                let looked = p.tasks.iter().filter(|t| !p.order.looks(**t).is_empty());
                looked.for_each(|t| earliest[t.index()] = earliest[t.index()].max(k as u8 + 1));
            }
            PassWork::Trips(_) => {}
        }
    }
    // Looks that come after a task's pass are at areas it does not lie in.
    for (k, pass) in state.passes.iter().enumerate() {
        for t in pass.trips().iter().flat_map(|t| t.tasks()) {
            earliest[t.index()] = earliest[t.index()].min(k as u8);
        }
    }
    earliest
}

impl Search<'_> {
    /// Whether all pairs of the tasks that have moved still hold.
    pub(super) fn pairs_hold(&self) -> bool {
        let holds = |a: TaskId, b: TaskId| {
            let (a, b) = (self.at[a.index()], self.at[b.index()]);
            a == Self::NOWHERE || b == Self::NOWHERE || self.is_before(a, b)
        };
        self.journal
            .moved
            .iter()
            .all(|t| self.p.order.before(*t).iter().all(|b| holds(*b, *t)) && self.p.order.after(*t).iter().all(|a| holds(*t, *a)))
    }

    /// Whether work at `a` comes before work at `b` on every panel.
    fn is_before(&self, a: At, b: At) -> bool {
        if a.pass != b.pass {
            return !self.state.alternating && a.pass < b.pass;
        }
        if a.trip != b.trip {
            return a.trip < b.trip;
        }
        let order = &self.trip(a).order;
        order.iter().find(|s| **s == a.spindle || **s == b.spindle) == Some(&a.spindle)
    }
}
