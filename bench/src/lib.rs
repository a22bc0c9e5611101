//! Measures the planner.
//!
//! Reading order: [`generate`] (invented lines and panels), [`instance`] (the fixed list), [`case`] (one
//! run, in a process of its own), [`row`] (what is kept of it), [`campaign`] (many runs, resumable),
//! [`summary`], [`growth`] and [`threads`] (two questions of their own), [`rivals`] (the same balance by
//! general solvers). How to use it and what the figures say: `README.md`.

pub mod campaign;
pub mod case;
pub mod generate;
pub mod growth;
pub mod instance;
pub mod panel;
pub mod plot;
pub mod rivals;
pub mod row;
pub mod summary;
pub mod threads;
pub mod watch;

/// What goes wrong with a measurement, in words.
pub type Trouble = String;
