//! What fuzzing kept of plans and family plans: whatever can be read as one is checked to a verdict.

#[path = "../../domain/tests/common/kept.rs"]
mod kept;

use domain::family::plan::FamilyPlan;
use domain::plan::Plan;
use kept::kept_texts;

#[test]
fn plans() {
    let mut checked = 0;
    for plan in kept_texts("plan").iter().filter_map(|text| Plan::parse("plan.json", text).ok()) {
        let verdict = verify::verify(&plan);
        assert_eq!(verdict.accepted, verdict.violations.is_empty());
        checked += 1;
    }
    assert!(checked > 0, "none of the kept plans can be read");
}

#[test]
fn family_plans() {
    let mut checked = 0;
    for plan in kept_texts("family_plan").iter().filter_map(|text| FamilyPlan::parse("family.json", text).ok()) {
        let verdict = verify::verify_family(&plan);
        let sound = verdict.violations.is_empty() && verdict.members.iter().all(|m| m.verdict.accepted);
        assert_eq!(verdict.accepted, sound);
        checked += 1;
    }
    assert!(checked > 0, "none of the kept family plans can be read");
}
