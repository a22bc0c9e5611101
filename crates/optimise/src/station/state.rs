//! The state itself.

use super::setup::Setup;
use domain::job::TaskId;
use units::{Point, Time};

/// What a spindle does in a trip.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Cell {
    /// The task, or [`Cell::NOTHING`].
    pub task: TaskId,
    /// Supply it is picked from.
    pub supply: u32,
}

impl Cell {
    /// An idle spindle.
    pub const IDLE: Self = Self { task: Self::NOTHING, supply: 0 };
    /// No task.
    pub const NOTHING: TaskId = TaskId(u32::MAX);

    /// Whether the spindle has a task.
    pub fn busy(self) -> bool {
        self.task != Self::NOTHING
    }
}

/// One trip. A trip without a busy spindle takes no time and is left out of the plan.
#[derive(Debug, PartialEq, Eq)]
pub struct TripState {
    /// Index of the nozzle layout.
    pub layout: u32,
    /// For each spindle.
    pub cells: Vec<Cell>,
    /// Busy spindles in the order of picking.
    pub picks: Vec<u8>,
    /// Busy spindles in the order of placing.
    pub order: Vec<u8>,
    /// How an inline head's strokes are swept: bit 0 turns the direction along X, bit 1 the order of the rows.
    pub sweep: u8,
    /// Time of the trip after the one before it, nozzle change included, when it was last looked at.
    pub time: Time,
}

impl Clone for TripState {
    fn clone(&self) -> Self {
        let mut copy = Self::idle(self.layout, 0);
        copy.clone_from(self);
        copy
    }

    /// Keeps the room it has: trips are copied back and forth millions of times.
    fn clone_from(&mut self, from: &Self) {
        (self.layout, self.sweep, self.time) = (from.layout, from.sweep, from.time);
        self.cells.clone_from(&from.cells);
        self.picks.clone_from(&from.picks);
        self.order.clone_from(&from.order);
    }
}

impl TripState {
    /// A trip with nothing to do yet.
    pub fn idle(layout: u32, spindles: usize) -> Self {
        Self { layout, cells: vec![Cell::IDLE; spindles], picks: Vec::new(), order: Vec::new(), sweep: 0, time: Time::ZERO }
    }

    /// Picks and places in the order of the spindles.
    pub fn in_spindle_order(&mut self) {
        self.order.clear();
        let busy = self.cells.iter().enumerate().filter(|(_, c)| c.busy()).map(|(s, _)| s as u8);
        self.order.extend(busy);
        self.picks.clone_from(&self.order);
    }

    /// Gives an idle spindle a task, picked last and placed at a position.
    pub fn give(&mut self, spindle: u8, cell: Cell, position: usize) {
        self.cells[usize::from(spindle)] = cell;
        // Among the picks it goes where the spindles' numbers put it, so that a drum need not turn back.
        let at = self.picks.iter().position(|s| *s > spindle).unwrap_or(self.picks.len());
        self.picks.insert(at, spindle);
        self.order.insert(position, spindle);
    }

    /// Frees a spindle.
    pub fn free(&mut self, spindle: u8) {
        self.cells[usize::from(spindle)] = Cell::IDLE;
        self.picks.retain(|s| *s != spindle);
        self.order.retain(|s| *s != spindle);
    }

    /// Its tasks in the order of placing.
    pub fn tasks(&self) -> impl Iterator<Item = TaskId> + '_ {
        self.order.iter().map(|s| self.cells[usize::from(*s)].task)
    }
}

/// A stretch with one head fitted, in one stage.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PassState {
    /// Index of the head.
    pub head: usize,
    /// Stage of the order rules.
    pub stage: u8,
    /// Nozzle layouts.
    pub layouts: Vec<Vec<Option<u32>>>,
    /// What is done.
    pub work: PassWork,
}

/// What a pass does.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum PassWork {
    /// Places parts.
    Trips(Vec<TripState>),
    /// Sets dots.
    Dots(Vec<TaskId>),
    /// Looks at areas.
    Views(Vec<Point>),
}

impl PassState {
    /// Its trips; none for dots and views.
    pub fn trips(&self) -> &[TripState] {
        match &self.work {
            PassWork::Trips(t) => t,
            _ => &[],
        }
    }

    /// Its trips, to change them.
    pub fn trips_mut(&mut self) -> &mut Vec<TripState> {
        match &mut self.work {
            PassWork::Trips(t) => t,
            _ => unreachable!("only place passes are changed by moves"),
        }
    }

    /// Whether it places parts.
    pub fn is_placing(&self) -> bool {
        matches!(self.work, PassWork::Trips(_))
    }
}

/// All of a station.
#[derive(Clone, Debug)]
pub struct StationState {
    /// Index of the station.
    pub station: usize,
    /// Feeders and trays.
    pub setup: Setup,
    /// Passes in order.
    pub passes: Vec<PassState>,
    /// Whether panels alternate.
    pub alternating: bool,
    /// Time per panel by the full clock.
    pub time: Time,
}

impl StationState {
    /// Number of tasks placed.
    pub fn placed(&self) -> usize {
        self.passes.iter().flat_map(|p| p.trips()).map(|t| t.order.len()).sum()
    }

    /// All tasks placed, with the head that places them.
    pub fn tasks(&self) -> impl Iterator<Item = (usize, TaskId)> + '_ {
        self.passes.iter().flat_map(|p| p.trips().iter().map(move |t| (p.head, t))).flat_map(|(h, t)| t.tasks().map(move |x| (h, x)))
    }

    /// All tasks that get their dots here.
    pub fn dotted(&self) -> impl Iterator<Item = TaskId> + '_ {
        self.passes.iter().flat_map(|p| if let PassWork::Dots(tasks) = &p.work { tasks.as_slice() } else { &[] }).copied()
    }

    /// Forgets trips that nobody rides in and passes without work.
    pub fn drop_idle(&mut self) {
        for pass in &mut self.passes {
            if let PassWork::Trips(trips) = &mut pass.work {
                trips.retain(|t| !t.order.is_empty());
            }
        }
        self.passes.retain(|pass| match &pass.work {
            PassWork::Trips(t) => !t.is_empty(),
            PassWork::Dots(t) => !t.is_empty(),
            PassWork::Views(v) => !v.is_empty(),
        });
    }
}
