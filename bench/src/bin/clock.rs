//! How many placements a second the clock times, on one core.
//!
//! `cargo run --release --bin clock -- PLAN.json [RUNS]`: times every station of a saved plan again and again.

use domain::plan::Plan;
use motion::Clock;
use std::hint::black_box;
use std::time::Instant;

fn main() {
    let args: Vec<String> = std::env::args().collect();
    let Some(path) = args.get(1) else {
        eprintln!("usage: clock PLAN.json [RUNS]");
        std::process::exit(2);
    };
    let runs: u32 = args.get(2).map_or(200, |r| r.parse().expect("a number of runs"));
    let plan = Plan::parse(path, &std::fs::read_to_string(path).expect("a plan file")).expect("a plan");
    let job = plan.job().expect("a sound job");
    let clock = Clock::new(&plan.line, &job);
    let begun = Instant::now();
    for _ in 0..runs {
        for (s, station) in plan.stations.iter().enumerate() {
            black_box(clock.time(s, black_box(station)).expect("a sound plan"));
        }
    }
    let seconds = begun.elapsed().as_secs_f64();
    // Alternating stations are timed in both directions; each placement counts once.
    let placements = plan.placed() as f64 * f64::from(runs);
    println!("{placements:.0} placements in {seconds:.3} s: {:.2} million a second", placements / seconds / 1e6);
}
