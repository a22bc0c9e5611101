//! One file per command.

pub mod completion;
pub mod diff;
pub mod explain;
pub mod family;
pub mod library;
pub mod parts;
pub mod plan;
pub mod read;
pub mod replan;
pub mod report;
pub mod room;
pub mod schema;
pub mod serve;
pub mod store;
pub mod time;
pub mod verify;
