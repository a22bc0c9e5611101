//! Runs the engines on all published instances at hand and prints a table: `engines [SEED]`.

#[path = "../../../crates/optimise/tests/published/mod.rs"]
mod published;

use optimise::engine::assign::{Jobs, assign, level};
use optimise::engine::order::{Rules, round_length, round_trip, sequence};
use optimise::engine::slots::arrange;
use optimise::engine::stations::{Tasks, fewest_stations, shortest_cycle};
use optimise::engine::trips::deal;
use published::{Row, gap, table};
use std::time::Instant;

/// Gaps of a set, in percent.
fn set(name: &str, rows: &[Row], best: &str, mut solve: impl FnMut(&Row) -> Option<i64>) {
    let begun = Instant::now();
    let mut gaps: Vec<f64> = Vec::new();
    let mut none = 0;
    let mut worst = (f64::NEG_INFINITY, String::new());
    for row in rows {
        let Some(found) = solve(row) else {
            none += 1;
            continue;
        };
        let over = gap(found, row.number(best));
        if over > worst.0 {
            worst = (over, format!("{}: {found}", row.name()));
        }
        gaps.push(over);
    }
    gaps.sort_by(f64::total_cmp);
    let (median, reached) = (gaps.get(gaps.len() / 2).copied().unwrap_or(f64::NAN), gaps.iter().filter(|g| **g <= 0.0).count());
    let mean = gaps.iter().sum::<f64>() / gaps.len().max(1) as f64;
    println!(
        "| {name} | {} | {reached} | {median:.2} | {mean:.2} | {:.2} ({}) | {none} | {:.0} |",
        rows.len(),
        worst.0,
        worst.1,
        begun.elapsed().as_secs_f64()
    );
}

fn jobs(asked: &published::Assignment) -> Jobs {
    let by_job = |rows: &[Vec<i64>]| (0..rows[0].len()).flat_map(|j| rows.iter().map(move |r| r[j])).collect();
    Jobs { agents: asked.capacity.len(), cost: by_job(&asked.cost), need: by_job(&asked.resource), room: asked.capacity.clone() }
}

fn tasks(row: &Row) -> Tasks {
    let (time, before) = published::precedence(row.text("file"));
    Tasks { time, before }
}

fn main() {
    let seed = std::env::args().nth(1).map_or(1, |s| s.parse().expect("a seed is a whole number"));
    let rng = || fastrand::Rng::with_seed(seed);
    let of = |kind: &str| -> Vec<Row> { table("tsp/best_known.csv").into_iter().filter(|r| r.text("type") == kind).collect() };
    println!("| set | instances | at the best known or below | median [%] | mean [%] | worst [%] | without a solution | seconds |");
    println!("|---|---|---|---|---|---|---|---|");
    set("round trips (TSPLIB)", &of("TSP"), "published_best", |r| {
        let (ways, _) = published::stops(r.text("file"));
        Some(round_length(&ways, &round_trip(&ways, None, 40_000, &mut rng())))
    });
    for (kind, name) in [("ATSP", "sequences (TSPLIB, asymmetric)"), ("SOP", "sequences with rules (TSPLIB, SOP)")] {
        set(name, &of(kind), "published_best", |r| {
            let (ways, before) = published::stops(r.text("file"));
            let rules = Rules { before: &before, closed: kind == "ATSP" };
            sequence(&ways, rules, None, 60_000, &mut rng()).map(|s| s.1)
        });
    }
    set("slots (QAPLIB)", &table("qap/best_known.csv"), "best_known", |r| {
        Some(arrange(&published::arrangement(r.text("file")), None, 60_000, &mut rng()).1)
    });
    set("trips (CVRPLIB and XML100)", &table("cvrp/best_known.csv"), "optimal_cost", |r| {
        let asked = published::visits(r.text("file"), r.number("routes_in_solution") as usize);
        let found = deal(&asked, None, 200_000, &mut rng());
        found.left_out.is_empty().then_some(found.cost)
    });
    set("assignment (GAP)", &table("gap/best_known.csv"), "best_known_min", |r| {
        assign(&jobs(&published::assignment(&format!("gap/{}", r.text("file")))), 3_000_000, &mut rng()).map(|f| f.cost)
    });
    set("makespan (R||Cmax)", &table("rcmax/gap_matrices_cmax.csv"), "best_cmax_computed", |r| {
        level(&jobs(&published::assignment(r.text("matrix_file"))), 3_000_000, &mut rng()).map(|f| f.cost)
    });
    set("fewest stations (SALBP-1)", &table("salbp/salbp1_best_known.csv"), "stations_ub", |r| {
        fewest_stations(&tasks(r), r.number("cycle_time"), 60, &mut rng()).map(|s| s.iter().max().map_or(0, |m| i64::from(*m) + 1))
    });
    set("shortest cycle (SALBP-2)", &table("salbp/salbp2_best_known.csv"), "cycle_ub", |r| {
        shortest_cycle(&tasks(r), r.number("stations") as usize, 40, &mut rng()).map(|f| f.1)
    });
}
