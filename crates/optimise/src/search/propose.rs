//! Which move to try next.
//!
//! Moves are drawn at random but with an aim: tasks that lie near each other, or whose feeders stand
//! near each other, are brought into one trip.

use super::moves::Move;
use super::{At, Search};
use crate::problem::Problem;
use crate::station::setup::Slot;
use domain::job::TaskId;
use domain::plan::SupplyPlace;

/// Neighbours kept for each task.
const NEIGHBOURS: usize = 10;
/// How far along the list sorted by X neighbours are looked for.
const WINDOW: usize = 60;

/// Near neighbours of each task, nearest first.
pub(super) fn near_neighbours(p: &Problem<'_>, tasks: &[TaskId]) -> Vec<Vec<TaskId>> {
    let at = |t: TaskId| p.job.tasks[t.index()].at;
    let mut by_x: Vec<(i64, usize)> = tasks.iter().enumerate().map(|(i, t)| (at(*t).x.0, i)).collect();
    by_x.sort_unstable();
    let mut near = vec![Vec::new(); tasks.len()];
    for (k, (_, i)) in by_x.iter().enumerate() {
        let window = &by_x[k.saturating_sub(WINDOW)..(k + WINDOW + 1).min(by_x.len())];
        let far = |j: usize| {
            let d = at(tasks[j]) - at(tasks[*i]);
            d.x.0.abs().max(d.y.0.abs())
        };
        let mut found: Vec<(i64, TaskId)> = window.iter().filter(|(_, j)| j != i).map(|(_, j)| (far(*j), tasks[*j])).collect();
        found.sort_unstable();
        near[*i] = found.into_iter().take(NEIGHBOURS).map(|(_, t)| t).collect();
    }
    near
}

