//! Designers' files and the engineer's tables, as text and bytes, into the domain with findings.
//!
//! Reading order: [`read`] (the whole), `files` (which file is what), `table` and `grid`
//! (text and spreadsheets into tables), `list`, `unit`, `mirror` and `choose` (placement
//! lists), `ipc2581` and `gerber` with `stated` (standard formats as tables and what no table holds), `bom` and `fitted` (bills of materials), `draft`, `compare`, `assemble` (the product) and `geometry` (whether it
//! can be).
//! Nothing here opens a path; whatever is decided from evidence is a finding.
//! `docs/reading.md` tells users what is understood and how to overrule it.

mod assemble;
mod bom;
mod choose;
mod compare;
mod decode;
mod document;
mod draft;
mod extent;
mod files;
mod fitted;
mod frame;
mod geometry;
mod gerber;
mod grid;
mod header;
mod input;
mod ipc2581;
pub mod library;
mod list;
mod mapping;
mod mirror;
mod number;
pub mod package;
mod panel;
pub mod parts;
pub mod parts_table;
pub mod profile;
mod pseudo;
mod read;
mod refs;
mod side;
pub mod spreadsheet;
mod stated;
mod table;
mod unit;
mod value;

pub use document::{read_product, write_product};
pub use input::{FileRole, InputFile, ReadOptions, Reading};
pub use read::read;
