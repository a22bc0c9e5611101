//! The bound stated is the one that the certificate proves.

use crate::context::Context;
use crate::verdict::Log;
use diag::codes::verify as code;
use units::Time;

/// Compares the stated bound with the one recomputed; the latter.
pub(crate) fn check(ctx: &Context<'_>, log: &mut Log) -> Time {
    let Some(bound) = crate::bound::of(ctx.plan, ctx.job, ctx.clock) else {
        let leaves = ctx.plan.certificate.leaves.len();
        log.add(code::BOUND, format!("the {leaves} leaves are unsound, leave a choice of heads out, or prove nothing"));
        return Time::ZERO;
    };
    if bound != ctx.plan.bound_us {
        log.add(code::BOUND, format!("{} us stated, {} us proven", ctx.plan.bound_us.0, bound.0));
    }
    bound
}
