//! What one head must spend on a task, on a trip, and on entering and leaving [ns]: `docs/planning.md` §3.2, §3.3.

use super::beam::Board;
use super::neighbours::Grid;
use crate::capability::{feeder_fits, tray_fits};
use domain::job::{Job, TaskId};
use domain::line::{HeadKind, Line, SightMode, Station, StationKind, TrayKind};
use domain::part::Supply;
use motion::{Clock, StationClock, TaskRow};
use std::collections::BTreeMap;
use units::{Length, Point, Time};

/// Marks what a head cannot do.
pub const NEVER: i64 = i64::MAX;

/// What a head's trips are priced at [ns].
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Prices {
    /// A place on a trip, not negative.
    pub seat: i64,
    /// Being the first placement of a trip.
    pub first: i64,
    /// Being the last placement of a trip that another one follows.
    pub last: i64,
}

/// The figures of one head. Lists run over all items (tasks, then dots); a head has [`NEVER`] for what it cannot do.
#[derive(Clone, Debug)]
pub(super) struct HeadFigures {
    pub station: usize,
    pub head: usize,
    /// Index of its row of weights.
    pub row: usize,
    /// Of a beam of two: what it holds the board for.
    pub board: Option<Board>,
    /// Spindles; 1 for heads whose trips are not priced.
    pub spindles: i64,
    /// Number of items it can do.
    pub count: i64,
    /// What each item costs whatever else happens.
    pub base: Vec<i64>,
    /// What more it costs to be the first placement of a trip; only for several spindles.
    pub first: Vec<i64>,
    /// The way back after the last placement of a trip; only for several spindles.
    pub last: Vec<i64>,
    /// What a trip costs beside its first and last placement; may be negative.
    pub per_trip: i64,
    /// From the last mark to the first work.
    pub enter_mark: i64,
    /// From the head changer to the first work.
    pub enter_changer: i64,
    /// From the last work to the head changer.
    pub leave: i64,
    /// From the last mark to the head changer.
    pub mark_to_changer: i64,
    /// What the end of the panel spares.
    pub end: i64,
    /// One change of nozzle with the way round by the rack; [`NEVER`] without a rack.
    pub change: i64,
}

impl HeadFigures {
    /// Least time of every item under these prices.
    pub fn times(&self, prices: &Prices) -> Vec<i64> {
        if self.spindles == 1 {
            return self.base.clone();
        }
        let of = |((base, first), last): ((&i64, &i64), &i64)| match *base {
            NEVER => NEVER,
            base => base + prices.seat + (first - prices.first).min(0) + (last - prices.last).min(0),
        };
        self.base.iter().zip(&self.first).zip(&self.last).map(of).collect()
    }

    /// The cheapest number of trips in this range and what they cost in the head's row and the board's; 0 where trips
    /// are not priced, `None` if there is no such number.
    pub fn trips(&self, prices: &Prices, (least, most): (u32, u32), weights: &[u64]) -> Option<(i64, [i64; 2])> {
        if self.spindles == 1 {
            return Some((0, [0, 0]));
        }
        let (least, most) = (i64::from(least.max(1)), i64::from(most).min(self.count));
        let priced = prices.first + prices.last - self.spindles * prices.seat;
        let each = i128::from(weights[self.row]) * i128::from(self.per_trip) + i128::from(self.weight(weights)) * i128::from(priced);
        let count = if each >= 0 { least } else { most };
        let own = (self.per_trip + priced) * count - prices.last;
        let held = if self.board.is_some() { priced * count - prices.last } else { 0 };
        (least <= most).then_some((count, [own, held]))
    }

    /// Prices that make a trip cost what its cheapest first and last placement cost.
    pub fn plain_prices(&self) -> Prices {
        if self.spindles == 1 {
            return Prices::default();
        }
        let least = |of: &[i64]| of.iter().copied().min().filter(|t| *t != NEVER).unwrap_or(0);
        self.priced(least(&self.first), least(&self.last))
    }

