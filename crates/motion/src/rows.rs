//! What the clock needs of tasks and supplies, and what it keeps while a program runs.

use domain::job::{Job, TaskId};
use domain::plan::Breakdown;
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
    pub(crate) ready: Vec<Time>,
    /// For each tray place: level presented, and when the head last left it.
    pub(crate) level: Vec<(u32, Time)>,
    /// Supplies picked from since the last [`Self::forget`].
    pub(crate) touched: Vec<u32>,
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

    /// Both together.
    pub fn plus(self, o: Self) -> Self {
        Self {
            pick_travel: self.pick_travel + o.pick_travel,
            strokes: self.strokes + o.strokes,
            feeder_wait: self.feeder_wait + o.feeder_wait,
            tray_wait: self.tray_wait + o.tray_wait,
            sight: self.sight + o.sight,
            place_travel: self.place_travel + o.place_travel,
            places: self.places + o.places,
            index: self.index + o.index,
        }
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
