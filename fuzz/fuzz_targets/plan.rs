//! Plans, and the checker on whatever can be read as one.
#![no_main]

use domain::plan::Plan;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: &[u8]| {
    let text = String::from_utf8_lossy(data);
    if let Ok(plan) = Plan::parse("plan.json", &text) {
        let verdict = verify::verify(&plan);
        assert_eq!(verdict.accepted, verdict.violations.is_empty());
    }
});
