//! Least times of tasks at heads [ns].

use crate::capability::Capability;
use crate::capability::feeder_fits;
use domain::job::{Job, TaskId};
use domain::line::{HeadKind, Line, SightMode, StationKind};
use domain::part::Supply;
use domain::rules::Rules;
use motion::{Clock, StationClock, TaskRow};
use std::collections::BTreeMap;
use units::{Length, Point, Time};

/// Marks a task that a head cannot take.
pub const NEVER: i64 = i64::MAX;

/// Everything the bound is made of.
#[derive(Clone, Debug)]
pub struct Costs {
    /// Number of items: tasks, then dots.
    pub items: usize,
    /// Columns: each head of each station, dispense heads too.
    pub columns: Vec<Column>,
    /// For each area to be looked at, its time at each station [ns]; [`NEVER`] where it cannot be done.
    pub areas: Vec<Vec<i64>>,
    /// Least time of each item in each column [ns], row by row; [`NEVER`] where it cannot be done.
    pub time: Vec<i64>,
    /// What every panel costs each station [ns].
    pub fixed: Vec<i64>,
    /// One head swap at each station [ns].
    pub swap: Vec<i64>,
    /// Whether passes may alternate at each station.
    pub alternate: Vec<bool>,
}

/// A head in use.
#[derive(Clone, Copy, Debug)]
pub struct Column {
    /// Index of the station.
    pub station: usize,
    /// Index of the head.
    pub head: usize,
    /// What the head in use adds [ns]; may be negative.
    pub constant: i64,
}

impl Costs {
    /// Least time of an item in a column.
    pub fn at(&self, item: usize, column: usize) -> i64 {
        self.time[item * self.columns.len() + column]
    }

    /// Works out all costs. `placed` are the tasks that count.
    pub fn new(job: &Job<'_>, line: &Line, rules: &Rules, clock: &Clock<'_>, cap: &Capability, placed: &[TaskId]) -> Self {
        let dotted: Vec<TaskId> = placed.iter().copied().filter(|t| job.part(*t).adhesive_dots.value > 0).collect();
        let items = placed.len() + dotted.len();
        let mut columns = Vec::new();
        let mut cells: Vec<Vec<i64>> = Vec::new();
        for (s, station) in line.station.iter().enumerate() {
            for (h, head) in station.head.iter().enumerate() {
                let mut column = vec![NEVER; items];
                let constant = if station.kind != StationKind::Gantry {
                    // Two beams and turrets count only what every panel costs.
                    let mode = cap.mode(s, h);
                    let takes = |t: &TaskId| mode.is_some_and(|m| cap.can(job.tasks[t.index()].part.index(), m));
                    (0..placed.len()).filter(|i| takes(&placed[*i])).for_each(|i| column[i] = 0);
                    0
                } else if head.kind == HeadKind::Dispense {
                    let dot = head.dot.map_or(0, |t| t.0.0);
                    for (k, t) in dotted.iter().enumerate() {
                        column[placed.len() + k] = 1000 * dot * i64::from(job.part(*t).adhesive_dots.value);
                    }
                    0
                } else {
                    HeadCost::new(job, line, clock, s, h).fill(cap, placed, &mut column)
                };
                columns.push(Column { station: s, head: h, constant });
                cells.push(column);
            }
        }
        let width = columns.len();
        let time = (0..items * width).map(|k| cells[k % width][k / width]).collect();
        Self {
            items,
            columns,
            time,
            areas: super::looks::times(job, line, rules),
            fixed: (0..line.station.len()).map(|s| 1000 * clock.fixed(s).total().0).collect(),
            swap: line.station.iter().map(|s| s.head_swap.as_ref().map_or(0, |w| 1000 * w.time.0.0)).collect(),
            alternate: line.station.iter().map(|s| s.head_swap.as_ref().is_some_and(|w| w.alternate)).collect(),
        }
    }
}

/// A place parts may be picked at: a stretch along X at one Y.
#[derive(Clone, Copy)]
struct Region {
    from: Length,
    to: Length,
    y: Length,
    tray: bool,
}

