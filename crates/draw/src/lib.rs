//! Pictures of a plan: one [`Scene`] model, one SVG writer, and the pictures themselves.
//!
//! Reading order: [`scene`] (what can be drawn), [`svg`] (how it is written), [`palette`] and
//! [`hatch`] (colour and the second cue beside it), then the pictures: [`balance`], [`board`],
//! [`bank`], [`tray`], [`timeline`], [`beams`], [`stage`], [`family`]; [`product`] is the board as it was read.
//!
//! The same SVG serves a page, a printed sheet and a bitmap, so everything is said with
//! presentation attributes and nothing with scripts or style sheets. Nothing here knows a
//! browser, and nothing fails: a plan that refers to things that do not exist is drawn as far
//! as it can be.

pub mod balance;
pub mod bank;
pub mod beams;
pub mod board;
pub mod family;
pub mod hatch;
pub mod line;
pub mod lookup;
pub mod palette;
pub mod product;
pub mod scene;
pub mod stage;
pub mod svg;
pub mod text;
pub mod timeline;
pub mod tray;

mod body;
mod legend;
mod ruler;

pub use scene::Scene;
