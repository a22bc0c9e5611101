//! Family plans, and the checker on what can be read as one.
#![no_main]

use domain::family::plan::FamilyPlan;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: &[u8]| {
    let text = String::from_utf8_lossy(data);
    if let Ok(plan) = FamilyPlan::parse("family.json", &text) {
        let verdict = verify::verify_family(&plan);
        let sound = verdict.violations.is_empty() && verdict.members.iter().all(|m| m.verdict.accepted);
        assert_eq!(verdict.accepted, sound);
    }
});
