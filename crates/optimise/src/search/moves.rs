//! The moves, one file each, and which to try next.
//!
//! Moves are drawn at random but with an aim: tasks that lie near each other, or whose feeders stand near
//! each other, are brought into one trip. Every move returns whether it changed anything.

mod feeders;
mod insert;
mod picks;
mod places;
mod relocate;
mod sequence;
mod spindles;
mod stretches;
mod supplies;
mod swap;
mod tails;
mod trays;
mod trips;

use super::journal::ALL;
use super::screen::Other;
use super::{At, Search};
use crate::station::Cell;
use domain::job::TaskId;
use domain::line::HeadKind;
use domain::plan::SupplyPlace;

/// Neighbours drawn until one is supplied from the same side.
const DRAWS: usize = 3;

impl Search<'_> {
    /// Draws a move and makes it; `false` if the draw led to none.
    pub(super) fn propose(&mut self) -> bool {
        let t = self.tasks[self.rng.usize(..self.tasks.len())];
        let at = self.at[t.index()];
        let drawn = self.rng.u32(..1000);
        if self.trip(at).cells.len() == 1 {
            return match drawn {
                0..=299 => self.swap_tasks(t, at),
                300..=399 => self.relocate(t, at),
                400..=599 => self.swap_trips(at),
                600..=899 => self.shift_trip(at),
                _ => self.move_supply(t),
            };
        }
        match drawn {
            0..=249 => self.swap_tasks(t, at),
            250..=349 => self.insert_near(t, at),
            350..=429 => self.relocate(t, at),
            430..=519 => self.swap_spindles(at),
            520..=599 => self.turn_stretch(at),
            600..=699 => self.reverse_places(at),
            700..=839 => self.shift_place(at),
            840..=879 => self.change_picks(at),
            880..=904 => self.swap_tails(at),
            905..=919 => self.swap_trips(at),
            920..=934 => self.shift_trip(at),
            935..=954 => self.pick_elsewhere(t, at),
            _ => self.move_supply(t),
        }
    }

    /// Whether a task may be done on a spindle.
    pub(super) fn may(&self, task: TaskId, at: At) -> bool {
        let pass = &self.state.passes[at.pass as usize];
        let part = self.p.part_of(task);
        let mode = self.modes[at.pass as usize];
        if self.at[task.index()].pass != at.pass && !self.may_pass(task, at.pass) {
            return false;
        }
        let layout = &pass.layouts[pass.trips()[at.trip as usize].layout as usize];
        layout[usize::from(at.spindle)].is_some_and(|nozzle| self.p.nozzles[part][mode].contains(&nozzle))
    }

    /// Whether a task may be done in a pass, whatever the nozzle.
    fn may_pass(&self, task: TaskId, pass: u32) -> bool {
        let (k, part) = (pass as usize, self.p.part_of(task));
        let pass = &self.state.passes[k];
        let head = &self.p.line.station[self.state.station].head[pass.head];
        self.p.cap.can(part, self.modes[k])
            && self.p.order.tasks[task.index()].holds(pass.stage)
            && usize::from(self.earliest[task.index()]) <= k
            && self.p.lock(part).is_none_or(|l| l.head.as_ref().is_none_or(|h| *h == head.name))
    }

    /// A busy spindle of the trip.
    fn busy_in(&mut self, at: At) -> At {
        let order = &self.state.passes[at.pass as usize].trips()[at.trip as usize].order;
        At { spindle: order[self.rng.usize(..order.len())], ..at }
    }

    /// Whether two busy spindles may do each other's tasks.
    pub(super) fn may_trade(&self, a: At, b: At) -> bool {
        a != b && self.may(self.cell(a).task, b) && self.may(self.cell(b).task, a)
    }

    /// A near neighbour on the board, mostly one whose supply is at the same bank or tray place.
    fn neighbour(&mut self, t: TaskId) -> Option<TaskId> {
        let mut found = None;
        let side = self.side(t);
        for _ in 0..DRAWS {
            let near = self.near.of(t);
            // Nearer ones more often.
            let k = self.rng.usize(..near.len().max(1)).min(self.rng.usize(..near.len().max(1)));
            found = near.get(k).copied().filter(|n| self.at[n.index()] != Self::NOWHERE);
            if found.is_some_and(|n| self.side(n) == side) {
                break;
            }
        }
        found
    }

    /// The bank or tray place of a task's supply: a trip that picks at two of them has a long way between.
    fn side(&self, t: TaskId) -> (bool, u32) {
        match self.state.setup.supplies[self.cell(self.at[t.index()]).supply as usize].place {
            SupplyPlace::Feeder { bank, .. } => (false, bank),
            SupplyPlace::Tray { tray, .. } => (true, tray),
        }
    }

    /// A task picked from the same feeder as this one's, or from one close to it.
    fn close_by_feeder(&mut self, t: TaskId) -> Option<TaskId> {
        let supply = self.cell(self.at[t.index()]).supply;
        let supply = if self.rng.bool() { supply } else { self.state.setup.close_to(supply, self.rng.u32(..5))? };
        let alike = &self.of_part[self.state.setup.supplies[supply as usize].part.index()];
        (!alike.is_empty()).then(|| alike[self.rng.usize(..alike.len())])
    }

    pub(super) fn is_inline(&self, pass: u32) -> bool {
        self.timing.head(self.head(pass)).kind == HeadKind::Inline
    }

    /// Puts a cell on a spindle of an opened trip, its place among picks and places kept.
    fn put(&mut self, at: At, cell: Cell) {
        self.state.passes[at.pass as usize].trips_mut()[at.trip as usize].cells[usize::from(at.spindle)] = cell;
    }

    /// Gives spindles of some trips other work that they may do, if that is worth timing.
    pub(super) fn give(&mut self, changes: &[(At, Other)]) -> bool {
        if !self.may_change(changes) {
            return false;
        }
        for (at, _) in changes {
            self.open(at.pass, at.trip, ALL);
        }
        for (at, other) in changes {
            other.each().for_each(|(spindle, cell)| self.put(At { spindle, ..*at }, cell));
            self.changed(at.pass, at.trip);
        }
        true
    }

    /// After cells of an opened trip have changed.
    pub(super) fn changed(&mut self, pass: u32, trip: u32) {
        if self.is_inline(pass) {
            self.sweep(pass, trip);
        }
        self.settle(pass, trip);
    }
}
