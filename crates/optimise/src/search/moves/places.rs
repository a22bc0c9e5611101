//! Changes the order of placing in a trip: a stretch in reverse, or one task earlier or later.

use crate::search::journal::PLACES;
use crate::search::{At, Search};

impl Search<'_> {
    fn stretch(&mut self, at: At) -> Option<(usize, usize)> {
        let len = self.trip(at).order.len();
        if len < 2 {
            return None;
        }
        let (i, j) = (self.rng.usize(..len), self.rng.usize(..len));
        (i != j).then_some((i, j))
    }

    pub(super) fn reverse_places(&mut self, at: At) -> bool {
        let Some((i, j)) = self.stretch(at) else { return false };
        let (i, j) = (i.min(j), i.max(j));
        if !self.may_reorder(at, i, self.trip(at).order[i..=j].iter().rev().copied()) {
            return false;
        }
        self.open(at.pass, at.trip, PLACES).order[i..=j].reverse();
        self.settle(at.pass, at.trip);
        true
    }

    pub(super) fn shift_place(&mut self, at: At) -> bool {
        let Some((i, j)) = self.stretch(at) else { return false };
        let order = &self.trip(at).order;
        let (low, high) = (i.min(j), i.max(j));
        // The stretch turned round by one, backward or forward.
        let n = high - low + 1;
        let shift = if i < j { 1 } else { n - 1 };
        if !self.may_reorder(at, low, (0..n).map(|k| order[low + (k + shift) % n])) {
            return false;
        }
        let order = &mut self.open(at.pass, at.trip, PLACES).order;
        let s = order.remove(i);
        order.insert(j, s);
        self.settle(at.pass, at.trip);
        true
    }
}
