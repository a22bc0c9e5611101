//! The lower bound and its certificate.
//!
//! [`Costs`] are times no plan can beat, for each task at each head; [`dual::best_weights`] finds the
//! weights of the stations that make the most of them. Both follow `docs/planning.md` §3, where the
//! argument stands; `verify` recomputes the bound from its own code.

mod cost;
mod dual;
mod looks;

pub use cost::Costs;
pub use dual::{Dual, best_weights};
