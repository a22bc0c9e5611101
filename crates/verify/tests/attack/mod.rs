//! Small lines and boards made to beat a bound, with every dumb plan for them.
//!
//! Shares nothing with planner or checker: the generator knows the rules of `docs/planning.md` §1 well enough
//! to make plans that mostly keep them, and `verify` says which do.

#![allow(dead_code, reason = "each test file uses its own part of this")]

pub mod board;
pub mod choice;
pub mod kinds;
pub mod program;
pub mod sheet;

use choice::{Choice, Dice};
use domain::job::Job;
use domain::line::{HeadKind, StationKind};
use domain::plan::{Certificate, HeadUse, Leaf, Method, Outcome, Plan, SCHEMA, Work};
use motion::Clock;
use units::Time;

/// The inputs of a plan, without programs.
pub fn case<C: Choice>(dice: &mut C, most_placements: usize) -> Plan {
    Plan {
        schema: SCHEMA.to_owned(),
        product: board::product(dice, most_placements),
        side: domain::product::Side::Top,
        panel: board::panel(dice),
        rules: board::rules(dice),
        line: sheet::line(dice),
        method: Method::Search,
        seed: 0,
        work: 0,
        outcome: Outcome::Feasible,
        takt_us: Time::ZERO,
        bound_us: Time::ZERO,
        certificate: Certificate::default(),
        stations: Vec::new(),
        unplaced: Vec::new(),
        reasons: Vec::new(),
        findings: Vec::new(),
    }
}

/// A plan of the case from these decisions, timed, that keeps every rule; `None` where they led to none.
/// Its bound is that of its certificate, or 0.
pub fn decide<C: Choice>(choice: &mut C, case: &Plan) -> Option<Plan> {
    why(choice, case).ok()
}

/// As [`decide`]; else why not.
fn why<C: Choice>(choice: &mut C, case: &Plan) -> Result<Plan, String> {
    let mut plan = case.clone();
    let job = case.job().expect("a job");
    plan.stations = program::stations(choice, &case.line, &job, &case.rules).ok_or("no program")?;
    drop_views(choice, &mut plan);
    time(&mut plan, &job);
    plan.certificate = Certificate { leaves: vec![Leaf { weights: vec![1; crate::common::rows(&case.line)], ..Leaf::default() }] };
    plan.bound_us = verify::bound(&plan, &job).ok_or("no bound")?;
    // The bound is what is under attack, so a plan that beats it is a valid one here.
    match verify::verify(&plan).violations.into_iter().find(|v| v.code != "verify.bound") {
        Some(broken) => Err(broken.code),
        None => Ok(plan),
    }
}

/// Writes the clock's times into a plan.
pub fn time(plan: &mut Plan, job: &Job<'_>) {
    let copy = plan.clone();
    let clock = Clock::new(&copy.line, job);
    let mut takt = copy.line.equipment.iter().map(|e| *e.time).max().unwrap_or(Time::ZERO);
    for (s, station) in plan.stations.iter_mut().enumerate() {
        station.breakdown = clock.time(s, &copy.stations[s]).expect("a program whose references exist");
        station.time_us = station.breakdown.total();
        takt = takt.max(station.time_us);
    }
    plan.takt_us = takt;
}

/// Leaves out views that are not needed, in any order: fewer than any counting by areas may suffice.
fn drop_views<C: Choice>(choice: &mut C, plan: &mut Plan) {
    let places: Vec<(usize, usize)> = plan
        .stations
        .iter()
        .enumerate()
        .flat_map(|(s, x)| x.passes.iter().enumerate().filter(|(_, p)| matches!(p.work, Work::Inspect { .. })).map(move |(k, _)| (s, k)))
        .collect();
    for (s, k) in places {
        let mut i = 0;
        loop {
            let mut fewer = plan.clone();
            let Work::Inspect { views } = &mut fewer.stations[s].passes[k].work else { break };
            if i >= views.len() {
                break;
            }
            views.remove(i);
            let uncovered = |v: &verify::Violation| v.code == "verify.inspection" || v.code == "verify.order-inspection";
            if choice.one_in(8) || verify::verify(&fewer).violations.iter().any(uncovered) {
                i += 1;
            } else {
                *plan = fewer;
            }
        }
    }
}

/// The certificate that looks at one row alone (a station; of two beams one of them, or the board), at every choice of heads as
/// far as 64 leaves go.
pub fn alone(plan: &Plan, row: usize) -> Certificate {
    let weights: Vec<u64> = (0..crate::common::rows(&plan.line)).map(|r| u64::from(r == row)).collect();
    Certificate { leaves: crate::common::branched(plan, 64, &mut |_| weights.clone()) }
}

/// Any certificate that covers: one leaf or several, each with weights and prices of its own. `columns` are those the checker knows.
pub fn certificate(dice: &mut Dice, plan: &Plan, columns: &[HeadUse]) -> Certificate {
    let rows = crate::common::rows(&plan.line);
    let several = |h: &HeadUse| {
        let station = &plan.line.station[h.station as usize];
        let head = &station.head[h.head as usize];
        station.kind != StationKind::Turret && head.kind != HeadKind::Dispense && head.spindles > 1
    };
    let is = |a: &HeadUse, b: &HeadUse| (a.station, a.head, a.nozzle) == (b.station, b.head, b.nozzle);
    let mut leaves = vec![Leaf::default()];
    let more = if columns.is_empty() { 0 } else { dice.below(10) };
    for _ in 0..more {
        let leaf = leaves.swap_remove(dice.below(leaves.len()));
        let column = dice.one_of(columns);
        let now = leaf.heads.iter().find(|h| is(h, &column)).copied().unwrap_or(column);
        let cut = if several(&column) { now.at_least + 1 + dice.below(3) as u32 } else { 1 };
        if now.at_most.is_some_and(|most| cut > most) || (now.at_least > 0 && !several(&column)) {
            leaves.push(leaf);
            continue;
        }
        let with = |at_least: u32, at_most: Option<u32>| {
            let mut new = leaf.clone();
            new.heads.retain(|h| !is(h, &column));
            new.heads.push(HeadUse { at_least, at_most, ..column });
            new
        };
        leaves.extend([with(cut, now.at_most), with(now.at_least, Some(cut - 1))]);
    }
    for leaf in &mut leaves {
        leaf.weights = (0..rows).map(|_| dice.one_of(&[0, 0, 1, 1, 2, 3, 7, 1 << 30])).collect();
        let sure = dice.below(rows);
        leaf.weights[sure] = leaf.weights[sure].max(1);
        for column in columns.iter().filter(|c| several(c)) {
            let open = HeadUse { at_least: 0, at_most: None, ..*column };
            let at = leaf.heads.iter().position(|h| is(h, column)).unwrap_or_else(|| {
                leaf.heads.push(open);
                leaf.heads.len() - 1
            });
            let says = &mut leaf.heads[at];
            says.seat_ns = dice.one_of(&[0, 0, 1, 5_000_000, 40_000_000, 90_000_000, 400_000_000]);
            says.first_ns = dice.one_of(&[0, -30_000_000, 10_000_000, 60_000_000, 130_000_000, 900_000_000]);
            says.last_ns = dice.one_of(&[0, -30_000_000, 50_000_000, 120_000_000, 160_000_000, 900_000_000]);
        }
    }
    Certificate { leaves }
}
