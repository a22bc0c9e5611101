//! What must come before what, as far as the bound uses it: §3.3, last paragraph.

use crate::rules::order::{Stated, clearance_pairs};
use domain::job::{Job, TaskId};
use domain::plan::Plan;
use domain::rules::{OrderRule, matches};
use std::collections::BTreeMap;

/// Tells pairs of work (first, then), by index into `work`: tasks, and dots where the flag is set. Of each piece of work in an
/// `[[order]]` enough pairs are told to show every part it stands in a pair with.
pub(super) fn each(plan: &Plan, job: &Job<'_>, work: &[(TaskId, bool)], mut tell: impl FnMut(usize, usize)) {
    let item: BTreeMap<(TaskId, bool), usize> = work.iter().copied().zip(0..).collect();
    let place = |t: usize| item.get(&(TaskId(t as u32), false)).copied();
    for (w, i) in work.iter().zip(0..).filter(|(w, _)| w.1) {
        place(w.0.index()).into_iter().for_each(|then| tell(i, then));
    }
    let mut tell_tasks = |a: usize, b: usize| {
        if let (Some(a), Some(b)) = (place(a), place(b)) {
            tell(a, b);
        }
    };
    for order in &plan.rules.order {
        let answering = |patterns: &[String]| {
            let tasks = (0..job.tasks.len()).filter(|t| patterns.iter().any(|p| matches(p, job.reference(TaskId(*t as u32)))));
            tasks.filter(|t| place(*t).is_some()).collect::<Vec<usize>>()
        };
        let (first, then) = (answering(&order.first), answering(&order.then));
        let mut cross = |first: &[usize], then: &[usize]| {
            first.iter().for_each(|a| then.iter().filter(|b| a != *b).for_each(|b| tell_tasks(*a, *b)));
        };
        cross(&first, &few_of_each_part(job, &then));
        cross(&few_of_each_part(job, &first), &then);
    }
    if plan.rules.order_rule() == OrderRule::Clearance {
        let stated = Stated::new(plan, job);
        let pairs = clearance_pairs(&plan.line, plan, job).into_iter().filter(|(a, b)| !stated.says_before(*b, *a));
        pairs.for_each(|(a, b)| tell_tasks(a, b));
    }
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
