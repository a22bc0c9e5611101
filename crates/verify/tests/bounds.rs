//! No valid plan is faster than its bound, and the bound of a tiny case is the one worked by hand.

mod common;

use common::spread;
use domain::job::TaskId;
use domain::line::HeadKind;
use domain::plan::{HeadUse, PlaceStep, Plan, Work};
use domain::product::PartId;
use proptest::prelude::*;
use units::Time;

proptest! {
    #![proptest_config(ProptestConfig { cases: 1_000, failure_persistence: None, ..ProptestConfig::default() })]
    #[test]
    fn no_valid_plan_beats_its_bound(seed in any::<u64>(), tasks in 1usize..20, side in 0i64..30) {
        let plan = spread::plan(seed, tasks, 12_500 + side * 1_000);
        let verdict = verify::verify(&plan);
        prop_assert!(verdict.accepted, "{:#?}", verdict.violations);
        prop_assert!(verdict.bound_us <= verdict.takt_us, "{} above {}", verdict.bound_us.0, verdict.takt_us.0);
    }
}

/// The valid plan with only the first station and its three chips on one board.
fn chips_only() -> Plan {
    let mut plan = common::plan();
    plan.line.station.truncate(1);
    plan.line.equipment.clear();
    plan.stations.truncate(1);
    plan.rules = domain::rules::Rules::default();
    plan.panel = domain::job::Panel::SINGLE;
    plan.product.placements.truncate(3);
    plan.unplaced.clear();
    plan.certificate.leaves[0].weights = vec![1];
    let station = &mut plan.stations[0];
    station.passes.remove(0);
    let Work::Place { trips, .. } = &mut station.passes[0].work else { panic!("a place pass") };
    trips.truncate(1);
    common::retime(&mut plan);
    plan
}

/// Worked by hand from `docs/planning.md` §3 with a spreadsheet's care; all times in µs.
///
/// Axes: x without jerk limit, v = 1.5 m/s, a = 20 m/s²; y with jerk 800 m/s³, v = 1.2 m/s, a = 15 m/s².
/// C1 at (10, 10) mm, C2 at (15, 26.4) mm, turned 90°, R1 at (20, 8) mm, turned 180°; marks at (6, 6)
/// and (54, 34) mm. The bank lies at y = −60 mm, x = 0 to 70 mm, widened by 60 mm to both sides, so
/// that only Y counts for the ways in and out: 70, 86.4 and 68 mm. Prices: seat 50 ms, first 300 ms, last 170 ms, so
/// that each trip costs at least 100 + 300 + 170 − 4·50 ms.
#[test]
fn a_bound_worked_by_hand() {
    let mut plan = chips_only();
    // The second leaf, without the head, belongs to no plan.
    let priced = HeadUse { at_least: 1, seat_ns: 50_000_000, first_ns: 300_000_000, last_ns: 170_000_000, ..HeadUse::default() };
    let without = HeadUse { at_most: Some(0), ..HeadUse::default() };
    plan.certificate.leaves =
        [priced, without].map(|h| domain::plan::Leaf { heads: vec![h], weights: vec![1], ..domain::plan::Leaf::default() }).to_vec();
    common::retime(&mut plan);
    let axis_y = |mm: f64| {
        // The acceleration reaches its limit (2a³/j² = 10.5 mm), speed does not (v(v/a + a/j) = 118.5 mm).
        let (a, j, d) = (15e3, 800e3, mm);
        let k: f64 = a * a / j;
        let p = ((k * k + 4.0 * a * d).sqrt() - k) / 2.0;
        (2.0 * (p / a + a / j) * 1e6).ceil() as i64
    };
    let short_y = |mm: f64| (4.0 * (mm / 2.0 / 800e3).cbrt() * 1e6).ceil() as i64;
    let x = |mm: f64| (2.0 * (mm / 20e3_f64).sqrt() * 1e6).ceil() as i64;
    let ways = [axis_y(70.0), axis_y(86.4), axis_y(68.0)];
    let turns = [0, 60_000, 120_000];
    let ins: Vec<i64> = ways.iter().zip(turns).map(|(w, t)| (*w).max(t) + 20_000).collect();
    let outs: Vec<i64> = ways.iter().map(|w| w + 12_000).collect();
    // Neighbours, shifted by 20, 40 or 60 mm either way:
    // C1 from R1 (10 mm apart, shifted by −20: 10), 2 mm in Y; from C2 16.4 mm in Y.
    let c1 = x(10.0).max(short_y(2.0)).min(axis_y(16.4).max(x(15.0))) + 20_000;
    // C2 from C1 (5 mm, shifted 15): 16.4 mm in Y; from R1 (−5 mm, shifted 15): 18.4 mm in Y. Turn 60 ms.
    let c2 = x(15.0).max(axis_y(16.4)).max(60_000) + 20_000;
    // R1: the turn of 120 ms is longer than any way.
    let r1 = 120_000 + 20_000;
    let es = [c1, c2, r1];
    let price = |t: i64, at: i64| (t - at).min(0);
    let task = |k: usize| (80_000 + es[k] + 50_000 + price(ins[k] - es[k], 300_000) + price(outs[k], 170_000)) * 1_000 + 70_000 * 1_000 / 4;
    let tasks: i64 = (0..3).map(task).sum();
    let trips = (100_000 + 300_000 + 170_000 - 4 * 50_000 - 170_000) * 1_000;
    // From the last mark at y = 34 mm to the bank: 94 mm.
    let enter = (axis_y(94.0) + 12_000) * 1_000;
    let marks = 2 * 180_000 + x(48.0).max(axis_y(28.0)) + 20_000;
    let by_hand = ((2_400_000 + marks) * 1_000 + tasks + trips + enter) / 1_000;
    assert_eq!(plan.bound_us, Time(by_hand));
    assert!(verify::verify(&plan).accepted, "{:#?}", verify::verify(&plan).violations);
}

