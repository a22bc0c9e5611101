//! Designers' files: two of them, and a mapping file.
//!
//! The input is cut at the bytes 0xFF 0x00, so that the fuzzer can grow several files at once.
#![no_main]

use intake::{InputFile, ReadOptions};
use libfuzzer_sys::fuzz_target;

const NAMES: [&str; 2] = ["placements-top.csv", "bill.csv"];

fuzz_target!(|data: &[u8]| {
    let mut pieces = pieces(data).into_iter();
    let files: Vec<InputFile<'_>> = NAMES.into_iter().zip(pieces.by_ref()).map(|(name, bytes)| InputFile { name, bytes }).collect();
    let mapping = pieces.next().map(|bytes| InputFile { name: "mapping.toml", bytes });
    let reading = intake::read(&files, &ReadOptions { mapping, ..ReadOptions::default() });
    if let Some(product) = reading.product {
        // What was read must be a sound document.
        let text = intake::write_product(&product).expect("a product can be written");
        assert!(intake::read_product("product.json", &text).is_ok(), "a product that was read is refused as a document");
    }
});

fn pieces(data: &[u8]) -> Vec<&[u8]> {
    let mut pieces = Vec::new();
    let mut rest = data;
    while let (Some(at), true) = (rest.windows(2).position(|w| w == [0xff, 0x00]), pieces.len() < NAMES.len()) {
        pieces.push(&rest[..at]);
        rest = &rest[at + 2..];
    }
    pieces.push(rest);
    pieces
}
