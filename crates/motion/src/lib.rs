//! The clock: how long a program takes on a station, exactly, and where the time goes.
//!
//! This is the one definition of time; `docs/timing.md` tells it with its formulas. Nothing
//! here chooses anything: [`Clock`] is given a station plan and returns a breakdown whose
//! parts sum to the total. The planner uses the same [`StationClock::trip`] for its moves, so
//! a planned second and a checked second cannot differ.
//!
//! Two-beam and turret stations are not timed yet and say so ([`Clock::new`]).

mod axis;
mod clock;
mod line;
mod station;

pub use axis::AxisTimer;
pub use clock::{Clock, ClockError};
pub use line::{LineTime, line_time};
pub use station::{HeadState, PickStep, StationClock, SupplyRow, TaskRow, Tracker, TripTime};
