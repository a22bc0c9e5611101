//! In which order things happen on the line, in both directions of alternating stations.
//!
//! Work happens station by station, pass by pass, and inside a pass in the order of the program.
//! A station with alternating passes runs them backward on every other panel; the order inside a
//! pass stays. So each piece of work has two moments, and an order must hold in both. Two beams work
//! side by side; their placements are ordered as the clock plays them out.

use domain::plan::{Plan, Work};
use motion::Clock;
use units::Point;

/// A moment on the line: station, pass as run, place inside the pass.
pub(crate) type Moment = (u32, u32, u32);

/// The moments of a piece of work: passes as listed, and passes reversed where they alternate.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct When {
    pub(crate) there: Moment,
    pub(crate) back: Moment,
}

impl When {
    /// Whether this comes before `other` in both directions.
    pub(crate) fn is_before(&self, other: &Self) -> bool {
        self.there < other.there && self.back < other.back
    }

    /// The two moments, to check one direction after the other.
    pub(crate) fn both(&self) -> [Moment; 2] {
        [self.there, self.back]
    }
}

/// One view of an inspect pass.
#[derive(Clone, Copy, Debug)]
pub(crate) struct View {
    pub(crate) station: usize,
    pub(crate) at: Point,
    pub(crate) when: When,
}

/// When each task is placed and gets its dots, and when each view is looked at.
pub(crate) struct Sequence {
    /// First placement of each task.
    pub(crate) placed: Vec<Option<When>>,
    /// Last setting of the dots of each task.
    pub(crate) dots: Vec<Option<When>>,
    pub(crate) views: Vec<View>,
}

impl Sequence {
    /// References of the plan must exist.
    pub(crate) fn new(plan: &Plan, tasks: usize, clock: &Clock<'_>) -> Self {
        let mut all = Self { placed: vec![None; tasks], dots: vec![None; tasks], views: Vec::new() };
        for (s, station) in plan.stations.iter().enumerate() {
            if let Ok(played) = clock.two_beams(s, station) {
                // Beams work side by side: the clock plays out in which order they place.
                for (i, task) in played.order.iter().enumerate() {
                    let moment = (s as u32, 0, i as u32);
                    all.placed[task.index()].get_or_insert(When { there: moment, back: moment });
                }
                continue;
            }
            for (k, pass) in station.passes.iter().enumerate() {
                let reversed = if station.alternating { station.passes.len() - 1 - k } else { k };
                let when = |i: usize| When { there: (s as u32, k as u32, i as u32), back: (s as u32, reversed as u32, i as u32) };
                all.add(s, &pass.work, when);
            }
        }
        all
    }

    fn add(&mut self, station: usize, work: &Work, when: impl Fn(usize) -> When) {
        match work {
            Work::Place { .. } | Work::Turret { .. } => {
                for (i, task) in work.placed().enumerate() {
                    self.placed[task.index()].get_or_insert(when(i));
                }
            }
            Work::Dispense { tasks } => {
                for (i, t) in tasks.iter().enumerate() {
                    self.dots[t.index()] = Some(when(i));
                }
            }
            Work::Inspect { views } => {
                self.views.extend(views.iter().enumerate().map(|(i, at)| View { station, at: *at, when: when(i) }));
            }
        }
    }
}
