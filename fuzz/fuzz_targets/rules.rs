//! Locks files.
#![no_main]

use domain::rules::Rules;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    if let Err(finding) = Rules::parse("locks.toml", text) {
        assert!(!finding.hint.is_empty());
    }
});
