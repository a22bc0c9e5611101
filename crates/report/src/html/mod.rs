//! The page: one file, no scripts, nothing fetched; light or dark as the reader likes; made to be printed too.

mod page;
mod style;
mod write;

pub(crate) use page::page;
pub(crate) use style::STYLE;
pub(crate) use write::{figure, heading, sentence, table};
