//! How long the checker takes: `cargo run --release -p verify --example speed`.
//!
//! Plans of 2,000 and 10,000 tasks on the tests' line, and the larger one again with geometry
//! ordering the work (which the plan does not keep; what counts is the time to find that). Last,
//! the bound alone: with 12 heads and one leaf that leaves all open, which makes 4096 sets; and with 13
//! heads and 400 leaves that decide all.

#[path = "../tests/common/mod.rs"]
mod common;

use domain::plan::Plan;
use domain::rules::OrderRule;
use std::time::Instant;

fn main() {
    for (tasks, rule) in
        [(2_000, OrderRule::None), (10_000, OrderRule::None), (10_000, OrderRule::Clearance), (10_000, OrderRule::LowBeforeTall)]
    {
        let mut plan = common::spread::plan(7, tasks, 300_000);
        plan.rules.order_rule = Some(rule);
        let start = Instant::now();
        let verdict = verify::verify(&plan);
        let seconds = start.elapsed().as_secs_f64();
        println!("{tasks} tasks, {rule}: {seconds:.3} s, {} violations", verdict.violations.len());
    }
    let mut plan = common::spread::plan(7, 12_000, 300_000);
    plan.line.station = [1, 1, 1, 1].map(|s| plan.line.station[s].clone()).to_vec();
    plan.certificate.leaves[0].weights = vec![3, 4, 5, 6];
    time_the_bound("12000 tasks, 12 heads, one leaf", &plan);

    let mut plan = common::spread::plan(7, 2_000, 300_000);
    plan.line.station = [0, 1, 1, 1, 1].map(|s| plan.line.station[s].clone()).to_vec();
    plan.certificate.leaves = common::branched(&plan, 400, &mut |k| vec![3, 4, 5, 6 + k, 7]);
    time_the_bound("2000 tasks, 13 heads, 400 leaves", &plan);
}

fn time_the_bound(what: &str, plan: &Plan) {
    let job = plan.job().expect("a job");
    let start = Instant::now();
    let bound = verify::bound(plan, &job).expect("leaves that cover");
    println!("{what}, the bound: {:.3} s, {} us", start.elapsed().as_secs_f64(), bound.0);
}
