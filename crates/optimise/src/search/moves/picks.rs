//! Changes the order of picking in a trip: an inline head's sweep, or a stretch of a drum's picks.

use crate::search::journal::ALL;
use crate::search::{At, Search};

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
        let picks = &mut self.open(at.pass, at.trip, ALL).picks;
        match kind {
            0 => picks[i.min(j)..=i.max(j)].reverse(),
            // The drum begins at another spindle.
            1 => picks.rotate_left(i.max(j)),
            2 => picks.reverse(),
            _ => {
                let s = picks.remove(i);
                picks.insert(j, s);
            }
        }
        true
    }
}
