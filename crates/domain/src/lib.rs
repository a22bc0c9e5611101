//! The words of the trade as types: parts, products, lines, plans.
//!
//! Reading order: [`part`], [`product`], [`line`] (the sheet of a line), [`job`]
//! (what is to be built: product, side, panel), [`rules`] (order rules and locks),
//! [`plan`], [`family`] (several products on one set-up), [`moves`] (from one set-up to another). Nothing here
//! reads files or clocks.

pub mod family;
pub mod job;
pub mod library;
pub mod line;
pub mod moves;
pub mod part;
pub mod plan;
pub mod product;
pub mod rules;

mod sheet_error;

pub use units::{Angle, Length, Point, Speed, Text, Time};
