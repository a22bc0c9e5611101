//! Whether a move is worth timing: its ways alone, added up before anything is changed.
//!
//! Most moves lead to longer ways by far, and their full timing would only say so more precisely. The ways around what a
//! move would change are looked up and compared, each at the percent of the most delicate part aboard. Left out are waits for feeders,
//! but for picks from one in a row, ways by the nozzle rack, and those into the first trip of a pass and out of its last. Exchanges
//! between trips that follow each other count the way between them twice. Inline heads, and exchanges of parts that allow different
//! speeds, are not judged; such moves are timed.

use super::{At, Search};
use crate::station::timing::SPINDLES;
use crate::station::{Cell, TripState};
use domain::job::TaskId;
use motion::HeadState;

impl Search<'_> {
    /// Whether the exchange of two cells of two trips may be within what the move may cost.
    pub(super) fn may_exchange(&self, a: At, b: At) -> bool {
        let (mine, theirs) = (self.cell(a), self.cell(b));
        if (a.pass, a.trip) == (b.pass, b.trip) || !self.keeps_pace(a, theirs.task) || !self.keeps_pace(b, mine.task) {
            return true;
        }
        let placing = self.longer_place(a, theirs) + self.longer_place(b, mine);
        if mine.supply == theirs.supply {
            return placing <= self.limit;
        }
        // Picks gain at most their ways as they are now.
        let picking_now = self.around_pick(a, mine) + self.around_pick(b, theirs);
        placing - picking_now <= self.limit && placing - picking_now + self.around_pick(a, theirs) + self.around_pick(b, mine) <= self.limit
    }

    /// How much longer the ways get if a busy spindle does another task, picked from its supply here if there is one [µs];
    /// `None` where ways alone do not tell.
    pub(super) fn longer_by(&self, at: At, task: TaskId) -> Option<i64> {
        if !self.keeps_pace(at, task) {
            return None;
        }
        let now = self.cell(at);
        let supply = self.state.setup.of_part(self.p.part_of(task)).next();
        let then = Cell { task, supply: supply.unwrap_or(now.supply) };
        // Where a feeder is still to be set up, the way to it may be next to nothing.
        let picking = supply.map_or(0, |_| self.around_pick(at, then)) - self.around_pick(at, now);
        Some(self.longer_place(at, then) + picking)
    }

    /// Whether placing in another order may be within what the move may cost: from position `from` on come the spindles
    /// `stretch` instead of as many now.
    pub(super) fn may_reorder(&self, at: At, from: usize, stretch: impl Iterator<Item = u8>) -> bool {
        if self.is_inline(at.pass) {
            return true;
        }
        let (head, trip) = (self.head(at.pass), self.trip(at));
        let mut then = [0; SPINDLES];
        let mut n = 0;
        for s in stretch {
            then[n] = s;
            n += 1;
        }
        let next = from + n;
        let later = self.pace(trip, &trip.order[next..]);
        let before = if from == 0 { self.stand_before_places(head, trip) } else { self.stand(head, trip, trip.order[from - 1]) };
        let ways = |stretch: &[u8]| {
            let mut paces = [later; SPINDLES];
            let mut pace = later;
            for (k, s) in stretch.iter().enumerate().rev() {
                pace = pace.min(self.percents[trip.cells[usize::from(*s)].task.index()]);
                paces[k] = pace;
            }
            let (mut stand, mut ways) = (before, 0);
            for (s, pace) in stretch.iter().zip(paces) {
                let to = self.stand(head, trip, *s);
                ways += self.timing.step(head, stand, to, trip.cells[usize::from(*s)].task, pace);
                stand = to;
            }
            ways + match trip.order.get(next) {
                Some(s) => self.timing.step(head, stand, self.stand(head, trip, *s), trip.cells[usize::from(*s)].task, later),
                None => self.way_out(at, stand),
            }
        };
        ways(&then[..n]) - ways(&trip.order[from..next]) <= self.limit
    }

    /// Whether ways alone tell what a busy spindle's trip takes if it does another task: one that allows the same speed.
    pub(super) fn keeps_pace(&self, at: At, task: TaskId) -> bool {
        !self.is_inline(at.pass) && self.percents[task.index()] == self.percents[self.cell(at).task.index()]
    }

    /// Percent of the most delicate of the parts on these spindles.
    fn pace(&self, trip: &TripState, spindles: &[u8]) -> u8 {
        spindles.iter().map(|s| self.percents[trip.cells[usize::from(*s)].task.index()]).fold(100, u8::min)
    }

    fn stand(&self, head: usize, trip: &TripState, spindle: u8) -> HeadState {
        self.timing.stand(head, spindle, trip.cells[usize::from(spindle)].task)
    }

    fn stand_before_places(&self, head: usize, trip: &TripState) -> HeadState {
        self.timing.sighted(head, trip, self.timing.last_pick(head, &self.state.setup, trip))
    }

    /// From the end of a trip to the first pocket of the next one in its pass.
    fn way_out(&self, at: At, end: HeadState) -> i64 {
        let head = self.head(at.pass);
        let next = self.after(at.pass, at.trip).map(|n| &self.trips(at.pass)[n as usize]);
        next.map_or(0, |next| self.timing.lead(head, end, self.timing.first(head, &self.state.setup, next)))
    }

    /// How much longer the ways around the placement of a spindle get if it places what keeps its pace.
    fn longer_place(&self, at: At, then: Cell) -> i64 {
        let (head, trip) = (self.head(at.pass), self.trip(at));
        let Some(k) = trip.order.iter().position(|s| *s == at.spindle) else { return 0 };
        let now = self.cell(at);
        let later = self.pace(trip, &trip.order[k + 1..]);
        let pace = later.min(self.percents[now.task.index()]);
        let is_picked_last = k == 0 && trip.picks.last() == Some(&at.spindle);
        let before = match k.checked_sub(1) {
            Some(before) => self.stand(head, trip, trip.order[before]),
            None => self.stand_before_places(head, trip),
        };
        let next = trip.order.get(k + 1).map(|s| (self.stand(head, trip, *s), trip.cells[usize::from(*s)].task));
        let around = |cell: Cell| {
            let here = self.timing.stand(head, at.spindle, cell.task);
            let before = if is_picked_last {
                self.timing.sighted(head, trip, self.timing.pocket(&self.state.setup, (cell.supply, at.spindle)))
            } else {
                before
            };
            let way_in = self.timing.step(head, before, here, cell.task, pace);
            way_in
                + match next {
                    Some((next, task)) => self.timing.step(head, here, next, task, later),
                    None => self.way_out(at, here),
                }
        };
        around(then) - around(now)
    }

    /// Ways around the pick of a spindle, if it picked this.
    fn around_pick(&self, at: At, cell: Cell) -> i64 {
        let (head, trip, setup) = (self.head(at.pass), self.trip(at), &self.state.setup);
        let Some(k) = trip.picks.iter().position(|s| *s == at.spindle) else { return 0 };
        let before = self.pace(trip, &trip.picks[..k]);
        let pace = before.min(self.percents[cell.task.index()]);
        let spindle = |k: usize| (trip.cells[usize::from(trip.picks[k])].supply, trip.picks[k]);
        let mine = (cell.supply, at.spindle);
        let way_in = if k == 0 {
            let before = self.before(at.pass, at.trip).map(|b| self.timing.end(head, &self.trips(at.pass)[b as usize]));
            before.map_or(0, |end| self.timing.lead(head, end, self.timing.pocket(setup, mine)))
        } else {
            self.timing.between_picks(head, setup, spindle(k - 1), mine, before)
        };
        let way_out = if k + 1 < trip.picks.len() {
            self.timing.between_picks(head, setup, mine, spindle(k + 1), pace)
        } else {
            let last = self.timing.pocket(setup, mine);
            let end = self.timing.sighted(head, trip, last);
            self.timing.way_to_sight(head, last, pace)
                + trip
                    .order
                    .first()
                    // If it is placed first, the way there counts with its place.
                    .filter(|s| **s != at.spindle)
                    .map_or(0, |s| self.timing.step(head, end, self.stand(head, trip, *s), trip.cells[usize::from(*s)].task, pace))
        };
        way_in + way_out
    }
}
