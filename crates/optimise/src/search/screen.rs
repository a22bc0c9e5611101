//! Whether a move is worth timing: its ways alone, added up before anything is changed.
//!
//! Most moves lead to longer ways by far, and their full timing would only say so more precisely. The ways around what a
//! move would change are looked up and compared. Left out are waits for feeders, but for picks from one in a row, ways by the
//! nozzle rack, and those into the first trip of a pass and out of its last. Exchanges between trips that follow each other count
//! the way between them twice. Only trips at full speed that pick one part a stroke are judged; all other moves are timed.

use super::{At, Search};
use crate::station::{Cell, TripState};
use domain::job::TaskId;
use motion::HeadState;

impl Search<'_> {
    /// Whether the exchange of two cells of two trips may be within what the move may cost.
    pub(super) fn may_exchange(&self, a: At, b: At) -> bool {
        let (mine, theirs) = (self.cell(a), self.cell(b));
        if (a.pass, a.trip) == (b.pass, b.trip) || !self.is_plain(a) || !self.is_plain(b) {
            return true;
        }
        let placing = self.around_place(a, theirs) + self.around_place(b, mine) - self.around_place(a, mine) - self.around_place(b, theirs);
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
        if !self.is_plain(at) || self.percents[task.index()] < 100 {
            return None;
        }
        let now = self.cell(at);
        let supply = self.state.setup.of_part(self.p.part_of(task)).next();
        let then = Cell { task, supply: supply.unwrap_or(now.supply) };
        let placing = self.around_place(at, then) - self.around_place(at, now);
        // Where a feeder is still to be set up, the way to it may be next to nothing.
        let picking = supply.map_or(0, |_| self.around_pick(at, then)) - self.around_pick(at, now);
        Some(placing + picking)
    }

    /// Whether placing in another order may be within what the move may cost: from position `from` on come the spindles
    /// `stretch` instead of as many now.
    pub(super) fn may_reorder(&self, at: At, from: usize, stretch: impl Iterator<Item = u8>) -> bool {
        if !self.is_plain(at) {
            return true;
        }
        let (head, trip) = (self.head(at.pass), self.trip(at));
        let before = if from == 0 { self.stand_before_places(head, trip) } else { self.stand(head, trip, trip.order[from - 1]) };
        let (mut now, mut then) = ((before, 0), (before, 0));
        let step = |(stand, ways): (HeadState, i64), s: u8| {
            let to = self.stand(head, trip, s);
            (to, ways + self.timing.step(head, stand, to, trip.cells[usize::from(s)].task, 100))
        };
        let mut next = from;
        for s in stretch {
            now = step(now, trip.order[next]);
            then = step(then, s);
            next += 1;
        }
        let out = |(stand, ways): (HeadState, i64)| match trip.order.get(next) {
            Some(s) => step((stand, ways), *s).1,
            None => ways + self.way_out(at, stand),
        };
        out(then) - out(now) <= self.limit
    }

    /// Whether a trip's ways can be judged by themselves.
    pub(super) fn is_plain(&self, at: At) -> bool {
        !self.is_inline(at.pass) && self.trip(at).tasks().all(|t| self.percents[t.index()] >= 100)
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

    /// Ways around the placement of a spindle, if it placed this.
    fn around_place(&self, at: At, cell: Cell) -> i64 {
        let (head, trip) = (self.head(at.pass), self.trip(at));
        let Some(k) = trip.order.iter().position(|s| *s == at.spindle) else { return 0 };
        let here = self.timing.stand(head, at.spindle, cell.task);
        let before = match k.checked_sub(1) {
            Some(before) => self.stand(head, trip, trip.order[before]),
            None if trip.picks.last() == Some(&at.spindle) => {
                self.timing.sighted(head, trip, self.timing.pocket(&self.state.setup, (cell.supply, at.spindle)))
            }
            None => self.stand_before_places(head, trip),
        };
        let way_in = self.timing.step(head, before, here, cell.task, 100);
        way_in
            + match trip.order.get(k + 1) {
                Some(s) => self.timing.step(head, here, self.stand(head, trip, *s), trip.cells[usize::from(*s)].task, 100),
                None => self.way_out(at, here),
            }
    }

    /// Ways around the pick of a spindle, if it picked this.
    fn around_pick(&self, at: At, cell: Cell) -> i64 {
        let (head, trip, setup) = (self.head(at.pass), self.trip(at), &self.state.setup);
        let Some(k) = trip.picks.iter().position(|s| *s == at.spindle) else { return 0 };
        let spindle = |k: usize| (trip.cells[usize::from(trip.picks[k])].supply, trip.picks[k]);
        let mine = (cell.supply, at.spindle);
        let way_in = if k == 0 {
            let before = self.before(at.pass, at.trip).map(|b| self.timing.end(head, &self.trips(at.pass)[b as usize]));
            before.map_or(0, |end| self.timing.lead(head, end, self.timing.pocket(setup, mine)))
        } else {
            self.timing.between_picks(head, setup, spindle(k - 1), mine)
        };
        let way_out = if k + 1 < trip.picks.len() {
            self.timing.between_picks(head, setup, mine, spindle(k + 1))
        } else {
            let last = self.timing.pocket(setup, mine);
            let end = self.timing.sighted(head, trip, last);
            self.timing.way_to_sight(head, last)
                + trip
                    .order
                    .first()
                    // If it is placed first, the way there counts with its place.
                    .filter(|s| **s != at.spindle)
                    .map_or(0, |s| self.timing.step(head, end, self.stand(head, trip, *s), trip.cells[usize::from(*s)].task, 100))
        };
        way_in + way_out
    }
}