impl Region {
    /// Whether the point lies in the region, widened by `by` on both sides.
    fn has(&self, p: Point, by: Length) -> bool {
        p.y == self.y && (self.from - by..=self.to + by).contains(&p.x)
    }

    /// The way from a point to the nearest point of the region, widened by `by` on both sides.
    fn way(&self, clock: &StationClock, from: Point, by: Length, percent: u8) -> Time {
        let x = Length(from.x.0.clamp(self.from.0 - by.0, self.to.0 + by.0));
        clock.travel(from, Point { x, y: self.y }, percent)
    }
}

/// The least times of one placing head.
struct HeadCost<'a> {
    job: &'a Job<'a>,
    clock: &'a StationClock,
    rows: &'a [TaskRow],
    mode: (usize, usize),
    kind: HeadKind,
    spindles: i64,
    pitch: Length,
    camera: Option<Point>,
    in_flight: Time,
    exposure: Time,
    starts: Vec<Point>,
    regions: Vec<Region>,
    line: &'a Line,
    /// Settling at the first pick of a trip.
    settle_out: Time,
    /// Two supplies may be picked at one point.
    shared: bool,
}

impl<'a> HeadCost<'a> {
    fn new(job: &'a Job<'a>, line: &'a Line, clock: &'a Clock<'a>, s: usize, h: usize) -> Self {
        let station = &line.station[s];
        let head = &station.head[h];
        let bank = |b: &domain::line::Bank| {
            let from = b.first.point();
            Region { from: from.x, to: from.x + *b.pitch * (i64::from(b.slots) - 1), y: from.y, tray: false }
        };
        let tray = |t: &domain::line::TrayPlace| Region { from: *t.at.x, to: *t.at.x, y: *t.at.y, tray: true };
        let sight = head.sight.as_ref();
        let camera = sight.filter(|s| s.mode == SightMode::Camera);
        let regions: Vec<Region> = station.bank.iter().map(bank).chain(station.tray.iter().map(tray)).collect();
        let pitch = if head.kind == HeadKind::Inline { head.pitch.map_or(Length::ZERO, |p| *p) } else { Length::ZERO };
        let reach = pitch * (i64::from(head.spindles) - 1);
        let mut stops = station.nozzle_rack.iter().map(|r| r.at.point()).chain(station.head_swap.iter().map(|w| w.at.point()));
        let (settle_pick, settle_place) = clock.station(s).settles();
        let settle_out = if stops.any(|p| regions.iter().any(|r| r.has(p, reach))) {
            Time::ZERO
        } else if station.inspection.is_some() {
            settle_pick.min(settle_place)
        } else {
            settle_pick
        };
        let shared = regions.iter().enumerate().any(|(i, a)| regions[..i].iter().any(|b| a.y == b.y && a.from <= b.to && b.from <= a.to));
        let mut starts: Vec<Point> = vec![job.fiducials.last().copied().unwrap_or_default()];
        starts.extend(station.head_swap.iter().map(|w| w.at.point()));
        Self {
            job,
            clock: clock.station(s),
            rows: clock.tasks(),
            mode: (s, h),
            kind: head.kind,
            spindles: i64::from(head.spindles),
            pitch,
            camera: camera.and_then(|s| s.at).map(|p| p.point()),
            in_flight: sight.filter(|s| s.mode == SightMode::InFlight).map_or(Time::ZERO, |s| *s.time),
            exposure: camera.map_or(Time::ZERO, |s| *s.time),
            starts,
            regions,
            line,
            settle_out,
            shared,
        }
    }

    /// How far an inline head reaches to the side.
    fn widened(&self) -> Length {
        self.pitch * (self.spindles - 1)
    }

    fn settled(way: Time, settle: Time) -> Time {
        if way > Time::ZERO { way + settle } else { way }
    }

    fn nearest(&self, from: Point, percent: u8, only_tray: Option<bool>) -> Time {
        let fits = self.regions.iter().filter(|r| only_tray.is_none_or(|t| r.tray == t));
        fits.map(|r| r.way(self.clock, from, self.widened(), percent)).min().unwrap_or(Time::ZERO)
    }

    fn way_out(&self, t: TaskId) -> Time {
        Self::settled(self.nearest(self.rows[t.index()].at, 100, None), self.settle_out)
    }

