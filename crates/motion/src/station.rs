//! One station's clock: trips, marks, dots and views, piece by piece.

use crate::axis::AxisTimer;
use domain::job::{Job, TaskId};
use domain::line::{Head, HeadKind, SightMode, Station};
use domain::plan::{Breakdown, PlaceStep};
use units::{Length, Point, Time};

/// What the clock needs of a task.
#[derive(Clone, Copy, Debug)]
pub struct TaskRow {
    /// Where it is placed, in the station's frame (the panel's lower left is the origin).
    pub at: Point,
    /// How far its part is turned before placing, the shorter way [m°].
    pub turn: i64,
    /// Index of its part.
    pub part: u32,
    /// Speed its part allows [%].
    pub percent: u8,
    /// Longer and shorter side of its body [µm], for exposures.
    pub body: (Length, Length),
}

impl TaskRow {
    /// The rows of all tasks of a job.
    pub fn of(job: &Job<'_>) -> Vec<Self> {
        let row = |(i, task): (usize, &domain::job::Task)| {
            let part = job.part(TaskId(i as u32));
            Self {
                at: task.at,
                turn: task.rotation.shortest_turn().0,
                part: task.part.0,
                percent: part.speed.value.0.clamp(1, 100),
                body: (part.long_side(), part.short_side()),
            }
        };
        job.tasks.iter().enumerate().map(row).collect()
    }
}

/// What the clock needs of a supply.
#[derive(Clone, Copy, Debug)]
pub struct SupplyRow {
    /// Where parts are picked.
    pub at: Point,
    /// How long after a pick the next part is there.
    pub advance: Time,
    /// Tray magazine and level, if it is one: (index of the tray place, level).
    pub magazine: Option<(u32, u32)>,
}

/// One part picked, with a mark on the first of every stroke.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PickStep {
    /// Spindle, counted from 0.
    pub spindle: u8,
    /// Index into the station's supplies.
    pub supply: u32,
    /// Whether a stroke begins here.
    pub opens: bool,
}

/// Where the head is and how the drum stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct HeadState {
    /// Reference point of the head: spindle 0, or the drum's work point.
    pub at: Point,
    /// Spindle at the work point of the drum.
    pub drum: u8,
}

/// When supplies are ready again, and which level each magazine presents.
#[derive(Clone, Debug)]
pub struct Tracker {
    ready: Vec<Time>,
    /// For each tray place: level presented, and when the head last left it.
    level: Vec<(u32, Time)>,
    /// Supplies picked from since the last [`Self::forget`].
    touched: Vec<u32>,
}

impl Tracker {
    /// Everything ready at time 0; magazines present what `levels` says (0: whatever is asked for first).
    pub fn new(supplies: usize, levels: Vec<u32>) -> Self {
        Self { ready: vec![Time::ZERO; supplies], level: levels.into_iter().map(|l| (l, Time::ZERO)).collect(), touched: Vec::new() }
    }

    /// Everything ready at time 0 again; quick, since only what was picked from is put back.
    pub fn forget(&mut self) {
        for supply in self.touched.drain(..) {
            self.ready[supply as usize] = Time::ZERO;
        }
        self.level.fill((0, Time::ZERO));
    }
}

/// Where the time of one trip goes [µs each].
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct TripTime {
    /// Ways to pockets, with settling.
    pub pick_travel: Time,
    /// Pick strokes.
    pub strokes: Time,
    /// Waiting for feeders.
    pub feeder_wait: Time,
    /// Waiting for a tray level.
    pub tray_wait: Time,
    /// Measuring.
    pub sight: Time,
    /// Ways to pads, with settling.
    pub place_travel: Time,
    /// Place strokes.
    pub places: Time,
    /// Index and turn beyond the ways.
    pub index: Time,
}

impl TripTime {
    /// All of it.
    pub fn total(&self) -> Time {
        self.pick_travel + self.strokes + self.feeder_wait + self.tray_wait + self.sight + self.place_travel + self.places + self.index
    }

    /// Adds it to a breakdown.
    pub fn add_to(&self, b: &mut Breakdown) {
        b.pick_travel_us += self.pick_travel;
        b.pick_strokes_us += self.strokes;
        b.feeder_wait_us += self.feeder_wait;
        b.tray_change_us += self.tray_wait;
        b.sight_us += self.sight;
        b.place_travel_us += self.place_travel;
        b.place_strokes_us += self.places;
        b.index_us += self.index;
    }
}

/// What the clock needs of a head.
#[derive(Clone, Debug)]
struct HeadRow {
    kind: HeadKind,
    spindles: u8,
    pitch: Length,
    index: Time,
    turn_90: Time,
    pick: Time,
    place: Time,
    dot: Time,
    sight: SightMode,
    sight_time: Time,
    sight_at: Point,
    field: Length,
}

