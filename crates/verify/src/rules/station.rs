//! What a station is asked for as a whole: the panel's size, the kind of work of each pass,
//! alternating passes.
//!
//! The panel must fit every station, also one without work, since each clamps every panel
//! (`docs/timing.md` §5).

use crate::capability::{panel_fits, places};
use crate::context::Context;
use crate::verdict::Log;
use diag::codes::verify as code;
use domain::line::StationKind;
use domain::plan::Work;

pub(crate) fn check(ctx: &Context<'_>, log: &mut Log) {
    for (station, plan) in ctx.line.station.iter().zip(&ctx.plan.stations) {
        if !panel_fits(station, ctx.job.size) {
            let (size, most) = (ctx.job.size, station.max_panel);
            log.add(
                code::PANEL_SIZE,
                format!("a panel of {} x {}, station `{}` takes {} x {}", size.x, size.y, station.name, *most.x, *most.y),
            );
        }
        if plan.alternating && !station.head_swap.as_ref().is_some_and(|s| s.alternate) {
            log.add(code::ALTERNATING, format!("station `{}`", station.name));
        }
    }
    for (s, k, pass) in ctx.passes() {
        let head = ctx.head(s, pass.head as usize);
        let fits = match pass.work {
            Work::Place { .. } => places(head) && ctx.station(s).kind != StationKind::Turret,
            Work::Turret { .. } => ctx.station(s).kind == StationKind::Turret,
            Work::Dispense { .. } => !places(head),
            Work::Inspect { .. } => true,
        };
        if !fits {
            log.add(
                code::HEAD_WORK,
                format!("station `{}`, pass {}: head `{}` of kind {}", ctx.station(s).name, k + 1, head.name, head.kind),
            );
        }
    }
}
