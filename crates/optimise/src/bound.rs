//! The lower bound and its certificate.
//!
//! [`Costs`] are times no plan can beat, for each task at each head; [`best_weights`] finds the
//! weights of the stations, the prices of trips and the choices of heads that make the most of them. Both follow
//! `docs/planning.md` §3, where the argument stands; `verify` recomputes the bound from its own code.

mod beam;
mod columns;
mod cuts;
mod drum;
mod dual;
mod figures;
mod leaf;
mod looks;
mod neighbours;
mod pairs;
mod station;

pub use columns::{Column, Costs};
pub use dual::{Dual, Effort, best_weights};
