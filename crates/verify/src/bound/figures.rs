//! What each task costs a head at least, and what the head costs whenever it is used.

use super::neighbours::Neighbours;
use super::regions::{self, Region, least_way};
use super::{NS, drum};
use crate::capability::tray_fits;
use domain::job::{Job, TaskId};
use domain::line::{Head, HeadKind, Line, SightMode, Station, TrayKind};
use domain::part::{Part, Supply};
use motion::{Clock, StationClock, TaskRow};
use std::collections::BTreeMap;
use units::{Length, Point, Time};

/// The figures of one head [ns].
pub(crate) struct Figures {
    /// Spindles of a head whose trips are priced; 1 for all others.
    pub(crate) spindles: i64,
    /// For each task given.
    pub(crate) tasks: Vec<TaskFigures>,
    /// What a trip costs beside its first and last placement.
    pub(crate) per_trip: i64,
    /// From the last mark to the first work.
    pub(crate) enter_mark: i64,
    /// From the head changer to the first work.
    pub(crate) enter_changer: i64,
    /// From the last work to the head changer.
    pub(crate) leave: i64,
    /// From the last mark to the head changer.
    pub(crate) mark_to_changer: i64,
    /// What the end of a panel spares.
    pub(crate) end: i64,
    /// One change of nozzle with the way round; `None` without a rack.
    pub(crate) change: Option<i64>,
}

impl Figures {
    /// Of a head whose work is not counted.
    pub(crate) fn free(tasks: usize) -> Self {
        Self {
            spindles: 1,
            tasks: vec![TaskFigures { base: 0, first: 0, last: 0 }; tasks],
            per_trip: 0,
            enter_mark: 0,
            enter_changer: 0,
            leave: 0,
            mark_to_changer: 0,
            end: 0,
            change: None,
        }
    }
}

/// The figures of one task at one head [ns].
#[derive(Clone, Copy)]
pub(crate) struct TaskFigures {
    pub(crate) base: i64,
    /// What more the first placement of a trip costs.
    pub(crate) first: i64,
    /// The way back after the last placement of a trip.
    pub(crate) last: i64,
}

/// Everything about one head that its tasks share.
struct HeadCase<'a> {
    station: &'a Station,
    head: &'a Head,
    index: usize,
    clock: &'a StationClock,
    regions: Vec<Region>,
    /// Whether two supplies may be picked at one point.
    shared: bool,
    share: Share,
    line: &'a Line,
    settle_pick: Time,
    settle_place: Time,
    /// Settling before a pick, as far as no stop on the way can spare it.
    sure_settle: Time,
}

/// What figures are of: a head's own time, or the time that a beam holds the board.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Share {
    Own,
    Board,
}

/// Figures of head `h` of station `s` for the tasks (or dots) it takes; `None` if these are none or nothing can be picked.
pub(crate) fn of(line: &Line, job: &Job<'_>, clock: &Clock<'_>, (s, h): (usize, usize), tasks: &[TaskId], share: Share) -> Option<Figures> {
    let station = &line.station[s];
    let head = &station.head[h];
    let station_clock = clock.station(s);
    let (settle_pick, settle_place) = station_clock.settles();
    let rows: Vec<(&TaskRow, &Part)> = tasks.iter().map(|t| (&clock.tasks()[t.index()], job.part(*t))).collect();
    if let Some(drum) = station_clock.drum() {
        return drum::of(drum, station_clock, &rows.iter().map(|r| r.0).collect::<Vec<_>>());
    }
    let mark = job.fiducials.last().copied()?;
    if head.kind == HeadKind::Dispense {
        return dispense(station, station_clock, head, &rows, mark);
    }
    let all = regions::of(station, head);
    let shared = regions::touch(station, head);
    let trays = rows.iter().any(|(_, part)| part.supply.value == Supply::Tray);
    let tapes = rows.iter().any(|(_, part)| part.supply.value != Supply::Tray);
    let stops = station.nozzle_rack.iter().map(|r| *r.change).chain(station.head_swap.iter().map(|s| *s.time));
    let sure_settle = stops.chain([settle_pick, settle_place]).min()?;
    let case = HeadCase {
        station,
        head,
        index: h,
        clock: station_clock,
        shared,
        share,
        regions: all.into_iter().filter(|r| if r.holds(Supply::Tray) { trays } else { tapes }).collect(),
        line,
        settle_pick,
        settle_place,
        sure_settle,
    };
    case.figures(&rows, mark)
}

/// A dispense head: its dots, and the ways to the first and from the last of them.
fn dispense(station: &Station, clock: &StationClock, head: &Head, rows: &[(&TaskRow, &Part)], mark: Point) -> Option<Figures> {
    let changer = station.head_swap.as_ref().map(|s| s.at.point());
    let enter = |from: Point| rows.iter().map(|(row, _)| settled(clock.travel(from, row.at, 100), clock.settles().1).0 * NS).min();
    let leave = |to: Point| rows.iter().map(|(row, _)| clock.travel(row.at, to, 100).0 * NS).min();
    let dot = |part: &Part| head.dot.map_or(0, |d| d.0.0) * i64::from(part.adhesive_dots.value) * NS;
    Some(Figures {
        spindles: 1,
        tasks: rows.iter().map(|(_, part)| TaskFigures { base: dot(part), first: 0, last: 0 }).collect(),
        per_trip: 0,
        enter_mark: enter(mark)?,
        enter_changer: changer.and_then(enter).unwrap_or(0),
        leave: changer.and_then(leave).unwrap_or(0),
        mark_to_changer: changer.map_or(0, |c| clock.travel(mark, c, 100).0 * NS),
        end: 0,
        change: None,
    })
}

