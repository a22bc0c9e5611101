//! A part is picked from another of its feeders, or from one more that is set up for it: a feeder nearer to the rest of the trip, one
//! that is ready while the other still advances, or one for a gang stroke.

use crate::search::{At, Search};
use domain::job::TaskId;
use domain::plan::SupplyPlace;

impl Search<'_> {
    pub(super) fn pick_elsewhere(&mut self, t: TaskId, at: At) -> bool {
        let (part, from) = (self.p.part_of(t), self.cell(at).supply);
        let setup = &self.state.setup;
        let SupplyPlace::Feeder { feeder, .. } = setup.supplies[from as usize].place else { return false };
        let others = setup.of_part(part).filter(|s| *s != from).count();
        let supply = if others > 0 && self.rng.u32(..8) > 0 {
            let k = self.rng.usize(..others);
            self.state.setup.of_part(part).filter(|s| *s != from).nth(k)
        } else {
            self.further_feeder(part, feeder, at)
        };
        let Some(supply) = supply else { return false };
        let alone = self.rng.bool();
        let trip = self.trip(at);
        let going: Vec<u8> = trip.order.iter().copied().filter(|s| trip.cells[usize::from(*s)].supply == from).collect();
        for spindle in going.into_iter().filter(|s| !alone || *s == at.spindle) {
            self.pick_from(At { spindle, ..at }, supply);
        }
        true
    }

    /// One more feeder for a part: near another one of the trip, anywhere, or the further feeder of another part; `None` where none may
    /// be set up.
    fn further_feeder(&mut self, part: usize, feeder: u32, at: At) -> Option<u32> {
        let (p, setup) = (self.p, &self.state.setup);
        if setup.of_part(part).count() >= p.most_feeders(part) {
            return None;
        }
        if self.rng.u32(..4) == 0 {
            return self.taken_over(part, feeder);
        }
        if self.stock.get(feeder as usize).is_none_or(|n| *n == 0) || setup.is_closed(p) {
            return None;
        }
        let width = p.line.feeder[feeder as usize].slots;
        let to = if self.rng.bool() { self.free_slot(width, at)? } else { self.any_free_slot(width)? };
        Some(self.add_feeder(part, feeder, to))
    }

    /// A further feeder of another part, which picks from another of its own then.
    fn taken_over(&mut self, part: usize, kind: u32) -> Option<u32> {
        let setup = &self.state.setup;
        let supply = *self.movable.get(self.rng.usize(..self.movable.len().max(1)))?;
        let theirs = setup.supplies[supply as usize].part.index();
        let is_kind = matches!(setup.supplies[supply as usize].place, SupplyPlace::Feeder { feeder, .. } if feeder == kind);
        if theirs == part || !is_kind || setup.is_kept(supply as usize) {
            return None;
        }
        let others: Vec<u32> = setup.of_part(theirs).filter(|s| *s != supply).collect();
        let other = *others.get(self.rng.usize(..others.len().max(1)))?;
        self.picks_from(supply).into_iter().for_each(|at| self.pick_from(at, other));
        self.give_feeder(supply, part);
        Some(supply)
    }
}
