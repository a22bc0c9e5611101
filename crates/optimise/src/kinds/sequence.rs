//! The order of a turret's beats, by local search on the clock's own pieces of a beat.
//!
//! A beat takes the longest of index, table, carriage and the advance of a feeder picked twice in a row, then its
//! strokes, which do not depend on the order. So a change of some steps changes only the beats that pick or place them
//! and the one after each. (A feeder that advances for longer than a beat may make the clock's figure longer;
//! the station is timed on the clock afterwards.)
//!
//! Simulated annealing as in [`crate::search`].

use super::slots::Slots;
use super::stand_in::StandIns;
use crate::problem::Problem;
use crate::search::Heat;
use domain::job::TaskId;
use domain::line::Line;
use domain::plan::SupplyAt;
use motion::{DrumClock, StationClock, TaskRow};
use units::{Length, Point, Time};

/// One part picked and placed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Step {
    pub(super) task: TaskId,
    pub(super) supply: u32,
}

/// How far a step is moved, and how long a stretch is turned round, at most.
const REACH: usize = 30;
/// Near placements kept for each.
const NEAR: usize = 8;
/// Placements beside each along X that are looked at for near ones.
const WINDOW: usize = 60;
/// One move in so many is one of a feeder, which every beat is timed for.
const FEEDERS: u32 = 60;

/// Steps under search.
pub(super) struct Beats<'s> {
    p: &'s Problem<'s>,
    axes: &'s StationClock,
    drum: &'s DrumClock,
    rows: &'s [TaskRow],
    xs: Vec<Length>,
    advance: Vec<Time>,
    /// What lies between picks from two supplies: the carriage's way, or the feeder's advance.
    between: Vec<i64>,
    list: Vec<Step>,
    start: Point,
    /// Whether any part slows the drum.
    delicate: bool,
    /// Whether any step is in a pair of the order rules.
    paired: bool,
    /// Position of each task of the job; [`Beats::ELSEWHERE`] for those of other passes.
    at: Vec<u32>,
}

impl<'s> Beats<'s> {
    const ELSEWHERE: u32 = u32::MAX;

    pub(super) fn new(
        p: &'s Problem<'s>,
        s: &'s StandIns<'_>,
        station: usize,
        supplies: &[SupplyAt],
        xs: Vec<Length>,
        list: Vec<Step>,
        start: Point,
    ) -> Self {
        let axes = s.clock.station(station);
        let rows = s.clock.tasks();
        let advance = |x: &SupplyAt| s.clock.supply_row(station, x).map_or(Time::ZERO, |r| r.advance);
        let mut beats = Self {
            p,
            axes,
            drum: axes.drum().expect("a turret has a drum"),
            rows,
            xs,
            advance: supplies.iter().map(advance).collect(),
            between: vec![0; supplies.len() * supplies.len()],
            delicate: list.iter().any(|x| rows[x.task.index()].percent < 100),
            paired: list.iter().any(|x| p.order.is_paired(x.task)),
            at: vec![Self::ELSEWHERE; rows.len()],
            list,
            start,
        };
        (0..beats.xs.len()).for_each(|k| beats.refresh(k));
        beats.note(0, beats.list.len());
        beats
    }

    pub(super) fn into_list(self) -> Vec<Step> {
        self.list
    }

    fn note(&mut self, from: usize, to: usize) {
        for k in from..to {
            self.at[self.list[k].task.index()] = k as u32;
        }
    }

    /// Ways of the carriage to and from a feeder that was moved.
    fn refresh(&mut self, supply: usize) {
        let n = self.xs.len();
        for other in 0..n {
            let way = if other == supply { self.advance[supply] } else { self.drum.carriage(self.xs[supply], self.xs[other]) };
            self.between[supply * n + other] = way.0;
            self.between[other * n + supply] = way.0;
        }
    }

    fn point(&self, k: usize) -> Point {
        self.rows[self.list[k].task.index()].at
    }

    /// A beat up to its strokes [µs].
    fn beat(&self, k: usize) -> i64 {
        let (n, gap) = (self.list.len(), self.drum.gap());
        let percent = if self.delicate {
            let aboard = &self.list[k.saturating_sub(gap).min(n)..k.min(n)];
            aboard.iter().map(|x| self.rows[x.task.index()].percent).min().unwrap_or(100)
        } else {
            100
        };
        let placed = k.checked_sub(gap).filter(|i| *i < n);
        let mut longest = self.drum.indexed(placed.map_or(0, |i| self.rows[self.list[i].task.index()].turn), percent);
        match placed {
            Some(0) if gap == 0 => longest = longest.max(self.drum.table(self.axes, self.start, self.point(0))),
            Some(i) if i > 0 => longest = longest.max(self.drum.table(self.axes, self.point(i - 1), self.point(i))),
            _ => {}
        }
        if k > 0 && k < n {
            let (a, b) = (self.list[k - 1].supply as usize, self.list[k].supply as usize);
            return longest.0.max(self.between[a * self.xs.len() + b]);
        }
        longest.0
    }

    /// Beats `from` to `to`, those behind the end left out [µs].
    fn beats(&self, from: usize, to: usize) -> i64 {
        (from..to.min(self.list.len() + self.drum.gap())).map(|k| self.beat(k)).sum()
    }

