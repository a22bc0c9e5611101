//! The clock of a turret, beat by beat: the drum turns, the table brings the pads under it, the carriage the slots.
//!
//! `docs/timing.md` §7. The drum stands still; at every beat the head at the pick point takes a part and the
//! one at the place point, `gap` heads further on, sets its part down.

use crate::axis::AxisTimer;
use crate::record::{About, Cause, Record, Unrecorded};
use crate::rows::{SupplyRow, TaskRow, Tracker, TripTime};
use crate::station::{StationClock, slowed};
use domain::line::{SightMode, Station, StationKind};
use domain::plan::Beat;
use units::{Length, Point, Time};

/// What the clock needs of a turret beyond the axes of its table.
#[derive(Clone, Debug)]
pub struct DrumClock {
    carriage: AxisTimer,
    gap: usize,
    heads: usize,
    index: Time,
    turn_90: Time,
    pick: Time,
    place: Time,
    sight: Time,
    settle_pick: Time,
    settle_place: Time,
}

impl DrumClock {
    /// Of a checked turret station; `None` of any other.
    pub(crate) fn new(station: &Station) -> Option<Self> {
        let (turret, head) = (station.turret.as_ref()?, station.head.first()?);
        if station.kind != StationKind::Turret {
            return None;
        }
        let sight = head.sight.as_ref().filter(|s| s.mode == SightMode::InFlight);
        Some(Self {
            carriage: AxisTimer::new(&turret.carriage),
            gap: usize::from(turret.gap),
            heads: usize::from(head.spindles.max(1)),
            index: head.index.map_or(Time::ZERO, |t| *t),
            turn_90: *head.turn_90,
            pick: *head.pick,
            place: *head.place,
            sight: sight.map_or(Time::ZERO, |s| *s.time),
            settle_pick: *station.settle_pick,
            settle_place: *station.settle_place,
        })
    }

    /// Beats from a part's pick to its placement.
    pub fn gap(&self) -> usize {
        self.gap
    }

    /// Heads on the drum.
    pub fn heads(&self) -> usize {
        self.heads
    }

    /// One step of the drum, or turning the part that comes to the place point by `turn` thousandths of a
    /// degree, whichever takes longer at `percent` [µs].
    pub fn indexed(&self, turn: i64, percent: u8) -> Time {
        let turned = Time((self.turn_90.0 * turn + 89_999) / 90_000);
        slowed(self.index, percent).max(slowed(turned, percent))
    }

    /// The table from one pad under the drum to another, settling included [µs].
    pub fn table(&self, axes: &StationClock, from: Point, to: Point) -> Time {
        if from == to { Time::ZERO } else { axes.travel(from, to, 100) + self.settle_place }
    }

    /// The carriage from one pick point to another, settling included [µs].
    pub fn carriage(&self, from: Length, to: Length) -> Time {
        if from == to { Time::ZERO } else { self.carriage.time(to - from, 100) + self.settle_pick }
    }

    /// The strokes of a beat, which begin together: those of placing, of picking and the sight of a drum that
    /// carries a part, as far as each takes longer than the ones before [µs].
    pub fn strokes(&self, places: bool, picks: bool, carries: bool) -> (Time, Time, Time) {
        let time = |does: bool, t: Time| if does { t } else { Time::ZERO };
        let (place, pick, sight) = (time(places, self.place), time(picks, self.pick), time(carries, self.sight));
        (place, (pick - place).max(Time::ZERO), (sight - place.max(pick)).max(Time::ZERO))
    }

    /// Times all beats from `start` on, the filling and emptying of the drum included, and moves the table on.
    pub fn run(
        &self,
        axes: &StationClock,
        beats: &[Option<Beat>],
        (supplies, tasks): (&[SupplyRow], &[TaskRow]),
        table: &mut Point,
        tracker: &mut Tracker,
        start: Time,
    ) -> TripTime {
        self.run_noted(axes, beats, (supplies, tasks), table, tracker, start, &mut Unrecorded)
    }

