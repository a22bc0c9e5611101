//! Local search on one station, on the exact clock.
//!
//! [`Search`] anneals a station's state by the moves of [`moves`]; a move changes a few trips, and only
//! those (and the trip after each, whose way begins elsewhere) are timed again. [`polish`] then orders
//! each trip's placements exactly. [`together`] searches programs that stand on one set-up.
//!
//! Simulated annealing: Kirkpatrick, Gelatt, Vecchi, Science 220 (1983), from memory.

mod moves;
mod polish;
mod propose;
mod together;

pub(crate) use together::anneal_together;

use crate::problem::Problem;
use crate::station::StationState;
use crate::station::timing::{Timer, before_trip, time_all};
use domain::job::TaskId;
use moves::Move;
use units::Time;

/// Where a task is done: pass, trip, spindle.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct At {
    pub pass: u32,
    pub trip: u32,
    pub spindle: u8,
}

/// A station under search.
pub struct Search<'p> {
    p: &'p Problem<'p>,
    /// The state.
    pub state: StationState,
    timer: Timer,
    rng: fastrand::Rng,
    /// Tasks of the station.
    tasks: Vec<TaskId>,
    /// Where each task of the job is done here.
    at: Vec<At>,
    /// Near neighbours of each of `tasks`.
    near: Vec<Vec<TaskId>>,
    /// Tasks of each part.
    of_part: Vec<Vec<TaskId>>,
    /// Position of each task in `tasks`.
    index: Vec<u32>,
    /// Feeders that may be moved.
    movable: Vec<u32>,
    /// Sum of the trips' times.
    sum: Time,
    dirty: Vec<(u32, u32)>,
    before: Vec<(u32, u32, Time)>,
}

/// How hot an annealing begins and ends [µs of time that is accepted as loss now and then].
#[derive(Clone, Copy, Debug)]
pub struct Heat {
    /// At the beginning.
    pub from: f64,
    /// At the end.
    pub to: f64,
}

impl<'p> Search<'p> {
    /// Begins with a state.
    pub fn new(p: &'p Problem<'p>, mut state: StationState, seed: u64) -> Self {
        let mut timer = Timer::new(state.setup.supplies.len(), p.line.station[state.station].tray.len());
        let sum = time_all(p, &mut state, &mut timer);
        let mut search = Self {
            p,
            timer,
            rng: fastrand::Rng::with_seed(seed),
            tasks: Vec::new(),
            at: vec![At { pass: 0, trip: 0, spindle: 0 }; p.job.tasks.len()],
            near: Vec::new(),
            of_part: vec![Vec::new(); p.job.product.parts.len()],
            index: vec![0; p.job.tasks.len()],
            movable: (0..state.setup.supplies.len() as u32).filter(|s| !state.setup.locked[*s as usize]).collect(),
            sum,
            dirty: Vec::new(),
            before: Vec::new(),
            state,
        };
        search.find_tasks();
        search
    }

    fn find_tasks(&mut self) {
        for (k, pass) in self.state.passes.iter().enumerate() {
            for (i, trip) in pass.trips().iter().enumerate() {
                for s in &trip.order {
                    let task = trip.cells[usize::from(*s)].task;
                    self.index[task.index()] = self.tasks.len() as u32;
                    self.tasks.push(task);
                    self.at[task.index()] = At { pass: k as u32, trip: i as u32, spindle: *s };
                    self.of_part[self.p.part_of(task)].push(task);
                }
            }
        }
        self.near = propose::near_neighbours(self.p, &self.tasks);
    }

    /// Anneals for `tries` moves. Returns how many were accepted.
    pub fn anneal(&mut self, tries: u32, heat: Heat) -> u32 {
        let mut accepted = 0;
        if self.tasks.len() < 2 {
            return 0;
        }
        let cooling = (heat.to / heat.from).powf(1.0 / f64::from(tries.max(1)));
        let mut now = heat.from;
        for _ in 0..tries {
            now *= cooling;
            let Some(m) = self.propose() else { continue };
            let delta = self.apply(m);
            if delta <= 0 || self.rng.f64() < (-(delta as f64) / now).exp() {
                self.sum += Time(delta);
                accepted += 1;
            } else {
                self.undo(m);
            }
        }
        accepted
    }

    /// Applies a move and times what it touches; the difference [µs].
    fn apply(&mut self, m: Move) -> i64 {
        self.dirty.clear();
        self.change(m);
        self.retime()
    }

    fn undo(&mut self, m: Move) {
        self.dirty.clear();
        self.change(m.inverse());
        for (pass, trip, time) in self.before.drain(..) {
            self.state.passes[pass as usize].trips_mut()[trip as usize].time = time;
        }
    }

    /// Times the dirty trips and those that follow them; remembers what they took before.
    fn retime(&mut self) -> i64 {
        let touched = self.dirty.len();
        for k in 0..touched {
            let (pass, trip) = self.dirty[k];
            if (trip as usize + 1) < self.state.passes[pass as usize].trips().len() {
                self.dirty.push((pass, trip + 1));
            }
        }
        self.dirty.sort_unstable();
        self.dirty.dedup();
        self.before.clear();
        let mut delta = 0;
        for k in 0..self.dirty.len() {
            let (pass, trip) = self.dirty[k];
            let from = before_trip(self.p, &self.state, pass as usize, trip as usize);
            let time = self.timer.trip(self.p, &self.state, &self.state.passes[pass as usize], trip as usize, from);
            let slot = &mut self.state.passes[pass as usize].trips_mut()[trip as usize].time;
            self.before.push((pass, trip, *slot));
            delta += time.0 - slot.0;
            *slot = time;
        }
        delta
    }

    /// The state, with its time by the full clock.
    pub fn finish(mut self) -> StationState {
        self.polish();
        self.state.time = crate::station::export::export(self.p, &self.state).time_us;
        self.state
    }
}
