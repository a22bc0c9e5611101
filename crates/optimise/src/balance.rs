//! The balance: which station does how much of which part type, as a linear model.
//!
//! Time of a station = fixed time + Σ time per placement × placements; slots and tray places are
//! limited. [`relax`] solves the linear program, [`exact`] the mixed-integer one (small models), and
//! [`spread`] finds a good unsplit assignment fast, with head swaps counted, [`level`] splits groups where that pays. Model after
//! docs/planning.md §4; the linear solver is a library.

mod exact;
mod split;
mod spread;
mod supplies;

pub use exact::{exact, relax};
pub use split::level;
pub(crate) use spread::softened;
pub use spread::{longest_first, spread, spread_from};

/// A linear model of a line.
#[derive(Clone, Debug, Default)]
pub struct Linear {
    /// Groups of alike placements.
    pub groups: Vec<Group>,
    /// Ways of working: for each its station. A station with several heads has several columns.
    pub columns: Vec<usize>,
    /// Stations.
    pub stations: Vec<Machine>,
    /// Time per placement of each group in each column [µs]; `None` where it cannot be done.
    pub time: Vec<Vec<Option<f64>>>,
    /// Groups of which the first must not be at a later station than the second.
    pub pairs: Vec<(usize, usize)>,
}

/// Placements that are alike for the balance.
#[derive(Clone, Copy, Debug)]
pub struct Group {
    /// How many.
    pub count: u32,
    /// Slots its feeder covers; 0 for trays.
    pub slots: u32,
    /// Tray places (or levels) it needs; 0 for feeders.
    pub places: u32,
    /// Groups with the same number share one supply at a station.
    pub part: u32,
}

/// A station of the model.
#[derive(Clone, Copy, Debug, Default)]
pub struct Machine {
    /// Time it needs for any panel [µs].
    pub fixed: f64,
    /// Feeder slots it has.
    pub slots: u32,
    /// Tray places and levels it has.
    pub places: u32,
    /// One head swap [µs].
    pub swap: f64,
    /// Whether passes may alternate, so that k heads cost k − 1 swaps.
    pub alternate: bool,
}

impl Machine {
    /// What head swaps cost with this many heads in use [µs].
    pub fn swaps(&self, heads: usize) -> f64 {
        match heads {
            0 | 1 => 0.0,
            k if self.alternate => (k - 1) as f64 * self.swap,
            k => k as f64 * self.swap,
        }
    }
}

/// How many placements of each group go to each column, and the resulting time.
#[derive(Clone, Debug)]
pub struct Spread {
    /// For each group and column.
    pub counts: Vec<Vec<f64>>,
    /// Time of the slowest station [µs].
    pub slowest: f64,
    /// Whether no assignment is better.
    pub proven: bool,
}
