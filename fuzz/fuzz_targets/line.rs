//! Line sheets; one that is accepted has nothing left to complain about.
#![no_main]

use domain::line::Line;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    if let Ok(line) = Line::parse("line.toml", text) {
        assert!(line.check("line.toml").is_empty());
    }
});
