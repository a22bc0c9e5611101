//! Family plans are valid, their bound holds, and what is tampered with is refused.

mod common;
mod family_common;

use common::work;
use domain::family::plan::{FamilyPlan, weighted};
use domain::line::Line;
use domain::plan::{Outcome, SupplyPlace};
use domain::rules::{Lock, Rules};
use family_common::{family, line, products};
use optimise::Limits;
use units::Time;
use verify::verify_family;

const DRUM: &str = "kind = \"rotary\"\nspindles = 4\nindex = \"40 ms\"";

/// A family of three boards on stations that hold few of their parts.
fn sample(seed: u64) -> FamilyPlan {
    let mut rng = fastrand::Rng::with_seed(seed);
    let boards = products(&mut rng, 3, 5, 14);
    family(&boards, &[40, 300, 7], &line(DRUM, [4, 3], 7), &Rules::default(), work(60_000))
}

/// Fails unless the checker accepts the plan.
#[track_caller]
fn accepted(plan: &FamilyPlan) {
    let verdict = verify_family(plan);
    assert!(verdict.accepted, "{verdict:#?}");
    assert_eq!((verdict.time_us, verdict.bound_us), (plan.time_us, plan.bound_us));
}

#[test]
fn every_family_plan_is_accepted_and_its_bound_holds() {
    let mut rng = fastrand::Rng::with_seed(4);
    for seed in 0..12 {
        let kinds = rng.usize(2..=5);
        let slots = [rng.u32(2..=5).max(kinds as u32 / 2), rng.u32(3..=5)];
        let count = rng.usize(1..=4);
        let placements = rng.usize(4..=20);
        let boards = products(&mut rng, count, kinds, placements);
        let wanted: Vec<u64> = boards.iter().map(|_| rng.u64(1..=500)).collect();
        let plan = family(&boards, &wanted, &line(DRUM, slots, slots[0] + slots[1]), &Rules::default(), work(20_000));
        accepted(&plan);
        assert!(plan.bound_us <= plan.time_us, "family {seed}");
        assert_eq!(plan.members.iter().map(|m| m.plan.placed()).sum::<usize>(), count * placements, "family {seed}: all is placed");
        assert_eq!(Some(plan.time_us), weighted(plan.members.iter().map(|m| (m.panels, m.plan.takt_us))));
    }
}

/// Chips only, as these boards have them.
#[test]
fn families_on_stations_of_every_kind() {
    let sheets = [
        include_str!("../../../examples/lines/two-beam.toml"),
        include_str!("../../../examples/lines/turret.toml"),
        include_str!("../../../examples/lines/mixed.toml"),
        include_str!("../../verify/tests/data/kinds.toml"),
    ];
    let mut rng = fastrand::Rng::with_seed(5);
    for sheet in sheets {
        let line = Line::parse("line.toml", sheet).expect("the sheet is sound");
        for seed in 0..3 {
            let boards = products(&mut rng, 3, 4, 20);
            let plan = family(&boards, &[40, 300, 7], &line, &Rules::default(), Limits { seed, ..work(20_000) });
            accepted(&plan);
            assert_eq!(plan.members.iter().map(|m| m.plan.placed()).sum::<usize>(), 60, "{}: all is placed", line.name);
            let again = family(&boards, &[40, 300, 7], &line, &Rules::default(), Limits { seed, threads: 2, ..work(20_000) });
            assert_eq!(plan, again, "{}: threads change nothing", line.name);
        }
    }
}

/// The plan of a product stands by itself: nothing in it needs the family.
#[test]
fn each_product_has_a_plan_of_its_own() {
    let plan = sample(1);
    for m in &plan.members {
        let verdict = verify::verify(&m.plan);
        assert!(verdict.accepted, "{verdict:#?}");
        assert_eq!(m.plan.rules, Rules::default(), "the rules are those the engineer gave");
    }
    let unused = plan.members.iter().any(|m| {
        let picked: std::collections::BTreeSet<_> = m.plan.product.placements.iter().filter_map(|p| p.part).collect();
        m.plan.stations.iter().flat_map(|s| &s.supplies).any(|s| !picked.contains(&s.part))
    });
    assert!(unused, "some product stands beside feeders that it does not pick from");
}

#[test]
fn the_plan_does_not_depend_on_threads() {
    let mut rng = fastrand::Rng::with_seed(8);
    let boards = products(&mut rng, 3, 5, 10);
    let plan = |threads| {
        let limits = Limits { threads, ..work(15_000) };
        family(&boards, &[10, 20, 30], &line(DRUM, [4, 4], 8), &Rules::default(), limits)
    };
    let one = plan(1);
    assert!(one == plan(2) && one == plan(5));
}

/// A lock that places a feeder holds for the set-up that all products share.
#[test]
fn locks_hold_for_all_products() {
    let mut rng = fastrand::Rng::with_seed(12);
    let boards = products(&mut rng, 3, 4, 10);
    let lock = Lock {
        part: "RG-CAP-100N".to_owned(),
        station: Some("gauge-2".to_owned()),
        bank: Some("front".to_owned()),
        slot: Some(3),
        ..Lock::default()
    };
    let rules = Rules { lock: vec![lock], ..Rules::default() };
    let plan = family(&boards, &[10, 20, 30], &line(DRUM, [4, 4], 8), &rules, work(20_000));
    accepted(&plan);
    let number = |s: &domain::plan::SupplyAt| plan.members[0].plan.product.parts[s.part.index()].number.clone();
    let stands: Vec<(usize, &SupplyPlace)> = plan
        .setup
        .iter()
        .enumerate()
        .flat_map(|(k, s)| s.supplies.iter().map(move |x| (k, x)))
        .filter(|(_, s)| number(s) == "RG-CAP-100N")
        .map(|(k, s)| (k, &s.place))
        .collect();
    assert_eq!(stands, [(1, &SupplyPlace::Feeder { bank: 0, slot: 3, feeder: 0 })]);
}

