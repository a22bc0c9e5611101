//! Orders that the engineer states: `first` before `then`, over the whole panel.

use crate::context::Context;
use crate::sequence::Moment;
use crate::verdict::Log;
use diag::codes::verify as code;
use domain::job::{Job, TaskId};
use domain::plan::Plan;
use domain::rules::matches;

/// Which stated orders each task answers to, as first and as then.
pub(crate) struct Stated {
    /// For each task the numbers of the orders it comes first in, rising.
    first: Vec<Vec<u32>>,
    /// For each task the numbers of the orders it comes then in, rising.
    then: Vec<Vec<u32>>,
}

impl Stated {
    pub(crate) fn new(plan: &Plan, job: &Job<'_>) -> Self {
        let answers = |patterns: fn(&domain::rules::Order) -> &Vec<String>| {
            let of_task = |t: usize| {
                let reference = job.reference(TaskId(t as u32));
                let orders = plan.rules.order.iter().enumerate();
                orders.filter(|(_, o)| patterns(o).iter().any(|p| matches(p, reference))).map(|(k, _)| k as u32).collect()
            };
            (0..job.tasks.len()).map(of_task).collect()
        };
        Self { first: answers(|o| &o.first), then: answers(|o| &o.then) }
    }

    /// Whether the engineer states that task `a` comes before task `b`.
    pub(crate) fn says_before(&self, a: usize, b: usize) -> bool {
        share(&self.first[a], &self.then[b])
    }

    /// Whether any stated order concerns the task.
    pub(crate) fn concerns(&self, task: usize) -> bool {
        !self.first[task].is_empty() || !self.then[task].is_empty()
    }

    /// The orders a task answers to, as a key: tasks with one key are alike to the engineer.
    pub(crate) fn key(&self, task: usize) -> (&[u32], &[u32]) {
        (&self.first[task], &self.then[task])
    }
}

/// Whether two rising lists share a number.
pub(crate) fn share(a: &[u32], b: &[u32]) -> bool {
    let (mut i, mut j) = (0, 0);
    while i < a.len() && j < b.len() {
        match a[i].cmp(&b[j]) {
            std::cmp::Ordering::Equal => return true,
            std::cmp::Ordering::Less => i += 1,
            std::cmp::Ordering::Greater => j += 1,
        }
    }
    false
}

pub(crate) fn check(ctx: &Context<'_>, stated: &Stated, log: &mut Log) {
    for k in 0..ctx.plan.rules.order.len() as u32 {
        for direction in 0..2 {
            if let Some((late, early)) = broken(ctx, stated, k, direction) {
                let name = |t: usize| ctx.job.name(TaskId(t as u32));
                log.add(code::ORDER_STATED, format!("entry {}: {} is not before {}", k + 1, name(late), name(early)));
                break;
            }
        }
    }
}

/// A pair that breaks order `k` in one direction: a `first` task and a `then` task before it.
fn broken(ctx: &Context<'_>, stated: &Stated, k: u32, direction: usize) -> Option<(usize, usize)> {
    let moments = |lists: &[Vec<u32>]| -> Vec<(Moment, usize)> {
        let answering = lists.iter().enumerate().filter(|(_, l)| l.binary_search(&k).is_ok());
        let mut all: Vec<_> = answering.filter_map(|(t, _)| Some((ctx.sequence.placed[t]?.both()[direction], t))).collect();
        all.sort_unstable();
        all
    };
    let (first, then) = (moments(&stated.first), moments(&stated.then));
    // A task answering to both sides is no pair with itself, so two of each end are enough.
    let late = first.iter().rev().take(2);
    late.flat_map(|l| then.iter().take(2).map(move |e| (l, e))).find(|(l, e)| l.1 != e.1 && l.0 > e.0).map(|(l, e)| (l.1, e.1))
}
