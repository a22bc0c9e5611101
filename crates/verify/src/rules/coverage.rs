//! Every task is placed exactly once or is listed as unplaced, never both.

use crate::context::Context;
use crate::verdict::Log;
use diag::codes::verify as code;
use domain::job::TaskId;

pub(crate) fn check(ctx: &Context<'_>, log: &mut Log) {
    let mut placed = vec![0u32; ctx.job.tasks.len()];
    for p in &ctx.placed {
        placed[p.task.index()] += 1;
    }
    let mut unplaced = vec![0u32; ctx.job.tasks.len()];
    for u in &ctx.plan.unplaced {
        unplaced[u.task.index()] += 1;
    }
    for (i, (placed, unplaced)) in placed.into_iter().zip(unplaced).enumerate() {
        let name = || ctx.job.name(TaskId(i as u32));
        if placed > 1 {
            log.add(code::PLACED_TWICE, format!("{} is placed {placed} times", name()));
        }
        if placed == 0 && unplaced == 0 {
            log.add(code::NOT_PLACED, format!("{} is neither placed nor listed", name()));
        }
        if unplaced > 1 || (placed > 0 && unplaced > 0) {
            log.add(code::PLACED_AND_UNPLACED, format!("{} is placed {placed} times and listed as unplaced {unplaced} times", name()));
        }
    }
}
