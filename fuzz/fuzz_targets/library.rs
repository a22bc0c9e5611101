//! Parts libraries: one that is accepted can be applied, printed, and its table read back without anything new.
#![no_main]

use domain::library::{Library, Version};
use intake::InputFile;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    let Ok(mut library) = Library::parse("parts.json", text) else { return };
    let (part, _) = intake::parts::part("R-10K", "10k", "RESC1005X40N", &["R1"]);
    intake::library::apply(&mut [part], &library, "parts.json");
    let table = intake::library::table(&library);
    let version = Version { version: 0, on: String::new(), by: String::new(), from: String::new(), note: String::new() };
    let before = library.clone();
    intake::library::import(&mut library, &InputFile { name: "table.csv", bytes: table.as_bytes() }, version);
    for (number, entry) in &before.parts {
        for (column, all) in &entry.values {
            let now = &library.parts[number].values[column];
            assert_eq!(&now[..all.len()], &all[..], "nothing of a library is lost");
        }
    }
});
