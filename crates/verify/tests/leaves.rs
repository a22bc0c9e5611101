//! Certificates of several leaves: what they prove, and what is refused.

mod common;

use common::{branched, columns, spread};
use domain::plan::{HeadUse, Leaf, Plan, StationManner};
use proptest::prelude::*;
use units::Time;

fn bound(plan: &Plan) -> Option<Time> {
    verify::bound(plan, &plan.job().expect("a job"))
}

fn used(station: u32, head: u32) -> HeadUse {
    HeadUse { station, head, at_least: 1, ..HeadUse::default() }
}

fn unused(station: u32, head: u32) -> HeadUse {
    HeadUse { station, head, at_most: Some(0), ..HeadUse::default() }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 500, failure_persistence: None, ..ProptestConfig::default() })]

    /// With the same weights everywhere leaves that decide everything prove no less than one that decides nothing.
    #[test]
    fn one_leaf_proves_no_more_than_all_choices(seed in any::<u64>(), tasks in 1usize..20) {
        let mut plan = spread::plan(seed, tasks, 40_000);
        let one = bound(&plan).expect("a bound");
        let weights = plan.certificate.leaves[0].weights.clone();
        plan.certificate.leaves = branched(&plan, 256, &mut |_| weights.clone());
        prop_assert!(one <= bound(&plan).expect("a bound"));
    }

    /// Any prices and limits of trips leave the bound below the takt, if the leaves hold the plan.
    #[test]
    fn no_valid_plan_beats_the_bound_of_any_prices(seed in any::<u64>(), tasks in 1usize..20, cut in 1u32..6) {
        let mut plan = spread::plan(seed, tasks, 40_000);
        let mut random = spread::Random(seed);
        let several = |h: &HeadUse| plan.line.station[h.station as usize].head[h.head as usize].spindles > 1;
        let priced: Vec<HeadUse> = columns(&plan).into_iter().filter(several).collect();
        let mut leaf = |few: bool, k: usize| {
            let price = |random: &mut spread::Random, n: u64| random.below(n) as i64 * 1_000_000;
            let heads = priced.iter().enumerate().map(|(i, h)| {
                let (at_least, at_most) = if i == k { if few { (0, Some(cut)) } else { (cut + 1, None) } } else { (0, None) };
                let prices = (price(&mut random, 90), price(&mut random, 300) - 50_000_000, price(&mut random, 300) - 50_000_000);
                HeadUse { at_least, at_most, seat_ns: prices.0, first_ns: prices.1, last_ns: prices.2, ..*h }
            });
            Leaf { heads: heads.collect(), weights: vec![random.below(9), 1 + random.below(9)], ..Leaf::default() }
        };
        plan.certificate.leaves = vec![leaf(true, 0), leaf(false, 0)];
        common::retime(&mut plan);
        let verdict = verify::verify(&plan);
        prop_assert!(verdict.accepted, "{:#?}", verdict.violations);
        prop_assert!(verdict.bound_us <= verdict.takt_us, "{} above {}", verdict.bound_us.0, verdict.takt_us.0);
    }

    /// Weights of its own for each leaf still leave the bound below the takt.
    #[test]
    fn no_valid_plan_beats_the_bound_of_its_leaves(seed in any::<u64>(), tasks in 1usize..20, count in 2usize..20) {
        let mut plan = spread::plan(seed, tasks, 40_000);
        let mut random = spread::Random(seed);
        plan.certificate.leaves = branched(&plan, count, &mut |_| vec![random.below(9), 1 + random.below(9)]);
        common::retime(&mut plan);
        let verdict = verify::verify(&plan);
        prop_assert!(verdict.accepted, "{:#?}", verdict.violations);
        prop_assert!(verdict.bound_us <= verdict.takt_us);
    }
}

/// Many heads: leaves that decide some of them prove no less than one that decides none.
#[test]
fn an_open_leaf_proves_no_more_than_decided_ones() {
    let mut plan = spread::plan(11, 12, 40_000);
    plan.line.station = [0, 1, 1].map(|s| plan.line.station[s].clone()).to_vec();
    let weights = vec![1, 2, 2];
    plan.certificate.leaves = branched(&plan, 1, &mut |_| weights.clone());
    let open = bound(&plan).expect("a bound");
    plan.certificate.leaves = branched(&plan, 8 << columns(&plan).len(), &mut |_| weights.clone());
    let decided = bound(&plan).expect("a bound");
    assert!(Time::ZERO < open && open <= decided, "{} and {}", open.0, decided.0);
}

