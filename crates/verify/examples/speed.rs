//! How long the checker takes: `cargo run --release -p verify --example speed`.
//!
//! Plans of 2,000 and 10,000 tasks on the tests' line, and the larger one again with geometry
//! ordering the work (which the plan does not keep; what counts is the time to find that). Last,
//! the bound alone on a line of 12 heads, which has 4096 sets of heads.

#[path = "../tests/common/mod.rs"]
mod common;

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
    let job = plan.job().expect("a job");
    let start = Instant::now();
    let bound = verify::bound(&plan, &job);
    println!("12000 tasks, 12 heads, the bound: {:.3} s, {:?} us", start.elapsed().as_secs_f64(), bound.map(|b| b.0));
}
