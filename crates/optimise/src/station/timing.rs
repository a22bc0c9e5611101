//! Times of the pieces of a trip, each exactly as the clock counts it.
//!
//! A trip is a *lead* (from where the trip before ended, over the nozzle rack if need be, to its first
//! pocket), its *picks* and its *places*. The search keeps the three apart and times only what a move
//! touches. Ways come from [`super::ways`], all other figures from the clock of `motion`; that the
//! sum is the clock's time to the microsecond is tested (`tests/exact_timing.rs`).

use super::setup::Setup;
use super::state::TripState;
use super::ways::StationWays;
use crate::problem::Problem;
use domain::job::TaskId;
use domain::line::{HeadKind, Line, SightMode};
use motion::{Clock, HeadState, StationClock};
use units::Point;

/// Picks of one stroke may want reference points this far apart (`docs/planning.md` §1).
pub const STROKE_TOLERANCE: i64 = 100;

/// Most spindles of a head; line sheets with more are refused.
pub const SPINDLES: usize = 32;

/// How a head measures what it has picked [µs].
#[derive(Clone, Debug)]
enum Sight {
    None,
    InFlight(i64),
    /// At a camera; for each part the time of its exposures.
    Camera(Point, Vec<i64>),
}

/// What timing needs of a head [µs].
#[derive(Clone, Debug)]
pub struct HeadFigures {
    /// Its kind.
    pub kind: HeadKind,
    /// Turning the drum by so many spindles at full speed.
    index: Vec<i64>,
    pick: i64,
    place: i64,
    sight: Sight,
    /// For each task, turning its part at full speed.
    turn: Vec<u32>,
}

/// What timing needs of a station.
#[derive(Clone, Debug)]
pub struct StationFigures {
    /// Its heads.
    pub heads: Vec<HeadFigures>,
    settle_pick: i64,
    settle_place: i64,
}

impl StationFigures {
    /// The figures of all stations of a line.
    pub fn of_line(line: &Line, clock: &Clock<'_>, parts: usize) -> Vec<Self> {
        (0..line.station.len()).map(|s| Self::new(line, clock, s, parts)).collect()
    }

    fn new(line: &Line, all: &Clock<'_>, station: usize, parts: usize) -> Self {
        let clock = all.station(station);
        let (settle_pick, settle_place) = clock.settles();
        let heads = line.station[station].head.iter().enumerate().map(|(h, head)| {
            let (pick, place) = clock.strokes(h);
            let sight = head.sight.as_ref().map_or(Sight::None, |s| match (s.mode, s.at) {
                (SightMode::InFlight, _) => Sight::InFlight(s.time.0.0),
                (SightMode::Camera, at) => {
                    let mut looks = vec![0; parts];
                    all.tasks().iter().for_each(|t| looks[t.part as usize] = s.time.0.0 * clock.exposures(h, t.body));
                    Sight::Camera(at.map_or(Point::default(), |at| at.point()), looks)
                }
                (SightMode::None, _) => Sight::None,
            });
            HeadFigures {
                kind: head.kind,
                index: (0..head.spindles.max(1)).map(|k| clock.index(h, 0, k, 100).0).collect(),
                pick: pick.0,
                place: place.0,
                sight,
                turn: all.tasks().iter().map(|t| clock.turn(h, t.turn, 100).0 as u32).collect(),
            }
        });
        Self { heads: heads.collect(), settle_pick: settle_pick.0, settle_place: settle_place.0 }
    }
}

/// When supplies that were picked from are ready again [µs since the trip began].
#[derive(Debug, Default)]
pub struct Ready {
    stamp: u32,
    at: Vec<(u32, i64)>,
    latest: i64,
}

impl Ready {
    /// Everything is ready.
    pub fn forget(&mut self, supplies: usize) {
        self.stamp = self.stamp.wrapping_add(1);
        if self.at.len() < supplies || self.stamp == 0 {
            self.at = vec![(0, 0); supplies];
            self.stamp = 1;
        }
        self.latest = i64::MIN;
    }

    #[inline]
    fn of(&self, supply: u32) -> i64 {
        let (stamp, at) = self.at[supply as usize];
        if stamp == self.stamp { at } else { i64::MIN }
    }