/// Without the first station's head its chips go to the drum; without the drum too, no head takes them.
#[test]
fn a_leaf_whose_heads_cannot_do_the_work_counts_as_infinite() {
    let mut plan = common::plan();
    let whole = plan.certificate.leaves[0].clone();
    let with = |heads: Vec<HeadUse>| Leaf { heads, ..whole.clone() };
    plan.certificate.leaves = vec![with(vec![used(0, 0)])];
    assert_eq!(bound(&plan), None, "the leaf does not cover");
    plan.certificate.leaves = vec![with(vec![used(0, 0)]), with(vec![unused(0, 0)])];
    let both = bound(&plan).expect("a bound");
    // The chips of this plan are forbidden at the second station, so the leaf without the row belongs to no plan.
    let row_only = Leaf { heads: vec![used(0, 0), unused(1, 1)], ..whole.clone() };
    plan.certificate.leaves = vec![row_only, with(vec![used(0, 0), used(1, 1)]), with(vec![unused(0, 0)])];
    assert!(both <= bound(&plan).expect("a bound"));
}

/// Leaves that part the plans by the manner of a station with a head changer: both have to be there, each said once.
#[test]
fn manners_cover_and_are_said_once() {
    let mut plan = common::plan();
    let whole = plan.certificate.leaves[0].clone();
    let swapping = plan.line.station.iter().position(|s| s.head_swap.is_some()).expect("a head changer") as u32;
    let fixed = plan.line.station.iter().position(|s| s.head_swap.is_none()).expect("a station without") as u32;
    let says = |station: u32, alternating: bool| StationManner { station, alternating };
    let mut bound_of = |all: &[&[StationManner]]| {
        plan.certificate.leaves = all.iter().map(|m| Leaf { manners: m.to_vec(), ..whole.clone() }).collect();
        bound(&plan)
    };
    let open = bound_of(&[&[]]).expect("a bound");
    let both = bound_of(&[&[says(swapping, true)], &[says(swapping, false)]]).expect("a bound");
    assert!(open <= both, "{} and {}", open.0, both.0);
    assert_eq!(bound_of(&[&[says(swapping, true)]]), None, "no leaf holds plans that do not alternate");
    assert_eq!(bound_of(&[&[says(swapping, false)]]), None, "no leaf holds plans that alternate");
    assert_eq!(bound_of(&[&[], &[says(swapping, true), says(swapping, false)]]), None, "said twice");
    assert_eq!(bound_of(&[&[], &[says(fixed, false)]]), None, "no changer, no manner");
    assert_eq!(bound_of(&[&[], &[says(u32::MAX, true)]]), None, "no such station");
}

/// An area that no station can look at belongs to no plan: nothing is proven, and nothing is claimed.
#[test]
fn leaves_without_any_bound_prove_nothing() {
    let mut plan = common::plan();
    plan.line.equipment.clear();
    plan.line.station.iter_mut().for_each(|s| s.inspection = None);
    assert_eq!(bound(&plan), Some(Time::ZERO));
}

#[test]
fn too_many_leaves_are_refused() {
    let mut plan = common::plan();
    plan.certificate.leaves = vec![plan.certificate.leaves[0].clone(); 4_096];
    assert!(bound(&plan).is_some());
    plan.certificate.leaves.push(plan.certificate.leaves[0].clone());
    assert_eq!(bound(&plan), None);
}

/// Leaves that cover although no branching made them: of `holes + 1` pigeons in `holes` holes two share a hole
/// or one is nowhere. That tree-like splitting of these grows beyond all bounds is a result of Haken (Theoretical
/// Computer Science 39, 1985, for resolution; from memory), so only the small case is checked to its end.
fn pigeons(holes: u32) -> Plan {
    let mut plan = common::plan();
    let stations = (holes + 1) * holes;
    plan.line.station = vec![plan.line.station[1].clone(); stations as usize];
    let sits = |pigeon: u32, hole: u32| used(pigeon * holes + hole, 1);
    let stays = |pigeon: u32, hole: u32| unused(pigeon * holes + hole, 1);
    let leaf = |heads| Leaf { heads, weights: vec![1; stations as usize], ..Leaf::default() };
    let mut leaves: Vec<Leaf> = (0..=holes).map(|p| leaf((0..holes).map(|h| stays(p, h)).collect())).collect();
    for hole in 0..holes {
        let pairs = (0..=holes).flat_map(|a| (0..a).map(move |b| (a, b)));
        leaves.extend(pairs.map(|(a, b)| leaf(vec![sits(a, hole), sits(b, hole)])));
    }
    plan.certificate.leaves = leaves;
    plan
}

#[test]
fn coverage_is_checked_exactly_until_it_takes_too_long() {
    let mut small = pigeons(3);
    assert!(bound(&small).is_some());
    for k in 0..small.certificate.leaves.len() {
        let left_out = small.certificate.leaves.remove(k);
        assert_eq!(bound(&small), None, "every leaf is needed");
        small.certificate.leaves.insert(k, left_out);
    }
    assert_eq!(bound(&pigeons(9)), None);
}
