//! Whether a move is worth timing: its ways alone, added up before anything is changed.
//!
//! Most moves lead to longer ways by far, and their full timing would only say so more precisely. The ways around what a
//! move would change are looked up and compared, each at the percent of the most delicate part aboard. Left out are waits for feeders,
//! but for picks from one in a row, ways by the nozzle rack, and those into the first trip of a pass and out of its last. Exchanges
//! between trips that follow each other count the way between them twice. Inline heads, and spindles that would get a part of another
//! speed, are not judged; such moves are timed.

use super::{At, Search};
use crate::station::timing::SPINDLES;
use crate::station::{Cell, TripState};
use domain::job::TaskId;
use motion::HeadState;

/// Other work for some spindles of a trip, which keep their turns in picking and placing.
#[derive(Clone)]
pub(super) struct Other {
    spindles: u32,
    cells: [Cell; SPINDLES],
}

impl Other {
    /// For no spindle yet.
    pub(super) fn none() -> Self {
        Self { spindles: 0, cells: [Cell::IDLE; SPINDLES] }
    }

    /// For one spindle.
    pub(super) fn one(spindle: u8, cell: Cell) -> Self {
        let mut other = Self::none();
        other.set(spindle, cell);
        other
    }

    /// For one spindle more.
    pub(super) fn set(&mut self, spindle: u8, cell: Cell) {
        self.spindles |= 1 << spindle;
        self.cells[usize::from(spindle)] = cell;
    }

    /// The spindles and what they would do.
    pub(super) fn each(&self) -> impl Iterator<Item = (u8, Cell)> + '_ {
        each_bit(self.spindles.into()).map(|s| (s as u8, self.cells[s]))
    }

    fn has(&self, spindle: u8) -> bool {
        self.spindles >> spindle & 1 == 1
    }

    fn of(&self, trip: &TripState, spindle: u8) -> Cell {
        if self.has(spindle) { self.cells[usize::from(spindle)] } else { trip.cells[usize::from(spindle)] }
    }
}

/// Ways of a sequence of picks or placements: bit `k` is the way to the `k`th, the last one that from there on.
type Ways = u64;

/// The ways to the `k`th and from there.
fn around(k: usize) -> Ways {
    0b11 << k
}

/// A spindle whose turn it is, and what it does.
type Turn = (u8, Cell);

