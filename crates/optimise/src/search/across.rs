//! Annealing the stations of a line together: work changes hands at the price of one move.
//!
//! A task goes onto an idle spindle of another station, or two tasks of two stations change places. A part that the
//! new station does not supply yet gets a feeder in the slots of one that is no longer picked from, or near the other
//! feeders of its new trip, unless the set-up is held, or the line is large and the stations are about as fast. Work that pairs, dots,
//! inspections or locks bind to a place stays where it is.

use super::near::Near;
use super::{At, Heat, Search};
use crate::problem::Problem;
use crate::station::StationState;
use crate::station::passes::may_alternate;
use domain::job::TaskId;

/// Moves of a thousand that hand work over: most of these lead to nothing, for they need room and the right nozzle.
const HANDED: u32 = 150;
/// How much a station counts however far it is from the slowest; the rest of its weight falls off with [`NEAR`].
const LEAST_WEIGHT: f64 = 0.2;
/// A station faster than the slowest by this has lost two thirds of the rest of its weight [µs].
const NEAR: f64 = 150_000.0;
/// A station slower than the slowest by more than so many times [`NEAR`] costs as much as one that is as slow.
const FARTHEST: f64 = 30.0;

/// A station that is faster than another by one in so many relieves it at the price of new feeders, also on a large line.
const RELIEVES: i64 = 100;

/// Stations searched together.
pub(crate) struct Across<'p> {
    p: &'p Problem<'p>,
    pub(super) searches: Vec<Search<'p>>,
    /// Near neighbours among the tasks of all stations.
    near: Near,
    /// Station of each task of the job; [`usize::MAX`] for work that stays where it is.
    of_task: Vec<usize>,
    /// Feeders of each kind that are left.
    pub(super) feeders: Vec<u32>,
    /// The slowest station that is not among these [µs].
    beside: i64,
    /// Whether stations that are about as fast hand over only work whose parts stand at both: on a large line that costs next to
    /// nothing and spares feeders.
    pub(super) spares_feeders: bool,
    rng: fastrand::Rng,
}

/// What the other stations of the line leave to those that are searched together.
#[derive(Clone, Debug)]
pub(crate) struct Beside {
    /// Feeders of each kind that may stand at them.
    pub feeders: Vec<u32>,
    /// The slowest of the others [µs].
    pub slowest: i64,
}

/// Whether work of a line can change hands move by move: each station is timed by itself, and its set-up is free or held as it
/// is, with nothing standing there that a re-plan spares.
pub(crate) fn is_possible(p: &Problem<'_>, stations: &[StationState]) -> bool {
    p.stand_ins.is_none() && p.standing.is_empty() && stations.iter().filter(|s| s.placed() > 0).count() > 1
}

impl<'p> Across<'p> {
    /// Begins with stations of a line.
    pub(crate) fn new(p: &'p Problem<'p>, stations: Vec<StationState>, beside: Beside, seed: u64) -> Self {
        let mut of_task = vec![usize::MAX; p.job.tasks.len()];
        let is_bound = |t: TaskId| {
            p.order.is_paired(t) || p.order.dots.contains_key(&t) || !p.order.looks(t).is_empty() || p.lock(p.part_of(t)).is_some()
        };
        let mut all = Vec::new();
        for (k, s) in stations.iter().enumerate() {
            for (_, t) in s.tasks() {
                all.push(t);
                if !is_bound(t) {
                    of_task[t.index()] = k;
                }
            }
        }
        let searches: Vec<Search<'p>> =
            stations.into_iter().enumerate().map(|(k, s)| Search::new(p, s, crate::planner::mix(seed, 31, k as u64))).collect();
        Self {
            p,
            searches,
            near: Near::new(p, &all),
            of_task,
            feeders: beside.feeders,
            beside: beside.slowest,
            spares_feeders: p.is_large(),
            rng: fastrand::Rng::with_seed(seed),
        }
    }

    /// Tries `tries` moves on all stations together.
    pub(crate) fn anneal(&mut self, tries: u32, heat: Heat) {
        let cooling = (heat.to / heat.from).powf(1.0 / f64::from(tries.max(1)));
        let all: usize = self.searches.iter().map(|s| s.tasks.len()).sum();
        if all < 2 {
            return;
        }
        let mut now = heat.from;
        for _ in 0..tries {
            now *= cooling;
            let loss = -now * self.rng.f64().max(1e-300).ln();
            // Stations by their number of tasks.
            let mut n = self.rng.usize(..all);
            let drawn = self.searches.iter().position(|s| {
                let here = n < s.tasks.len();
                n = n.saturating_sub(s.tasks.len());
                here
            });
            let Some(k) = drawn else { continue };
            if self.rng.u32(..1000) < HANDED {
                self.hand_over(k, loss);
            } else {
                let limit = loss / self.weight(k);
                std::mem::swap(&mut self.feeders, &mut self.searches[k].stock);
                if self.searches[k].try_move(limit as i64).is_some() && self.cost(&[k]) > self.searches[k].loss_allowed(loss as i64) as f64
                {
                    self.searches[k].roll_back();
                }
                std::mem::swap(&mut self.feeders, &mut self.searches[k].stock);
            }
        }
    }

    /// At least how much a second more of a station costs: the nearer to the slowest of the line, the more.
    fn weight(&self, k: usize) -> f64 {
        let slowest = self.searches.iter().map(|s| s.sums.total).fold(self.beside, i64::max);
        LEAST_WEIGHT + (1.0 - LEAST_WEIGHT) * ((self.searches[k].sums.total - slowest) as f64 / NEAR).exp()
    }

