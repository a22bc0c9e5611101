//! A station's set-up and program while it is being planned.
//!
//! A compact form of `domain::plan::StationPlan` that moves can change in place: [`state`] holds it,
//! [`setup`] finds slots, [`construct`] builds a first program, [`timing`] times its trips with the
//! clock, [`export`] turns it into a plan.

pub mod construct;
pub mod dots;
pub mod export;
pub mod setup;
pub mod state;
pub mod timing;

pub use state::{Cell, StationState, TripState};
