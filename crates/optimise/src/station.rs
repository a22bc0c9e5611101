//! A station's set-up and program while it is being planned.
//!
//! A compact form of `domain::plan::StationPlan` that moves can change in place: [`state`] holds it,
//! [`setup`] finds slots, [`construct`] builds a first program ([`passes`] in the order the rules ask),
//! [`timing`] times pieces of its trips as the clock does, over [`ways`] it looks up, and [`export`] turns it
//! into a plan.

pub mod construct;
pub mod dots;
pub mod export;
pub mod passes;
pub mod redeal;
pub mod setup;
pub mod state;
pub mod timing;
pub mod ways;

pub use state::{Cell, StationState, TripState};
