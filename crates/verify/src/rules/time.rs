//! Every second: the stations' times, their breakdowns, the takt.

use crate::context::Context;
use crate::verdict::Log;
use diag::codes::verify as code;
use domain::plan::Plan;
use motion::Clock;
use units::Time;

/// Programs that no clock can run: beams that wait for each other for ever.
pub(crate) fn can_be_timed(plan: &Plan, clock: &Clock<'_>, log: &mut Log) {
    for (s, station) in plan.stations.iter().enumerate() {
        if let Err(error) = clock.time(s, station) {
            log.add(code::REFERENCE, format!("station `{}`: {}", station.station, error.0));
        }
    }
}

/// Compares the plan's times with the clock; the takt as recomputed.
pub(crate) fn check(ctx: &Context<'_>, log: &mut Log) -> Time {
    let mut times = Vec::with_capacity(ctx.plan.stations.len());
    for (s, plan) in ctx.plan.stations.iter().enumerate() {
        let breakdown = match ctx.clock.time(s, plan) {
            Ok(breakdown) => breakdown,
            Err(error) => {
                log.add(code::REFERENCE, format!("station `{}`: {}", plan.station, error.0));
                return Time::ZERO;
            }
        };
        let total = breakdown.total();
        if total != plan.time_us {
            log.add(code::TIME, format!("station `{}`: {} us stated, {} us by the clock", plan.station, plan.time_us.0, total.0));
        }
        for ((name, stated), (_, timed)) in plan.breakdown.items().into_iter().zip(breakdown.items()) {
            if stated != timed {
                log.add(
                    code::BREAKDOWN,
                    format!("station `{}`, {name}: {} us stated, {} us by the clock", plan.station, stated.0, timed.0),
                );
            }
        }
        times.push(total);
    }
    let takt = times.into_iter().chain(ctx.line.equipment.iter().map(|e| *e.time)).max().unwrap_or(Time::ZERO);
    if takt != ctx.plan.takt_us {
        log.add(code::TAKT, format!("{} us stated, {} us by the clock", ctx.plan.takt_us.0, takt.0));
    }
    takt
}
