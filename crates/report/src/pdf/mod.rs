//! The printed sheets: A4 landscape, tables that break over pages with their heads repeated,
//! pictures from the same SVG as the page, and the codes to scan.
//!
//! First everything is laid out ([`flow`], [`grid`]) as marks at places, then it is inked
//! ([`ink`]): the number of pages is known before the first one is written.

mod flow;
pub(crate) mod grid;
mod ink;
mod sections;

pub(crate) use flow::Flow;
pub(crate) use sections::sheets;