    fn way_in(&self, t: TaskId) -> Time {
        let row = &self.rows[t.index()];
        let (p, settle) = (row.percent, self.clock.settles().1);
        let turn = self.clock.turn(self.mode.1, row.turn, p);
        let only = (self.spindles == 1).then(|| self.job.part(t).supply.value == Supply::Tray);
        let Some(camera) = self.camera else {
            let way = self.nearest(row.at, p, only);
            return way.max(turn) + if way > Time::ZERO { settle } else { Time::ZERO };
        };
        let spindles = if self.kind == HeadKind::Inline { self.spindles } else { 1 };
        let to_pad = |k: i64| self.clock.travel(camera, Point { x: row.at.x - self.pitch * k, y: row.at.y }, p);
        let way = (0..spindles).map(to_pad).min().unwrap_or(Time::ZERO);
        self.nearest(camera, p, only) + settle + way.max(turn) + if way > Time::ZERO { settle } else { Time::ZERO }
    }

    /// Least time between a pick and the next one of the same trip, if that is `t`; 0 but for drums.
    fn step(&self, t: TaskId) -> Time {
        if self.kind != HeadKind::Rotary || self.spindles == 1 {
            return Time::ZERO;
        }
        let index = self.clock.index(self.mode.1, 0, 1, 100);
        if self.shared {
            return index;
        }
        let part = self.job.part(t);
        let advance = |f: &domain::line::FeederKind| {
            let (pitch, step) = (part.tape_pitch_um.value.0, f.advance_step.0.0.max(1));
            *f.advance * if f.supply == Supply::Tape { ((pitch + step - 1) / step).max(1) } else { 1 }
        };
        let again = self.line.feeder.iter().filter(|f| feeder_fits(f, part)).map(advance).min().unwrap_or(Time::ZERO);
        index.max(again).min(index + self.clock.settles().0)
    }

    /// Fills the head's column with least times; returns what the head in use adds [ns].
    fn fill(&self, cap: &Capability, placed: &[TaskId], column: &mut [i64]) -> i64 {
        let mode = cap.mode(self.mode.0, self.mode.1).expect("a placing head is a mode");
        let takes = |t: &TaskId| cap.can(self.job.tasks[t.index()].part.index(), mode);
        let mine: Vec<(usize, TaskId)> = placed.iter().copied().enumerate().filter(|(_, t)| takes(t)).collect();
        if mine.is_empty() {
            return 0;
        }
        let ways: Vec<(Time, Time)> = mine.iter().map(|(_, t)| (self.way_in(*t), self.way_out(*t))).collect();
        let (pick, place) = self.clock.strokes(self.mode.1);
        let looks = |t: TaskId| {
            self.exposure * if self.camera.is_some() { self.clock.exposures(self.mode.1, self.rows[t.index()].body) } else { 0 }
        };
        if self.spindles == 1 {
            for ((i, t), (way_in, way_out)) in mine.iter().zip(&ways) {
                column[*i] = 1000 * (place + looks(*t) + pick + *way_in + *way_out + self.in_flight).0;
            }
        } else {
            let steps: Vec<Time> = mine.iter().map(|(_, t)| self.step(*t)).collect();
            let pick_ns = |step: Time| match self.kind {
                HeadKind::Inline => pick.0 * 1000 / self.spindles,
                _ => 1000 * (pick + step).0,
            };
            let step = steps.iter().copied().max().unwrap_or(Time::ZERO);
            let between = self.between(&mine, &ways);
            let inward = ways.iter().zip(&between).map(|(w, e)| w.0 - *e).min().unwrap_or(Time::ZERO);
            let outward = ways.iter().map(|w| w.1).min().unwrap_or(Time::ZERO);
            let trip = 1000 * (inward + outward + self.in_flight - step).0;
            let share = if trip >= 0 { trip / self.spindles } else { trip };
            for (((i, t), e), step) in mine.iter().zip(&between).zip(&steps) {
                column[*i] = 1000 * (place + looks(*t) + *e).0 + pick_ns(*step) + share;
            }
        }
        let entry = self.starts.iter().map(|p| Self::settled(self.nearest(*p, 100, None), self.settle_out)).min().unwrap_or(Time::ZERO);
        let longest = ways.iter().map(|w| w.1).max().unwrap_or(Time::ZERO);
        1000 * (entry - longest).0
    }

