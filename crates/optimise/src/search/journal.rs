//! What a move has changed, and how to take it back.

use super::total::{Pieces, Sums};
use super::{At, Search};
use crate::station::TripState;
use crate::station::setup::Slot;
use domain::job::TaskId;
use domain::plan::SupplyAt;
use domain::product::PartId;

/// The picks of a trip have to be timed anew.
pub(super) const PICKS: u8 = 1;
/// The places of a trip have to be timed anew.
pub(super) const PLACES: u8 = 2;
/// The way to a trip's first pocket has to be timed anew.
pub(super) const LEAD: u8 = 4;
/// All of a trip has to be timed anew.
pub(super) const ALL: u8 = PICKS | PLACES | LEAD;

/// A trip that a move touches.
#[derive(Clone, Copy, Debug)]
pub(super) struct Touch {
    pub pass: u32,
    pub trip: u32,
    /// Which pieces have to be timed anew.
    pub flags: u8,
    /// Where its copy is kept, if the trip itself was changed.
    copy: u32,
    old: Pieces,
}

const NO_COPY: u32 = u32::MAX;

/// How a move changed the set-up.
#[derive(Clone, Debug)]
pub(super) enum SetupChange {
    /// Feeders and where they stood before; for programs that follow, where they stand now.
    Feeders(Vec<(u32, Slot)>),
    /// Two trays that changed places.
    Trays(u32, u32),
    /// A feeder of this kind that was set up, the last supply.
    Added(u32),
    /// A feeder, as it was before another part got it.
    Given(u32, SupplyAt),
}

/// All that a move has changed.
#[derive(Debug, Default)]
pub(super) struct Journal {
    pub touched: Vec<Touch>,
    copies: Vec<TripState>,
    used: usize,
    setup: Option<SetupChange>,
    /// Whether supplies came, left or are picked from by other tasks.
    pub supplies_changed: bool,
    /// Tasks in pairs whose place in the order changed.
    pub moved: Vec<TaskId>,
    /// Sums before the move.
    pub before: Sums,
}

impl Journal {
    pub(super) fn begin(&mut self, sums: &Sums) {
        self.touched.clear();
        self.moved.clear();
        self.setup = None;
        self.supplies_changed = false;
        self.used = 0;
        self.before = *sums;
    }

    pub(super) fn adds_feeder(&self) -> bool {
        matches!(self.setup, Some(SetupChange::Added(_)))
    }

    pub(super) fn has_moved_supplies(&self) -> bool {
        self.setup.is_some() || self.supplies_changed
    }
}

