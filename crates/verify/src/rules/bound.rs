//! The bound stated is the one that the certificate proves.

use crate::context::Context;
use crate::verdict::Log;
use diag::codes::verify as code;
use units::Time;

/// Compares the stated bound with the one recomputed; the latter.
pub(crate) fn check(ctx: &Context<'_>, log: &mut Log) -> Time {
    let bound = match crate::bound::of(ctx.plan, ctx.job, ctx.clock) {
        Ok(bound) => bound,
        Err(unsound) => {
            log.add(code::BOUND, unsound);
            return Time::ZERO;
        }
    };
    if bound != ctx.plan.bound_us {
        log.add(code::BOUND, format!("{} us stated, {} us proven", ctx.plan.bound_us.0, bound.0));
    }
    bound
}