    /// The seat price that spreads all of a trip over its seats.
    pub fn priced(&self, first: i64, last: i64) -> Prices {
        Prices { seat: ((self.per_trip + first + last) / self.spindles).max(0), first, last }
    }

    /// A head whose work costs nothing, to begin with.
    pub fn free((s, h): (usize, usize), row: usize, items: usize, mine: &[(usize, TaskId)]) -> Self {
        let mut base = vec![NEVER; items];
        mine.iter().for_each(|(i, _)| base[*i] = 0);
        Self {
            station: s,
            head: h,
            row,
            board: None,
            spindles: 1,
            count: mine.len() as i64,
            base,
            first: Vec::new(),
            last: Vec::new(),
            per_trip: 0,
            enter_mark: 0,
            enter_changer: 0,
            leave: 0,
            mark_to_changer: 0,
            end: 0,
            change: NEVER,
        }
    }

    /// A dispense head's figures; `dots` are items with task and number of dots.
    pub fn dispense(
        job: &Job<'_>,
        line: &Line,
        clock: &Clock<'_>,
        (s, h, row): (usize, usize, usize),
        items: usize,
        dots: &[(usize, TaskId)],
    ) -> Self {
        let station = &line.station[s];
        let timer = clock.station(s);
        let each = station.head[h].dot.map_or(0, |t| t.0.0);
        let mut base = vec![NEVER; items];
        for (i, t) in dots {
            base[*i] = 1000 * each * i64::from(job.part(*t).adhesive_dots.value);
        }
        let at = |t: TaskId| clock.tasks()[t.index()].at;
        let enter = |from: Point| dots.iter().map(|(_, t)| settled(timer.travel(from, at(*t), 100), timer.settles().1)).min();
        let changer = station.head_swap.as_ref().map(|c| c.at.point());
        let leave = changer.and_then(|c| dots.iter().map(|(_, t)| timer.travel(at(*t), c, 100)).min());
        let ns = |t: Option<Time>| 1000 * t.unwrap_or(Time::ZERO).0;
        Self {
            base,
            enter_mark: ns(enter(last_mark(job))),
            enter_changer: ns(changer.and_then(enter)),
            leave: ns(leave),
            mark_to_changer: ns(changer.map(|c| timer.travel(last_mark(job), c, 100))),
            ..Self::free((s, h), row, items, dots)
        }
    }

    /// A placing head's figures; `mine` are the items it can do.
    pub fn placing(
        job: &Job<'_>,
        line: &Line,
        clock: &Clock<'_>,
        (s, h, row): (usize, usize, usize),
        items: usize,
        mine: &[(usize, TaskId)],
    ) -> Self {
        let case = Case::new(job, line, clock, s, h, mine);
        let (rack, changer) = (case.station.nozzle_rack.as_ref(), case.station.head_swap.as_ref().map(|c| c.at.point()));
        let rows = mine.iter().map(|(_, t)| &clock.tasks()[t.index()]);
        let ways: Vec<(Time, Time)> = mine.iter().map(|(_, t)| (case.way_in(*t), case.way_out(*t))).collect();
        let leaves = |from: &TaskRow| changer.map(|c| case.clock.travel(from.at, c, 100));
        let mut figures = Self {
            spindles: case.spindles,
            enter_mark: if case.begins_at_mark() { 1000 * case.enter(last_mark(job)).0 } else { 0 },
            enter_changer: 1000 * changer.map_or(0, |c| case.enter(c).0),
            mark_to_changer: 1000 * changer.map_or(0, |c| case.clock.travel(last_mark(job), c, 100).0),
            ..Self::free((s, h), row, items, mine)
        };
        if case.spindles == 1 {
            for ((i, t), (way_in, way_out)) in mine.iter().zip(&ways) {
                figures.base[*i] = 1000 * (case.alone(*t) + *way_in + *way_out + case.in_flight).0 + case.put_aside(*t);
            }
            let leave = rows.clone().zip(&ways).filter_map(|(row, w)| leaves(row).map(|l| (l - w.1).0)).min();
            figures.leave = 1000 * leave.unwrap_or(0);
            figures.end = -1000 * ways.iter().map(|w| w.1.0).max().unwrap_or(0);
        } else {
            case.several(&mut figures, mine, &ways);
            figures.leave = 1000 * rows.clone().filter_map(leaves).min().map_or(0, |l| l.0);
        }
        if let Some(rack) = rack {
            let from = rows.map(|row| row.at).chain([last_mark(job)]).chain(changer);
            let round = from.map(|a| (case.clock.travel(a, rack.at.point(), 100) - case.enter(a)).0).min().unwrap_or(0);
            figures.change = 1000 * (*rack.change + case.enter(rack.at.point()) + Time(round)).0;
        }
        if case.station.kind == StationKind::TwoBeam {
            figures.board = Some(Board::new(&case, row + 3 - usize::from(case.beam.unwrap_or(1)), items, mine));
        }
        figures
    }
}

