//! Puts a task on an idle spindle of another trip, perhaps of one that has nothing to do yet.

use crate::search::journal::ALL;
use crate::search::{At, Search};
use domain::job::TaskId;

impl Search<'_> {
    pub(super) fn relocate(&mut self, t: TaskId, from: At) -> bool {
        let (pass, trip, position) = if self.rng.bool() {
            let Some(n) = self.neighbour(t) else { return false };
            let there = self.at[n.index()];
            let k = self.trip(there).order.iter().position(|s| *s == there.spindle).unwrap_or(0);
            (there.pass, there.trip, k + usize::from(self.rng.bool()))
        } else {
            let pass = self.rng.usize(..self.state.passes.len()) as u32;
            let trips = self.trips(pass);
            if trips.is_empty() {
                return false;
            }
            let trip = self.rng.usize(..trips.len());
            let position = self.rng.usize(..=self.trips(pass)[trip].order.len());
            (pass, trip as u32, position)
        };
        if (pass, trip) == (from.pass, from.trip) {
            return false;
        }
        let cells = &self.trips(pass)[trip as usize].cells;
        let idle = cells.iter().filter(|c| !c.busy()).count();
        if idle == 0 {
            return false;
        }
        let k = self.rng.usize(..idle);
        let cells = &self.trips(pass)[trip as usize].cells;
        let Some((spindle, _)) = cells.iter().enumerate().filter(|(_, c)| !c.busy()).nth(k) else { return false };
        let to = At { pass, trip, spindle: spindle as u8 };
        if !self.may(t, to) {
            return false;
        }
        let cell = self.cell(from);
        self.open(from.pass, from.trip, ALL).free(from.spindle);
        self.open(pass, trip, ALL).give(to.spindle, cell, position);
        self.changed(from.pass, from.trip);
        self.changed(pass, trip);
        true
    }
}
