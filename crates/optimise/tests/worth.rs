//! What one more of something is said to be worth, against planning anew with the change.
//!
//! The claim of the balance is an estimate: it is held to half of itself or 2.5 % of the takt, whichever is more.
//! The claim of the bound is held without any allowance.

mod common;

use common::{Quiet, board, chip, job, part, planned, row, work};
use domain::line::Line;
use domain::part::NozzleClass;
use domain::plan::Plan;
use domain::product::Product;
use domain::rules::Rules;
use optimise::plan;
use optimise::reasons::{Change, Claim, changes, claims, replanned};
use units::Time;

const WORK: u64 = 300_000;

fn line() -> Line {
    let mut line = Line::parse("line.toml", include_str!("data/line.toml")).expect("the tests' sheet is sound");
    line.feeder.iter_mut().for_each(|f| f.stock = 40);
    line.nozzle.iter_mut().for_each(|n| n.stock = 40);
    line
}

/// `types` chips of 8 placements each, and two larger bodies on wide tape.
fn gauge(types: u32) -> Product {
    gauge_with(types, 2)
}

/// As [`gauge`], with so many larger bodies.
fn gauge_with(types: u32, bodies: u32) -> Product {
    let mut parts: Vec<_> = (0..types).map(|k| chip(&format!("RG-C{k}"))).collect();
    let mut body = part("RG-U1", (8_000, 8_000, 2_000), NozzleClass::Large);
    body.tape_width_um.value.0 = 16_000;
    parts.push(body);
    let at = |k: u32| (6_000 + 5_000 * i64::from(k % 16), 6_000 + 4_000 * i64::from(k / 16));
    let mut rows: Vec<_> = (0..types * 8).map(|k| row(&format!("C{k}"), k % types, at(k), 90 * i64::from(k % 2))).collect();
    rows.extend(
        (0..bodies).map(|k| row(&format!("U{k}"), types, (100_000 + 10_000 * i64::from(k / 5), 8_000 + 10_000 * i64::from(k % 5)), 0)),
    );
    board((200_000, 60_000), parts, rows)
}

fn rules(text: &str) -> Rules {
    Rules::parse("rules.toml", text).unwrap_or_else(|finding| panic!("{finding:?}"))
}

fn plan_of(product: &Product, line: &Line, rules: &Rules) -> Plan {
    planned(product, line, rules, work(WORK)).plan
}

fn claim(plan: &Plan, wanted: impl Fn(Change) -> bool) -> Claim {
    let all = claims(plan).expect("a plan of a sound line");
    all.into_iter().find(|c| wanted(c.change)).expect("the change makes sense here")
}

/// The claim holds against planning anew; what it was really worth.
fn held(plan: &Plan, claim: &Claim) -> Time {
    let found = replanned(plan, &[claim], work(WORK), &Quiet::new()).expect("a plan of a sound line");
    let r = found[0].expect("nobody stopped");
    assert_eq!(r.more_placed, 0, "{}", claim.text);
    if let Some(estimate) = claim.estimate {
        let allowed = (estimate.0 as f64 * 0.5).max(plan.takt_us.0 as f64 * 0.025);
        let off = (r.worth() - estimate).0 as f64;
        assert!(off.abs() <= allowed, "{} Planned anew: {} against {}", claim.text, r.after.to_s(), r.before.to_s());
    }
    // No plan with the change goes below what the claim allows.
    if let Some(most) = claim.at_most {
        assert!(r.after >= plan.takt_us - most, "{} Planned anew: {}", claim.text, r.after.to_s());
    }
    r.worth()
}

#[test]
fn one_more_station_is_worth_what_is_claimed() {
    let (product, line, none) = (gauge(8), line(), Rules::default());
    let plan = plan_of(&product, &line, &none);
    let claim = claim(&plan, |c| c == Change::Station { like: 0 });
    assert!(claim.estimate.expect("a small model") > Time(plan.takt_us.0 / 10), "{}", claim.text);
    assert!(held(&plan, &claim) > Time(plan.takt_us.0 / 10));
}

#[test]
fn a_slot_is_worth_something_where_slots_are_short_and_nothing_where_they_are_free() {
    let (product, none) = (gauge(12), Rules::default());
    let mut short = line();
    short.station[0].bank[0].slots = 2;
    let plan = plan_of(&product, &short, &none);
    let slot = claim(&plan, |c| matches!(c, Change::Slot { station: 0, .. }));
    let worth = slot.estimate.expect("a small model");
    assert!(worth > Time(plan.takt_us.0 / 50), "{}", slot.text);
    assert!(held(&plan, &slot) > Time::ZERO);
    let mut roomy = line();
    roomy.station[0].bank[0].slots = 40;
    let plan = plan_of(&product, &roomy, &none);
    let slot = claim(&plan, |c| matches!(c, Change::Slot { station: 0, .. }));
    assert_eq!(slot.estimate, Some(Time::ZERO), "{}", slot.text);
    assert!(slot.text.contains("free"), "{}", slot.text);
    held(&plan, &slot);
}

