//! True reasons for leaving a task are accepted: the checker must not refuse an honest plan.

mod common;

use domain::job::TaskId;
use domain::part::{Mount, NozzleClass, Part, Sourced, Supply};
use domain::plan::{Plan, SupplyAt, SupplyPlace, Unplaced, Work};
use domain::product::PartId;
use domain::rules::{OrderRule, Rules};
use units::Length;

/// The valid plan with the drum's part (U1, tasks 3 and 10) left off for this reason, and no order rules.
fn without_the_drums_part(code: &str, change: impl Fn(&mut Part)) -> Plan {
    let mut plan = common::plan();
    plan.rules = Rules { order_rule: Some(OrderRule::None), ..Rules::default() };
    change(&mut plan.product.parts[0]);
    plan.stations[1].passes.remove(1);
    plan.stations[1].supplies.remove(0);
    for pass in &mut plan.stations[1].passes {
        if let Work::Place { trips, .. } = &mut pass.work {
            trips.iter_mut().flat_map(|t| &mut t.strokes).flat_map(|s| &mut s.0).for_each(|p| p.supply -= 1);
        }
    }
    for (image, task) in [(1, 3), (2, 10)] {
        let reference = format!("U1@{image}");
        plan.unplaced.push(Unplaced { reference, task: TaskId(task), code: code.to_owned(), message: "left".to_owned() });
    }
    common::retime(&mut plan);
    plan
}

#[track_caller]
fn accepted(code: &str, change: impl Fn(&mut Part)) {
    let verdict = verify::verify(&without_the_drums_part(code, change));
    assert!(verdict.accepted, "{code}: {:#?}", verdict.violations);
}

#[track_caller]
fn refused(code: &str, change: impl Fn(&mut Part)) {
    let verdict = verify::verify(&without_the_drums_part(code, change));
    assert!(verdict.violations.iter().all(|v| v.code == "verify.unplaced-reason") && !verdict.accepted, "{:#?}", verdict.violations);
}

#[test]
fn reasons_that_follow_from_the_part() {
    accepted("plan.by-hand", |p| p.mount = Sourced::engineer(Mount::Hand));
    accepted("plan.part-too-large", |p| p.height_um = Sourced::engineer(Length(25_001)));
    accepted("plan.part-too-small", |p| p.body_y_um = Sourced::engineer(Length(299)));
    accepted("plan.no-nozzle", |p| p.nozzle_class = Sourced::engineer(NozzleClass::Micro));
    accepted("plan.accuracy", |p| p.accuracy_um = Sourced::engineer(Length(29)));
    accepted("plan.no-feeder", |p| p.tape_width_um = Sourced::engineer(Length(16_000)));
    accepted("plan.no-feeder", |p| p.supply = Sourced::engineer(Supply::Stick));
}

#[test]
fn the_same_reasons_of_a_part_that_fits() {
    for code in ["plan.by-hand", "plan.part-too-large", "plan.part-too-small", "plan.no-nozzle", "plan.accuracy", "plan.no-feeder"] {
        refused(code, |_| {});
    }
    // It is too large for every head, but its nozzle is not what keeps it off.
    refused("plan.no-nozzle", |p| p.height_um = Sourced::engineer(Length(25_001)));
    refused("plan.no-slot", |p| p.height_um = Sourced::engineer(Length(25_001)));
    refused("plan.order", |_| {});
}

/// Fills slots of the flexible station's bank with single-slot feeders of another part.
fn fill(plan: &mut Plan, slots: impl Iterator<Item = u32>) {
    let feeder = |slot| SupplyAt { part: PartId(1), place: SupplyPlace::Feeder { bank: 0, slot, feeder: 0 } };
    plan.stations[1].supplies.extend(slots.map(feeder));
    plan.line.feeder[0].stock = 20;
    common::retime(plan);
}

#[test]
fn room_is_counted() {
    // Six slots, and the part's feeder takes two: slots 2, 4 and 6 leave none side by side.
    let mut plan = without_the_drums_part("plan.no-slot", |_| {});
    assert!(!verify::verify(&plan).accepted, "the whole bank is free");
    fill(&mut plan, [2, 4, 6].into_iter());
    assert!(verify::verify(&plan).accepted, "{:#?}", verify::verify(&plan).violations);
    let mut plan = without_the_drums_part("plan.no-slot", |_| {});
    fill(&mut plan, [2, 4].into_iter());
    assert!(!verify::verify(&plan).accepted, "slots 5 and 6 are free");
}

#[test]
fn stock_is_counted() {
    let mut plan = without_the_drums_part("plan.no-stock", |_| {});
    assert!(!verify::verify(&plan).accepted);
    plan.line.feeder[1].stock = 0;
    common::retime(&mut plan);
    assert!(verify::verify(&plan).accepted, "{:#?}", verify::verify(&plan).violations);
}

#[test]
fn an_order_excuses_what_room_would_not() {
    let mut plan = without_the_drums_part("plan.order", |_| {});
    plan.rules.order.push(domain::rules::Order { first: vec!["U1".to_owned()], then: vec!["C1".to_owned()] });
    common::retime(&mut plan);
    assert!(verify::verify(&plan).accepted, "{:#?}", verify::verify(&plan).violations);
}
