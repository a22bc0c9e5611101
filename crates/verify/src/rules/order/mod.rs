//! The order of work over the whole line: `docs/planning.md` §1, "Order".
//!
//! An order must hold in both directions of alternating stations. The engineer's orders win over
//! ranks, and ranks over clearance: a weaker order between two parts is not checked where a
//! stronger one asks for the opposite.

mod body;
mod clearance;
mod dots;
mod rank;
mod stated;

use crate::context::Context;
use crate::verdict::Log;
use domain::job::Job;
use domain::line::Line;
use domain::plan::Plan;
use domain::rules::OrderRule;
pub(crate) use rank::Ranks;
pub(crate) use stated::Stated;

pub(crate) fn check(ctx: &Context<'_>, log: &mut Log) {
    let stated = Stated::new(ctx.plan, ctx.job);
    let ranks = Ranks::new(ctx.plan, ctx.job);
    stated::check(ctx, &stated, log);
    rank::check(ctx, &stated, &ranks, log);
    clearance::check(ctx, &stated, &ranks, log);
    dots::check(ctx, log);
}

/// Tasks that geometry orders under the rule in force: (first, then).
pub(crate) fn clearance_pairs(line: &Line, plan: &Plan, job: &Job<'_>) -> Vec<(usize, usize)> {
    clearance::pairs(line, plan, job).into_iter().map(|p| (p.first, p.then)).collect()
}

/// Whether an order of any kind may concern each task of one image.
pub(crate) fn concerned(ctx: &Context<'_>) -> Vec<bool> {
    let stated = Stated::new(ctx.plan, ctx.job);
    let ranked = matches!(ctx.plan.rules.order_rule(), OrderRule::Operation | OrderRule::LowBeforeTall);
    let mut concerned: Vec<bool> = (0..ctx.job.tasks.len()).map(|t| ranked || stated.concerns(t)).collect();
    for pair in clearance::pairs(ctx.line, ctx.plan, ctx.job) {
        concerned[pair.first] = true;
        concerned[pair.then] = true;
    }
    for (i, task) in ctx.job.tasks.iter().enumerate() {
        let part = &ctx.job.product.parts[task.part.index()];
        concerned[i] |= part.adhesive_dots.value > 0 || !ctx.plan.rules.inspect.is_empty();
    }
    concerned
}