    /// [`Self::run`], told piece by piece: of each beat what it turns, waits for and does, in this order. What goes on
    /// beside something longer is no piece of its own, but a part is taken and set down in every case.
    #[expect(clippy::too_many_arguments, reason = "the state of a turret, kept by the caller")]
    pub(crate) fn run_noted<R: Record>(
        &self,
        axes: &StationClock,
        beats: &[Option<Beat>],
        (supplies, tasks): (&[SupplyRow], &[TaskRow]),
        table: &mut Point,
        tracker: &mut Tracker,
        start: Time,
        record: &mut R,
    ) -> TripTime {
        let mut t = TripTime::default();
        if beats.is_empty() {
            return t;
        }
        // The table sets out when it has ended its last placement; the carriage stands at the first pocket.
        let (mut table_since, mut carriage): (Time, Option<(Length, Time)>) = (start, None);
        for k in 0..beats.len() + self.gap {
            let window = |from: usize, to: usize| &beats[from.min(beats.len())..to.min(beats.len())];
            let (picks, places) = (beats.get(k).copied().flatten(), k.checked_sub(self.gap).and_then(|i| beats[i]));
            // Picked in a beat before this one, and not set down before it.
            let aboard = window(k.saturating_sub(self.gap), k).iter().flatten();
            let percent = aboard.map(|b| tasks[b.task.index()].percent).min().unwrap_or(100);
            let about = || About { head: Some(0), beat: Some(k as u32), ..About::default() };
            let set = |b: Beat| About { at: Some(tasks[b.task.index()].at), task: Some(b.task), ..about() };
            let take = |b: Beat| About { task: Some(b.task), supply: Some(b.supply), ..about() };
            let indexed = self.indexed(places.map_or(0, |b| tasks[b.task.index()].turn), percent);
            t.index += indexed;
            let mut now = start + t.total();
            if let Some(b) = places {
                let to = tasks[b.task.index()].at;
                let late = (table_since + self.table(axes, *table, to) - now).max(Time::ZERO);
                t.place_travel += late;
                now += late;
                record.note(Cause::Index, indexed, || About { at: Some(beside(*table, to, indexed, late)), ..set(b) });
                record.note(Cause::PlaceTravel, late, || set(b));
                *table = to;
            } else {
                record.note(Cause::Index, indexed, about);
            }
            if let Some(b) = picks {
                let row = &supplies[b.supply as usize];
                if let Some((from, since)) = carriage {
                    let late = (since + self.carriage(from, row.at.x) - now).max(Time::ZERO);
                    t.pick_travel += late;
                    now += late;
                    record.note(Cause::PickTravel, late, || take(b));
                }
                let wait = (tracker.ready[b.supply as usize] - now).max(Time::ZERO);
                t.feeder_wait += wait;
                record.note(Cause::FeederWait, wait, || take(b));
            }
            let carries = window(k.saturating_sub(self.gap), k + 1).iter().any(Option::is_some);
            let (place, pick, sight) = self.strokes(places.is_some(), picks.is_some(), carries);
            t.places += place;
            t.strokes += pick;
            t.sight += sight;
            record.note(Cause::PlaceStrokes, place, || places.map_or_else(about, set));
            record.note(Cause::PickStrokes, pick, || picks.map_or_else(about, take));
            record.note(Cause::Sight, sight, about);
            let end = start + t.total();
            if places.is_some() {
                table_since = end;
            }
            if let Some(b) = picks {
                carriage = Some((supplies[b.supply as usize].at.x, end));
                tracker.ready[b.supply as usize] = end + supplies[b.supply as usize].advance;
                tracker.touched.push(b.supply);
            }
        }
        t
    }
}

/// Where the table is after `turning` when it comes `late` after that, in proportion: it goes while the drum turns.
fn beside(from: Point, to: Point, turning: Time, late: Time) -> Point {
    let part = |d: Length| Length(d.0 * turning.0 / (turning + late).0.max(1));
    if late == Time::ZERO { to } else { Point { x: from.x + part(to.x - from.x), y: from.y + part(to.y - from.y) } }
}
