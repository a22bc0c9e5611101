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

/// One trip.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TripState {
    /// Index of the nozzle layout.
    pub layout: u32,
    /// For each spindle.
    pub cells: Vec<Cell>,
    /// Busy spindles in the order of placing.
    pub order: Vec<u8>,
    /// How strokes are swept: bit 0 turns the direction along X (or round the drum), bit 1 the order of the rows.
    pub sweep: u8,
    /// Time of the trip after the one before it, nozzle change included.
    pub time: Time,
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
        self.passes
            .iter()
            .flat_map(|p| p.trips().iter().map(move |t| (p.head, t)))
            .flat_map(|(h, t)| t.order.iter().map(move |s| (h, t.cells[usize::from(*s)].task)))
    }
}
