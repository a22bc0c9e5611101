//! What must come before what, as far as the bound uses it: §3.3, last paragraph.

use crate::rules::order::{Stated, clearance_pairs};
use domain::job::{Job, TaskId};
use domain::plan::Plan;
use domain::rules::{OrderRule, matches};
use std::collections::BTreeMap;

/// Pairs of work (first, then), by index into `work`: tasks, and dots where the flag is set. Of each piece of work in an
/// `[[order]]` enough pairs are told to show every part it stands in a pair with.
pub(super) fn of(plan: &Plan, job: &Job<'_>, work: &[(TaskId, bool)]) -> Vec<(usize, usize)> {
    let item: BTreeMap<(TaskId, bool), usize> = work.iter().copied().zip(0..).collect();
    let place = |t: usize| item.get(&(TaskId(t as u32), false)).copied();
    let mut all: Vec<(usize, usize)> =
        work.iter().zip(0..).filter(|(w, _)| w.1).filter_map(|(w, i)| Some((i, place(w.0.index())?))).collect();
    for order in &plan.rules.order {
        let answering = |patterns: &[String]| {
            let tasks = (0..job.tasks.len()).filter(|t| patterns.iter().any(|p| matches(p, job.reference(TaskId(*t as u32)))));
            tasks.filter(|t| place(*t).is_some()).collect::<Vec<usize>>()
        };
        let (first, then) = (answering(&order.first), answering(&order.then));
        let mut cross = |first: &[usize], then: &[usize]| {
            for a in first {
                all.extend(then.iter().filter(|b| a != *b).filter_map(|b| Some((place(*a)?, place(*b)?))));
            }
        };
        cross(&first, &few_of_each_part(job, &then));
        cross(&few_of_each_part(job, &first), &then);
    }
    if plan.rules.order_rule() == OrderRule::Clearance {
        let stated = Stated::new(plan, job);
        let pairs = clearance_pairs(&plan.line, plan, job).into_iter().filter(|(a, b)| !stated.says_before(*b, *a));
        all.extend(pairs.filter_map(|(a, b)| Some((place(a)?, place(b)?))));
    }
    all
}

/// What can do a task depends on its part alone, so two tasks of each part stand for all.
fn few_of_each_part(job: &Job<'_>, tasks: &[usize]) -> Vec<usize> {
    let mut count: BTreeMap<u32, u32> = BTreeMap::new();
    let mut few = Vec::new();
    for &t in tasks {
        let n = count.entry(job.tasks[t].part.0).or_default();
        *n += 1;
        if *n <= 2 {
            few.push(t);
        }
    }
    few
}