/// Where the head stands when the marks are read.
pub(super) fn last_mark(job: &Job<'_>) -> Point {
    job.fiducials.last().copied().unwrap_or_default()
}

/// A way with what settling after it costs.
pub(super) fn settled(way: Time, settle: Time) -> Time {
    if way > Time::ZERO { way + settle } else { way }
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
    /// The way from a point to the nearest point of the region, widened by `by` on both sides.
    fn way(&self, clock: &StationClock, from: Point, by: Length, percent: u8) -> Time {
        let x = Length(from.x.0.clamp(self.from.0 - by.0, self.to.0 + by.0));
        clock.travel(from, Point { x, y: self.y }, percent)
    }

    fn meets(&self, other: &Self) -> bool {
        self.y == other.y && self.from <= other.to && other.from <= self.to
    }
}

/// Banks and tray places of a station; of two beams those of this one.
fn regions(station: &Station, beam: Option<u8>) -> Vec<Region> {
    let bank = |b: &domain::line::Bank| {
        let from = b.first.point();
        Region { from: from.x, to: from.x + *b.pitch * (i64::from(b.slots) - 1), y: from.y, tray: false }
    };
    let tray = |t: &domain::line::TrayPlace| Region { from: *t.at.x, to: *t.at.x, y: *t.at.y, tray: true };
    let banks = station.bank.iter().filter(|b| b.beam == beam).map(bank);
    banks.chain(station.tray.iter().filter(|t| t.beam == beam).map(tray)).collect()
}

/// Whether two regions have a point in common, so that two supplies may be picked there.
fn touch(regions: &[Region]) -> bool {
    regions.iter().enumerate().any(|(k, a)| regions[..k].iter().any(|b| a.meets(b)))
}

/// A placing head with all that its tasks share.
pub(super) struct Case<'a> {
    pub job: &'a Job<'a>,
    line: &'a Line,
    pub station: &'a Station,
    pub clock: &'a StationClock,
    rows: &'a [TaskRow],
    head: usize,
    beam: Option<u8>,
    kind: HeadKind,
    pub spindles: i64,
    pitch: Length,
    pub camera: Option<Point>,
    in_flight: Time,
    exposure: Time,
    /// Where the parts of its tasks may stand.
    regions: Vec<Region>,
    /// Whether another supply may be picked without moving.
    shared: bool,
    /// Settling before a pick that no stop on the way can spare.
    settle: Time,
}