    #[inline]
    fn set(&mut self, supply: u32, at: i64) {
        self.at[supply as usize] = (self.stamp, at);
        self.latest = self.latest.max(at);
    }

    /// When the last of them is ready; long ago if none was picked from.
    pub fn latest(&self) -> i64 {
        self.latest
    }
}

/// Which level each magazine presents, and when the head last left it [µs since the trip began].
#[derive(Clone, Debug)]
pub struct Levels {
    shown: Vec<(u32, i64)>,
    change: Vec<i64>,
}

impl Levels {
    /// Each magazine presents its level (0: whatever is asked for first) since time 0.
    pub fn new(line: &Line, station: usize, shown: &[u32]) -> Self {
        Self { shown: shown.iter().map(|l| (*l, 0)).collect(), change: line.station[station].tray.iter().map(|t| t.change.0.0).collect() }
    }
}

/// Where a trip stands after its picks.
#[derive(Clone, Copy, Debug)]
pub struct Picked {
    /// Time since the trip began [µs].
    pub time: i64,
    /// Where the head stands.
    pub stand: HeadState,
}

/// Times pieces of trips at one station.
#[derive(Clone, Copy)]
pub struct Timing<'p> {
    p: &'p Problem<'p>,
    figures: &'p StationFigures,
    clock: &'p StationClock,
    ways: StationWays<'p>,
}

impl<'p> Timing<'p> {
    /// For a station of the problem's line.
    pub fn new(p: &'p Problem<'p>, station: usize) -> Self {
        Self { p, figures: &p.figures[station], clock: p.clock.station(station), ways: p.ways.station(station) }
    }

