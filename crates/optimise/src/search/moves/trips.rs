//! Changes the order of trips in a pass: two exchanged, or one earlier or later.

use crate::search::journal::ALL;
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
        self.open(at.pass, at.trip, ALL);
        self.open(at.pass, other, ALL);
        self.state.passes[at.pass as usize].trips_mut().swap(at.trip as usize, other as usize);
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
            self.open(at.pass, i as u32, ALL);
        });
        let stretch = &mut self.state.passes[at.pass as usize].trips_mut()[a..=b];
        if from < to {
            stretch.rotate_left(1)
        } else {
            stretch.rotate_right(1)
        }
        (a..=b).for_each(|i| self.settle(at.pass, i as u32));
        true
    }
}
