//! One station's clock: trips, marks, dots and views, piece by piece.

use crate::axis::AxisTimer;
use crate::drum::DrumClock;
use crate::rows::{HeadState, PickStep, SupplyRow, TaskRow, Tracker, TripTime};
use domain::line::{Head, HeadKind, SightMode, Station};
use domain::plan::PlaceStep;
use units::{Length, Point, Time};

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

/// The clock of one station.
#[derive(Clone, Debug)]
pub struct StationClock {
    x: AxisTimer,
    y: AxisTimer,
    settle_pick: Time,
    settle_place: Time,
    fiducial: Time,
    heads: Vec<HeadRow>,
    tray_change: Vec<Time>,
    drum: Option<DrumClock>,
}

impl StationClock {
    /// The clock of a station.
    pub fn new(station: &Station) -> Self {
        Self {
            x: AxisTimer::new(&station.axes.x),
            y: AxisTimer::new(&station.axes.y),
            settle_pick: *station.settle_pick,
            settle_place: *station.settle_place,
            fiducial: *station.fiducial,
            heads: station.head.iter().map(HeadRow::new).collect(),
            tray_change: station.tray.iter().map(|t| *t.change).collect(),
            drum: DrumClock::new(station),
        }
    }

    /// The drum, table and carriage of a turret; `None` at other stations.
    pub fn drum(&self) -> Option<&DrumClock> {
        self.drum.as_ref()
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
        let start = *now;
        let fetched = self.fetch(head, picks, places, supplies, tasks, state, tracker, start);
        let t = fetched.plus(self.put(head, places, tasks, state));
        *now = start + t.total();
        t
    }

    /// The first half of a trip, begun at `start`: its strokes and its sight. Moves the head on.
    #[expect(clippy::too_many_arguments, reason = "the state is kept by the caller, who times many trips")]
    pub fn fetch(
        &self,
        head: usize,
        picks: &[PickStep],
        places: &[PlaceStep],
        supplies: &[SupplyRow],
        tasks: &[TaskRow],
        state: &mut HeadState,
        tracker: &mut Tracker,
        start: Time,
    ) -> TripTime {
        let h = &self.heads[head];
        let mut t = TripTime::default();
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
        t
    }

    /// The second half of a trip: its placements. Moves the head on.
    pub fn put(&self, head: usize, places: &[PlaceStep], tasks: &[TaskRow], state: &mut HeadState) -> TripTime {
        let h = &self.heads[head];
        let mut t = TripTime::default();
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
        t
    }

    /// From where the head stands to where a stroke of this first pick wants it: the way with settling, and
    /// what turning the drum takes beyond the way.
    pub fn approach(&self, head: usize, pick: PickStep, supplies: &[SupplyRow], percent: u8, state: &HeadState) -> (HeadState, Time, Time) {
        let to = self.reference(head, pick.spindle, supplies[pick.supply as usize].at);
        let mut way = self.travel(state.at, to, percent);
        let beyond = (self.index(head, state.drum, pick.spindle, percent) - way).max(Time::ZERO);
        if to != state.at {
            way += self.settle_pick;
        }
        (HeadState { at: to, drum: pick.spindle }, way, beyond)
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
        let (there, way, beyond) = self.approach(head, stroke[0], supplies, percent, state);
        t.index += beyond;
        t.pick_travel += way;
        *state = there;
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
pub(crate) fn slowed(t: Time, percent: u8) -> Time {
    if percent >= 100 { t } else { Time((t.0 * 100 + i64::from(percent) - 1) / i64::from(percent.max(1))) }
}
