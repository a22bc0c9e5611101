//! A balance solved elsewhere goes through the same stations and the same checker.

mod common;

use common::{Quiet, board, chip, job, part, row, work};
use domain::line::Line;
use domain::part::NozzleClass;
use domain::product::Product;
use domain::rules::Rules;
use optimise::outside::Outside;

fn line() -> Line {
    Line::parse("line.toml", include_str!("data/line.toml")).expect("the tests' sheet is sound")
}

fn gauge() -> Product {
    let chips = (0..30i64).map(|k| row(&format!("C{k}"), (k % 3) as u32, (6_000 + 2_500 * (k % 10), 8_000 + 6_000 * (k / 10)), 0));
    let bodies = (0..4i64).map(|k| row(&format!("U{k}"), 3, (40_000, 8_000 + 9_000 * k), 90));
    let parts = vec![chip("RG-C1"), chip("RG-C2"), chip("RG-C3"), part("RG-U1", (5_000, 5_000, 1_000), NozzleClass::Large)];
    board((60_000, 50_000), parts, chips.chain(bodies).collect())
}

/// All of a group in the first column that can, but the first group halved where two columns can.
fn halves(outside: &Outside<'_>) -> Vec<Vec<u32>> {
    let model = outside.model();
    let spread = |(g, times): (usize, &Vec<Option<f64>>)| {
        let able: Vec<usize> = (0..times.len()).filter(|c| times[*c].is_some()).collect();
        let mut counts = vec![0; times.len()];
        let n = model.groups[g].count;
        let half = if g == 0 && able.len() > 1 { n / 2 } else { 0 };
        counts[able[0]] = n - half;
        counts[*able.last().expect("some column can")] += half;
        counts
    };
    model.time.iter().enumerate().map(spread).collect()
}

#[test]
fn a_balance_from_elsewhere_becomes_a_plan_the_checker_accepts() {
    let (product, line, rules) = (gauge(), line(), Rules::default());
    let job = job(&product);
    let mut outside = Outside::new(&job, &line, &rules).expect("a job that can be planned");
    let counts = halves(&outside);
    let planned = outside.plan(&counts, work(60_000), &Quiet::new());
    assert_eq!(planned.plan.placed(), 34);
    let verdict = verify::verify(&planned.plan);
    assert!(verdict.accepted, "{:#?}", verdict.violations);
    // The work of every station is what the balance said.
    let model = outside.model();
    for (s, station) in planned.plan.stations.iter().enumerate() {
        let said: u32 = counts.iter().flat_map(|row| row.iter().zip(&model.columns)).filter(|(_, at)| **at == s).map(|(n, _)| n).sum();
        let done = station.passes.iter().map(|p| match &p.work {
            domain::plan::Work::Place { trips, .. } => trips.iter().map(|t| t.places.len() as u32).sum(),
            _ => 0,
        });
        assert_eq!(done.sum::<u32>(), said, "{}", station.station);
    }
}

#[test]
fn the_model_learns_the_times_that_the_stations_took() {
    let (product, line, rules) = (gauge(), line(), Rules::default());
    let job = job(&product);
    let mut outside = Outside::new(&job, &line, &rules).expect("a job that can be planned");
    let (before, counts) = (outside.model().clone(), halves(&outside));
    let planned = outside.plan(&counts, work(60_000), &Quiet::new());
    let after = outside.model();
    assert_ne!(before.time, after.time);
    // What the corrected model says of this balance is what the clock says, but for what trips have in common.
    for (s, station) in planned.plan.stations.iter().enumerate() {
        let work = (0..counts.len()).flat_map(|g| (0..after.columns.len()).map(move |c| (g, c)));
        let mine = work.filter(|(_, c)| after.columns[*c] == s);
        let said = after.stations[s].fixed + mine.map(|(g, c)| f64::from(counts[g][c]) * after.time[g][c].unwrap_or(0.0)).sum::<f64>();
        let took = station.time_us.0 as f64;
        assert!((said - took).abs() < 0.25 * took, "{}: the model says {said:.0}, the clock {took:.0}", station.station);
    }
}

#[test]
fn placements_that_no_column_counts_are_left_out_by_name() {
    let (product, line, rules) = (gauge(), line(), Rules::default());
    let job = job(&product);
    let mut outside = Outside::new(&job, &line, &rules).expect("a job that can be planned");
    let mut counts = halves(&outside);
    counts[1].fill(0);
    let planned = outside.plan(&counts, work(20_000), &Quiet::new());
    assert_eq!(planned.plan.placed() + planned.plan.unplaced.len(), 34);
    assert_eq!(planned.plan.unplaced.len() as u32, outside.model().groups[1].count);
}