/// Four parts on a drum of two spindles: picks of one part share what the first of them costs more, but no more than a trip holds.
#[test]
fn every_trip_pays_for_its_first_pick_of_a_part() {
    let mut plan = chips_only();
    let line = &mut plan.line;
    line.feeder.iter_mut().for_each(|f| f.advance = units::Text(Time::from_ms(1)));
    let head = &mut line.station[0].head[0];
    (head.kind, head.spindles, head.pitch, head.index) = (HeadKind::Rotary, 2, None, Some(units::Text(Time::from_ms(50))));
    let settle = line.station[0].settle_pick;
    let (row, part) = (plan.product.placements[0].clone(), plan.product.parts[1].clone());
    let at = |k: u32| domain::product::Placement {
        reference: format!("C{k}"),
        part: Some(PartId(k)),
        at: units::Point::from_um(10_000 + 5_000 * i64::from(k), 10_000),
        ..row.clone()
    };
    plan.product.placements = (0..4).map(at).collect();
    plan.product.parts = (0..4).map(|k| domain::part::Part { number: format!("same {k}"), ..part.clone() }).collect();
    let Work::Place { trips, .. } = &mut plan.stations[0].passes[0].work else { panic!("a place pass") };
    trips[0].places = (0..4).map(|task| PlaceStep { spindle: 0, task: TaskId(task) }).collect();
    let mut bound_of = |parts: [u32; 4]| {
        plan.product.placements.iter_mut().zip(parts).for_each(|(row, part)| row.part = Some(PartId(part)));
        verify::bound(&plan, &plan.job().expect("a job")).expect("a bound").0
    };
    let one = bound_of([0, 0, 0, 0]);
    assert_eq!(one, bound_of([0, 0, 1, 1]), "four of one part take two trips at least");
    // Nowhere else is a pick from another supply dearer than by settling.
    assert_eq!(bound_of([0, 1, 2, 3]) - one, 2 * settle.0.0);
}

#[test]
fn slow_equipment_is_a_bound_too() {
    let mut plan = common::plan();
    plan.line.equipment[0].time = units::Text(Time::from_ms(60_000));
    common::retime(&mut plan);
    assert_eq!((plan.takt_us, plan.bound_us), (Time::from_ms(60_000), Time::from_ms(60_000)));
    plan.outcome = domain::plan::Outcome::ProvenOptimal;
    assert!(verify::verify(&plan).accepted);
}
