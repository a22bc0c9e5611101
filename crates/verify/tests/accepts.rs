//! Valid plans are accepted, and the takt and bound of the verdict are the plan's.

mod common;

use domain::plan::{Outcome, Plan};
use units::Time;

#[test]
fn a_valid_plan_is_accepted() {
    let plan = common::plan();
    let verdict = verify::verify(&plan);
    assert!(verdict.accepted, "{:#?}", verdict.violations);
    assert_eq!((verdict.takt_us, verdict.bound_us), (plan.takt_us, plan.bound_us));
    assert!(plan.bound_us < plan.takt_us);
}

#[test]
fn a_valid_plan_of_other_kinds_is_accepted() {
    let plan = common::kinds::plan();
    let verdict = verify::verify(&plan);
    assert!(verdict.accepted, "{:#?}", verdict.violations);
    assert!(plan.stations[1].breakdown.beam_wait_us > Time::ZERO, "the beams meet");
}

#[test]
fn the_kept_plan_file_is_the_plan() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/valid.json");
    let text = serde_json::to_string(&common::plan()).expect("a plan is written");
    if std::env::var_os("UPDATE_GOLDEN").is_some() {
        std::fs::write(path, &text).expect("the plan file can be written");
    }
    let kept = std::fs::read_to_string(path).expect("tests/data/valid.json");
    assert!(kept == text, "tests/data/valid.json is stale: run UPDATE_GOLDEN=1 cargo test -p verify");
    assert_eq!(Plan::parse("valid.json", &kept).expect("a plan"), common::plan());
}

#[test]
fn any_weights_give_a_bound_below_the_takt() {
    for weights in [[1, 0], [0, 1], [1, 1], [5, 2], [1 << 40, 1]] {
        let mut plan = common::plan();
        plan.certificate.leaves[0].weights = weights.to_vec();
        common::retime(&mut plan);
        assert!(plan.bound_us <= plan.takt_us, "{weights:?}");
        assert!(plan.bound_us > Time::from_ms(2_400), "more than the transfer alone");
        assert!(verify::verify(&plan).accepted);
    }
}

#[test]
fn a_plan_without_programs_is_accepted_when_it_claims_nothing() {
    let mut plan = common::plan();
    plan.stations.clear();
    plan.unplaced.clear();
    (plan.takt_us, plan.bound_us) = (Time::ZERO, Time::ZERO);
    plan.outcome = Outcome::Unknown;
    assert!(verify::verify(&plan).accepted);
    plan.outcome = Outcome::Infeasible;
    assert!(!verify::verify(&plan).accepted, "infeasible for no reason");
    plan.findings.push(diag::Finding::new(diag::codes::plan::NO_SLOT, "too few slots"));
    assert!(verify::verify(&plan).accepted);
}