#[test]
fn feeders_nozzles_and_trays_left_over_are_counted_and_worth_nothing() {
    let (product, line, none) = (gauge(6), line(), Rules::default());
    let plan = plan_of(&product, &line, &none);
    let feeder = claim(&plan, |c| c == Change::Feeder { kind: 0 });
    let used = plan
        .stations
        .iter()
        .flat_map(|s| &s.supplies)
        .filter(|s| matches!(s.place, domain::plan::SupplyPlace::Feeder { feeder: 0, .. }))
        .count();
    assert_eq!(feeder.text, format!("One more feeder `tape 8` is worth nothing: {used} of 40 are in use."));
    held(&plan, &feeder);
    let nozzle = claim(&plan, |c| c == Change::Nozzle { kind: 0 });
    assert_eq!(nozzle.estimate, Some(Time::ZERO), "{}", nozzle.text);
    held(&plan, &nozzle);
    let level = claim(&plan, |c| matches!(c, Change::TrayPlace { .. }));
    assert!(level.text.ends_with("0 of 4 places and levels are in use there."), "{}", level.text);
    held(&plan, &level);
}

#[test]
fn a_head_that_another_station_has_is_worth_what_is_claimed() {
    let (product, line, none) = (gauge(8), line(), Rules::default());
    let plan = plan_of(&product, &line, &none);
    let all: Vec<Claim> = claims(&plan).expect("a plan of a sound line");
    let heads: Vec<&Claim> = all.iter().filter(|c| matches!(c.change, Change::Head { .. })).collect();
    assert!(!heads.is_empty());
    for head in heads {
        held(&plan, head);
    }
    // Where the larger bodies are the bottleneck, a drum at the chip station takes its share of them.
    let product = gauge_with(4, 40);
    let plan = plan_of(&product, &line, &none);
    let drum = claim(&plan, |c| c == Change::Head { station: 0, like: 1, head: 1 });
    assert!(drum.text.starts_with("A head like `drum` of `flex-2` at `chip-1` too is worth about"), "{}", drum.text);
    assert!(held(&plan, &drum) > Time(plan.takt_us.0 / 20), "{}", drum.text);
}

#[test]
fn a_lock_and_a_prohibition_cost_what_is_claimed() {
    let (product, line) = (gauge(8), line());
    let text: String = (0..4).map(|k| format!("[[forbid]]\npart = \"RG-C{k}\"\nstation = \"flex-2\"\n")).collect();
    let tight = rules(&(text + "[[lock]]\npart = \"RG-C7\"\nstation = \"chip-1\"\n[[forbid]]\npart = \"RG-C4\"\nstation = \"flex-2\"\n"));
    let plan = plan_of(&product, &line, &tight);
    let lock = claim(&plan, |c| matches!(c, Change::Lock { .. }));
    assert!(lock.estimate.expect("a small model") > Time::ZERO, "{}", lock.text);
    assert!(lock.text.starts_with("The lock of `RG-C7` costs about"), "{}", lock.text);
    assert!(held(&plan, &lock) > Time::ZERO);
}

#[test]
fn an_order_rule_costs_what_is_claimed() {
    let (product, line) = (gauge(8), line());
    let ordered = rules("[[order]]\nfirst = [\"U*\"]\nthen = [\"C*\"]\n");
    let plan = plan_of(&product, &line, &ordered);
    // The large bodies are only for the last station, so the first one may place no chip.
    let order = claim(&plan, |c| c == Change::Order { order: 0 });
    assert!(order.estimate.expect("a small model") > Time(plan.takt_us.0 / 10), "{}", order.text);
    assert!(held(&plan, &order) > Time(plan.takt_us.0 / 10));
}

#[test]
fn every_changed_line_is_sound_and_can_be_planned() {
    let product = gauge(6);
    let example = include_str!("../../../examples/lines/head-swap.toml");
    let line = Line::parse("head-swap.toml", example).expect("an example sheet is sound");
    let tight = rules("[[lock]]\npart = \"RG-C1\"\nstation = \"swap-1\"\n[[forbid]]\npart = \"RG-C2\"\nstation = \"swap-2\"\n");
    let list = changes(&line, &tight);
    assert!(list.len() > 10);
    for change in list {
        let (line, tight) = change.carried_out(&line, &tight);
        assert!(line.check("").is_empty(), "{change:?}: {:?}", line.check(""));
        let plan = plan(&job(&product), &line, &tight, work(1), &Quiet::new()).unwrap_or_else(|f| panic!("{change:?}: {f:?}")).plan;
        let verdict = verify::verify(&plan);
        assert!(verdict.accepted, "{change:?}: {:?}", verdict.violations);
    }
}

#[test]
fn whoever_stops_gets_no_figure_instead_of_a_wrong_one() {
    let (product, line, none) = (gauge(6), line(), Rules::default());
    let plan = plan_of(&product, &line, &none);
    let claim = claim(&plan, |c| matches!(c, Change::Station { .. }));
    assert_eq!(replanned(&plan, &[&claim], work(WORK), &Quiet::stopped()).expect("a plan of a sound line"), [None]);
}
