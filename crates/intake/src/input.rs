//! What goes into a reading and what comes out of it.
//!
//! Files are names and bytes: nothing in this crate opens a path.

use crate::profile::Concluded;
use diag::Finding;
use domain::library::Library;
use domain::product::Product;

/// One file, as the caller got it.
#[derive(Clone, Copy, Debug)]
pub struct InputFile<'a> {
    /// Its name, for messages and for what the name itself tells (side, extension).
    pub name: &'a str,
    /// Everything in it.
    pub bytes: &'a [u8],
}

/// What the caller knows beyond the designer's files.
#[derive(Clone, Debug, Default)]
pub struct ReadOptions<'a> {
    /// Name of the product; otherwise made from the name of the placement list.
    pub name: Option<String>,
    /// The engineer's mapping file, which overrules whatever is decided from evidence.
    pub mapping: Option<InputFile<'a>>,
    /// The parts library, with the name of its file.
    pub library: Option<(&'a Library, &'a str)>,
    /// The engineer's table of parts.
    pub parts_table: Option<InputFile<'a>>,
}

/// The outcome of reading a set of files.
#[derive(Clone, Debug, Default)]
pub struct Reading {
    /// The product, unless no placement list was found.
    pub product: Option<Product>,
    /// Everything noticed on the way, in the order of noticing.
    pub findings: Vec<Finding>,
    /// What each file was taken for, in the order given.
    pub files: Vec<FileRole>,
    /// What was concluded about the form of the files in use.
    pub concluded: Vec<Concluded>,
}

/// What a file was taken for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FileRole {
    /// Its name.
    pub name: String,
    /// What it was taken for, in words.
    pub role: String,
    /// Rows of data used from it, or compared with the list in use.
    pub rows: usize,
}