impl HeadRow {
    fn new(h: &Head) -> Self {
        let sight = h.sight.as_ref();
        Self {
            kind: h.kind,
            spindles: h.spindles.max(1),
            pitch: h.pitch.map_or(Length::ZERO, |p| *p),
            index: h.index.map_or(Time::ZERO, |t| *t),
            turn_90: *h.turn_90,
            pick: *h.pick,
            place: *h.place,
            dot: h.dot.map_or(Time::ZERO, |t| *t),
            sight: sight.map_or(SightMode::None, |s| s.mode),
            sight_time: sight.map_or(Time::ZERO, |s| *s.time),
            sight_at: sight.and_then(|s| s.at).map_or(Point::default(), |p| p.point()),
            field: sight.and_then(|s| s.field).map_or(Length::ZERO, |f| *f),
        }
    }
}

/// The clock of one gantry station.
#[derive(Clone, Debug)]
pub struct StationClock {
    x: AxisTimer,
    y: AxisTimer,
    settle_pick: Time,
    settle_place: Time,
    fiducial: Time,
    heads: Vec<HeadRow>,
    tray_change: Vec<Time>,
}

impl StationClock {
    /// The clock of a station of kind gantry.
    pub fn new(station: &Station) -> Self {
        Self {
            x: AxisTimer::new(&station.axes.x),
            y: AxisTimer::new(&station.axes.y),
            settle_pick: *station.settle_pick,
            settle_place: *station.settle_place,
            fiducial: *station.fiducial,
            heads: station.head.iter().map(HeadRow::new).collect(),
            tray_change: station.tray.iter().map(|t| *t.change).collect(),
        }
    }

    /// Both axes together: the slower counts [µs].
    pub fn travel(&self, from: Point, to: Point, percent: u8) -> Time {
        let d = to - from;
        self.x.time(d.x, percent).max(self.y.time(d.y, percent))
    }

    /// Where the head's reference point stands when `spindle` is over `point`.
    pub fn reference(&self, head: usize, spindle: u8, point: Point) -> Point {
        let h = &self.heads[head];
        match h.kind {
            HeadKind::Inline => Point { x: point.x - h.pitch * i64::from(spindle), y: point.y },
            HeadKind::Rotary | HeadKind::Single | HeadKind::Dispense => point,
        }
    }

    /// Turning the drum from one spindle to another at `percent` [µs]; 0 for other heads.
    pub fn index(&self, head: usize, from: u8, to: u8, percent: u8) -> Time {
        let h = &self.heads[head];
        if h.kind != HeadKind::Rotary || from == to {
            return Time::ZERO;
        }
        let steps = i64::from(from.abs_diff(to));
        let steps = steps.min(i64::from(h.spindles) - steps);
        slowed(h.index * steps, percent)
    }

    /// Turning a part by `turn` thousandths of a degree [µs].
    pub fn turn(&self, head: usize, turn: i64, percent: u8) -> Time {
        if turn == 0 {
            return Time::ZERO;
        }
        slowed(Time((self.heads[head].turn_90.0 * turn + 89_999) / 90_000), percent)
    }

    /// Exposures a body needs at the camera: fields along each side, multiplied.
    pub fn exposures(&self, head: usize, body: (Length, Length)) -> i64 {
        let f = self.heads[head].field.0.max(1);
        ((body.0.0 + f - 1) / f).max(1) * ((body.1.0 + f - 1) / f).max(1)
    }

    /// Times one trip and moves the head on.
    ///
    /// `now` is the time since the panel arrived, for feeders and trays that need time between
    /// picks; it is moved on too. Picks of one stroke must be reachable at once: the head stands
    /// where its first pick wants it ([`Self::reference`]); whether the others lie under their
    /// spindles is for the checker to say.
    #[expect(clippy::too_many_arguments, reason = "the state is kept by the caller, who times many trips")]
    pub fn trip(
        &self,
        head: usize,
        picks: &[PickStep],
        places: &[PlaceStep],
        supplies: &[SupplyRow],
        tasks: &[TaskRow],
        state: &mut HeadState,
        tracker: &mut Tracker,
        now: &mut Time,
    ) -> TripTime {
        let h = &self.heads[head];
        let mut t = TripTime::default();
        let start = *now;
        // Speed allowed by what hangs on each spindle; a trip never carries more than 32 parts.
        let mut carried = [100u8; 32];
        for p in places {
            carried[usize::from(p.spindle) % 32] = tasks[p.task.index()].percent;
        }
        let mut percent = 100;
        let mut i = 0;
        while i < picks.len() {
            let end = picks[i + 1..].iter().position(|p| p.opens).map_or(picks.len(), |k| i + 1 + k);
            let stroke = &picks[i..end];
            self.stroke(h, head, stroke, supplies, percent, state, tracker, start, &mut t);
            for p in stroke {
                percent = percent.min(carried[usize::from(p.spindle) % 32]);
            }
            i = end;
        }
        self.sight(h, head, places, tasks, percent, state, &mut t);
        for (k, step) in places.iter().enumerate() {
            // The most delicate part still on the head rules.
            let percent = places[k..].iter().map(|p| tasks[p.task.index()].percent).min().unwrap_or(100);
            let task = &tasks[step.task.index()];
            let to = self.reference(head, step.spindle, task.at);
            let mut way = self.travel(state.at, to, percent);
            let beside = self.index(head, state.drum, step.spindle, percent).max(self.turn(head, task.turn, percent));
            t.index += (beside - way).max(Time::ZERO);
            if to != state.at {
                way += self.settle_place;
            }
            t.place_travel += way;
            t.places += h.place;
            *state = HeadState { at: to, drum: step.spindle };
        }
        *now = start + t.total();
        t
    }