    /// What the change of these stations costs [µs]: the nearer to the slowest of the line, the more a station counts.
    fn cost(&self, changed: &[usize]) -> f64 {
        let before = |s: &Search<'_>| s.sums.total - s.worse();
        let times = self.searches.iter().enumerate().map(|(k, s)| if changed.contains(&k) { before(s) } else { s.sums.total });
        let slowest = times.fold(self.beside, i64::max);
        let weigh = |time: i64| {
            let over = (time - slowest) as f64;
            LEAST_WEIGHT * over + (1.0 - LEAST_WEIGHT) * NEAR * (over / NEAR).min(FARTHEST).exp()
        };
        changed.iter().map(|k| weigh(self.searches[*k].sums.total) - weigh(before(&self.searches[*k]))).sum()
    }

    /// Tries to give a task of a station to another one, in exchange for another task if the spindle there has one.
    pub(super) fn hand_over(&mut self, a: usize, loss: f64) {
        let here = &self.searches[a];
        let t = here.tasks[self.rng.usize(..here.tasks.len())];
        let from = here.at[t.index()];
        if self.of_task[t.index()] != a {
            return;
        }
        let Some((b, to)) = self.target(a, t) else { return };
        let there = self.searches[b].cell(to);
        let back = there.busy().then_some(there.task);
        let is_new = || !self.searches[b].supplies(t) || back.is_some_and(|u| !self.searches[a].supplies(u));
        if !self.may_add_feeders(a, b) && is_new() {
            return;
        }
        let may_go = self.searches[b].may(t, to);
        if !may_go || back.is_some_and(|u| self.of_task[u.index()] != b || !self.searches[a].may(u, from)) {
            return;
        }
        if let Some(u) = back {
            let ways = |k: usize, at, task| self.searches[k].longer_by(at, task).map(|l| self.weight(k) * l as f64);
            if ways(a, from, u).zip(ways(b, to, t)).is_some_and(|(x, y)| x + y > loss) {
                return;
            }
        }
        let [x, y] = self.searches.get_disjoint_mut([a, b]).expect("two stations");
        let position = self.rng.usize(..=y.trip(to).order.len());
        let mut changes = [x.begin_hand_over(Some(t)), y.begin_hand_over(back)];
        let is_made = y.take_in(t, to, position, &mut changes[1], &mut self.feeders)
            && match back {
                Some(u) => x.take_in(u, from, 0, &mut changes[0], &mut self.feeders),
                None => {
                    x.leave_idle(from);
                    true
                }
            };
        let is_kept = is_made && {
            x.retime();
            y.retime();
            self.cost(&[a, b]) <= loss
        };
        if is_kept {
            self.of_task[t.index()] = b;
            back.into_iter().for_each(|u| self.of_task[u.index()] = a);
        } else {
            for (k, change) in [a, b].into_iter().zip(changes) {
                self.searches[k].take_back(change, &mut self.feeders);
            }
        }
    }

    /// Whether work may go from one station to another, and other work back, that is not supplied there yet.
    pub(super) fn may_add_feeders(&self, from: usize, to: usize) -> bool {
        let [from, to] = [from, to].map(|k| self.searches[k].sums.total);
        !self.spares_feeders || (from - to) * RELIEVES > from
    }

    /// A spindle of another station for a task: mostly in the trip of a near neighbour.
    fn target(&mut self, a: usize, t: TaskId) -> Option<(usize, At)> {
        let near = self.near.of(t);
        if self.rng.u32(..4) > 0 && !near.is_empty() {
            let n = near[self.rng.usize(..near.len()).min(self.rng.usize(..near.len()))];
            let b = self.of_task[n.index()];
            if b == a || b == usize::MAX {
                return None;
            }
            let at = self.searches[b].at[n.index()];
            return self.spindle_of(b, at.pass, at.trip);
        }
        if self.searches.len() < 2 {
            return None;
        }
        let mut b = self.rng.usize(..self.searches.len() - 1);
        b += usize::from(b >= a);
        let passes = self.searches[b].state.passes.len();
        let pass = if passes > 0 { self.rng.usize(..passes) } else { return None };
        let trips = self.searches[b].trips(pass as u32).len();
        let trip = if trips > 0 { self.rng.usize(..trips) } else { return None };
        self.spindle_of(b, pass as u32, trip as u32)
    }

    /// A spindle of a trip: as often an idle one as a busy one, where there are both.
    fn spindle_of(&mut self, b: usize, pass: u32, trip: u32) -> Option<(usize, At)> {
        let cells = &self.searches[b].trips(pass)[trip as usize].cells;
        let want_idle = self.rng.bool();
        let fits = cells.iter().enumerate().filter(|(_, c)| c.busy() != want_idle);
        let found: Vec<usize> = fits.map(|f| f.0).collect();
        let spindle = if found.is_empty() { self.rng.usize(..cells.len()) } else { found[self.rng.usize(..found.len())] };
        Some((b, At { pass, trip, spindle: spindle as u8 }))
    }

    /// The stations, trips of at most `most` placements ordered exactly, with their times.
    pub(crate) fn finish(self, most: usize) -> Vec<StationState> {
        let p = self.p;
        let finished = self.searches.into_iter().map(|s| {
            let mut s = s.finish(most);
            let alternating = may_alternate(p, &s);
            if alternating != s.alternating {
                s.alternating = alternating;
                s.time = crate::station::export::export(p, &s).time_us;
            }
            s
        });
        finished.collect()
    }
}
