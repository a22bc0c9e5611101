//! One station's clock: trips here; marks, dots and views in `spots`.

mod spots;

use crate::axis::AxisTimer;
use crate::drum::DrumClock;
use crate::record::{About, Cause, Record, Unrecorded};
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
        Point { x: point.x - self.shift(head, spindle), y: point.y }
    }

    /// How far along X a spindle stands from the head's reference point [µm].
    fn shift(&self, head: usize, spindle: u8) -> Length {
        let h = &self.heads[head];
        match h.kind {
            HeadKind::Inline => h.pitch * i64::from(spindle),
            HeadKind::Rotary | HeadKind::Single | HeadKind::Dispense => Length::ZERO,
        }
    }

    /// The head over a point with `spindle`, its reference point at `stands`.
    fn over(&self, head: usize, spindle: u8, stands: Point) -> About {
        let shift = self.shift(head, spindle);
        let at = Point { x: stands.x + shift, y: stands.y };
        About { at: Some(at), shift, head: Some(head as u32), spindle: Some(spindle), ..About::default() }
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
        self.trip_noted(head, picks, places, supplies, tasks, state, tracker, now, &mut Unrecorded)
    }

    /// [`Self::trip`], told piece by piece.
    #[expect(clippy::too_many_arguments, reason = "the state is kept by the caller, who times many trips")]
    pub(crate) fn trip_noted<R: Record>(
        &self,
        head: usize,
        picks: &[PickStep],
        places: &[PlaceStep],
        supplies: &[SupplyRow],
        tasks: &[TaskRow],
        state: &mut HeadState,
        tracker: &mut Tracker,
        now: &mut Time,
        record: &mut R,
    ) -> TripTime {
        let start = *now;
        let fetched = self.fetch_noted(head, picks, places, supplies, tasks, state, tracker, start, record);
        let t = fetched.plus(self.put_noted(head, places, tasks, state, record));
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
        self.fetch_noted(head, picks, places, supplies, tasks, state, tracker, start, &mut Unrecorded)
    }

    /// [`Self::fetch`], told piece by piece.
    #[expect(clippy::too_many_arguments, reason = "the state is kept by the caller, who times many trips")]
    pub(crate) fn fetch_noted<R: Record>(
        &self,
        head: usize,
        picks: &[PickStep],
        places: &[PlaceStep],
        supplies: &[SupplyRow],
        tasks: &[TaskRow],
        state: &mut HeadState,
        tracker: &mut Tracker,
        start: Time,
        record: &mut R,
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
            self.stroke(h, head, stroke, places, supplies, percent, state, tracker, start, &mut t, record);
            for p in stroke {
                percent = percent.min(carried[usize::from(p.spindle) % 32]);
            }
            i = end;
        }
        self.sight(h, head, places, tasks, percent, state, &mut t, record);
        t
    }

    /// The second half of a trip: its placements. Moves the head on.
    pub fn put(&self, head: usize, places: &[PlaceStep], tasks: &[TaskRow], state: &mut HeadState) -> TripTime {
        self.put_noted(head, places, tasks, state, &mut Unrecorded)
    }

    /// [`Self::put`], told piece by piece.
    pub(crate) fn put_noted<R: Record>(
        &self,
        head: usize,
        places: &[PlaceStep],
        tasks: &[TaskRow],
        state: &mut HeadState,
        record: &mut R,
    ) -> TripTime {
        let h = &self.heads[head];
        let mut t = TripTime::default();
        for (k, step) in places.iter().enumerate() {
            // The most delicate part still on the head rules.
            let percent = places[k..].iter().map(|p| tasks[p.task.index()].percent).min().unwrap_or(100);
            let task = &tasks[step.task.index()];
            let to = self.reference(head, step.spindle, task.at);
            let mut way = self.travel(state.at, to, percent);
            let beside = self.index(head, state.drum, step.spindle, percent).max(self.turn(head, task.turn, percent));
            let beyond = (beside - way).max(Time::ZERO);
            if to != state.at {
                way += self.settle_place;
            }
            t.index += beyond;
            t.place_travel += way;
            t.places += h.place;
            let about = || About { task: Some(step.task), ..self.over(head, step.spindle, to) };
            record.note(Cause::PlaceTravel, way, about);
            record.note(Cause::Index, beyond, about);
            record.note(Cause::PlaceStrokes, h.place, about);
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
    fn stroke<R: Record>(
        &self,
        h: &HeadRow,
        head: usize,
        stroke: &[PickStep],
        places: &[PlaceStep],
        supplies: &[SupplyRow],
        percent: u8,
        state: &mut HeadState,
        tracker: &mut Tracker,
        start: Time,
        t: &mut TripTime,
        record: &mut R,
    ) {
        let (there, way, beyond) = self.approach(head, stroke[0], supplies, percent, state);
        let about = |p: &PickStep| {
            let task = places.iter().find(|x| x.spindle == p.spindle).map(|x| x.task);
            About { task, supply: Some(p.supply), ..self.over(head, p.spindle, there.at) }
        };
        t.index += beyond;
        t.pick_travel += way;
        record.note(Cause::PickTravel, way, || about(&stroke[0]));
        record.note(Cause::Index, beyond, || about(&stroke[0]));
        *state = there;
        let arrived = start + t.total();
        let mut ready = arrived;
        for p in stroke {
            ready = ready.max(tracker.ready[p.supply as usize]);
        }
        t.feeder_wait += ready - arrived;
        record.note(Cause::FeederWait, ready - arrived, || {
            latest(stroke, |p| tracker.ready[p.supply as usize]).map(about).unwrap_or_default()
        });
        let mut presented = ready;
        for p in stroke {
            presented = presented.max(self.presented(&supplies[p.supply as usize], tracker));
        }
        t.tray_wait += presented - ready;
        record.note(Cause::TrayChange, presented - ready, || {
            latest(stroke, |p| self.presented(&supplies[p.supply as usize], tracker)).map(about).unwrap_or_default()
        });
        t.strokes += h.pick;
        // Parts taken in one stroke: the first lasts as long as the stroke, the others are taken when it ends.
        for (k, p) in stroke.iter().enumerate() {
            record.note(Cause::PickStrokes, if k == 0 { h.pick } else { Time::ZERO }, || about(p));
        }
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

    /// When a magazine presents the level of a supply; time 0 where nothing is to be changed.
    fn presented(&self, supply: &SupplyRow, tracker: &Tracker) -> Time {
        let Some((place, level)) = supply.magazine else { return Time::ZERO };
        let (shown, left) = tracker.level[place as usize];
        if shown != level && shown != 0 { left + self.tray_change[place as usize] } else { Time::ZERO }
    }

    #[expect(clippy::too_many_arguments, reason = "the sighting of a trip, with the trip's state")]
    fn sight<R: Record>(
        &self,
        h: &HeadRow,
        head: usize,
        places: &[PlaceStep],
        tasks: &[TaskRow],
        percent: u8,
        state: &mut HeadState,
        t: &mut TripTime,
        record: &mut R,
    ) {
        let about = |at: Option<Point>| About { at, head: Some(head as u32), ..About::default() };
        match h.sight {
            SightMode::None => {}
            SightMode::InFlight => {
                t.sight += h.sight_time;
                record.note(Cause::Sight, h.sight_time, || about(None));
            }
            SightMode::Camera => {
                let way = self.travel(state.at, h.sight_at, percent) + self.settle_place;
                state.at = h.sight_at;
                t.sight += way;
                record.note(Cause::Sight, way, || about(Some(h.sight_at)));
                for p in places {
                    let time = h.sight_time * self.exposures(head, tasks[p.task.index()].body);
                    t.sight += time;
                    let part = || About { spindle: Some(p.spindle), task: Some(p.task), ..about(Some(h.sight_at)) };
                    record.note(Cause::Sight, time, part);
                }
            }
        }
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

/// The pick of a stroke that is to be waited for longest.
fn latest(stroke: &[PickStep], until: impl Fn(&PickStep) -> Time) -> Option<&PickStep> {
    stroke.iter().max_by_key(|p| until(p))
}

/// A time stretched because only `percent` of the speed is allowed, rounded up.
pub(crate) fn slowed(t: Time, percent: u8) -> Time {
    if percent >= 100 { t } else { Time((t.0 * 100 + i64::from(percent) - 1) / i64::from(percent.max(1))) }
}
