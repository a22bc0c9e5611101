//! Brings a task beside a near neighbour in another trip of the same layout: the stretch of spindles between
//! there and a spindle of that trip moves along by one, and the task that falls off takes the task's old place.

use crate::search::screen::Other;
use crate::search::{At, Search};
use domain::job::TaskId;

impl Search<'_> {
    pub(super) fn insert_near(&mut self, t: TaskId, at: At) -> bool {
        let n = if self.rng.bool() { self.neighbour(t) } else { self.close_by_feeder(t) };
        let Some(n) = n else { return false };
        let there = self.at[n.index()];
        if (there.pass, there.trip) == (at.pass, at.trip) {
            return false;
        }
        let out = self.busy_in(there);
        // The task takes the place on the side of its neighbour that the stretch comes from.
        let (from, to) = (out.spindle, there.spindle);
        let (mine, leaving) = (self.cell(at), self.cell(out));
        if !self.may(leaving.task, at) {
            return false;
        }
        // Perhaps the neighbour stays where it is, and the task goes before it.
        let stays = from != to && self.rng.bool();
        // From the spindle that is left towards the neighbour: each takes the next one's task.
        let mut moved = Other::none();
        let (mut spindle, mut free) = (from, from);
        while spindle != to {
            spindle = if from < to { spindle + 1 } else { spindle - 1 };
            let next = self.cell(At { spindle, ..there });
            if next.busy() && !(stays && spindle == to) {
                moved.set(free, next);
                free = spindle;
            }
        }
        moved.set(free, mine);
        if moved.each().any(|(spindle, cell)| !self.may(cell.task, At { spindle, ..there })) {
            return false;
        }
        self.give(&[(at, Other::one(at.spindle, leaving)), (there, moved)])
    }
}
