//! Runs the planner over boards and lines and prints one row per run.
//!
//! `cargo run --release -- BOARDS-FOLDER SECONDS [BOARD,BOARD...] [LINE,LINE...]`
//!
//! Each row: placements, unplaced, takt by search and by hand, bound, gap, time to the first plan.

use domain::job::{Job, Panel};
use domain::line::Line;
use domain::product::{Product, Side};
use domain::rules::Rules;
use intake::{InputFile, ReadOptions};
use optimise::{Limits, Progress, Watch};
use std::path::Path;
use std::time::Instant;

struct Stopwatch(Instant);

impl Watch for Stopwatch {
    fn seconds(&self) -> f64 {
        self.0.elapsed().as_secs_f64()
    }
    fn stopped(&self) -> bool {
        false
    }
    fn progress(&self, _: &Progress) {}
}

const LINES: [&str; 3] = ["fixed-roles", "head-swap", "one-station"];

fn main() {
    let args: Vec<String> = std::env::args().collect();
    let [_, boards, seconds, rest @ ..] = args.as_slice() else {
        eprintln!("usage: bench BOARDS-FOLDER SECONDS [BOARD,...] [LINE,...]");
        std::process::exit(2);
    };
    let seconds: f64 = seconds.parse().expect("seconds");
    let pick = |i: usize| rest.get(i).map(|s| s.split(',').map(str::to_owned).collect::<Vec<_>>());
    let mut names: Vec<String> = std::fs::read_dir(boards).expect("boards folder").filter_map(Result::ok).filter(|e| e.path().is_dir()).map(|e| e.file_name().to_string_lossy().into_owned()).collect();
    names.sort();
    let names = pick(0).unwrap_or(names);
    let lines = pick(1).unwrap_or_else(|| LINES.map(str::to_owned).to_vec());
    println!("| board | side | line | placed | not placed | by hand [s] | takt [s] | bound [s] | gap [%] | shorter than by hand [%] | first plan [ms] | moves/s |");
    println!("|---|---|---|---|---|---|---|---|---|---|---|---|");
    let (mut gaps, mut gains) = (Vec::new(), Vec::new());
    for name in &names {
        let Some(product) = read(&Path::new(boards).join(name), name) else { continue };
        let side = if product.fitted_on(Side::Bottom) > product.fitted_on(Side::Top) { Side::Bottom } else { Side::Top };
        for line_name in &lines {
            let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples/lines").join(format!("{line_name}.toml"));
            let line = Line::parse(line_name, &std::fs::read_to_string(path).expect("line sheet")).expect("a sound sheet");
            let Ok(job) = Job::new(&product, side, Panel::SINGLE) else { continue };
            let rules = Rules::default();
            let hand = optimise::hand::by_hand(&job, &line, &rules, &Stopwatch(Instant::now()));
            let watch = Stopwatch(Instant::now());
            let limits = Limits { seconds: Some(seconds), work: None, seed: 1, threads: 2 };
            let Ok(planned) = optimise::plan(&job, &line, &rules, limits, &watch) else { continue };
            let p = &planned.plan;
            if let Some(folder) = std::env::var_os("BENCH_OUT") {
                let path = Path::new(&folder).join(format!("{name}-{line_name}.json"));
                std::fs::write(path, serde_json::to_string(p).expect("a plan as JSON")).expect("the folder of BENCH_OUT");
            }
            let by_hand = hand.map_or(0.0, |h| h.takt_us.to_s());
            let gain = 1.0 - p.takt_us.to_s() / by_hand;
            gaps.push(p.gap());
            gains.push(gain);
            println!(
                "| {name} | {} | {line_name} | {} | {} | {by_hand:.3} | {:.3} | {:.3} | {:.2} | {:.1} | {:.1} | {:.0} |",
                side.word(), p.placed(), p.unplaced.len(), p.takt_us.to_s(), p.bound_us.to_s(), 100.0 * p.gap(), 100.0 * gain, planned.first_plan_seconds * 1000.0, p.work as f64 / watch.seconds()
            );
        }
    }
    println!("\nmedian gap {:.2} %, worst {:.2} %; median gain over the hand method {:.1} %", 100.0 * median(&mut gaps), 100.0 * gaps.last().copied().unwrap_or(0.0), 100.0 * median(&mut gains));
}

fn median(v: &mut [f64]) -> f64 {
    v.sort_by(f64::total_cmp);
    if v.is_empty() { 0.0 } else { v[v.len() / 2] }
}

fn read(folder: &Path, name: &str) -> Option<Product> {
    let mut paths: Vec<_> = std::fs::read_dir(folder).ok()?.filter_map(Result::ok).map(|e| e.path()).filter(|p| p.is_file()).collect();
    paths.sort();
    let files: Vec<(String, Vec<u8>)> = paths.iter().filter_map(|p| Some((p.file_name()?.to_string_lossy().into_owned(), std::fs::read(p).ok()?))).collect();
    let inputs: Vec<InputFile<'_>> = files.iter().map(|(n, b)| InputFile { name: n, bytes: b }).collect();
    intake::read(&inputs, &ReadOptions { name: Some(name.to_owned()), ..ReadOptions::default() }).product
}
