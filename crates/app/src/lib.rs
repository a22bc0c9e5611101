//! The use cases: what every edge (command line, later a server) calls.
//!
//! Files come in as names and bytes and leave as bytes; nothing here opens a path, prints, or
//! reads the clock. Reading order: [`read`], [`plan`], [`hold`], [`replan`], [`family`], [`try_out`], [`check`], [`play`], [`diff`],
//! [`revision`], [`explain`], [`documents`], [`lines`], [`pictures`].

pub mod check;
pub mod diff;
pub mod documents;
pub mod explain;
pub mod family;
pub mod hold;
pub mod library;
pub mod lines;
pub mod pictures;
pub mod plan;
pub mod play;
pub mod read;
pub mod replan;
pub mod revision;
pub mod try_out;

pub use diag::{Finding, Severity};