/// One product is a family too, and no worse for it.
#[test]
fn a_family_of_one_is_a_plan() {
    let mut rng = fastrand::Rng::with_seed(5);
    let boards = products(&mut rng, 1, 4, 16);
    let plan = family(&boards, &[9], &line(DRUM, [4, 4], 8), &Rules::default(), work(40_000));
    accepted(&plan);
    assert_eq!((plan.members.len(), plan.time_us), (1, plan.members[0].plan.takt_us * 9));
}

/// What no product may claim: each change must be refused with its own code.
#[test]
fn tampered_family_plans_are_refused() {
    let plan = sample(3);
    accepted(&plan);
    let moved = |p: &mut FamilyPlan| {
        let station = p.members[1].plan.stations.iter_mut().find(|s| s.supplies.len() > 1).expect("supplies");
        station.supplies.swap(0, 1);
        let (a, b) = (station.supplies[0].place.clone(), station.supplies[1].place.clone());
        (station.supplies[0].place, station.supplies[1].place) = (b, a);
    };
    type Tamper = (&'static str, Box<dyn Fn(&mut FamilyPlan)>);
    let cases: Vec<Tamper> = vec![
        ("verify.schema", Box::new(|p| p.schema = "evenline-family-plan/9".to_owned())),
        ("verify.family-input", Box::new(|p| p.members.clear())),
        ("verify.family-input", Box::new(|p| p.members[1].plan.line.name.push('x'))),
        ("verify.family-input", Box::new(|p| p.members[0].plan.product.parts[0].value.push('x'))),
        ("verify.family-input", Box::new(|p| p.members[2].panels -= 1)),
        ("verify.family-input", Box::new(|p| p.members[2].boards = 0)),
        ("verify.family-input", Box::new(|p| p.members[0].plan.rules.lock.push(Lock { part: "RG-XTAL".to_owned(), ..Lock::default() }))),
        ("verify.family-set-up", Box::new(moved)),
        ("verify.family-set-up", Box::new(|p| p.setup[0].supplies.truncate(1))),
        ("verify.family-set-up", Box::new(|p| p.setup.truncate(1))),
        ("verify.family-set-up", Box::new(|p| p.setup[1].station.push('x'))),
        ("verify.family-sum", Box::new(|p| p.time_us = Time(p.time_us.0 - 1))),
        ("verify.family-sum", Box::new(|p| p.bound_us = Time(p.bound_us.0 + 1))),
        ("verify.family-sum", Box::new(|p| p.members[0].plan.stations[0].passes.clear())),
        ("verify.outcome", Box::new(|p| p.outcome = Outcome::ProvenOptimal)),
        ("verify.outcome", Box::new(|p| p.outcome = Outcome::Infeasible)),
    ];
    for (k, (code, tamper)) in cases.iter().enumerate() {
        let mut bad = plan.clone();
        tamper(&mut bad);
        let verdict = verify_family(&bad);
        assert!(!verdict.accepted, "case {k} ({code}) was accepted");
        assert!(verdict.violations.iter().any(|v| v.code == *code), "case {k}: no [{code}] in {:#?}", verdict.violations);
    }
    // A product's own plan is checked like any other.
    let mut bad = plan.clone();
    bad.members[1].plan.takt_us = Time(1);
    let verdict = verify_family(&bad);
    assert!(!verdict.accepted && verdict.members[1].verdict.violations.iter().any(|v| v.code == "verify.takt"), "{verdict:#?}");
}

/// Too few slots for the parts of all products together: what finds none is named, nothing is dropped silently.
#[test]
fn a_family_that_finds_no_room_says_so() {
    let mut rng = fastrand::Rng::with_seed(7);
    let boards = products(&mut rng, 3, 5, 12);
    let jobs: Vec<_> = boards.iter().map(common::job).collect();
    let (rules, line) = (Rules::default(), line(DRUM, [2, 1], 3));
    let wanted: Vec<_> = jobs.iter().map(|job| optimise::family::Wanted { job, rules: &rules, boards: 5 }).collect();
    match optimise::family::plan_family("gauges", &wanted, &line, work(5_000), &common::Quiet::new()) {
        Ok(planned) => {
            accepted(&planned.plan);
            assert!(planned.plan.members.iter().any(|m| !m.plan.unplaced.is_empty()));
        }
        Err(found) => assert!(found.iter().all(|f| f.is_error() && f.code == "plan.no-slot"), "{found:#?}"),
    }
}

/// Somebody who stops at once still gets a valid plan.
#[test]
fn a_stop_before_the_beginning_gives_a_valid_plan() {
    let mut rng = fastrand::Rng::with_seed(9);
    let boards = products(&mut rng, 2, 4, 10);
    let jobs: Vec<_> = boards.iter().map(common::job).collect();
    let (rules, line) = (Rules::default(), line(DRUM, [4, 4], 8));
    let wanted: Vec<_> = jobs.iter().map(|job| optimise::family::Wanted { job, rules: &rules, boards: 5 }).collect();
    let planned = optimise::family::plan_family("gauges", &wanted, &line, work(50_000), &common::Quiet::stopped()).expect("a plan");
    assert!(planned.stopped);
    accepted(&planned.plan);
}
