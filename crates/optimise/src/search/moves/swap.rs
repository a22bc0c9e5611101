//! Exchanges the tasks of two spindles.

use crate::search::screen::Other;
use crate::search::{At, Search};
use domain::job::TaskId;

/// Spindles drawn until one may trade.
const DRAWS: usize = 4;

impl Search<'_> {
    pub(super) fn swap_tasks(&mut self, t: TaskId, at: At) -> bool {
        let aim = self.rng.u32(..10);
        for _ in 0..DRAWS {
            let other = if aim < 4 {
                // Into the trip of a near neighbour, in place of another task there.
                let Some(n) = self.neighbour(t) else { return false };
                self.busy_in(self.at[n.index()])
            } else if aim < 8 {
                // A task whose feeder suits a companion takes this task's place.
                let companion = self.busy_in(at);
                let Some(o) = self.close_by_feeder(self.cell(companion).task) else { return false };
                self.at[o.index()]
            } else {
                self.at[self.tasks[self.rng.usize(..self.tasks.len())].index()]
            };
            // Nozzles of many kinds on one head: most draws do not fit.
            if self.may_trade(at, other) {
                return self.exchange(at, other);
            }
        }
        false
    }

    /// Exchanges what two busy spindles do that may.
    pub(in crate::search) fn exchange(&mut self, a: At, b: At) -> bool {
        let (mine, theirs) = (self.cell(a), self.cell(b));
        let mut here = Other::one(a.spindle, theirs);
        if (a.pass, a.trip) == (b.pass, b.trip) {
            here.set(b.spindle, mine);
            return self.give(&[(a, here)]);
        }
        self.give(&[(a, here), (b, Other::one(b.spindle, mine))])
    }
}
