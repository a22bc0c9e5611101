//! Exchanges the tasks of two spindles.

use crate::search::journal::ALL;
use crate::search::{At, Search};
use domain::job::TaskId;

impl Search<'_> {
    pub(super) fn swap_tasks(&mut self, t: TaskId, at: At) -> bool {
        let aim = self.rng.u32(..10);
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
        self.exchange(at, other)
    }

    /// Exchanges what two busy spindles do.
    pub(super) fn exchange(&mut self, a: At, b: At) -> bool {
        let (ca, cb) = (self.cell(a), self.cell(b));
        if a == b || !self.may(ca.task, b) || !self.may(cb.task, a) {
            return false;
        }
        self.open(a.pass, a.trip, ALL);
        self.open(b.pass, b.trip, ALL);
        self.put(a, cb);
        self.put(b, ca);
        self.changed(a.pass, a.trip);
        self.changed(b.pass, b.trip);
        true
    }
}
