//! Moves feeders: two of one width exchanged, one to free slots, or one beside another while those between
//! move along.

use crate::search::Search;
use crate::station::setup::Slot;
use domain::job::TaskId;
use domain::plan::SupplyPlace;

/// Tasks of a part from which on its feeder is moved less often than it is drawn.
const USERS: usize = 8;
/// How far a feeder is moved along while others give way [slots].
const FARTHEST: u32 = 16;

impl Search<'_> {
    pub(super) fn move_supply(&mut self, t: TaskId) -> bool {
        if self.movable.is_empty() || self.rng.u32(..2) > 0 {
            return false;
        }
        let a = self.cell(self.at[t.index()]).supply;
        if self.state.setup.locked[a as usize] {
            return false;
        }
        // Moving a supply times every trip that uses it: those of parts with many tasks are drawn the more often, and cost more.
        let users = self.of_part[self.state.setup.supplies[a as usize].part.index()].len();
        if users > USERS && self.rng.usize(..users) >= USERS {
            return false;
        }
        match self.state.setup.supplies[a as usize].place {
            SupplyPlace::Tray { tray, .. } => self.swap_trays(a, tray),
            SupplyPlace::Feeder { bank, slot, .. } => {
                let from = Slot { bank: bank as usize, slot };
                match self.rng.u32(..10) {
                    0..=2 => self.swap_feeders(a, from),
                    3..=5 => self.shift_feeder(a, from),
                    6..=8 => self.pass_feeders(a, from),
                    _ => self.swap_stretches(from),
                }
            }
        }
    }

    fn swap_feeders(&mut self, a: u32, from: Slot) -> bool {
        let b = self.movable[self.rng.usize(..self.movable.len())];
        let width = |s: u32| self.state.setup.width(self.p.line, s as usize);
        let Some(to) = self.state.setup.slot(b).filter(|_| a != b && width(a) == width(b)) else { return false };
        self.shift_feeders(&[(a, to), (b, from)]);
        true
    }

    fn shift_feeder(&mut self, a: u32, from: Slot) -> bool {
        let banks = &self.p.line.station[self.state.station].bank;
        let width = self.state.setup.width(self.p.line, a as usize);
        let to = match self.rng.u32(..3) {
            // Beside the feeder of a companion.
            0 => {
                let b = self.movable[self.rng.usize(..self.movable.len())];
                let Some(at) = self.state.setup.slot(b) else { return false };
                let wide = self.state.setup.width(self.p.line, b as usize);
                let slot = if self.rng.bool() { at.slot + wide } else { at.slot.saturating_sub(width) };
                Slot { bank: at.bank, slot }
            }
            1 => Slot { bank: from.bank, slot: (from.slot + self.rng.u32(..9)).saturating_sub(4) },
            _ => {
                let bank = self.rng.usize(..banks.len());
                Slot { bank, slot: self.rng.u32(1..=banks[bank].slots.max(1)) }
            }
        };
        if to == from || to.slot < 1 || !self.state.setup.is_free(to, width, &[a]) {
            return false;
        }
        self.shift_feeders(&[(a, to)]);
        true
    }

    /// Takes a feeder out and puts it back some slots along its bank; feeders between move up by its width.
    fn pass_feeders(&mut self, a: u32, from: Slot) -> bool {
        let setup = &self.state.setup;
        let width = setup.width(self.p.line, a as usize);
        let up = self.rng.bool();
        let far = self.rng.u32(1..=FARTHEST);
        // Slots that the others give way over.
        let (low, high) = if up { (from.slot + width, from.slot + width + far) } else { (from.slot.saturating_sub(far).max(1), from.slot) };
        let mut plan: Vec<(u32, Slot)> = Vec::new();
        let mut slot = low;
        let mut end = low;
        while slot < high {
            if setup.is_out(Slot { bank: from.bank, slot }) {
                break;
            }
            match setup.covering(Slot { bank: from.bank, slot }) {
                None => {
                    slot += 1;
                    end = slot;
                }
                Some(s) => {
                    let (Some(at), wide) = (setup.slot(s), setup.width(self.p.line, s as usize)) else { return false };
                    // Only whole feeders give way, and none that is held in place.
                    if at.slot != slot && slot == low {
                        return false;
                    }
                    if setup.locked[s as usize] || at.slot + wide > high {
                        break;
                    }
                    plan.push((s, Slot { bank: from.bank, slot: if up { at.slot - width } else { at.slot + width } }));
                    slot += wide;
                    end = slot;
                }
            }
        }
        let banks = &self.p.line.station[self.state.station].bank;
        let to = if up { end - width } else { low };
        // Going down, the stretch must end right before the feeder.
        if plan.is_empty() || (!up && end != from.slot) || to < 1 || to + width - 1 > banks[from.bank].slots {
            return false;
        }
        plan.push((a, Slot { bank: from.bank, slot: to }));
        self.shift_feeders(&plan);
        true
    }
}
