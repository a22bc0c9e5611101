//! What each task costs a head at least, and what the head costs whenever it is used.

use super::NS;
use super::neighbours::Neighbours;
use super::regions::{self, Region, least_way};
use domain::job::{Job, TaskId};
use domain::line::{Head, HeadKind, Line, SightMode, Station};
use domain::part::{Part, Supply};
use motion::{Clock, StationClock, TaskRow};
use units::{Length, Point, Time};

/// The figures of one head [ns].
pub(crate) struct Figures {
    /// For each task given.
    pub(crate) costs: Vec<i64>,
    /// Once a panel when the head is used.
    pub(crate) constant: i64,
}

/// Everything about one head that its tasks share.
struct HeadCase<'a> {
    station: &'a Station,
    head: &'a Head,
    index: usize,
    clock: &'a StationClock,
    regions: Vec<Region>,
    line: &'a Line,
    settle_pick: Time,
    /// Settling at the first pick of a trip.
    settle_out: Time,
    settle_place: Time,
}

/// Figures of head `h` of station `s` for the tasks it takes; `None` if these are none or nothing can be picked.
pub(crate) fn of(line: &Line, job: &Job<'_>, clock: &Clock<'_>, s: usize, h: usize, tasks: &[TaskId]) -> Option<Figures> {
    let station = &line.station[s];
    let head = &station.head[h];
    let station_clock = clock.station(s);
    let (settle_pick, settle_place) = station_clock.settles();
    let regions = regions::of(station, head);
    let stops = [station.nozzle_rack.as_ref().map(|r| r.at.point()), station.head_swap.as_ref().map(|s| s.at.point())];
    let settle_out = match station.inspection {
        _ if stops.into_iter().flatten().any(|p| regions.iter().any(|r| r.has(p))) => Time::ZERO,
        Some(_) => settle_pick.min(settle_place),
        None => settle_pick,
    };
    let case = HeadCase { station, head, index: h, clock: station_clock, regions, line, settle_pick, settle_out, settle_place };
    let rows: Vec<(&TaskRow, &Part)> = tasks.iter().map(|t| (&clock.tasks()[t.index()], job.part(*t))).collect();
    case.figures(&rows, job.fiducials.last().copied())
}

