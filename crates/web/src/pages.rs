//! The pages, one file each; here is the list of them.

pub mod boards;
pub mod jobs;
pub mod lines;
pub mod locks;
pub mod overview;
pub mod parts;
pub mod people;
pub mod plan;
pub mod plan_row;
pub mod plans;
pub mod sign_in;

use crate::doors::Doors;

/// The ways to all pages.
pub fn doors() -> Doors {
    overview::doors()
        .with(sign_in::doors())
        .with(jobs::doors())
        .with(boards::doors())
        .with(parts::doors())
        .with(plans::doors())
        .with(lines::doors())
        .with(locks::doors())
        .with(people::doors())
}
