//! One run of the planner, meant for a process of its own so that its memory can be told.

use crate::instance::Given;
use crate::row::Row;
use crate::watch::{Recorder, first_within};
use domain::job::Job;
use domain::plan::Plan;
use optimise::{Limits, hand, plan};
use std::collections::BTreeSet;
use std::hash::{DefaultHasher, Hash, Hasher};

/// Plans what is given and tells how it went.
pub fn run(given: &Given, limits: Limits) -> (Row, Option<Plan>) {
    let mut row = Row {
        seed: limits.seed,
        threads: limits.threads,
        seconds: limits.seconds,
        work: limits.work,
        stations: given.line.station.len(),
        images: given.panel.images(),
        ..Row::default()
    };
    let job = match Job::new(&given.product, given.side, given.panel) {
        Ok(job) => job,
        Err(finding) => {
            row.outcome = finding.code;
            return (row, None);
        }
    };
    row.part_types = job.tasks.iter().map(|t| t.part).collect::<BTreeSet<_>>().len();
    let watch = Recorder::start();
    let planned = match plan(&job, &given.line, &given.rules, limits, &watch) {
        Ok(planned) => planned,
        Err(findings) => {
            row.outcome = findings.iter().map(|f| f.code.as_str()).collect::<Vec<_>>().join(" ");
            return (row, None);
        }
    };
    let took = optimise::Watch::seconds(&watch);
    row.took_s = Some(took);
    row.first_plan_ms = Some(planned.first_plan_seconds * 1000.0);
    row.peak_mib = peak_mib();
    fill(&mut row, &planned.plan);
    let moments = watch.moments();
    let takt = planned.plan.takt_us.0 as f64;
    // The last improvement may be told only by the plan itself.
    row.to_1_percent_s = first_within(&moments, takt * 1.01).or(Some(took));
    let five = planned.plan.bound_us.0 as f64 * 1.05;
    row.to_5_percent_gap_s = first_within(&moments, five).or((takt <= five).then_some(took));
    row.moves_per_s = Some(planned.plan.work as f64 / took.max(1e-9));
    // The hand method comes after, so that its memory is not counted.
    let by_hand = hand::by_hand(&job, &given.line, &given.rules, &Recorder::start());
    row.hand_s = by_hand.ok().map(|p| p.takt_us.to_s());
    (row, Some(planned.plan))
}

/// What a plan tells by itself.
pub fn fill(row: &mut Row, plan: &Plan) {
    row.outcome = "planned".to_owned();
    row.placed = plan.placed();
    row.unplaced = plan.unplaced.len();
    row.takt_s = Some(plan.takt_us.to_s());
    row.bound_s = Some(plan.bound_us.to_s());
    row.gap_percent = Some(100.0 * plan.gap());
    row.moves = plan.work;
    row.accepted = Some(verify::verify(plan).accepted);
    row.fingerprint = fingerprint(plan);
}

/// Equal programs, certificates and takts give equal fingerprints.
pub fn fingerprint(plan: &Plan) -> String {
    let mut hasher = DefaultHasher::new();
    let parts = (&plan.stations, &plan.certificate, &plan.unplaced, plan.takt_us);
    serde_json::to_string(&parts).expect("a plan is written as JSON").hash(&mut hasher);
    format!("{:016x}", hasher.finish())
}

/// Most memory this process ever held [MiB], as the kernel counts it (`VmHWM`); `None` where it does not.
pub fn peak_mib() -> Option<f64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|l| l.starts_with("VmHWM:"))?;
    line.split_whitespace().nth(1)?.parse::<f64>().ok().map(|kib| kib / 1024.0)
}
