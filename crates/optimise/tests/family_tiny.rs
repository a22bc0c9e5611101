//! Family plans against exhaustive search: two stations with single-spindle heads, two boards, every set-up, every way
//! to spread the placements, every order.
//!
//! Time is what `motion` says of a whole program; nothing else is shared with the planner. The optimum is found here, so no
//! outside figures are needed.

mod common;
mod family_common;

use common::{job, work};
use domain::job::{Job, TaskId};
use domain::line::Line;
use domain::plan::{Breakdown, Pass, Pick, PlaceStep, StationPlan, Stroke, SupplyAt, SupplyPlace, Trip, Work};
use domain::product::{PartId, Product};
use domain::rules::{OrderRule, Rules};
use family_common::{family, line, products};
use motion::Clock;
use units::Time;

/// Which slot of a station supplies each part; `None` where it is not supplied.
type Layout = Vec<Option<u32>>;

/// Every layout of a bank with these slots.
fn layouts(slots: u32, parts: usize) -> Vec<Layout> {
    let mut all: Vec<Layout> = vec![Vec::new()];
    for _ in 0..parts {
        let longer = |l: &Layout| {
            let free = (1..=slots).filter(|s| !l.contains(&Some(*s))).map(Some);
            std::iter::once(None).chain(free).map(|s| [&l[..], &[s]].concat()).collect::<Vec<_>>()
        };
        all = all.iter().flat_map(longer).collect();
    }
    all
}

fn orders(tasks: &[u32]) -> Vec<Vec<u32>> {
    if tasks.is_empty() {
        return vec![Vec::new()];
    }
    let first = |k: usize| {
        let mut rest = tasks.to_vec();
        let t = rest.remove(k);
        orders(&rest).into_iter().map(move |o| [&[t], &o[..]].concat())
    };
    (0..tasks.len()).flat_map(first).collect()
}

/// The shortest time of a station for each subset of a board's tasks; `None` where a supply is missing.
fn best_times(clock: &Clock<'_>, job: &Job<'_>, line: &Line, station: usize, layout: &Layout) -> Vec<Option<Time>> {
    let supplies: Vec<SupplyAt> = layout
        .iter()
        .enumerate()
        .filter_map(|(k, slot)| {
            Some(SupplyAt { part: PartId(k as u32), place: SupplyPlace::Feeder { bank: 0, slot: (*slot)?, feeder: 0 } })
        })
        .collect();
    let supply = |t: u32| supplies.iter().position(|s| s.part == job.tasks[t as usize].part);
    let subsets = 1u32 << job.tasks.len();
    let time = |set: u32| {
        let tasks: Vec<u32> = (0..job.tasks.len() as u32).filter(|t| set >> t & 1 == 1).collect();
        if tasks.iter().any(|t| supply(*t).is_none()) {
            return None;
        }
        let program = |order: &Vec<u32>| {
            let trip = |t: &u32| Trip {
                layout: 0,
                strokes: vec![Stroke(vec![Pick { spindle: 0, supply: supply(*t).unwrap_or(0) as u32 }])],
                places: vec![PlaceStep { spindle: 0, task: TaskId(*t) }],
                after: 0,
            };
            let pass = Pass { head: 0, work: Work::Place { layouts: vec![vec![Some(0)]], trips: order.iter().map(trip).collect() } };
            let plan = StationPlan {
                station: line.station[station].name.clone(),
                supplies: supplies.clone(),
                alternating: false,
                passes: if order.is_empty() { Vec::new() } else { vec![pass] },
                time_us: Time::ZERO,
                breakdown: Breakdown::default(),
            };
            clock.time(station, &plan).expect("a program of what exists").total()
        };
        orders(&tasks).iter().map(program).min()
    };
    (0..subsets).map(time).collect()
}

/// The least Σ panels × takt over everything.
fn exhaustive(boards: &[Product], wanted: &[u64], line: &Line) -> i64 {
    let parts = boards[0].parts.len();
    let jobs: Vec<Job<'_>> = boards.iter().map(job).collect();
    let clocks: Vec<Clock<'_>> = jobs.iter().map(|j| Clock::new(line, j)).collect();
    let tables: Vec<Vec<Vec<Vec<Option<Time>>>>> = (0..2)
        .map(|s| {
            let each = |l: &Layout| jobs.iter().zip(&clocks).map(|(j, c)| best_times(c, j, line, s, l)).collect();
            layouts(line.station[s].bank[0].slots, parts).iter().map(each).collect()
        })
        .collect();
    let mut best = i64::MAX;
    for (first, a) in layouts(line.station[0].bank[0].slots, parts).iter().zip(&tables[0]) {
        for (second, b) in layouts(line.station[1].bank[0].slots, parts).iter().zip(&tables[1]) {
            let feeders = first.iter().chain(second).flatten().count() as u32;
            if feeders > line.feeder[0].stock {
                continue;
            }
            let takt = |p: usize| {
                let all = a[p].len() - 1;
                let both = |set: usize| Some(a[p][set]?.max(b[p][all ^ set]?).0);
                (0..=all).filter_map(both).min()
            };
            let sum: Option<i64> = (0..boards.len()).map(|p| Some(takt(p)? * wanted[p] as i64)).sum();
            best = best.min(sum.unwrap_or(i64::MAX));
        }
    }
    best
}

#[test]
fn tiny_families_reach_the_optimum() {
    let mut rng = fastrand::Rng::with_seed(61);
    let rules = Rules { order_rule: Some(OrderRule::None), ..Rules::default() };
    let (cases, mut reached) = (16, 0);
    for case in 0..cases {
        let line = line("kind = \"single\"", [rng.u32(2..=3), rng.u32(1..=3)], rng.u32(3..=4));
        let placements = rng.usize(3..=4);
        let boards = products(&mut rng, 2, 3, placements);
        let wanted = [rng.u64(1..=9), rng.u64(1..=9)];
        let optimum = exhaustive(&boards, &wanted, &line);
        let plan = family(&boards, &wanted, &line, &rules, work(30_000));
        assert!(verify::verify_family(&plan).accepted, "case {case}");
        assert_eq!(plan.members.iter().map(|m| m.plan.placed()).sum::<usize>(), 2 * placements, "case {case}: everything is placed");
        assert!(plan.time_us.0 >= optimum, "case {case}: planned {}, but nothing takes less than {optimum}", plan.time_us.0);
        assert!(plan.bound_us.0 <= optimum, "case {case}: bound {} above the optimum {optimum}", plan.bound_us.0);
        if plan.time_us.0 == optimum {
            reached += 1;
        } else {
            println!("case {case}: planned {}, optimum {optimum}", plan.time_us.0);
        }
    }
    println!("the planner reached the optimum of {reached} of {cases} tiny families");
    // Today's state: 8 of 16. So short a search ends before work is evened out; a longer one should reach more.
    assert!(reached * 2 >= cases, "{reached} of {cases}");
}

#[test]
fn layouts_are_all_there() {
    // None, one of two parts on one of two slots, both.
    assert_eq!(layouts(2, 2).len(), 1 + 4 + 2);
    assert_eq!(orders(&[1, 2, 3]).len(), 6);
}