impl<'a> Case<'a> {
    fn new(job: &'a Job<'a>, line: &'a Line, clock: &'a Clock<'a>, s: usize, h: usize, mine: &[(usize, TaskId)]) -> Self {
        let station = &line.station[s];
        let head = &station.head[h];
        let sight = head.sight.as_ref();
        let camera = sight.filter(|s| s.mode == SightMode::Camera);
        let (mut trays, mut tapes) = (false, false);
        for (_, t) in mine {
            let tray = job.part(*t).supply.value == Supply::Tray;
            trays |= tray;
            tapes |= !tray;
        }
        let all = regions(station, head.beam);
        let timer = clock.station(s);
        let (pick, place) = timer.settles();
        let stops = station.nozzle_rack.iter().map(|r| *r.change).chain(station.head_swap.iter().map(|w| *w.time));
        Self {
            job,
            line,
            station,
            clock: timer,
            rows: clock.tasks(),
            head: h,
            beam: head.beam,
            kind: head.kind,
            spindles: i64::from(head.spindles.max(1)),
            pitch: if head.kind == HeadKind::Inline { head.pitch.map_or(Length::ZERO, |p| *p) } else { Length::ZERO },
            camera: camera.and_then(|s| s.at).map(|p| p.point()),
            in_flight: sight.filter(|s| s.mode == SightMode::InFlight).map_or(Time::ZERO, |s| *s.time),
            exposure: camera.map_or(Time::ZERO, |s| *s.time),
            shared: touch(&all),
            regions: all.into_iter().filter(|r| if r.tray { trays } else { tapes }).collect(),
            settle: stops.min().map_or(pick.min(place), |t| t.min(pick).min(place)),
        }
    }

    fn nearest(&self, from: Point, percent: u8, only_tray: Option<bool>) -> Time {
        let by = self.pitch * (self.spindles - 1);
        let fits = self.regions.iter().filter(|r| only_tray.is_none_or(|t| r.tray == t));
        fits.map(|r| r.way(self.clock, from, by, percent)).min().unwrap_or(Time::ZERO)
    }

    /// Whether the head stands over the last mark in the beginning; beam 2 does so only if beam 1 does nothing.
    pub fn begins_at_mark(&self) -> bool {
        self.beam != Some(2)
    }

    pub fn at(&self, t: TaskId) -> Point {
        self.rows[t.index()].at
    }

    /// Picking and placing.
    pub fn strokes(&self) -> (Time, Time) {
        self.clock.strokes(self.head)
    }

    /// From anywhere to where the head can pick.
    pub fn enter(&self, from: Point) -> Time {
        settled(self.nearest(from, 100, None), self.settle)
    }

    fn way_out(&self, t: TaskId) -> Time {
        self.enter(self.rows[t.index()].at)
    }

    fn way_in(&self, t: TaskId) -> Time {
        let there = self.camera.map(|c| self.nearest(c, self.rows[t.index()].percent, self.only(t)) + self.clock.settles().1);
        there.unwrap_or(Time::ZERO) + self.landing(t)
    }

    /// Whether its supply is a tray, where the head brings one part at a time.
    fn only(&self, t: TaskId) -> Option<bool> {
        (self.spindles == 1).then(|| self.job.part(t).supply.value == Supply::Tray)
    }

    /// To the pad from the camera, or without one from where the part can be picked.
    pub fn landing(&self, t: TaskId) -> Time {
        let row = &self.rows[t.index()];
        let (p, settle) = (row.percent, self.clock.settles().1);
        let turn = self.clock.turn(self.head, row.turn, p);
        let landing = |way: Time| way.max(turn) + if way > Time::ZERO { settle } else { Time::ZERO };
        let Some(camera) = self.camera else { return landing(self.nearest(row.at, p, self.only(t))) };
        let spindles = if self.kind == HeadKind::Inline { self.spindles } else { 1 };
        let to_pad = |k: i64| self.clock.travel(camera, Point { x: row.at.x - self.pitch * k, y: row.at.y }, p);
        landing((0..spindles).map(to_pad).min().unwrap_or(Time::ZERO))
    }

    /// Strokes and exposures of a part picked and placed by itself.
    fn alone(&self, t: TaskId) -> Time {
        let (pick, place) = self.clock.strokes(self.head);
        pick + place + self.looks(t)
    }

    fn looks(&self, t: TaskId) -> Time {
        if self.camera.is_none() {
            return Time::ZERO;
        }
        self.exposure * self.clock.exposures(self.head, self.rows[t.index()].body)
    }

