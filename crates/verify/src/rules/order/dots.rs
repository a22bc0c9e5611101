//! Adhesive dots of a part come before the part.

use crate::context::Context;
use crate::verdict::Log;
use diag::codes::verify as code;
use domain::job::TaskId;

pub(crate) fn check(ctx: &Context<'_>, log: &mut Log) {
    for (t, (dots, placed)) in ctx.sequence.dots.iter().zip(&ctx.sequence.placed).enumerate() {
        if let (Some(dots), Some(placed)) = (dots, placed)
            && !dots.is_before(placed)
        {
            log.add(code::ORDER_DOTS, format!("dots of {} come after it", ctx.job.name(TaskId(t as u32))));
        }
    }
}
