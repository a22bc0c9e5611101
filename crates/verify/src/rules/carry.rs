//! Every placement is by a head that can take the part: mount, place, envelope, accuracy, nozzle.

use crate::capability::{is_accurate, is_on_panel, nozzle_serves, outside_envelope, places};
use crate::context::{Context, Placed};
use crate::verdict::Log;
use diag::codes::verify as code;
use domain::part::Mount;

pub(crate) fn check(ctx: &Context<'_>, log: &mut Log) {
    for p in &ctx.placed {
        // Work of a wrong head is its own violation; its figures say nothing more.
        if places(ctx.head(p.station, p.head)) {
            check_one(ctx, p, log);
        }
    }
}

fn check_one(ctx: &Context<'_>, p: &Placed, log: &mut Log) {
    let (head, part) = (ctx.head(p.station, p.head), ctx.part(p.task));
    if part.mount.value != Mount::Smt {
        log.add(code::MOUNT, format!("{}: mount {}", ctx.say(p), part.mount.value));
    }
    if !is_on_panel(ctx.job, p.task) {
        let at = ctx.job.tasks[p.task.index()].at;
        log.add(code::OFF_PANEL, format!("{}: at {}, {}", ctx.say(p), at.x, at.y));
    }
    if outside_envelope(head, part).is_some() {
        let (short, long, height) = (part.short_side(), part.long_side(), part.height_um.value);
        log.add(code::ENVELOPE, format!("{}: body {short} x {long}, {height} high", ctx.say(p)));
    }
    if !is_accurate(head, part) {
        log.add(code::ACCURACY, format!("{}: asks {}", ctx.say(p), part.accuracy_um.value));
    }
    let nozzle = p.nozzle.map(|n| n as usize);
    if !nozzle.is_some_and(|n| nozzle_serves(ctx.line, head, part, n)) {
        let name = nozzle.and_then(|n| ctx.line.nozzle.get(n)).map_or("none", |n| n.name.as_str());
        log.add(code::NOZZLE, format!("{}: class {}, nozzle `{name}`", ctx.say(p), part.nozzle_class.value));
    }
}
