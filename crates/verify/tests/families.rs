//! Family plans: a sound one is accepted, and each corruption is refused for exactly its reason.

mod common;

use domain::family::panels;
use domain::family::plan::{FamilyPlan, Member, SCHEMA, SharedSetup, weighted};
use domain::plan::Outcome;
use std::collections::BTreeSet;

/// Two products that are alike but for their number, 70 and 30 boards.
fn family() -> FamilyPlan {
    let plan = common::plan();
    let member = |boards: u64| Member { boards, panels: panels(boards, &plan.panel), alone_us: plan.takt_us, plan: plan.clone() };
    let members = vec![member(70), member(30)];
    let sum = |time| weighted(members.iter().map(|m| (m.panels, time))).expect("a small sum");
    FamilyPlan {
        schema: SCHEMA.to_owned(),
        name: "gauges".to_owned(),
        seed: 1,
        work: 0,
        outcome: Outcome::Feasible,
        time_us: sum(plan.takt_us),
        bound_us: sum(plan.bound_us),
        setup: plan.stations.iter().map(|s| SharedSetup { station: s.station.clone(), supplies: s.supplies.clone() }).collect(),
        members,
        reasons: Vec::new(),
        findings: Vec::new(),
    }
}

#[test]
fn a_sound_family_is_accepted() {
    let (plan, verdict) = (family(), verify::verify_family(&family()));
    assert!(verdict.accepted, "{:#?}", verdict.violations);
    assert_eq!((verdict.time_us, verdict.bound_us), (plan.time_us, plan.bound_us));
}

#[test]
fn each_corruption_of_a_family_is_refused_for_its_reason() {
    type Change = fn(&mut FamilyPlan);
    let cases: [(&str, Change); 6] = [
        ("verify.family-input", |f| f.members[1].boards = 0),
        ("verify.family-input", |f| f.members[1].plan.product.parts[0].value.push('x')),
        ("verify.family-set-up", |f| f.setup[0].supplies.truncate(1)),
        ("verify.family-set-up", |f| f.setup[0].station.push('x')),
        ("verify.family-sum", |f| f.time_us.0 += 1),
        ("verify.family-sum", |f| f.bound_us.0 += 1),
    ];
    let mut refused = BTreeSet::new();
    for (k, (code, change)) in cases.iter().enumerate() {
        let mut plan = family();
        change(&mut plan);
        let verdict = verify::verify_family(&plan);
        let found: BTreeSet<&str> = verdict.violations.iter().map(|v| v.code.as_str()).collect();
        assert!(!verdict.accepted && found == BTreeSet::from([*code]), "case {k}: expected {code}, found {:#?}", verdict.violations);
        refused.insert(*code);
    }
    let all: BTreeSet<&str> = diag::codes::verify::ALL.iter().map(|c| c.id).filter(|id| id.starts_with("verify.family-")).collect();
    assert_eq!(refused, all, "every code of a family has a case");
}
