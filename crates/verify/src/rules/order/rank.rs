//! Ranks of work: the rules `operation` and `low-before-tall`.
//!
//! Dots of a part of the first rank come before that part, as all dots do, and so belong to no
//! rank of their own.

use super::stated::{Stated, share};
use crate::context::Context;
use crate::sequence::{Moment, When};
use crate::verdict::Log;
use diag::codes::verify as code;
use domain::job::{Job, TaskId};
use domain::part::Part;
use domain::plan::Plan;
use domain::rules::OrderRule;
use std::collections::BTreeMap;

/// From this shorter side on a ball-grid part is large [µm]: common practice, no source.
const LARGE_BALL_GRID: i64 = 10_000;
/// Rank of large ball-grid parts under `operation`.
const CLEAN_BOARD: usize = 1;
/// Rank of adhesive dots under `operation`.
const ADHESIVE: usize = 2;
/// Rank of all other parts under `operation`.
const OTHERS: usize = 3;

/// The rank of each task, if the rule in force ranks.
pub(crate) struct Ranks {
    rule: OrderRule,
    of_task: Vec<usize>,
}

impl Ranks {
    pub(crate) fn new(plan: &Plan, job: &Job<'_>) -> Self {
        let rule = plan.rules.order_rule();
        let rank = |part: &Part| match rule {
            OrderRule::Clearance | OrderRule::None => 0,
            OrderRule::Operation if part.ball_grid.value && part.short_side().0 >= LARGE_BALL_GRID => CLEAN_BOARD,
            OrderRule::Operation => OTHERS,
            OrderRule::LowBeforeTall => plan.line.clearance.steps.iter().take_while(|s| part.height_um.value > ***s).count(),
        };
        Self { rule, of_task: (0..job.tasks.len()).map(|t| rank(job.part(TaskId(t as u32)))).collect() }
    }

    /// Whether ranks put task `a` before task `b`.
    pub(crate) fn says_before(&self, a: usize, b: usize) -> bool {
        self.of_task[a] < self.of_task[b]
    }

    /// Whether geometry may order this task: under `operation` only the last rank.
    pub(crate) fn leaves_to_geometry(&self, task: usize) -> bool {
        self.rule != OrderRule::Operation || self.of_task[task] == OTHERS
    }
}

/// Pieces of work that are alike for ranks and stated orders: earliest and latest of each direction.
struct Group {
    earliest: [(Moment, String); 2],
    latest: [(Moment, String); 2],
}

/// Rank, orders answered to as first, orders answered to as then.
type Key<'s> = (usize, &'s [u32], &'s [u32]);

pub(crate) fn check(ctx: &Context<'_>, stated: &Stated, ranks: &Ranks, log: &mut Log) {
    if !matches!(ranks.rule, OrderRule::Operation | OrderRule::LowBeforeTall) {
        return;
    }
    let mut groups: BTreeMap<Key<'_>, Group> = BTreeMap::new();
    for (t, when) in ctx.sequence.placed.iter().enumerate() {
        if let Some(when) = when {
            let (first, then) = stated.key(t);
            add(&mut groups, (ranks.of_task[t], first, then), when, || ctx.job.name(TaskId(t as u32)));
        }
    }
    if ranks.rule == OrderRule::Operation {
        for (t, when) in ctx.sequence.dots.iter().enumerate() {
            if let (Some(when), OTHERS) = (when, ranks.of_task[t]) {
                add(&mut groups, (ADHESIVE, &[], &[]), when, || format!("dots of {}", ctx.job.name(TaskId(t as u32))));
            }
        }
    }
    for (a, early) in &groups {
        for (b, late) in groups.iter().filter(|(b, _)| a.0 < b.0) {
            let contradicted = share(b.1, a.2);
            let broken = (0..2).find(|d| early.latest[*d].0 > late.earliest[*d].0);
            if let (Some(d), false) = (broken, contradicted) {
                let detail = format!("{} of rank {} comes after {} of rank {}", early.latest[d].1, a.0, late.earliest[d].1, b.0);
                log.add(code::ORDER_RANK, detail);
            }
        }
    }
}

fn add<'s>(groups: &mut BTreeMap<Key<'s>, Group>, key: Key<'s>, when: &When, name: impl Fn() -> String) {
    let both = when.both().map(|m| (m, name()));
    let group = groups.entry(key).or_insert_with(|| Group { earliest: both.clone(), latest: both.clone() });
    for (d, this) in both.into_iter().enumerate() {
        if this.0 < group.earliest[d].0 {
            group.earliest[d] = this.clone();
        }
        if this.0 > group.latest[d].0 {
            group.latest[d] = this;
        }
    }
}
