//! Changes the order of picking in a trip: an inline head's sweep, or a stretch of a drum's picks.

use crate::search::journal::ALL;
use crate::search::{At, Search};
use crate::station::timing::SPINDLES;

impl Search<'_> {
    pub(super) fn change_picks(&mut self, at: At) -> bool {
        let len = self.trip(at).picks.len();
        if len < 2 {
            return false;
        }
        if self.is_inline(at.pass) {
            let bits = self.rng.u8(1..=3);
            self.open(at.pass, at.trip, ALL).sweep ^= bits;
            self.sweep(at.pass, at.trip);
            return true;
        }
        let (i, j, kind) = (self.rng.usize(..len), self.rng.usize(..len), self.rng.u32(..4));
        if i == j {
            return false;
        }
        let mut picks = [0; SPINDLES];
        let picks = &mut picks[..len];
        picks.copy_from_slice(&self.trip(at).picks);
        match kind {
            0 => picks[i.min(j)..=i.max(j)].reverse(),
            // The drum begins at another spindle.
            1 => picks.rotate_left(i.max(j)),
            2 => picks.reverse(),
            _ if i < j => picks[i..=j].rotate_left(1),
            _ => picks[j..=i].rotate_right(1),
        }
        if !self.may_pick(at, picks) {
            return false;
        }
        self.open(at.pass, at.trip, ALL).picks.copy_from_slice(picks);
        true
    }
}