impl HeadCase<'_> {
    fn figures(&self, rows: &[(&TaskRow, &Part)], last_mark: Option<Point>) -> Option<Figures> {
        let outs = rows.iter().map(|(row, _)| self.out(row)).collect::<Option<Vec<Time>>>()?;
        let ins = rows.iter().map(|(row, part)| self.way_in(row, part)).collect::<Option<Vec<Time>>>()?;
        let constant = (self.entry(last_mark)? - outs.iter().copied().max()?).0 * NS;
        let costs = if self.head.spindles <= 1 { self.single(rows, &ins, &outs) } else { self.several(rows, &ins, &outs) };
        Some(Figures { costs, constant })
    }

    /// One part a trip: all of the trip is the task's.
    fn single(&self, rows: &[(&TaskRow, &Part)], ins: &[Time], outs: &[Time]) -> Vec<i64> {
        let once = *self.head.pick + *self.head.place + self.in_flight();
        rows.iter().zip(ins.iter().zip(outs)).map(|((row, _), (i, o))| (once + self.camera(row) + *i + *o).0 * NS).collect()
    }

    /// Several parts a trip: what each costs, and its share of what each trip costs.
    fn several(&self, rows: &[(&TaskRow, &Part)], ins: &[Time], outs: &[Time]) -> Vec<i64> {
        let points: Vec<Point> = rows.iter().map(|(row, _)| row.at).collect();
        let shifts = self.shifts();
        let neighbours = Neighbours::new(&points);
        let beside_of = |row: &TaskRow| self.turn(row).max(self.step(row.percent));
        let es: Vec<Time> = (0..rows.len())
            .map(|j| {
                let row = rows[j].0;
                neighbours.least(j, &shifts, self.clock, row.percent, beside_of(row), self.settle_place).unwrap_or(ins[j])
            })
            .collect();
        let least_in = ins.iter().zip(&es).map(|(i, e)| *i - *e).min().unwrap_or(Time::ZERO);
        let least_out = outs.iter().copied().min().unwrap_or(Time::ZERO);
        let steps: Vec<Time> = rows.iter().map(|(_, part)| self.next_pick(part)).collect();
        let longest_step = steps.iter().copied().max().unwrap_or(Time::ZERO);
        let trip = (least_in + least_out + self.in_flight() - longest_step).0 * NS;
        let spindles = i64::from(self.head.spindles);
        let share = if trip >= 0 { trip / spindles } else { trip };
        let pick = |step: Time| match self.head.kind {
            HeadKind::Inline => self.head.pick.0.0 * NS / spindles,
            _ => (*self.head.pick + step).0 * NS,
        };
        let cost = |((row, _), (e, step)): (&(&TaskRow, &Part), (Time, Time))| {
            (*self.head.place + self.camera(row) + e).0 * NS + pick(step) + share
        };
        rows.iter().zip(es.into_iter().zip(steps)).map(cost).collect()
    }

    /// From the task to where the next part can be picked.
    fn out(&self, row: &TaskRow) -> Option<Time> {
        least_way(self.regions.iter(), self.clock, row.at, 100).map(|way| settled(way, self.settle_out))
    }

    /// From where its part can be picked, by the camera if there is one, to the task.
    fn way_in(&self, row: &TaskRow, part: &Part) -> Option<Time> {
        let own = |r: &&Region| self.head.spindles > 1 || r.holds(part.supply.value);
        let regions = self.regions.iter().filter(own);
        let Some(camera) = self.camera_at() else {
            let way = least_way(regions, self.clock, row.at, row.percent)?;
            return Some(self.landing(way, row));
        };
        let there = least_way(regions, self.clock, camera, row.percent)?;
        let from_camera = |spindle: u8| self.clock.travel(camera, self.clock.reference(self.index, spindle, row.at), row.percent);
        let way = (0..self.head.spindles.max(1)).map(from_camera).min()?;
        Some(there + self.settle_place + self.landing(way, row))
    }

    /// Way or turn, whichever is longer, and settling after a way.
    fn landing(&self, way: Time, row: &TaskRow) -> Time {
        let longer = way.max(self.turn(row));
        if way > Time::ZERO { longer + self.settle_place } else { longer }
    }

    /// From where the head starts to where it can pick.
    fn entry(&self, last_mark: Option<Point>) -> Option<Time> {
        let changer = self.station.head_swap.as_ref().map(|s| s.at.point());
        let starts = last_mark.into_iter().chain(changer);
        let way = starts.filter_map(|p| least_way(self.regions.iter(), self.clock, p, 100)).min()?;
        Some(settled(way, self.settle_out))
    }

    fn turn(&self, row: &TaskRow) -> Time {
        self.clock.turn(self.index, row.turn, row.percent)
    }

    /// One step of the drum; 0 for other heads.
    fn step(&self, percent: u8) -> Time {
        if self.head.spindles > 1 { self.clock.index(self.index, 0, 1, percent) } else { Time::ZERO }
    }

    /// Least time between a pick and the next one of the drum, if that is of this part.
    fn next_pick(&self, part: &Part) -> Time {
        if self.head.kind != HeadKind::Rotary {
            return Time::ZERO;
        }
        let index = self.step(100);
        if regions::touch(self.station) {
            return index;
        }
        let again = |feeder: &domain::line::FeederKind| {
            let (pitch, step) = (part.tape_pitch_um.value.0, feeder.advance_step.0.0.max(1));
            let steps = if feeder.supply == Supply::Tape { ((pitch + step - 1) / step).max(1) } else { 1 };
            *feeder.advance * steps
        };
        let same_feeder =
            self.line.feeder.iter().filter(|f| crate::capability::feeder_fits(f, part)).map(again).min().unwrap_or(Time::ZERO);
        index.max(same_feeder).min(index + self.settle_pick)
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
