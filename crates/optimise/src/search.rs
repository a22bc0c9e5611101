//! Local search on one station, on the exact clock.
//!
//! [`Search`] anneals a station's state. A move (one file each in [`moves`]) opens the trips it changes
//! ([`journal`] keeps how they were), changes them, and says which pieces have to be timed anew; [`total`]
//! adds the pieces up to exactly what the full clock says. A move that breaks a pair of the order rules or
//! is not accepted is rolled back. [`polish`] then orders each trip's placements exactly.
//! [`together`] searches programs that stand on one set-up, [`across`] the stations of a line, work changing hands.
//!
//! Simulated annealing: Kirkpatrick, Gelatt, Vecchi, Science 220 (1983), from memory.

pub(crate) mod across;
#[cfg(test)]
mod exact;
pub(crate) mod groups;
mod guest;
mod journal;
mod merge;
mod moves;
mod near;
mod pairs;
pub(crate) mod polish;
mod screen;
mod together;
mod total;

pub(crate) use together::anneal_together;

use crate::problem::Problem;
use crate::station::timing::{Ready, Timing};
use crate::station::{Cell, StationState, TripState};
use crate::transfer::drop_unused;
use domain::job::TaskId;
use journal::Journal;
use near::Near;
use total::{Pieces, Sums};
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
    state: StationState,
    timing: Timing<'p>,
    ready: Ready,
    rng: fastrand::Rng,
    /// Tasks of the station.
    tasks: Vec<TaskId>,
    /// Where each task of the job is done here; [`Search::NOWHERE`] for tasks of other stations.
    at: Vec<At>,
    near: Near,
    /// Tasks of each part.
    of_part: Vec<Vec<TaskId>>,
    /// Feeders and trays that may be moved.
    movable: Vec<u32>,
    /// Feeders of each kind that may be set up beside the one a part has; none unless given.
    stock: Vec<u32>,
    /// For each pass the mode of its head, and for each task the first pass it may be done in.
    modes: Vec<usize>,
    earliest: Vec<u8>,
    /// Pieces of each trip, and their sums.
    pieces: Vec<Vec<Pieces>>,
    sums: Sums,
    journal: Journal,
    /// Speed that each task's part allows [%].
    percents: Vec<u8>,
    /// How much slower the station may become by the move that is tried [µs].
    limit: i64,
    /// Where each trip stands among those that the move has touched, if it has.
    marks: Vec<Vec<u32>>,
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
    const NOWHERE: At = At { pass: u32::MAX, trip: 0, spindle: 0 };

    /// A move may cost whatever it does.
    const ANY: i64 = i64::MAX / 4;

    /// Begins with a state.
    pub fn new(p: &'p Problem<'p>, mut state: StationState, seed: u64) -> Self {
        let station = state.station;
        spare_trips(&mut state);
        let modes = state.passes.iter().map(|x| p.cap.mode(station, x.head).unwrap_or(0)).collect();
        let timing = Timing::new(p, station);
        // Feeders may have been moved since the strokes of inline heads were put in order.
        for pass in state.passes.iter_mut().filter(|x| x.is_placing()) {
            let head = pass.head;
            pass.trips_mut().iter_mut().for_each(|t| timing.sweep(head, &state.setup, t));
        }
        let mut search = Self {
            p,
            timing,
            ready: Ready::default(),
            rng: fastrand::Rng::with_seed(seed),
            tasks: Vec::new(),
            at: vec![Self::NOWHERE; p.job.tasks.len()],
            near: Near::default(),
            of_part: vec![Vec::new(); p.job.product.parts.len()],
            movable: (0..state.setup.supplies.len() as u32).filter(|s| !state.setup.locked[*s as usize]).collect(),
            stock: Vec::new(),
            modes,
            earliest: Vec::new(),
            pieces: Vec::new(),
            sums: Sums::default(),
            journal: Journal::default(),
            percents: p.clock.tasks().iter().map(|t| t.percent).collect(),
            limit: Self::ANY,
            marks: Vec::new(),
            state,
        };
        search.find_tasks();
        search.time_all();
        search
    }

    /// With so many feeders of each kind that may be set up beside the one a part has.
    pub fn with_stock(self, stock: &[u32]) -> Self {
        Self { stock: stock.to_vec(), ..self }
    }

    fn find_tasks(&mut self) {
        for (k, pass) in self.state.passes.iter().enumerate() {
            for (i, trip) in pass.trips().iter().enumerate() {
                for s in &trip.order {
                    let task = trip.cells[usize::from(*s)].task;
                    self.tasks.push(task);
                    self.at[task.index()] = At { pass: k as u32, trip: i as u32, spindle: *s };
                    self.of_part[self.p.part_of(task)].push(task);
                }
            }
        }
        self.near = Near::new(self.p, &self.tasks);
        self.earliest = pairs::earliest_passes(self.p, &self.state);
    }

    /// Time of the station by the pieces [µs]; equals the full clock's.
    pub fn time(&self) -> Time {
        Time(self.sums.total)
    }

    /// Anneals for `tries` moves. Returns how many were accepted.
    pub fn anneal(&mut self, tries: u32, heat: Heat) -> u32 {
        if self.tasks.len() < 2 {
            return 0;
        }
        let cooling = (heat.to / heat.from).powf(1.0 / f64::from(tries.max(1)));
        let mut now = heat.from;
        let mut accepted = 0;
        for _ in 0..tries {
            now *= cooling;
            // How much worse is accepted is drawn first (Johnson, Aragon, McGeoch, Schevon 1989, from memory).
            let loss = -now * self.rng.f64().max(1e-300).ln();
            accepted += u32::from(self.step(loss as i64));
        }
        accepted
    }

    /// Tries one move; keeps it when the station gets at most `loss` slower [µs].
    fn step(&mut self, loss: i64) -> bool {
        self.journal.begin(&self.sums);
        self.limit = loss;
        let kept = self.propose() && self.pairs_hold() && {
            self.retime();
            self.worse() <= self.loss_allowed(loss)
        };
        if !kept {
            self.roll_back();
        }
        kept
    }

    /// One move that is kept whatever it costs, unless it breaks a rule.
    #[cfg(test)]
    fn wander(&mut self) -> bool {
        self.step(Self::ANY)
    }

    /// The state as it is.
    #[cfg(test)]
    fn state(&self) -> &StationState {
        &self.state
    }

    /// The state, its trips of at most `most` placements ordered exactly, without further feeders that spare next to nothing, with
    /// its time.
    pub fn finish(self, most: usize) -> StationState {
        self.finish_within(most, Time::ZERO)
    }

    /// As [`Search::finish`], also without further feeders that the station can do without in this time.
    pub fn finish_within(mut self, most: usize, time: Time) -> StationState {
        self.polish(most);
        self.merge_feeders(time);
        for (pass, pieces) in self.state.passes.iter_mut().zip(&self.pieces).filter(|(x, _)| x.is_placing()) {
            for (trip, piece) in pass.trips_mut().iter_mut().zip(pieces) {
                trip.time = Time(piece.sum());
            }
        }
        self.state.time = self.time();
        self.state.drop_idle();
        drop_unused(self.p, &mut self.state);
        debug_assert_eq!(
            self.state.time,
            crate::station::export::export(self.p, &self.state).time_us,
            "the pieces add up to the clock's time"
        );
        self.state
    }

    fn trips(&self, pass: u32) -> &[TripState] {
        self.state.passes[pass as usize].trips()
    }

    fn trip(&self, at: At) -> &TripState {
        &self.state.passes[at.pass as usize].trips()[at.trip as usize]
    }

    fn cell(&self, at: At) -> Cell {
        self.trip(at).cells[usize::from(at.spindle)]
    }

    fn head(&self, pass: u32) -> usize {
        self.state.passes[pass as usize].head
    }
}

/// One trip with nothing to do at the end of every layout's trips, so that a move may begin a trip.
fn spare_trips(state: &mut StationState) {
    for pass in state.passes.iter_mut().filter(|x| x.is_placing()) {
        for layout in 0..pass.layouts.len() as u32 {
            let spindles = pass.layouts[layout as usize].len();
            let trips = pass.trips_mut();
            let last = trips.iter().rposition(|t| t.layout == layout);
            if last.is_some_and(|i| trips[i].order.is_empty()) {
                continue;
            }
            trips.insert(last.map_or(trips.len(), |i| i + 1), TripState::idle(layout, spindles));
        }
    }
}
