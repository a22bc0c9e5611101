//! The planner: who places what, from where, in which order, and how far from the best that is.
//!
//! Reading order: [`capability`] (what a head can take), [`order`] (rules as pairs and stages), [`balance`]
//! (the linear model), `problem` (a job as the planner sees it), `station` (a station's set-up and
//! trips), `search` (moves on the exact clock), [`bound`], `planner` (the anytime loop), [`hand`]
//! (the baseline), [`family`] (several products on one set-up), [`engine`] (routing and assignment for their own sake),
//! [`outside`] (a balance solved by others), [`reasons`] (what holds a plan back), `warm` (from an existing plan),
//! `replan` (after a failure), [`try_out`] (one change by hand), [`conflict`] (why something finds no place).
//! Time comes from `motion` alone. Method and sources: `docs/planning.md`.

pub mod balance;
pub mod bound;
pub mod capability;
mod check_rules;
pub mod conflict;
pub mod engine;
mod even;
pub mod family;
pub mod hand;
pub mod kinds;
pub mod nozzles;
pub mod order;
mod outage;
pub mod outside;
mod planner;
mod problem;
mod proof;
#[cfg(test)]
mod random_lines;
pub mod reasons;
mod replan;
mod search;
mod start;
mod station;
pub mod tour;
mod transfer;
pub mod try_out;
mod warm;

pub use planner::{Limits, Planned, Progress, Watch, plan, plan_from};
pub use problem::Problem;
pub use replan::{Replanned, replan};
