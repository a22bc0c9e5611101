//! A task that comes to a station from another one, or leaves it, and its supply.

use super::journal::ALL;
use super::{At, Search};
use crate::station::Cell;
use crate::station::setup::Slot;
use domain::job::TaskId;
use domain::plan::{SupplyAt, SupplyPlace};
use domain::product::PartId;

/// What was set up for a part that comes.
enum SetUp {
    /// A feeder of its own, the last one.
    Added,
    /// A feeder in place of this one, which nothing was picked from any more.
    Instead(u32, SupplyAt),
}

/// What a hand-over changed at a station beside its trips.
#[derive(Default)]
pub(super) struct HandOver {
    /// The task that left.
    left: Option<TaskId>,
    /// The task that came.
    came: Option<TaskId>,
    /// What was set up for it.
    set_up: Option<SetUp>,
}

/// Takes a task out of a list, whose order does not matter.
fn forget(tasks: &mut Vec<TaskId>, t: TaskId) {
    if let Some(k) = tasks.iter().position(|x| *x == t) {
        tasks.swap_remove(k);
    }
}

impl Search<'_> {
    /// Whether a task's part stands here already.
    pub(super) fn supplies(&self, t: TaskId) -> bool {
        self.state.setup.of_part(self.p.part_of(t)).next().is_some()
    }

    /// Begins a hand-over, in which a task may leave; its spindle is not touched yet.
    pub(super) fn begin_hand_over(&mut self, leaves: Option<TaskId>) -> HandOver {
        self.journal.begin(&self.sums);
        if let Some(t) = leaves {
            let part = self.p.part_of(t);
            forget(&mut self.tasks, t);
            forget(&mut self.of_part[part], t);
        }
        HandOver { left: leaves, came: None, set_up: None }
    }

    /// Puts a task that comes on a spindle, which is idle or whose task leaves; `false` if it finds no supply.
    pub(super) fn take_in(&mut self, t: TaskId, at: At, position: usize, change: &mut HandOver, stock: &mut [u32]) -> bool {
        let part = self.p.part_of(t);
        let Some(supply) = self.supply_for(part, at, change, stock) else { return false };
        let (cell, old) = (Cell { task: t, supply }, self.cell(at));
        let trip = self.open(at.pass, at.trip, ALL);
        if old.busy() {
            trip.cells[usize::from(at.spindle)] = cell;
            self.at[old.task.index()] = Self::NOWHERE;
        } else {
            trip.give(at.spindle, cell, position);
        }
        self.tasks.push(t);
        self.of_part[part].push(t);
        change.came = Some(t);
        self.changed(at.pass, at.trip);
        self.journal.supplies_changed = true;
        true
    }

    /// Frees the spindle of a task that leaves.
    pub(super) fn leave_idle(&mut self, at: At) {
        let old = self.cell(at).task;
        self.open(at.pass, at.trip, ALL).free(at.spindle);
        self.at[old.index()] = Self::NOWHERE;
        self.changed(at.pass, at.trip);
        self.journal.supplies_changed = true;
    }

    /// The supply of a part whose task is to be done at `at`, set up if need be; `None` if there is no room.
    fn supply_for(&mut self, part: usize, at: At, change: &mut HandOver, stock: &mut [u32]) -> Option<u32> {
        let p = self.p;
        let setup = &self.state.setup;
        if let Some(s) = setup.of_part(part).next() {
            return Some(s);
        }
        // Trays stay where they are; a set-up that is held or closed takes no more.
        if p.in_trays(part) || p.held.is_some() || setup.is_closed(p) {
            return None;
        }
        let feeder = *p.feeders[part].iter().find(|f| stock[**f as usize] > 0)?;
        let width = p.line.feeder[feeder as usize].slots;
        if let Some((s, slot)) = self.unused_feeder(width) {
            let place = SupplyPlace::Feeder { bank: slot.bank as u32, slot: slot.slot, feeder };
            let old = self.state.setup.replace(p, s, SupplyAt { part: PartId(part as u32), place });
            count(&old, stock, 1);
            stock[feeder as usize] -= 1;
            change.set_up = Some(SetUp::Instead(s, old));
            return Some(s);
        }
        let to = self.free_slot(width, at)?;
        stock[feeder as usize] -= 1;
        let s = self.state.setup.add_feeder(p, part, feeder, to, false);
        self.movable.push(s);
        change.set_up = Some(SetUp::Added);
        Some(s)
    }

    /// A feeder of this width that nothing is picked from, and where it stands.
    fn unused_feeder(&self, width: u32) -> Option<(u32, Slot)> {
        let setup = &self.state.setup;
        let is_unused = |s: &u32| {
            let part = setup.supplies[*s as usize].part.index();
            self.of_part[part].iter().all(|t| self.cell(self.at[t.index()]).supply != *s) && setup.width(self.p.line, *s as usize) == width
        };
        self.movable.iter().copied().filter(is_unused).find_map(|s| Some((s, setup.slot(s)?)))
    }

    /// Free slots near a feeder that the trip picks from.
    pub(super) fn free_slot(&mut self, width: u32, at: At) -> Option<Slot> {
        let setup = &self.state.setup;
        let cells = self.trip(at).cells.iter().enumerate();
        let others = cells.filter(|(s, c)| c.busy() && *s != usize::from(at.spindle));
        let slots: Vec<Slot> = others.filter_map(|(_, c)| setup.slot(c.supply)).collect();
        if slots.is_empty() {
            return self.any_free_slot(width);
        }
        let beside = slots[self.rng.usize(..slots.len())];
        self.state.setup.nearest_free(width, beside)
    }

    /// Free slots anywhere.
    pub(super) fn any_free_slot(&mut self, width: u32) -> Option<Slot> {
        let free = self.state.setup.free(width);
        (!free.is_empty()).then(|| free[self.rng.usize(..free.len())])
    }

    /// Takes a hand-over back.
    pub(super) fn take_back(&mut self, change: HandOver, stock: &mut [u32]) {
        self.roll_back();
        if let Some(t) = change.came {
            self.tasks.pop();
            self.of_part[self.p.part_of(t)].pop();
            self.at[t.index()] = Self::NOWHERE;
        }
        if let Some(t) = change.left {
            self.tasks.push(t);
            self.of_part[self.p.part_of(t)].push(t);
        }
        match change.set_up {
            Some(SetUp::Added) => {
                if let Some(added) = self.state.setup.remove_last(self.p) {
                    count(&added, stock, 1);
                }
                self.movable.pop();
            }
            Some(SetUp::Instead(s, old)) => {
                count(&old, stock, -1);
                let new = self.state.setup.replace(self.p, s, old);
                count(&new, stock, 1);
            }
            None => {}
        }
    }
}

/// Gives a supply's feeder back to the store, or takes it.
fn count(supply: &SupplyAt, stock: &mut [u32], by: i32) {
    if let SupplyPlace::Feeder { feeder, .. } = supply.place {
        stock[feeder as usize] = stock[feeder as usize].saturating_add_signed(by);
    }
}
