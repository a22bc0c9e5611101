//! The bound stated is the one that the certificate proves.

use crate::context::Context;
use crate::verdict::Log;
use diag::codes::verify as code;
use units::Time;

/// Compares the stated bound with the one recomputed; the latter.
pub(crate) fn check(ctx: &Context<'_>, log: &mut Log) -> Time {
    let Some(bound) = crate::bound::of(ctx.plan, ctx.job, ctx.clock) else {
        let (weights, stations) = (ctx.plan.certificate.weights.len(), ctx.line.station.len());
        log.add(code::BOUND, format!("{weights} weights for {stations} stations, or all of them 0"));
        return Time::ZERO;
    };
    if bound != ctx.plan.bound_us {
        log.add(code::BOUND, format!("{} us stated, {} us proven", ctx.plan.bound_us.0, bound.0));
    }
    bound
}
