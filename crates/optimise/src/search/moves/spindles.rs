//! Exchanges what two spindles of a trip do, one of them perhaps idle; the tasks keep their places among
//! picks and places.

use crate::search::journal::ALL;
use crate::search::screen::exchanged;
use crate::search::{At, Search};

impl Search<'_> {
    pub(super) fn swap_spindles(&mut self, at: At) -> bool {
        let spindles = self.trip(at).cells.len();
        let other = At { spindle: self.rng.usize(..spindles) as u8, ..at };
        let (mine, theirs) = (self.cell(at), self.cell(other));
        if other.spindle == at.spindle || !self.may(mine.task, other) || (theirs.busy() && !self.may(theirs.task, at)) {
            return false;
        }
        if !self.may_swap_spindles(at, other.spindle) {
            return false;
        }
        self.rename(at, other.spindle);
        true
    }

    /// Two spindles of a trip do each other's work, each in its old turn.
    pub(in crate::search) fn rename(&mut self, at: At, other: u8) {
        let trip = self.open(at.pass, at.trip, ALL);
        trip.cells.swap(usize::from(at.spindle), usize::from(other));
        trip.picks.iter_mut().chain(&mut trip.order).for_each(|s| *s = exchanged(*s, at.spindle, other));
        self.changed(at.pass, at.trip);
    }
}
