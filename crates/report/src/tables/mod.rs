//! The tables of a report, told once for the page, the sheets and the workbook.

mod first;
mod kit;
mod lists;
mod parts;
mod program;
mod setup;
mod summary;
mod work;

pub(crate) use first::{FIRST, first_panel};
pub(crate) use kit::{kit, tools};
pub(crate) use lists::{cautions, findings, reasons, unplaced};
pub(crate) use parts::{all_parts, assumptions, handling};
pub(crate) use program::program;
pub(crate) use setup::{setup, setup_of};
pub(crate) use summary::{seconds, summary};
pub(crate) use work::{nozzles, passes, trips};

/// An empty box to be ticked by hand.
pub(crate) const BOX: &str = "☐";

/// Stands above the table of what the store and the feeder room must know.
pub(crate) const HANDLING: &str = "What is known of opened bags, pockets, alternates and losses. The label on the bag goes first: time already \
    used counts, and heat and humidity shorten it.";
