//! The planning room: pages, live jobs and an API over the use cases of `app`, with a [`store`] behind them.
//!
//! Pages are made on the server (`maud`); a little script (`assets/`) adds what moves: dragging, playing, live figures. Nothing is
//! fetched from elsewhere. Every address is behind a [`door`](doors) that says which role may pass; one without a door does not exist.
//!
//! Reading order: [`config`], [`room`], [`doors`], [`access`], [`page`], `pages` (one file a page), [`work`] (planning as a job).

pub mod access;
pub mod api;
pub mod assets;
pub mod config;
pub mod doors;
pub mod fill;
pub mod held;
pub mod keep;
pub mod page;
pub mod pages;
pub mod password;
pub mod queue;
pub mod room;
pub mod serve;
pub mod session;
pub mod trouble;
pub mod upload;
pub mod work;

pub use config::Config;
pub use serve::{Started, Workers, open, start, work_for};
