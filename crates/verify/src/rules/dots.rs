//! Adhesive dots: every placed part that asks for dots gets them once, and no other does.

use crate::context::Context;
use crate::verdict::Log;
use diag::codes::verify as code;
use domain::job::TaskId;
use domain::plan::Work;

pub(crate) fn check(ctx: &Context<'_>, log: &mut Log) {
    let mut set = vec![0u32; ctx.job.tasks.len()];
    for (_, _, pass) in ctx.passes() {
        if let Work::Dispense { tasks } = &pass.work {
            tasks.iter().for_each(|t| set[t.index()] += 1);
        }
    }
    for (i, set) in set.into_iter().enumerate() {
        let task = TaskId(i as u32);
        let asked = ctx.part(task).adhesive_dots.value > 0 && ctx.sequence.placed[i].is_some();
        if set != u32::from(asked) {
            log.add(code::DOTS, format!("dots of {} are set {set} times, {} asked", ctx.job.name(task), u32::from(asked)));
        }
    }
}