impl Search<'_> {
    /// Notes that pieces of a trip have to be timed anew; returns its place among the touched.
    pub(super) fn touch(&mut self, pass: u32, trip: u32, flags: u8) -> usize {
        // A feeder that moves touches many trips: where each stands is marked, not looked for.
        let mark = &mut self.marks[pass as usize][trip as usize];
        let k = *mark as usize;
        if let Some(t) = self.journal.touched.get_mut(k).filter(|t| (t.pass, t.trip) == (pass, trip)) {
            t.flags |= flags;
            return k;
        }
        *mark = self.journal.touched.len() as u32;
        let touch = self.touch_of(pass, trip, flags);
        self.journal.touched.push(touch);
        self.journal.touched.len() - 1
    }

    /// A trip touched for the first time in a move.
    pub(super) fn touch_of(&self, pass: u32, trip: u32, flags: u8) -> Touch {
        Touch { pass, trip, flags, copy: NO_COPY, old: self.pieces[pass as usize][trip as usize] }
    }

    /// Opens a trip for changes: it is kept as it is, to be put back.
    pub(super) fn open(&mut self, pass: u32, trip: u32, flags: u8) -> &mut TripState {
        let k = self.touch(pass, trip, flags);
        let kept = &mut self.state.passes[pass as usize].trips_mut()[trip as usize];
        if self.journal.touched[k].copy == NO_COPY {
            self.journal.touched[k].copy = self.journal.used as u32;
            match self.journal.copies.get_mut(self.journal.used) {
                Some(copy) => copy.clone_from(kept),
                None => self.journal.copies.push(kept.clone()),
            }
            self.journal.used += 1;
        }
        kept
    }

    /// Notes where the tasks of an opened trip are now, and that they have moved.
    pub(super) fn settle(&mut self, pass: u32, trip: u32) {
        let here = &self.state.passes[pass as usize].trips()[trip as usize];
        for s in &here.order {
            let task = here.cells[usize::from(*s)].task;
            self.at[task.index()] = At { pass, trip, spindle: *s };
            if self.p.order.is_paired(task) {
                self.journal.moved.push(task);
            }
        }
    }

    /// Moves feeders, all of them to be free of each other and of what stays.
    pub(super) fn shift_feeders(&mut self, plan: &[(u32, Slot)]) {
        let before = plan.iter().filter_map(|(s, _)| self.state.setup.slot(*s).map(|slot| (*s, slot))).collect();
        self.journal.setup = Some(SetupChange::Feeders(before));
        self.state.setup.place_anew(self.p, plan);
        plan.iter().for_each(|(s, _)| self.touch_supply(*s));
    }

    /// Sets up one more feeder for a part; the slots must be free. Returns its supply.
    pub(super) fn add_feeder(&mut self, part: usize, feeder: u32, to: Slot) -> u32 {
        self.stock[feeder as usize] -= 1;
        let supply = self.state.setup.add_feeder(self.p, part, feeder, to, false);
        self.movable.push(supply);
        self.journal.setup = Some(SetupChange::Added(feeder));
        supply
    }

    /// Gives a feeder that nothing is picked from to another part.
    pub(super) fn give_feeder(&mut self, supply: u32, part: usize) {
        let new = SupplyAt { part: PartId(part as u32), ..self.state.setup.supplies[supply as usize].clone() };
        let old = self.state.setup.replace(self.p, supply, new);
        self.journal.setup = Some(SetupChange::Given(supply, old));
    }

    /// Lets a busy spindle pick its part from another supply.
    pub(super) fn pick_from(&mut self, at: At, supply: u32) {
        self.open(at.pass, at.trip, ALL).cells[usize::from(at.spindle)].supply = supply;
        self.changed(at.pass, at.trip);
        self.journal.supplies_changed = true;
    }

    /// Exchanges two trays.
    pub(super) fn exchange_trays(&mut self, a: u32, b: u32) {
        self.journal.setup = Some(SetupChange::Trays(a, b));
        self.state.setup.exchange(self.p, a, b);
        self.touch_supply(a);
        self.touch_supply(b);
    }

    /// Trips that pick from a supply are timed anew.
    fn touch_supply(&mut self, supply: u32) {
        let part = self.state.setup.supplies[supply as usize].part.index();
        for k in 0..self.of_part[part].len() {
            let at = self.at[self.of_part[part][k].index()];
            if self.cell(at).supply != supply {
                continue;
            }
            if self.timing.head(self.head(at.pass)).kind == domain::line::HeadKind::Inline {
                self.open(at.pass, at.trip, ALL);
                self.sweep(at.pass, at.trip);
            } else {
                // The way in changes with the first pocket, the way to the first pad with the last.
                let picks = &self.trip(at).picks;
                let lead = if picks.first() == Some(&at.spindle) { LEAD } else { 0 };
                let places = if picks.last() == Some(&at.spindle) { PLACES } else { 0 };
                self.touch(at.pass, at.trip, PICKS | lead | places);
            }
        }
    }

    /// Puts an inline head's picks in the order of its sweep.
    pub(super) fn sweep(&mut self, pass: u32, trip: u32) {
        let head = self.head(pass);
        let trip = &mut self.state.passes[pass as usize].trips_mut()[trip as usize];
        self.timing.sweep(head, &self.state.setup, trip);
    }

    /// Makes a move and times it, to be kept or taken back. `None` if there was none or its ways alone cost more than
    /// `limit` [µs]; else how it changed the set-up.
    pub(super) fn try_move(&mut self, limit: i64) -> Option<Option<SetupChange>> {
        self.journal.begin(&self.sums);
        self.limit = limit;
        if !(self.propose() && self.pairs_hold()) {
            self.roll_back();
            return None;
        }
        self.retime();
        Some(self.journal.setup.as_ref().map(|change| match change {
            SetupChange::Feeders(before) => {
                SetupChange::Feeders(before.iter().filter_map(|(s, _)| self.state.setup.slot(*s).map(|slot| (*s, slot))).collect())
            }
            change => change.clone(),
        }))
    }

    /// Makes the change of the set-up that another program on it has made.
    pub(super) fn follow(&mut self, change: &SetupChange) {
        self.journal.begin(&self.sums);
        match change {
            SetupChange::Feeders(plan) => self.shift_feeders(plan),
            SetupChange::Trays(a, b) => self.exchange_trays(*a, *b),
            SetupChange::Added(_) | SetupChange::Given(..) => unreachable!("programs on one set-up are given no further feeders"),
        }
        self.retime();
    }

    /// How much slower the station has become by the move [µs].
    pub(super) fn worse(&self) -> i64 {
        self.sums.total - self.journal.before.total
    }

    /// Takes the move back.
    pub(super) fn roll_back(&mut self) {
        match self.journal.setup.take() {
            Some(SetupChange::Feeders(before)) => self.state.setup.place_anew(self.p, &before),
            Some(SetupChange::Trays(a, b)) => self.state.setup.exchange(self.p, a, b),
            Some(SetupChange::Added(feeder)) => {
                self.state.setup.remove_last(self.p);
                self.movable.pop();
                self.stock[feeder as usize] += 1;
            }
            Some(SetupChange::Given(supply, old)) => {
                self.state.setup.replace(self.p, supply, old);
            }
            None => {}
        }
        for k in 0..self.journal.touched.len() {
            let t = self.journal.touched[k];
            self.pieces[t.pass as usize][t.trip as usize] = t.old;
            if t.copy != NO_COPY {
                let here = &mut self.state.passes[t.pass as usize].trips_mut()[t.trip as usize];
                std::mem::swap(here, &mut self.journal.copies[t.copy as usize]);
                for s in &here.order {
                    self.at[here.cells[usize::from(*s)].task.index()] = At { pass: t.pass, trip: t.trip, spindle: *s };
                }
            }
        }
        self.sums = self.journal.before;
    }
}