    /// The head's figures.
    pub fn head(&self, head: usize) -> &'p HeadFigures {
        &self.figures.heads[head]
    }

    /// The way between two points [µs].
    #[inline]
    pub fn travel(&self, from: Point, to: Point, percent: u8) -> i64 {
        self.ways.travel(from, to, percent)
    }

    #[inline]
    fn index(&self, head: usize, from: u8, to: u8, percent: u8) -> i64 {
        if percent >= 100 {
            self.figures.heads[head].index[usize::from(from.abs_diff(to))]
        } else {
            self.clock.index(head, from, to, percent).0
        }
    }

    #[inline]
    fn turn(&self, head: usize, task: usize, percent: u8) -> i64 {
        if percent >= 100 {
            i64::from(self.figures.heads[head].turn[task])
        } else {
            self.clock.turn(head, self.p.clock.tasks()[task].turn, percent).0
        }
    }

    /// Where the head stands at the first pick of a trip.
    #[inline]
    pub fn first(&self, head: usize, setup: &Setup, trip: &TripState) -> HeadState {
        let s = trip.picks[0];
        let at = setup.rows[trip.cells[usize::from(s)].supply as usize].at;
        HeadState { at: self.clock.reference(head, s, at), drum: s }
    }

    /// Where the head stands at the last stroke of a trip.
    pub fn last_pick(&self, head: usize, setup: &Setup, trip: &TripState) -> HeadState {
        let place = |s: u8| self.clock.reference(head, s, setup.rows[trip.cells[usize::from(s)].supply as usize].at);
        let last = trip.picks.len() - 1;
        let mut stand = HeadState { at: place(trip.picks[last]), drum: trip.picks[last] };
        if self.figures.heads[head].kind == HeadKind::Inline {
            // The head stands where the stroke's first pick wants it.
            let mut opened = place(trip.picks[0]);
            for s in &trip.picks {
                let d = place(*s) - opened;
                if d.x.0.abs() > STROKE_TOLERANCE || d.y.0.abs() > STROKE_TOLERANCE {
                    opened = place(*s);
                    stand.drum = *s;
                }
            }
            stand.at = opened;
        }
        stand
    }

    /// Where the head stands after the last placement of a trip.
    #[inline]
    pub fn end(&self, head: usize, trip: &TripState) -> HeadState {
        let s = trip.order[trip.order.len() - 1];
        let at = self.p.clock.tasks()[trip.cells[usize::from(s)].task.index()].at;
        HeadState { at: self.clock.reference(head, s, at), drum: s }
    }

    /// Where the head stands when it places a task with a spindle.
    #[inline]
    pub fn stand(&self, head: usize, spindle: u8, task: TaskId) -> HeadState {
        HeadState { at: self.clock.reference(head, spindle, self.p.clock.tasks()[task.index()].at), drum: spindle }
    }

    /// Where the head stands after measuring.
    pub fn sighted(&self, head: usize, trip: &TripState, stand: HeadState) -> HeadState {
        match &self.figures.heads[head].sight {
            Sight::Camera(at, _) if !trip.order.is_empty() => HeadState { at: *at, ..stand },
            _ => stand,
        }
    }

    /// From a pocket to where the head stands after measuring [µs]; where it is measured costs the same anywhere.
    #[inline]
    pub fn way_to_sight(&self, head: usize, stand: HeadState, percent: u8) -> i64 {
        match &self.figures.heads[head].sight {
            Sight::Camera(at, _) => self.ways.travel(stand.at, *at, percent),
            _ => 0,
        }
    }

    /// From one stand to a placement, its stroke included, at the percent of the most delicate part aboard [µs].
    #[inline]
    pub fn step(&self, head: usize, from: HeadState, to: HeadState, task: TaskId, percent: u8) -> i64 {
        let beside = self.index(head, from.drum, to.drum, percent).max(self.turn(head, task.index(), percent));
        let time = self.ways.travel(from.at, to.at, percent).max(beside) + self.figures.heads[head].place;
        if from.at == to.at { time } else { time + self.figures.settle_place }
    }

    /// Way of the empty head to a pocket, with settling [µs].
    #[inline]
    pub fn lead(&self, head: usize, from: HeadState, to: HeadState) -> i64 {
        self.hop(head, from, to, 100)
    }

    /// As [`Timing::lead`], at this percent.
    #[inline]
    fn hop(&self, head: usize, from: HeadState, to: HeadState, percent: u8) -> i64 {
        let way = self.ways.travel(from.at, to.at, percent).max(self.index(head, from.drum, to.drum, percent));
        if from.at == to.at { way } else { way + self.figures.settle_pick }
    }

    /// Where a drum or a single spindle stands over the pocket of a supply.
    #[inline]
    pub fn pocket(&self, setup: &Setup, (supply, spindle): (u32, u8)) -> HeadState {
        HeadState { at: setup.rows[supply as usize].at, drum: spindle }
    }

    /// From one pick to the next of a drum, each a supply and a spindle, its settling or the feeder's advance included, at the percent of
    /// the most delicate part aboard [µs].
    #[inline]
    pub fn between_picks(&self, head: usize, setup: &Setup, from: (u32, u8), to: (u32, u8), percent: u8) -> i64 {
        if from.0 == to.0 {
            return self.index(head, from.1, to.1, percent).max(setup.rows[to.0 as usize].advance.0);
        }
        self.hop(head, self.pocket(setup, from), self.pocket(setup, to), percent)
    }

    /// Picks of a trip whose head arrives at the first pocket `arrived` after the trip began.
    pub fn picks(
        &self,
        head: usize,
        setup: &Setup,
        trip: &TripState,
        arrived: i64,
        ready: &mut Ready,
        mut levels: Option<&mut Levels>,
    ) -> Picked {
        let h = &self.figures.heads[head];
        let tasks = self.p.clock.tasks();
        let cell = |k: usize| trip.cells[usize::from(trip.picks[k])];
        let mut stand = self.first(head, setup, trip);
        let (mut time, mut percent, mut k) = (arrived, 100, 0);
        while k < trip.picks.len() {
            let spindle = trip.picks[k];
            let to = self.clock.reference(head, spindle, setup.rows[cell(k).supply as usize].at);
            if k > 0 {
                time += self.ways.travel(stand.at, to, percent).max(self.index(head, stand.drum, spindle, percent));
                if to != stand.at {
                    time += self.figures.settle_pick;
                }
            }
            stand = HeadState { at: to, drum: spindle };
            let mut end = k + 1;
            if h.kind == HeadKind::Inline {
                let joins = |k: usize| {
                    let d = self.clock.reference(head, trip.picks[k], setup.rows[cell(k).supply as usize].at) - to;
                    d.x.0.abs() <= STROKE_TOLERANCE && d.y.0.abs() <= STROKE_TOLERANCE
                };
                while end < trip.picks.len() && joins(end) {
                    end += 1;
                }
            }
            for j in k..end {
                time = time.max(ready.of(cell(j).supply));
            }
            if let Some(levels) = &mut levels {
                for j in k..end {
                    let Some((place, level)) = setup.rows[cell(j).supply as usize].magazine else { continue };
                    let (shown, left) = levels.shown[place as usize];
                    if shown != level && shown != 0 {
                        time = time.max(left + levels.change[place as usize]);
                    }
                }
            }
            time += h.pick;
            for j in k..end {
                let row = &setup.rows[cell(j).supply as usize];
                ready.set(cell(j).supply, time + row.advance.0);
                percent = percent.min(tasks[cell(j).task.index()].percent);
                if let (Some(levels), Some((place, level))) = (&mut levels, row.magazine) {
                    levels.shown[place as usize] = (level, time);
                }
            }
            k = end;
        }
        Picked { time, stand }
    }

    /// Measuring and placing, from where the picks end [µs].
    pub fn places(&self, head: usize, trip: &TripState, mut stand: HeadState) -> i64 {
        let h = &self.figures.heads[head];
        let tasks = self.p.clock.tasks();
        let task = |s: u8| trip.cells[usize::from(s)].task.index();
        // The most delicate part still on the head rules every step.
        let mut percents = [100u8; SPINDLES];
        let mut slowest = 100;
        for (k, s) in trip.order.iter().enumerate().rev() {
            slowest = slowest.min(tasks[task(*s)].percent);
            percents[k % SPINDLES] = slowest;
        }
        let mut time = match &h.sight {
            Sight::None => 0,
            Sight::InFlight(time) => *time,
            Sight::Camera(at, looks) => {
                let way = self.ways.travel(stand.at, *at, slowest) + self.figures.settle_place;
                stand.at = *at;
                way + trip.order.iter().map(|s| looks[tasks[task(*s)].part as usize]).sum::<i64>()
            }
        };
        for (k, s) in trip.order.iter().enumerate() {
            let task = trip.cells[usize::from(*s)].task;
            let to = self.stand(head, *s, task);
            time += self.step(head, stand, to, task, percents[k % SPINDLES]);
            stand = to;
        }
        time
    }

    /// Orders an inline head's picks row by row along X, as the trip's sweep asks, so that parts that lie
    /// under their spindles at once are neighbours and make one stroke.
    pub fn sweep(&self, head: usize, setup: &Setup, trip: &mut TripState) {
        if self.figures.heads[head].kind != HeadKind::Inline {
            return;
        }
        let (cells, sweep) = (&trip.cells, trip.sweep);
        trip.picks.sort_unstable_by_key(|s| {
            let want = self.clock.reference(head, *s, setup.rows[cells[usize::from(*s)].supply as usize].at);
            let row = if sweep & 2 == 0 { want.y.0 } else { -want.y.0 };
            let along = if sweep & 1 == 0 { want.x.0 } else { -want.x.0 };
            (row, along, *s)
        });
    }

    /// Time of a whole trip from where the head stands, everything ready, no nozzle changed [µs].
    pub fn trip(&self, head: usize, setup: &Setup, trip: &TripState, from: HeadState, ready: &mut Ready) -> i64 {
        if trip.order.is_empty() {
            return 0;
        }
        ready.forget(setup.supplies.len());
        let lead = self.lead(head, from, self.first(head, setup, trip));
        let picked = self.picks(head, setup, trip, lead, ready, None);
        picked.time + self.places(head, trip, picked.stand)
    }

    /// Way over the nozzle rack and the changes there, from one layout to another; the head then stands at
    /// the rack [µs].
    pub fn change(&self, station: usize, before: &[Option<u32>], after: &[Option<u32>], stand: &mut HeadState) -> i64 {
        let Some(rack) = &self.p.line.station[station].nozzle_rack else { return 0 };
        let differs = |(i, wanted): (usize, &Option<u32>)| wanted.is_some() && before.get(i).copied().flatten() != *wanted;
        let k = after.iter().enumerate().filter(|x| differs(*x)).count() as i64;
        if k == 0 {
            return 0;
        }
        let way = self.ways.travel(stand.at, rack.at.point(), 100);
        stand.at = rack.at.point();
        way + rack.change.0.0 * k
    }
}