    #[expect(clippy::too_many_arguments, reason = "one stroke of a trip, with the trip's state")]
    fn stroke(
        &self,
        h: &HeadRow,
        head: usize,
        stroke: &[PickStep],
        supplies: &[SupplyRow],
        percent: u8,
        state: &mut HeadState,
        tracker: &mut Tracker,
        start: Time,
        t: &mut TripTime,
    ) {
        let first = stroke[0];
        let to = self.reference(head, first.spindle, supplies[first.supply as usize].at);
        let mut way = self.travel(state.at, to, percent);
        let beside = self.index(head, state.drum, first.spindle, percent);
        t.index += (beside - way).max(Time::ZERO);
        if to != state.at {
            way += self.settle_pick;
        }
        t.pick_travel += way;
        *state = HeadState { at: to, drum: first.spindle };
        let arrived = start + t.total();
        let mut ready = arrived;
        for p in stroke {
            ready = ready.max(tracker.ready[p.supply as usize]);
        }
        t.feeder_wait += ready - arrived;
        let mut presented = ready;
        for p in stroke {
            let Some((place, level)) = supplies[p.supply as usize].magazine else { continue };
            let (shown, left) = tracker.level[place as usize];
            if shown != level && shown != 0 {
                presented = presented.max(left + self.tray_change[place as usize]);
            }
        }
        t.tray_wait += presented - ready;
        t.strokes += h.pick;
        let done = start + t.total();
        for p in stroke {
            let row = &supplies[p.supply as usize];
            tracker.ready[p.supply as usize] = done + row.advance;
            tracker.touched.push(p.supply);
            if let Some((place, level)) = row.magazine {
                tracker.level[place as usize] = (level, done);
            }
        }
    }

    #[expect(clippy::too_many_arguments, reason = "the sighting of a trip, with the trip's state")]
    fn sight(
        &self,
        h: &HeadRow,
        head: usize,
        places: &[PlaceStep],
        tasks: &[TaskRow],
        percent: u8,
        state: &mut HeadState,
        t: &mut TripTime,
    ) {
        match h.sight {
            SightMode::None => {}
            SightMode::InFlight => t.sight += h.sight_time,
            SightMode::Camera => {
                let way = self.travel(state.at, h.sight_at, percent);
                state.at = h.sight_at;
                t.sight += way + self.settle_place;
                for p in places {
                    t.sight += h.sight_time * self.exposures(head, tasks[p.task.index()].body);
                }
            }
        }
    }

    /// Looks at marks or views in order: way, settling and look for each; the head ends over the last.
    pub fn looks(&self, points: &[Point], each: Time, at: &mut Point) -> Time {
        let mut total = Time::ZERO;
        for point in points {
            if point != at {
                total += self.travel(*at, *point, 100) + self.settle_place;
            }
            total += each;
            *at = *point;
        }
        total
    }

    /// Looks at the panel's marks, the head already standing over the first.
    pub fn marks(&self, marks: &[Point]) -> Time {
        match marks.first() {
            None => Time::ZERO,
            Some(first) => self.looks(marks, self.fiducial, &mut first.clone()),
        }
    }

    /// Sets dots of tasks in order: way, settling, and the dots one after the other at each.
    pub fn dots(&self, head: usize, places: impl Iterator<Item = (Point, u8)>, at: &mut Point) -> Time {
        let mut total = Time::ZERO;
        for (point, count) in places {
            if point != *at {
                total += self.travel(*at, point, 100) + self.settle_place;
            }
            total += self.heads[head].dot * i64::from(count);
            *at = point;
        }
        total
    }

    /// Time a stroke costs at this head: picking, placing.
    pub fn strokes(&self, head: usize) -> (Time, Time) {
        (self.heads[head].pick, self.heads[head].place)
    }

    /// Settling over pockets and over pads.
    pub fn settles(&self) -> (Time, Time) {
        (self.settle_pick, self.settle_place)
    }
}

/// A time stretched because only `percent` of the speed is allowed, rounded up.
fn slowed(t: Time, percent: u8) -> Time {
    if percent >= 100 { t } else { Time((t.0 * 100 + i64::from(percent) - 1) / i64::from(percent.max(1))) }
}