impl Search<'_> {
    /// Whether other work in some trips may be within what the move may cost.
    pub(super) fn may_change(&self, changes: &[(At, Other)]) -> bool {
        if changes.iter().any(|(at, other)| !self.keeps_paces(*at, other)) {
            return true;
        }
        let mut cost: i64 = changes.iter().map(|(at, other)| self.longer_places(*at, other.spindles, self.in_place_of(*at, other))).sum();
        let picks_anew =
            |(at, other): &&(At, Other)| other.each().any(|(s, cell)| cell.supply != self.cell(At { spindle: s, ..*at }).supply);
        // Picks gain at most their ways as they are now.
        let picks = || changes.iter().filter(picks_anew).map(|(at, other)| (at, other, self.around_picks(*at, other.spindles)));
        cost -= picks().map(|(at, _, ways)| self.ways_of_picks(*at, ways, self.now(*at))).sum::<i64>();
        cost <= self.limit && {
            cost += picks().map(|(at, other, ways)| self.ways_of_picks(*at, ways, self.in_place_of(*at, other))).sum::<i64>();
            cost <= self.limit
        }
    }

    /// Whether the exchange of two spindles of a trip, which do each other's work in its old turn, may be within what the move may cost.
    pub(super) fn may_swap_spindles(&self, at: At, other: u8) -> bool {
        if self.is_inline(at.pass) {
            return true;
        }
        let spindles = 1 << at.spindle | 1 << other;
        let now = self.now(at);
        let then = |s: u8| (exchanged(s, at.spindle, other), now(s).1);
        let ways = self.around_picks(at, spindles);
        let placing = self.longer_places(at, spindles, then);
        placing + self.ways_of_picks(at, ways, then) - self.ways_of_picks(at, ways, now) <= self.limit
    }

    /// Whether picking in another order may be within what the move may cost.
    pub(super) fn may_pick(&self, at: At, picks: &[u8]) -> bool {
        let trip = self.trip(at);
        let (head, now) = (self.head(at.pass), self.now(at));
        let changed = trip.picks.iter().zip(picks).enumerate().filter(|(_, (now, then))| now != then);
        let ways = changed.fold(0, |ways, (k, _)| ways | around(k));
        let picking = self.ways_in_turn_of_picks(at, ways, |k| now(picks[k])) - self.ways_of_picks(at, ways, now);
        let placing = match (trip.picks.last(), picks.last()) {
            (Some(was), Some(is)) if was != is => {
                let in_turn = |k: usize| now(trip.order[k]);
                let before = [*was, *is].map(|s| self.after_picks(head, trip, now(s)));
                self.longer_in_turn(at, 1, before, in_turn, in_turn)
            }
            _ => 0,
        };
        picking + placing <= self.limit
    }

    /// How much longer the ways get if a busy spindle does another task, picked from its supply here if there is one [µs];
    /// `None` where ways alone do not tell.
    pub(super) fn longer_by(&self, at: At, task: TaskId) -> Option<i64> {
        let now = self.cell(at);
        let supply = self.state.setup.of_part(self.p.part_of(task)).next();
        let other = Other::one(at.spindle, Cell { task, supply: supply.unwrap_or(now.supply) });
        if !self.keeps_paces(at, &other) {
            return None;
        }
        let then = self.in_place_of(at, &other);
        let ways = self.around_picks(at, other.spindles);
        // Where a feeder is still to be set up, the way to it may be next to nothing.
        let picking = supply.map_or(0, |_| self.ways_of_picks(at, ways, then)) - self.ways_of_picks(at, ways, self.now(at));
        Some(self.longer_places(at, other.spindles, then) + picking)
    }

    /// Whether placing in another order may be within what the move may cost: from position `from` on come the spindles
    /// `stretch` instead of as many now.
    pub(super) fn may_reorder(&self, at: At, from: usize, stretch: impl Iterator<Item = u8>) -> bool {
        if self.is_inline(at.pass) {
            return true;
        }
        let (head, trip) = (self.head(at.pass), self.trip(at));
        let mut then = [0; SPINDLES];
        let mut end = from;
        for s in stretch {
            then[end] = s;
            end += 1;
        }
        let now = self.now(at);
        let ways = (from..end).fold(0, |ways, k| ways | around(k));
        let Some(last) = trip.picks.last() else { return true };
        let before = self.after_picks(head, trip, now(*last));
        let in_turn = |k: usize| now(trip.order[k]);
        let anew = |k: usize| if (from..end).contains(&k) { now(then[k]) } else { in_turn(k) };
        self.longer_in_turn(at, ways, [before; 2], in_turn, anew) <= self.limit
    }

    /// Whether ways alone tell what a trip takes with other work: the parts allow the same speed as those before, spindle by spindle.
    pub(super) fn keeps_paces(&self, at: At, other: &Other) -> bool {
        let percent = |cell: Cell| self.percents[cell.task.index()];
        let trip = self.trip(at);
        !self.is_inline(at.pass) && other.each().all(|(s, cell)| percent(cell) == percent(trip.cells[usize::from(s)]))
    }

    /// What each spindle of a trip does.
    fn now(&self, at: At) -> impl Fn(u8) -> Turn + Copy + '_ {
        let trip = self.trip(at);
        move |s| (s, trip.cells[usize::from(s)])
    }

    /// What each spindle of a trip would do.
    fn in_place_of<'s>(&'s self, at: At, other: &'s Other) -> impl Fn(u8) -> Turn + Copy + 's {
        let trip = self.trip(at);
        move |s| (s, other.of(trip, s))
    }

    /// Ways around the picks of these spindles.
    fn around_picks(&self, at: At, spindles: u32) -> Ways {
        ways_around(&self.trip(at).picks, spindles)
    }

    /// Where the head stands after the last pick, and after measuring if it has to go somewhere for that.
    fn after_picks(&self, head: usize, trip: &TripState, (spindle, cell): Turn) -> HeadState {
        self.timing.sighted(head, trip, self.timing.pocket(&self.state.setup, (cell.supply, spindle)))
    }

    /// How much longer the ways around the placements of these spindles get.
    fn longer_places(&self, at: At, spindles: u32, then: impl Fn(u8) -> Turn) -> i64 {
        let (head, trip, now) = (self.head(at.pass), self.trip(at), self.now(at));
        let Some(last) = trip.picks.last() else { return 0 };
        // The way to the first placement changes with the last pick, too.
        let ways = ways_around(&trip.order, spindles) | Ways::from(spindles >> *last & 1);
        let before = [now(*last), then(*last)].map(|turn| self.after_picks(head, trip, turn));
        self.longer_in_turn(at, ways, before, |k| now(trip.order[k]), |k| then(trip.order[k]))
    }

    /// How much longer some ways of the placements of a trip get, if instead of coming from the first of two stands and placing as
    /// `now` says it comes from the second and places as `then` says: which spindle comes when with what.
    fn longer_in_turn(&self, at: At, ways: Ways, before: [HeadState; 2], now: impl Fn(usize) -> Turn, then: impl Fn(usize) -> Turn) -> i64 {
        let (head, n) = (self.head(at.pass), self.trip(at).order.len());
        let stand = |(spindle, cell): Turn| self.timing.stand(head, spindle, cell.task);
        let step = |k: usize, paces: [u8; 2]| {
            let here = [now(k), then(k)];
            let from = if k > 0 { [now(k - 1), then(k - 1)].map(stand) } else { before };
            let [was, is] = [0, 1].map(|i| self.timing.step(head, from[i], stand(here[i]), here[i].1.task, paces[i]));
            is - was
        };
        let mut longer = 0;
        let placing = ways & !(1 << n);
        if self.is_at_full_speed(at) {
            longer += each_bit(placing).map(|k| step(k, [100; 2])).sum::<i64>();
        } else {
            let mut paces = [100; 2];
            for k in (placing.trailing_zeros() as usize..n).rev() {
                paces = [self.pace_with(paces[0], now(k)), self.pace_with(paces[1], then(k))];
                if placing >> k & 1 == 1 {
                    longer += step(k, paces);
                }
            }
        }
        if ways >> n & 1 == 1
            && let Some(next) = self.after(at.pass, at.trip)
        {
            let first = self.timing.first(head, &self.state.setup, &self.trips(at.pass)[next as usize]);
            longer += self.timing.lead(head, stand(then(n - 1)), first) - self.timing.lead(head, stand(now(n - 1)), first);
        }
        longer
    }

    /// Some ways of the picks of a trip, the one to where it is measured included.
    fn ways_of_picks(&self, at: At, ways: Ways, turn: impl Fn(u8) -> Turn) -> i64 {
        let trip = self.trip(at);
        self.ways_in_turn_of_picks(at, ways, |k| turn(trip.picks[k]))
    }

    /// As [`Search::ways_of_picks`], `turn` saying which spindle comes when with what.
    fn ways_in_turn_of_picks(&self, at: At, ways: Ways, turn: impl Fn(usize) -> Turn) -> i64 {
        let (head, setup, n) = (self.head(at.pass), &self.state.setup, self.trip(at).picks.len());
        let from = |k: usize| {
            let (spindle, cell) = turn(k);
            (cell.supply, spindle)
        };
        let way = |k: usize, pace: u8| {
            if k > 0 {
                return self.timing.between_picks(head, setup, from(k - 1), from(k), pace);
            }
            let before = self.before(at.pass, at.trip).map(|b| self.timing.end(head, &self.trips(at.pass)[b as usize]));
            before.map_or(0, |end| self.timing.lead(head, end, self.timing.pocket(setup, from(0))))
        };
        let picking = ways & !(1 << n);
        let mut sum = 0;
        if self.is_at_full_speed(at) {
            sum += each_bit(picking).map(|k| way(k, 100)).sum::<i64>();
        } else {
            let mut pace = 100;
            for k in 0..n.min(64 - picking.leading_zeros() as usize) {
                if picking >> k & 1 == 1 {
                    sum += way(k, pace);
                }
                pace = self.pace_with(pace, turn(k));
            }
        }
        if ways >> n & 1 == 1 {
            sum += self.timing.way_to_sight(
                head,
                self.timing.pocket(setup, from(n - 1)),
                self.pieces[at.pass as usize][at.trip as usize].pace,
            );
        }
        sum
    }

    /// Whether no part aboard a trip asks for less than full speed.
    fn is_at_full_speed(&self, at: At) -> bool {
        self.pieces[at.pass as usize][at.trip as usize].pace == 100
    }

    /// Percent with one more part aboard.
    fn pace_with(&self, pace: u8, (_, cell): Turn) -> u8 {
        pace.min(self.percents[cell.task.index()])
    }
}

/// The spindle that does a spindle's work once two of them have been exchanged.
pub(super) fn exchanged(spindle: u8, a: u8, b: u8) -> u8 {
    match spindle {
        s if s == a => b,
        s if s == b => a,
        s => s,
    }
}

/// The bits that are set.
fn each_bit(mut bits: u64) -> impl Iterator<Item = usize> {
    std::iter::from_fn(move || {
        let bit = bits.trailing_zeros() as usize;
        bits &= bits.wrapping_sub(1);
        (bit < 64).then_some(bit)
    })
}

/// Ways around the turns of these spindles in a sequence.
fn ways_around(sequence: &[u8], spindles: u32) -> Ways {
    sequence.iter().enumerate().filter(|(_, s)| spindles >> **s & 1 == 1).fold(0, |ways, (k, _)| ways | around(k))
}
