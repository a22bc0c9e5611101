//! One file per command.

pub mod completion;
pub mod explain;
pub mod family;
pub mod parts;
pub mod plan;
pub mod read;
pub mod report;
pub mod schema;
pub mod time;
pub mod verify;
