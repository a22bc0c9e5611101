//! The clock: how long a program takes on a station, exactly, and where the time goes.
//!
//! This is the one definition of time; `docs/timing.md` tells it with its formulas. Nothing
//! here chooses anything: [`Clock`] is given a station plan and returns a breakdown whose
//! parts sum to the total. The planner uses the same [`StationClock::trip`] for its moves, so
//! a planned second and a checked second cannot differ.
//!
//! Reading order: `axis`, `rows`, `station` (trips of a head), `clock` (a panel), `two_beam` (who
//! waits), `drum` (beats of a turret); `record` and `course`, for a panel that is to be seen running.

mod axis;
mod clock;
mod course;
mod drum;
mod flat;
mod line;
mod record;
mod rows;
mod station;
mod two_beam;

pub use axis::AxisTimer;
pub use clock::{Clock, ClockError};
pub use course::Course;
pub use drum::DrumClock;
pub use line::{LineTime, line_time};
pub use record::{About, Cause, Piece};
pub use rows::{HeadState, PickStep, SupplyRow, TaskRow, Tracker, TripTime};
pub use station::StationClock;
pub use two_beam::{Doing, Played, Stretch};
