//! Feeders beside the first of a part go again where they spare next to nothing: each is one more to load.

use super::{At, Search};
use units::Time;

/// What a further feeder of a part must spare its station to stay [µs].
const WORTH: i64 = 3_000;

impl Search<'_> {
    /// What the move may cost that is tried now: `loss`, but one that sets up a further feeder must gain what that is worth [µs].
    pub(super) fn loss_allowed(&self, loss: i64) -> i64 {
        if self.journal.adds_feeder() { loss - WORTH } else { loss }
    }

    /// Picks from a further feeder are made from another one of its part where that costs less than [`WORTH`], or the station is done
    /// in this time all the same. Where a re-plan spares what stands, all stays.
    pub(super) fn merge_feeders(&mut self, time: Time) {
        if !self.p.standing.is_empty() {
            return;
        }
        for supply in (0..self.state.setup.supplies.len() as u32).rev() {
            let part = self.state.setup.supplies[supply as usize].part.index();
            let others: Vec<u32> = self.state.setup.of_part(part).filter(|s| *s != supply).collect();
            let picks = self.picks_from(supply);
            if picks.is_empty() {
                continue;
            }
            for other in others {
                self.journal.begin(&self.sums);
                picks.iter().for_each(|at| self.pick_from(*at, other));
                self.retime();
                if self.worse() < WORTH || self.time() <= time {
                    break;
                }
                self.roll_back();
            }
        }
    }

    /// Spindles whose part is picked from a supply.
    pub(super) fn picks_from(&self, supply: u32) -> Vec<At> {
        let part = self.state.setup.supplies[supply as usize].part.index();
        self.of_part[part].iter().map(|t| self.at[t.index()]).filter(|at| self.cell(*at).supply == supply).collect()
    }
}