    /// Anneals for `tries` moves, those of feeders included where `slots` are given.
    pub(super) fn anneal(&mut self, tries: u32, heat: Heat, mut slots: Option<&mut Slots>, real: (&Line, usize), seed: u64) {
        let n = self.list.len();
        if n < 2 || tries == 0 {
            return;
        }
        let near = self.near();
        let mut rng = fastrand::Rng::with_seed(seed);
        let cooling = (heat.to / heat.from).powf(1.0 / f64::from(tries));
        let mut now = heat.from;
        for _ in 0..tries {
            now *= cooling;
            // How much worse is accepted is drawn first.
            let loss = (-now * rng.f64().max(1e-300).ln()) as i64;
            let i = rng.usize(..n);
            let towards = &near[self.list[i].task.index()];
            let j = match rng.u32(..10) {
                0..=6 if !towards.is_empty() => self.at[towards[rng.usize(..towards.len())].index()] as usize,
                _ => rng.usize(i.saturating_sub(REACH)..(i + REACH).min(n)),
            };
            match slots.as_deref_mut() {
                Some(slots) if rng.u32(..FEEDERS) == 0 => {
                    self.move_feeder(slots, self.list[i].supply as usize, self.list[j].supply as usize, real, &mut rng, loss);
                }
                _ => self.move_steps(i, j, &mut rng, loss),
            }
        }
    }

    /// Changes the order between two positions, unless that breaks a pair or takes more than `loss` longer.
    fn move_steps(&mut self, i: usize, j: usize, rng: &mut fastrand::Rng, loss: i64) {
        let gap = self.drum.gap();
        let (lo, hi, kind) = (i.min(j), i.max(j), rng.u32(..3));
        if lo == hi || (kind < 2 && hi - lo > REACH) {
            return;
        }
        // An exchange of far steps touches the beats that pick and place each; everything else one stretch of both.
        let apart = hi - lo > 2 * gap + 4 && kind == 2;
        let touched: &[(usize, usize)] = if apart { &[(lo, lo + gap + 2), (hi, hi + gap + 2)] } else { &[(lo, hi + gap + 2)] };
        let time = |s: &Self| touched.iter().map(|(a, b)| s.beats(*a, *b)).sum::<i64>();
        let before = time(self);
        self.change(kind, lo, hi, i < j);
        let worse = time(self) - before > loss;
        if !worse && self.paired {
            self.note(lo, hi + 1);
        }
        if worse || !self.pairs_hold(lo, hi) {
            self.change(kind, lo, hi, i > j);
        }
        self.note(lo, hi + 1);
    }

    /// 0 turns a stretch round, 1 moves one end of it to the other, 2 exchanges its ends. Undone by itself,
    /// moving with the other direction.
    fn change(&mut self, kind: u32, lo: usize, hi: usize, forward: bool) {
        match kind {
            0 => self.list[lo..=hi].reverse(),
            1 if forward => self.list[lo..=hi].rotate_left(1),
            1 => self.list[lo..=hi].rotate_right(1),
            _ => self.list.swap(lo, hi),
        }
    }

    /// Whether the steps of a stretch keep the pairs of the order rules with the steps around.
    fn pairs_hold(&self, lo: usize, hi: usize) -> bool {
        let at = |t: &TaskId| self.at[t.index()];
        let holds = |x: &Step| {
            let mine = at(&x.task);
            let first = self.p.order.before(x.task).iter().map(at);
            let then = self.p.order.after(x.task).iter().map(at);
            first.into_iter().all(|b| b == Self::ELSEWHERE || b < mine) && then.into_iter().all(|a| a > mine)
        };
        !self.paired || self.list[lo..=hi].iter().all(holds)
    }

    /// Moves a feeder beside another or exchanges them, unless that takes more than `loss` longer.
    fn move_feeder(&mut self, slots: &mut Slots, a: usize, b: usize, (line, station): (&Line, usize), rng: &mut fastrand::Rng, loss: i64) {
        if !slots.is_free(a) {
            return;
        }
        let old = slots.place(a);
        let exchanged = rng.bool();
        let moved = if exchanged {
            slots.exchange(a, b)
        } else {
            let (bank, slot) = slots.place(b);
            slots.shift(a, (bank, (slot + rng.u32(..7)).saturating_sub(3)))
        };
        if !moved {
            return;
        }
        let n = self.list.len();
        let before = self.beats(0, n);
        self.stand(slots, line, station, [a, b]);
        if self.beats(0, n) - before > loss {
            if exchanged {
                slots.exchange(a, b);
            } else {
                slots.shift(a, old);
            }
            self.stand(slots, line, station, [a, b]);
        }
    }

    /// Feeders stand where the slots say.
    fn stand(&mut self, slots: &Slots, line: &Line, station: usize, feeders: [usize; 2]) {
        for k in feeders {
            self.xs[k] = slots.x(line, station, k);
        }
        feeders.into_iter().for_each(|k| self.refresh(k));
    }

    /// Near placements of each task of the list, nearest first.
    fn near(&self) -> Vec<Vec<TaskId>> {
        let mut by_x: Vec<(Length, usize)> = (0..self.list.len()).map(|k| (self.point(k).x, k)).collect();
        by_x.sort_unstable();
        let mut near = vec![Vec::new(); self.rows.len()];
        for (i, (_, k)) in by_x.iter().enumerate() {
            let window = &by_x[i.saturating_sub(WINDOW)..(i + WINDOW + 1).min(by_x.len())];
            let far = |j: usize| {
                let d = self.point(j) - self.point(*k);
                d.x.0.abs().max(d.y.0.abs())
            };
            let mut found: Vec<(i64, TaskId)> = window.iter().filter(|(_, j)| j != k).map(|(_, j)| (far(*j), self.list[*j].task)).collect();
            found.sort_unstable();
            near[self.list[*k].task.index()] = found.into_iter().take(NEAR).map(|(_, t)| t).collect();
        }
        near
    }
}