impl Search<'_> {
    /// Draws a move that keeps every rule; `None` if the draw led to none.
    pub(super) fn propose(&mut self) -> Option<Move> {
        let t = self.tasks[self.rng.usize(..self.tasks.len())];
        let at = self.at[t.index()];
        match self.rng.u32(..100) {
            0..=34 => self.swap_tasks(t, at),
            35..=44 => self.relocate(t, at),
            45..=59 => self.swap_spindles(at),
            60..=74 => self.reverse(at),
            75..=89 => self.shift(at),
            90..=93 => Some(Move::Sweep { pass: at.pass, trip: at.trip, bits: self.rng.u8(1..=3) }),
            94 => self.swap_trips(at),
            _ => self.move_supply(t),
        }
    }

    /// Whether a task may be done on a spindle.
    fn may(&self, task: TaskId, at: At) -> bool {
        let pass = &self.state.passes[at.pass as usize];
        let part = self.p.part_of(task);
        let here = self.at[task.index()];
        if here.pass != at.pass {
            let Some(mode) = self.p.cap.mode(self.state.station, pass.head) else { return false };
            if !self.p.cap.can(part, mode) || !self.p.order.tasks[task.index()].holds(pass.stage) {
                return false;
            }
            if self
                .p
                .lock(part)
                .is_some_and(|l| l.head.as_ref().is_some_and(|h| *h != self.p.line.station[self.state.station].head[pass.head].name))
            {
                return false;
            }
        }
        let layout = &pass.layouts[pass.trips()[at.trip as usize].layout as usize];
        let Some(nozzle) = layout[usize::from(at.spindle)] else { return false };
        self.p.nozzles[part][self.mode(pass.head)].contains(&nozzle)
    }

    fn mode(&self, head: usize) -> usize {
        self.p.cap.mode(self.state.station, head).unwrap_or(0)
    }

    fn swap_tasks(&mut self, t: TaskId, at: At) -> Option<Move> {
        let aim = self.rng.u32(..10);
        let other = if aim < 4 {
            // Into the trip of a near neighbour, in place of another task there.
            let near = &self.near[self.index[t.index()] as usize];
            let n = *near.get(self.rng.usize(..near.len().max(1)))?;
            let there = self.at[n.index()];
            self.busy_in(there)?
        } else if aim < 7 {
            // A task whose supply is that of a companion takes this task's place.
            let companion = self.busy_in(at)?;
            let alike = &self.of_part[self.p.part_of(self.cell(companion).task)];
            self.at[alike[self.rng.usize(..alike.len())].index()]
        } else {
            self.at[self.tasks[self.rng.usize(..self.tasks.len())].index()]
        };
        if other == at {
            return None;
        }
        let o = self.cell(other).task;
        (self.may(t, other) && self.may(o, at)).then_some(Move::Tasks { a: at, b: other })
    }

    /// A busy spindle of the trip.
    fn busy_in(&mut self, at: At) -> Option<At> {
        let trip = &self.state.passes[at.pass as usize].trips()[at.trip as usize];
        let k = self.rng.usize(..trip.order.len());
        let spindle = trip.order[k];
        Some(At { spindle, ..at })
    }

    fn relocate(&mut self, t: TaskId, from: At) -> Option<Move> {
        let source = &self.state.passes[from.pass as usize].trips()[from.trip as usize];
        if source.order.len() < 2 {
            return None;
        }
        let leaves = source.order.iter().position(|s| *s == from.spindle)? as u8;
        let (pass, trip, enters) = if self.rng.bool() {
            let near = &self.near[self.index[t.index()] as usize];
            let n = *near.get(self.rng.usize(..near.len().max(1)))?;
            let there = self.at[n.index()];
            let order = &self.state.passes[there.pass as usize].trips()[there.trip as usize].order;
            let k = order.iter().position(|s| *s == there.spindle)? as u8;
            (there.pass, there.trip, k + u8::from(self.rng.bool()))
        } else {
            let pass = self.rng.usize(..self.state.passes.len());
            let trips = self.state.passes[pass].trips();
            let trip = self.rng.usize(..trips.len().max(1));
            let len = trips.get(trip)?.order.len();
            (pass as u32, trip as u32, self.rng.u8(..=len as u8))
        };
        if (pass, trip) == (from.pass, from.trip) {
            return None;
        }
        let cells = &self.state.passes[pass as usize].trips()[trip as usize].cells;
        let idle = cells.iter().filter(|c| !c.busy()).count();
        if idle == 0 {
            return None;
        }
        let k = self.rng.usize(..idle);
        let cells = &self.state.passes[pass as usize].trips()[trip as usize].cells;
        let spindle = cells.iter().enumerate().filter(|(_, c)| !c.busy()).nth(k)?.0 as u8;
        let to = At { pass, trip, spindle };
        self.may(t, to).then_some(Move::Relocate { from, to, leaves, enters })
    }

    fn swap_spindles(&mut self, at: At) -> Option<Move> {
        let spindles = self.state.passes[at.pass as usize].trips()[at.trip as usize].cells.len();
        let other = At { spindle: self.rng.usize(..spindles) as u8, ..at };
        if other.spindle == at.spindle {
            return None;
        }
        let (mine, theirs) = (self.cell(at), self.cell(other));
        let fits = self.may(mine.task, other) && (!theirs.busy() || self.may(theirs.task, at));
        fits.then_some(Move::Spindles { pass: at.pass, trip: at.trip, a: at.spindle, b: other.spindle })
    }

    fn swap_trips(&mut self, at: At) -> Option<Move> {
        let trips = self.state.passes[at.pass as usize].trips();
        let other = self.rng.usize(..trips.len());
        let alike = trips[other].layout == trips[at.trip as usize].layout;
        (other != at.trip as usize && alike).then_some(Move::Trips { pass: at.pass, a: at.trip, b: other as u32 })
    }

    fn stretch(&mut self, at: At) -> Option<(u8, u8)> {
        let len = self.state.passes[at.pass as usize].trips()[at.trip as usize].order.len();
        if len < 2 {
            return None;
        }
        let (i, j) = (self.rng.usize(..len), self.rng.usize(..len));
        (i != j).then_some((i as u8, j as u8))
    }

    fn reverse(&mut self, at: At) -> Option<Move> {
        let (i, j) = self.stretch(at)?;
        Some(Move::Reverse { pass: at.pass, trip: at.trip, i: i.min(j), j: i.max(j) })
    }

    fn shift(&mut self, at: At) -> Option<Move> {
        let (i, j) = self.stretch(at)?;
        Some(Move::Shift { pass: at.pass, trip: at.trip, i, j })
    }

    fn move_supply(&mut self, t: TaskId) -> Option<Move> {
        // Moving a supply times every trip that uses it; rarely enough that it does not dominate.
        if self.movable.len() < 2 || self.rng.u32(..4) > 0 {
            return None;
        }
        let a = self.cell(self.at[t.index()]).supply;
        if self.state.setup.locked[a as usize] {
            return None;
        }
        let (line, station) = (self.p.line, &self.p.line.station[self.state.station]);
        let width = self.state.setup.width(line, a as usize);
        let from = match self.state.setup.supplies[a as usize].place {
            SupplyPlace::Feeder { bank, slot, .. } => Slot { bank: bank as usize, slot },
            SupplyPlace::Tray { tray, .. } => {
                let b = self.movable[self.rng.usize(..self.movable.len())];
                let SupplyPlace::Tray { tray: other, .. } = self.state.setup.supplies[b as usize].place else { return None };
                let part = |s: u32| self.state.setup.supplies[s as usize].part.index();
                let fits = self.p.tray_places(self.state.station, part(a)).any(|x| x == other as usize)
                    && self.p.tray_places(self.state.station, part(b)).any(|x| x == tray as usize);
                return (a != b && fits).then_some(Move::Supplies { a, b });
            }
        };
        if self.rng.bool() {
            let b = self.movable[self.rng.usize(..self.movable.len())];
            let fits = width > 0 && self.state.setup.width(line, b as usize) == width;
            return (a != b && fits).then_some(Move::Supplies { a, b });
        }
        let bank = self.rng.usize(..station.bank.len());
        let near = self.rng.bool() && bank == from.bank;
        let slots = station.bank[bank].slots;
        let slot = if near { (from.slot + self.rng.u32(..9)).saturating_sub(4).clamp(1, slots) } else { self.rng.u32(1..=slots) };
        let to = Slot { bank, slot };
        (to != from && self.state.setup.is_free(to, width, &[a])).then_some(Move::Feeder { supply: a, from, to })
    }
}
