//! Says where a plan's seconds and its gap come from.
//!
//! `cargo run --release --bin attribution -- BOARDS-FOLDER WORK [BOARD,...] [LINE,...] [THREADS] [SEED]`
//!
//! Plans with a fixed amount of work, so that two versions can be compared, and prints for each run the takt, the
//! bound, the gap, the slack of the balance (takt less the mean of the station times under the bound's weights), and
//! for each station where its time goes.

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
    fn progress(&self, p: &Progress) {
        if std::env::var_os("ATTRIBUTION_PROGRESS").is_some() {
            eprintln!("{:.3} s, {:.1} %: takt {:.3} s", self.seconds(), 100.0 * p.share, p.takt.to_s());
        }
    }
}

fn main() {
    let args: Vec<String> = std::env::args().collect();
    let [_, boards, work, rest @ ..] = args.as_slice() else {
        eprintln!("usage: attribution BOARDS-FOLDER WORK [BOARD,...] [LINE,...] [THREADS] [SEED]");
        std::process::exit(2);
    };
    let list = |i: usize, all: &str| rest.get(i).map_or(all, String::as_str).split(',').map(str::to_owned).collect::<Vec<_>>();
    let work: u64 = work.parse().expect("work");
    let threads = rest.get(2).map_or(1, |t| t.parse().expect("threads"));
    let seed = rest.get(3).map_or(1, |t| t.parse().expect("seed"));
    let mut gaps = Vec::new();
    for name in list(0, "orangecrab,eez-dcp405,canopi-base,ulx3s,beagle-ai64,limesdr-qpcie") {
        let product = read(&Path::new(boards).join(&name), &name).expect("a board");
        let side = if product.fitted_on(Side::Bottom) > product.fitted_on(Side::Top) { Side::Bottom } else { Side::Top };
        for line_name in list(1, "fixed-roles,head-swap,one-station") {
            let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples/lines").join(format!("{line_name}.toml"));
            let line = Line::parse(&line_name, &std::fs::read_to_string(path).expect("line sheet")).expect("a sound sheet");
            let job = Job::new(&product, side, Panel::SINGLE).expect("a job");
            let watch = Stopwatch(Instant::now());
            let limits = Limits { seconds: None, work: Some(work), seed, threads };
            let planned = optimise::plan(&job, &line, &Rules::default(), limits, &watch).expect("a plan");
            let seconds = watch.seconds();
            let p = &planned.plan;
            gaps.push(p.gap());
            let times: Vec<f64> = p.stations.iter().map(|s| s.time_us.to_s()).collect();
            println!(
                "{name} {line_name}: placed {}, takt {:.3}, bound {:.3}, gap {:.2} %, first {:.1} ms, {seconds:.2} s, {:.2} M moves/s, stations {times:.3?}",
                p.placed(),
                p.takt_us.to_s(),
                p.bound_us.to_s(),
                100.0 * p.gap(),
                planned.first_plan_seconds * 1e3,
                p.work as f64 / seconds / 1e6
            );
            for s in &p.stations {
                let parts: Vec<String> =
                    s.breakdown.items().iter().filter(|(_, t)| t.0 > 0).map(|(n, t)| format!("{n} {:.2}", t.to_s())).collect();
                let passes: Vec<String> = s
                    .passes
                    .iter()
                    .map(|x| match &x.work {
                        domain::plan::Work::Place { trips, layouts } => format!(
                            "head {} {} trips {} parts {} layouts",
                            x.head,
                            trips.len(),
                            trips.iter().map(|t| t.places.len()).sum::<usize>(),
                            layouts.len()
                        ),
                        domain::plan::Work::Dispense { tasks } => format!("dots {}", tasks.len()),
                        domain::plan::Work::Turret { beats, .. } => format!("turret {} parts", beats.iter().flatten().count()),
                        domain::plan::Work::Inspect { views } => format!("views {}", views.len()),
                    })
                    .collect();
                println!("    {} alternating {}: {} | {}", s.station, s.alternating, passes.join("; "), parts.join(", "));
            }
            if let Some(folder) = std::env::var_os("BENCH_OUT") {
                std::fs::write(Path::new(&folder).join(format!("{name}-{line_name}.json")), serde_json::to_string(p).expect("JSON"))
                    .expect("the folder of BENCH_OUT");
            }
        }
    }
    gaps.sort_by(f64::total_cmp);
    println!(
        "median gap {:.2} %, mean {:.2} %, worst {:.2} %",
        100.0 * gaps[gaps.len() / 2],
        100.0 * gaps.iter().sum::<f64>() / gaps.len() as f64,
        100.0 * gaps[gaps.len() - 1]
    );
}

fn read(folder: &Path, name: &str) -> Option<Product> {
    let mut paths: Vec<_> = std::fs::read_dir(folder).ok()?.filter_map(Result::ok).map(|e| e.path()).filter(|p| p.is_file()).collect();
    paths.sort();
    let files: Vec<(String, Vec<u8>)> =
        paths.iter().filter_map(|p| Some((p.file_name()?.to_string_lossy().into_owned(), std::fs::read(p).ok()?))).collect();
    let inputs: Vec<InputFile<'_>> = files.iter().map(|(n, b)| InputFile { name: n, bytes: b }).collect();
    intake::read(&inputs, &ReadOptions { name: Some(name.to_owned()), ..ReadOptions::default() }).product
}
