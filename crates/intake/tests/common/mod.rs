//! The collection of real boards beside the project; tests pass without it, with a message.

use intake::{InputFile, ReadOptions, Reading, read};
use std::path::PathBuf;

#[allow(dead_code, reason = "not every test file uses it")]
/// Folder of the collection, if it is there.
pub fn boards() -> Option<PathBuf> {
    let path = PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/../../../shared/boards"));
    if path.is_dir() {
        return Some(path);
    }
    println!("the collection of boards is not there: nothing to compare with");
    None
}

#[allow(dead_code, reason = "not every test file uses it")]
/// All files of a board, by name.
pub fn folder(board: &str) -> Option<Vec<(String, Vec<u8>)>> {
    let mut paths: Vec<PathBuf> = std::fs::read_dir(boards()?.join(board)).ok()?.filter_map(|e| Some(e.ok()?.path())).collect();
    paths.sort();
    Some(paths.iter().filter_map(|p| Some((p.file_name()?.to_string_lossy().into_owned(), std::fs::read(p).ok()?))).collect())
}

/// Reads named contents.
pub fn read_all(files: &[(String, Vec<u8>)]) -> Reading {
    let input: Vec<InputFile<'_>> = files.iter().map(|(name, bytes)| InputFile { name, bytes }).collect();
    read(&input, &ReadOptions::default())
}

/// Reads named contents with a mapping file.
#[allow(dead_code, reason = "not every test file uses it")]
pub fn read_mapped(files: &[(String, Vec<u8>)], mapping: &str) -> Reading {
    let input: Vec<InputFile<'_>> = files.iter().map(|(name, bytes)| InputFile { name, bytes }).collect();
    let mapping = Some(InputFile { name: "mapping.toml", bytes: mapping.as_bytes() });
    read(&input, &ReadOptions { mapping, ..ReadOptions::default() })
}

/// Reads named texts.
#[allow(dead_code, reason = "not every test file uses it")]
pub fn read_texts(files: &[(&str, &str)]) -> Reading {
    read_all(&files.iter().map(|(n, t)| ((*n).to_owned(), t.as_bytes().to_vec())).collect::<Vec<_>>())
}

/// The messages of all findings of one code.
#[allow(dead_code, reason = "not every test file uses it")]
pub fn messages(reading: &Reading, code: &str) -> String {
    reading.findings.iter().filter(|f| f.code == code).map(|f| f.message.clone()).collect::<Vec<_>>().join("\n")
}
