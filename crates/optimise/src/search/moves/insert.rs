//! Brings a task beside a near neighbour in another trip of the same layout: the stretch of spindles between
//! there and a spindle of that trip moves along by one, and the task that falls off takes the task's old place.

use crate::search::journal::ALL;
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
        let (from, to) = (usize::from(out.spindle), usize::from(there.spindle));
        let leaving = self.cell(out).task;
        if !self.may(leaving, at) {
            return false;
        }
        let stretch: Vec<u8> = if from <= to { (from as u8..=to as u8).collect() } else { (to as u8..=from as u8).rev().collect() };
        let busy = |s: &u8| self.cell(At { spindle: *s, ..there }).busy();
        // From the spindle that is left towards the neighbour: each takes the next one's task.
        let ring: Vec<u8> = stretch.into_iter().filter(busy).collect();
        let tasks: Vec<_> = ring.iter().map(|s| self.cell(At { spindle: *s, ..there })).collect();
        let mut wanted: Vec<_> = tasks[1..].to_vec();
        wanted.push(self.cell(at));
        if ring.len() > 1 && self.rng.bool() {
            // The neighbour stays where it is, and the task goes before it.
            let last = wanted.len() - 1;
            wanted.swap(last, last - 1);
        }
        if ring.iter().zip(&wanted).any(|(s, c)| !self.may(c.task, At { spindle: *s, ..there })) {
            return false;
        }
        let left = self.cell(out);
        self.open(at.pass, at.trip, ALL);
        self.open(there.pass, there.trip, ALL);
        self.put(at, left);
        ring.iter().zip(wanted).for_each(|(s, c)| self.put(At { spindle: *s, ..there }, c));
        self.changed(at.pass, at.trip);
        self.changed(there.pass, there.trip);
        true
    }
}
