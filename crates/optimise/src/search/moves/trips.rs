//! Changes the order of trips in a pass: two exchanged, or one earlier or later.

use crate::search::journal::LEAD;
use crate::search::{At, Search};

/// How far a trip is moved along its pass.
const FARTHEST: usize = 10;

impl Search<'_> {
    pub(super) fn swap_trips(&mut self, at: At) -> bool {
        let trips = self.trips(at.pass).len();
        let other = self.rng.usize(..trips) as u32;
        if other == at.trip || self.trips(at.pass)[other as usize].order.is_empty() {
            return false;
        }
        self.open(at.pass, at.trip, LEAD);
        self.open(at.pass, other, LEAD);
        self.state.passes[at.pass as usize].trips_mut().swap(at.trip as usize, other as usize);
        self.pieces[at.pass as usize].swap(at.trip as usize, other as usize);
        self.touch_after(at.pass, [at.trip, other]);
        self.settle(at.pass, at.trip);
        self.settle(at.pass, other);
        true
    }

    pub(super) fn shift_trip(&mut self, at: At) -> bool {
        let (trips, from) = (self.trips(at.pass).len(), at.trip as usize);
        let to = self.rng.usize(from.saturating_sub(FARTHEST)..(from + FARTHEST + 1).min(trips));
        if to == from {
            return false;
        }
        let (a, b) = (from.min(to), from.max(to));
        (a..=b).for_each(|i| {
            self.open(at.pass, i as u32, LEAD);
        });
        let n = if from < to { 1 } else { b - a };
        self.state.passes[at.pass as usize].trips_mut()[a..=b].rotate_left(n);
        self.pieces[at.pass as usize][a..=b].rotate_left(n);
        self.touch_after(at.pass, [b as u32]);
        (a..=b).for_each(|i| self.settle(at.pass, i as u32));
        true
    }

    /// Trips that come after ones that others have taken the place of are reached by other ways.
    fn touch_after(&mut self, pass: u32, trips: impl IntoIterator<Item = u32>) {
        for trip in trips {
            if let Some(next) = self.after(pass, trip) {
                self.touch(pass, next, LEAD);
            }
        }
    }
}