    /// Least step into each task from another one of the same trip.
    fn between(&self, mine: &[(usize, TaskId)], ways: &[(Time, Time)]) -> Vec<Time> {
        if mine.len() == 1 {
            return vec![ways[0].0];
        }
        let grid = Grid::new(mine.iter().map(|(_, t)| self.rows[t.index()].at));
        let settle = self.clock.settles().1;
        let step = |(k, (_, t)): (usize, &(usize, TaskId))| {
            let row = &self.rows[t.index()];
            let p = row.percent;
            let mut beside = self.clock.turn(self.mode.1, row.turn, p);
            if self.kind == HeadKind::Rotary {
                beside = beside.max(self.clock.index(self.mode.1, 0, 1, p));
            }
            let reach = if self.kind == HeadKind::Inline { self.spindles - 1 } else { 0 };
            let shifts = (-reach..=reach).filter(|d| *d != 0 || reach == 0);
            let way = shifts
                .map(|d| grid.nearest(self.clock, Point { x: row.at.x - self.pitch * d, y: row.at.y }, k, p))
                .min()
                .unwrap_or(Time::ZERO);
            way.max(beside) + if way > Time::ZERO { settle } else { Time::ZERO }
        };
        mine.iter().enumerate().map(step).collect()
    }
}

/// Points in square cells, to find the nearest by time.
struct Grid {
    points: Vec<Point>,
    cells: BTreeMap<(i64, i64), Vec<u32>>,
    cell: i64,
    rings: i64,
}

impl Grid {
    fn new(points: impl Iterator<Item = Point>) -> Self {
        let points: Vec<Point> = points.collect();
        let extent = |f: fn(&Point) -> i64| points.iter().map(f).max().unwrap_or(0) - points.iter().map(f).min().unwrap_or(0);
        let longest = extent(|p| p.x.0).max(extent(|p| p.y.0)).max(1);
        // About two points a cell keeps both the cells and the rings few.
        let cell = ((longest as f64) / (points.len() as f64 / 2.0).sqrt().max(1.0)).ceil().max(1.0) as i64;
        let mut cells: BTreeMap<(i64, i64), Vec<u32>> = BTreeMap::new();
        for (i, p) in points.iter().enumerate() {
            cells.entry((p.x.0.div_euclid(cell), p.y.0.div_euclid(cell))).or_default().push(i as u32);
        }
        Self { points, cells, cell, rings: longest / cell + 2 }
    }

    /// Least way from any point but `without` to `to`.
    fn nearest(&self, clock: &StationClock, to: Point, without: usize, percent: u8) -> Time {
        let home = (to.x.0.div_euclid(self.cell), to.y.0.div_euclid(self.cell));
        let mut best = Time(i64::MAX);
        for ring in 0.. {
            // Whatever lies in this ring is at least (ring − 1) cells away along one axis.
            let far = Length((ring - 1).max(0) * self.cell);
            let least = clock.travel(Point::default(), Point { x: far, y: Length::ZERO }, percent).min(clock.travel(
                Point::default(),
                Point { x: Length::ZERO, y: far },
                percent,
            ));
            let beyond = ring > self.rings && best < Time(i64::MAX);
            if beyond || (best < Time(i64::MAX) && least >= best) || ring > self.rings * 64 {
                break;
            }
            for cx in home.0 - ring..=home.0 + ring {
                let edge = (cx - home.0).abs() == ring;
                let ys: Vec<i64> = if edge { (home.1 - ring..=home.1 + ring).collect() } else { vec![home.1 - ring, home.1 + ring] };
                for cy in ys {
                    for i in self.cells.get(&(cx, cy)).into_iter().flatten().filter(|i| **i as usize != without) {
                        best = best.min(clock.travel(self.points[*i as usize], to, percent));
                    }
                }
            }
        }
        if best == Time(i64::MAX) { Time::ZERO } else { best }
    }
}