impl HeadCase<'_> {
    fn figures(&self, rows: &[(&TaskRow, &Part)], mark: Point) -> Option<Figures> {
        let outs = rows.iter().map(|(row, _)| self.back(row.at)).collect::<Option<Vec<Time>>>()?;
        let ins = rows.iter().map(|(row, part)| self.way_in(row, part)).collect::<Option<Vec<Time>>>()?;
        let changer = self.station.head_swap.as_ref().map(|s| s.at.point());
        let to_changer = |from: Point| changer.map_or(Time::ZERO, |c| self.clock.travel(from, c, 100));
        let single = self.head.spindles <= 1;
        let leave = rows.iter().zip(&outs).map(|((row, _), out)| to_changer(row.at) - if single { *out } else { Time::ZERO }).min()?;
        // Beam 2 has gone to its first pocket before; or it begins at the mark when beam 1 does nothing.
        let enter_mark = if self.head.beam == Some(2) { Time::ZERO } else { self.back(mark)? };
        let mut figures = Figures {
            spindles: i64::from(self.head.spindles.max(1)),
            tasks: Vec::new(),
            per_trip: 0,
            enter_mark: enter_mark.0 * NS,
            enter_changer: changer.map_or(Some(0), |c| Some(self.back(c)?.0 * NS))?,
            leave: if changer.is_some() { leave.0 * NS } else { 0 },
            mark_to_changer: to_changer(mark).0 * NS,
            end: if single { -outs.iter().copied().max()?.0 * NS } else { 0 },
            change: self.change(rows, mark, changer),
        };
        if single {
            figures.tasks = self.single(rows, &ins, &outs);
        } else {
            self.several(rows, &ins, &outs, &mut figures);
        }
        Some(figures)
    }

    fn holds_board(&self) -> bool {
        self.share == Share::Board
    }

    /// One change of nozzle: the change, and the least way round by the rack.
    fn change(&self, rows: &[(&TaskRow, &Part)], mark: Point, changer: Option<Point>) -> Option<i64> {
        let rack = self.station.nozzle_rack.as_ref()?;
        let at = rack.at.point();
        // A beam may also ask for the board to go to the rack from its camera.
        let camera = self.camera_at().filter(|_| self.holds_board());
        let from = rows.iter().map(|(row, _)| row.at).chain([mark]).chain(changer).chain(camera);
        let round = from.filter_map(|a| Some(self.clock.travel(a, at, 100) - self.back(a)?)).min()?;
        Some((*rack.change + round + self.back(at)?).0 * NS)
    }

    /// One part a trip: all of the trip is the task's.
    fn single(&self, rows: &[(&TaskRow, &Part)], ins: &[Time], outs: &[Time]) -> Vec<TaskFigures> {
        let off_board = |row: &TaskRow, part: &Part| {
            if self.holds_board() { 0 } else { (*self.head.pick + self.in_flight() + self.camera(row)).0 * NS + self.put_aside(part) }
        };
        let base = |((row, part), (i, o)): (&(&TaskRow, &Part), (&Time, &Time))| (*self.head.place + *i + *o).0 * NS + off_board(row, part);
        rows.iter().zip(ins.iter().zip(outs)).map(|r| TaskFigures { base: base(r), first: 0, last: 0 }).collect()
    }

    /// Several parts a trip.
    fn several(&self, rows: &[(&TaskRow, &Part)], ins: &[Time], outs: &[Time], figures: &mut Figures) {
        let points: Vec<Point> = rows.iter().map(|(row, _)| row.at).collect();
        let shifts = self.shifts();
        let neighbours = Neighbours::new(&points);
        let beside_of = |row: &TaskRow| self.turn(row).max(self.step(row.percent));
        let mut count: BTreeMap<u32, i64> = BTreeMap::new();
        rows.iter().for_each(|(row, _)| *count.entry(row.part).or_default() += 1);
        let mut longest = Time::ZERO;
        for (j, (row, part)) in rows.iter().enumerate() {
            let e = neighbours.least(j, &shifts, self.clock, row.percent, beside_of(row), self.settle_place).unwrap_or(ins[j]);
            // As many picks of the part as one trip may hold share what the first of them costs more.
            let alike = count[&row.part].min(figures.spindles);
            let (again, other) = self.next_pick(part);
            longest = longest.max(other);
            let step = again.min(other).0 * NS + (other - again.min(other)).0 * NS / alike;
            let pick = match self.head.kind {
                HeadKind::Inline => self.head.pick.0.0 * NS / figures.spindles,
                _ => self.head.pick.0.0 * NS,
            };
            let off_board = if self.holds_board() { 0 } else { self.camera(row).0 * NS + pick + step + self.put_aside(part) };
            figures.tasks.push(TaskFigures {
                base: (*self.head.place + e).0 * NS + off_board,
                first: (ins[j] - e).0 * NS,
                last: outs[j].0 * NS,
            });
        }
        figures.per_trip = if self.holds_board() { 0 } else { (self.in_flight() - longest).0 * NS };
    }

    /// Putting used trays aside, where the part can stand on stacks only [ns].
    fn put_aside(&self, part: &Part) -> i64 {
        let pockets = i64::from(part.tray_pockets.value.max(1));
        let places = self.station.tray.iter().filter(|t| t.beam == self.head.beam && tray_fits(t, part));
        places.map(|t| if t.kind == TrayKind::Stack { t.change.0.0 * NS / pockets } else { 0 }).min().unwrap_or(0)
    }

    /// From a point to where a part can be picked.
    fn reach(&self, from: Point) -> Option<Time> {
        least_way(self.regions.iter(), self.clock, from, 100).map(|way| settled(way, self.sure_settle))
    }

    /// The way back to where a part can be picked. Of the board's time only what is left from the camera may be
    /// sure: a trip that places nothing lets a beam go there without the board.
    fn back(&self, from: Point) -> Option<Time> {
        let straight = self.reach(from)?;
        let Some(camera) = self.camera_at().filter(|_| self.holds_board()) else { return Some(straight) };
        Some(straight.min(self.reach(camera)?))
    }

    /// From where its part can be picked, by the camera if there is one, to the task.
    fn way_in(&self, row: &TaskRow, part: &Part) -> Option<Time> {
        let own = |r: &&Region| self.head.spindles > 1 || r.holds(part.supply.value);
        let regions = self.regions.iter().filter(own);
        let Some(camera) = self.camera_at() else {
            let way = least_way(regions, self.clock, row.at, row.percent)?;
            return Some(self.landing(way, row));
        };
        let there = if self.holds_board() { Time::ZERO } else { least_way(regions, self.clock, camera, row.percent)? + self.settle_place };
        let from_camera = |spindle: u8| self.clock.travel(camera, self.clock.reference(self.index, spindle, row.at), row.percent);
        let way = (0..self.head.spindles.max(1)).map(from_camera).min()?;
        Some(there + self.landing(way, row))
    }

    /// Way or turn, whichever is longer, and settling after a way.
    fn landing(&self, way: Time, row: &TaskRow) -> Time {
        let longer = way.max(self.turn(row));
        if way > Time::ZERO { longer + self.settle_place } else { longer }
    }

    fn turn(&self, row: &TaskRow) -> Time {
        self.clock.turn(self.index, row.turn, row.percent)
    }

    /// One step of the drum; 0 for other heads.
    fn step(&self, percent: u8) -> Time {
        if self.head.spindles > 1 { self.clock.index(self.index, 0, 1, percent) } else { Time::ZERO }
    }

    /// Least time between a pick and the next one of the drum, if that is of this part: from the same supply, from another.
    fn next_pick(&self, part: &Part) -> (Time, Time) {
        if self.head.kind != HeadKind::Rotary {
            return (Time::ZERO, Time::ZERO);
        }
        let index = self.step(100);
        let stays = part.supply.value == Supply::Tray || self.shared;
        let again = |feeder: &domain::line::FeederKind| {
            let (pitch, step) = (part.tape_pitch_um.value.0, feeder.advance_step.0.0.max(1));
            let steps = if feeder.supply == Supply::Tape { ((pitch + step - 1) / step).max(1) } else { 1 };
            *feeder.advance * steps
        };
        let same_feeder =
            self.line.feeder.iter().filter(|f| crate::capability::feeder_fits(f, part)).map(again).min().unwrap_or(Time::ZERO);
        (index.max(same_feeder), if stays { index } else { index + self.settle_pick })
    }

    fn in_flight(&self) -> Time {
        self.head.sight.as_ref().filter(|s| s.mode == SightMode::InFlight).map_or(Time::ZERO, |s| *s.time)
    }

    fn camera(&self, row: &TaskRow) -> Time {
        let sight = self.head.sight.as_ref().filter(|s| s.mode == SightMode::Camera);
        sight.map_or(Time::ZERO, |s| *s.time * self.clock.exposures(self.index, row.body))
    }

    fn camera_at(&self) -> Option<Point> {
        self.head.sight.as_ref().filter(|s| s.mode == SightMode::Camera)?.at.map(|p| p.point())
    }

    /// How far apart along X the reference points of two tasks can be shifted by their spindles.
    fn shifts(&self) -> Vec<Length> {
        match (self.head.kind, self.head.pitch) {
            (HeadKind::Inline, Some(pitch)) => {
                let n = i64::from(self.head.spindles);
                (1 - n..n).filter(|d| *d != 0).map(|d| *pitch * d).collect()
            }
            _ => vec![Length::ZERO],
        }
    }
}

/// A way with the settling after it, if it is one.
fn settled(way: Time, settle: Time) -> Time {
    if way > Time::ZERO { way + settle } else { way }
}
