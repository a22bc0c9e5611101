//! Exchanges what stands on two stretches of slots, of one bank or two: feeders that are picked from in one trip change
//! places together, where each by itself would send the head from bank to bank.

use crate::search::Search;
use crate::station::setup::Slot;

/// Longest stretch [slots].
const LONGEST: u32 = 24;

impl Search<'_> {
    pub(super) fn swap_stretches(&mut self, from: Slot) -> bool {
        let banks = &self.p.line.station[self.state.station].bank;
        let bank = self.rng.usize(..banks.len());
        let to = Slot { bank, slot: self.rng.u32(1..=banks[bank].slots.max(1)) };
        let room = |at: Slot| banks[at.bank].slots + 1 - at.slot;
        let most = LONGEST.min(room(from)).min(room(to));
        let most = if from.bank == to.bank { most.min(from.slot.abs_diff(to.slot)) } else { most };
        if most == 0 {
            return false;
        }
        let setup = &self.state.setup;
        // Whether a feeder stands across the end of a stretch.
        let cuts = |at: Slot, slots: u32| {
            let end = at.slot + slots;
            let here = setup.covering(Slot { slot: end, ..at });
            here.is_some() && end > 1 && setup.covering(Slot { slot: end - 1, ..at }) == here
        };
        let wanted = self.rng.u32(1..=most);
        let Some(slots) = (1..=wanted).rev().find(|n| !cuts(from, *n) && !cuts(to, *n)).filter(|_| !cuts(from, 0) && !cuts(to, 0)) else {
            return false;
        };
        let mut plan: Vec<(u32, Slot)> = Vec::new();
        for (here, there) in [(from, to), (to, from)] {
            for k in 0..slots {
                let slot = Slot { slot: here.slot + k, ..here };
                match setup.covering(slot) {
                    _ if setup.is_out(slot) => return false,
                    Some(s) if setup.locked[s as usize] => return false,
                    Some(s) if setup.slot(s) == Some(slot) => plan.push((s, Slot { slot: there.slot + k, ..there })),
                    _ => {}
                }
            }
        }
        if plan.is_empty() {
            return false;
        }
        self.shift_feeders(&plan);
        true
    }
}
