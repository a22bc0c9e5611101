//! The moves of the search: what each changes, and its inverse.

use super::{At, Search};
use crate::station::setup::Slot;

/// A change of a station's state.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Move {
    /// Exchanges the tasks of two spindles.
    Tasks { a: At, b: At },
    /// Exchanges what two spindles of a trip do, one of them perhaps idle, and keeps the order in which
    /// the tasks are placed.
    Spindles { pass: u32, trip: u32, a: u8, b: u8 },
    /// Puts a task on an idle spindle of another trip. Positions are those in the orders of placing.
    Relocate { from: At, to: At, leaves: u8, enters: u8 },
    /// Places a stretch of a trip in reverse.
    Reverse { pass: u32, trip: u32, i: u8, j: u8 },
    /// Places one task of a trip earlier or later.
    Shift { pass: u32, trip: u32, i: u8, j: u8 },
    /// Sweeps the strokes the other way.
    Sweep { pass: u32, trip: u32, bits: u8 },
    /// Exchanges two trips of a pass.
    Trips { pass: u32, a: u32, b: u32 },
    /// Exchanges two supplies.
    Supplies { a: u32, b: u32 },
    /// Moves a feeder to free slots.
    Feeder { supply: u32, from: Slot, to: Slot },
}

impl Move {
    pub(super) fn inverse(self) -> Self {
        match self {
            Self::Relocate { from, to, leaves, enters } => Self::Relocate { from: to, to: from, leaves: enters, enters: leaves },
            Self::Shift { pass, trip, i, j } => Self::Shift { pass, trip, i: j, j: i },
            Self::Feeder { supply, from, to } => Self::Feeder { supply, from: to, to: from },
            same => same,
        }
    }
}

impl Search<'_> {
    /// Makes the change and notes the trips it touches.
    pub(super) fn change(&mut self, m: Move) {
        match m {
            Move::Tasks { a, b } => {
                let (ca, cb) = (self.cell(a), self.cell(b));
                self.set_cell(a, cb);
                self.set_cell(b, ca);
                self.dirty.extend([(a.pass, a.trip), (b.pass, b.trip)]);
            }
            Move::Spindles { pass, trip, a, b } => {
                let (x, y) = (At { pass, trip, spindle: a }, At { pass, trip, spindle: b });
                let (cx, cy) = (self.cell(x), self.cell(y));
                self.set_cell(x, cy);
                self.set_cell(y, cx);
                for s in &mut self.trip_mut(pass, trip).order {
                    *s = if *s == a {
                        b
                    } else if *s == b {
                        a
                    } else {
                        *s
                    };
                }
                self.dirty.push((pass, trip));
            }
            Move::Relocate { from, to, leaves, enters } => {
                let cell = self.cell(from);
                self.set_cell(from, crate::station::Cell::IDLE);
                self.set_cell(to, cell);
                self.trip_mut(from.pass, from.trip).order.remove(usize::from(leaves));
                self.trip_mut(to.pass, to.trip).order.insert(usize::from(enters), to.spindle);
                self.dirty.extend([(from.pass, from.trip), (to.pass, to.trip)]);
            }
            Move::Reverse { pass, trip, i, j } => {
                self.trip_mut(pass, trip).order[usize::from(i)..=usize::from(j)].reverse();
                self.dirty.push((pass, trip));
            }
            Move::Shift { pass, trip, i, j } => {
                let order = &mut self.trip_mut(pass, trip).order;
                let s = order.remove(usize::from(i));
                order.insert(usize::from(j), s);
                self.dirty.push((pass, trip));
            }
            Move::Sweep { pass, trip, bits } => {
                self.trip_mut(pass, trip).sweep ^= bits;
                self.dirty.push((pass, trip));
            }
            Move::Trips { pass, a, b } => {
                let trips = self.state.passes[pass as usize].trips_mut();
                let times = (trips[a as usize].time, trips[b as usize].time);
                trips.swap(a as usize, b as usize);
                // Times belong to the place in the pass until they are taken anew.
                (trips[a as usize].time, trips[b as usize].time) = times;
                for trip in [a, b] {
                    for s in self.state.passes[pass as usize].trips()[trip as usize].order.clone() {
                        let at = At { pass, trip, spindle: s };
                        let task = self.cell(at).task;
                        self.at[task.index()] = at;
                    }
                    self.dirty.push((pass, trip));
                }
            }
            Move::Supplies { a, b } => {
                self.state.setup.exchange(self.p, a, b);
                self.touch_supplies(a, b);
            }
            Move::Feeder { supply, to, .. } => {
                self.state.setup.shift(self.p, supply, to);
                self.touch_supplies(supply, supply);
            }
        }
    }

    fn touch_supplies(&mut self, a: u32, b: u32) {
        for supply in [a, b] {
            let part = self.state.setup.supplies[supply as usize].part.index();
            for t in &self.of_part[part] {
                let at = self.at[t.index()];
                self.dirty.push((at.pass, at.trip));
            }
        }
        self.dirty.sort_unstable();
        self.dirty.dedup();
    }

    pub(super) fn cell(&self, at: At) -> crate::station::Cell {
        self.state.passes[at.pass as usize].trips()[at.trip as usize].cells[usize::from(at.spindle)]
    }

    fn set_cell(&mut self, at: At, cell: crate::station::Cell) {
        self.trip_mut(at.pass, at.trip).cells[usize::from(at.spindle)] = cell;
        if cell.busy() {
            self.at[cell.task.index()] = at;
        }
    }

    fn trip_mut(&mut self, pass: u32, trip: u32) -> &mut crate::station::TripState {
        &mut self.state.passes[pass as usize].trips_mut()[trip as usize]
    }
}
