//! Beams of a two-beam station pick only on their own side: they cannot pass each other over the board.
//! Only there a trip can come after trips of the other beam.

use crate::context::Context;
use crate::verdict::Log;
use diag::codes::verify as code;
use domain::line::StationKind;
use domain::plan::is_reached;
use std::collections::BTreeSet;

pub(crate) fn check(ctx: &Context<'_>, log: &mut Log) {
    for at in ctx.trips().filter(|at| at.trip.after > 0 && ctx.station(at.station).kind != StationKind::TwoBeam) {
        log.add(code::BEAM, format!("{}: comes after trips of another beam, and there is none", at.say(ctx)));
    }
    let mut said = BTreeSet::new();
    for (s, k, pass) in ctx.passes() {
        let (station, supplies) = (ctx.station(s), &ctx.plan.stations[s].supplies);
        for supply in pass.work.picked() {
            let out_of_reach = !is_reached(station, pass.head as usize, &supplies[supply as usize].place);
            if out_of_reach && said.insert((s, k, supply)) {
                let head = ctx.head(s, pass.head as usize);
                let number = &ctx.job.product.parts[supplies[supply as usize].part.index()].number;
                let detail = format!("station `{}`, pass {}: head `{}` picks `{number}`", station.name, k + 1, head.name);
                log.add(code::BEAM, detail);
            }
        }
    }
}