    /// Putting used trays aside, where the part can only stand on stacks [ns].
    fn put_aside(&self, t: TaskId) -> i64 {
        let part = self.job.part(t);
        if part.supply.value != Supply::Tray {
            return 0;
        }
        let pockets = i64::from(part.tray_pockets.value.max(1));
        let places = self.station.tray.iter().filter(|p| p.beam == self.beam && tray_fits(p, part));
        places.map(|p| if p.kind == TrayKind::Stack { p.change.0.0 * 1000 / pockets } else { 0 }).min().unwrap_or(0)
    }

    /// Least time between a pick and the next one of the same trip, if that is `t`: from the same supply, from another.
    fn steps(&self, t: TaskId) -> (Time, Time) {
        if self.kind != HeadKind::Rotary {
            return (Time::ZERO, Time::ZERO);
        }
        let part = self.job.part(t);
        let index = self.clock.index(self.head, 0, 1, 100);
        let tray = part.supply.value == Supply::Tray;
        let other = if tray || self.shared { index } else { index + self.clock.settles().0 };
        let advance = |f: &domain::line::FeederKind| {
            let (pitch, step) = (part.tape_pitch_um.value.0, f.advance_step.0.0.max(1));
            *f.advance * if f.supply == Supply::Tape { ((pitch + step - 1) / step).max(1) } else { 1 }
        };
        let again = self.line.feeder.iter().filter(|f| feeder_fits(f, part)).map(advance).min().unwrap_or(Time::ZERO);
        (index.max(again), other)
    }

    /// The figures of a head with several spindles.
    fn several(&self, figures: &mut HeadFigures, mine: &[(usize, TaskId)], ways: &[(Time, Time)]) {
        let (pick, place) = self.clock.strokes(self.head);
        let steps: Vec<(Time, Time)> = mine.iter().map(|(_, t)| self.steps(*t)).collect();
        let ins: Vec<Time> = ways.iter().map(|w| w.0).collect();
        let between = self.between(mine, &ins);
        let mut alike: BTreeMap<usize, i64> = BTreeMap::new();
        for (_, t) in mine {
            *alike.entry(self.job.tasks[t.index()].part.index()).or_default() += 1;
        }
        figures.first = vec![NEVER; figures.base.len()];
        figures.last = vec![NEVER; figures.base.len()];
        for (((i, t), e), (ways, (again, other))) in mine.iter().zip(&between).zip(ways.iter().zip(&steps)) {
            let step = *again.min(other);
            // A trip has one pick of a part at least that follows no other of it, and no more of them than spindles.
            let alike = alike[&self.job.tasks[t.index()].part.index()].min(self.spindles);
            let spread = 1000 * (*other - step).0 / alike;
            let pick = if self.kind == HeadKind::Inline { pick.0 * 1000 / self.spindles } else { pick.0 * 1000 };
            figures.base[*i] = 1000 * (place + self.looks(*t) + step + *e).0 + pick + spread + self.put_aside(*t);
            figures.first[*i] = 1000 * (ways.0 - *e).0;
            figures.last[*i] = 1000 * ways.1.0;
        }
        let longest = steps.iter().map(|s| s.1).max().unwrap_or(Time::ZERO);
        figures.per_trip = 1000 * (self.in_flight - longest).0;
    }

    /// Least step into each task from another one of the same trip; the way in where there is no other.
    pub fn between(&self, mine: &[(usize, TaskId)], ins: &[Time]) -> Vec<Time> {
        if mine.len() == 1 {
            return ins.to_vec();
        }
        let grid = Grid::new(mine.iter().map(|(_, t)| self.rows[t.index()].at));
        let settle = self.clock.settles().1;
        let step = |(k, (_, t)): (usize, &(usize, TaskId))| {
            let row = &self.rows[t.index()];
            let p = row.percent;
            let mut beside = self.clock.turn(self.head, row.turn, p);
            if self.kind == HeadKind::Rotary {
                beside = beside.max(self.clock.index(self.head, 0, 1, p));
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
