//! Beats of a turret: each part comes from a supply of its own, the heads of the drum hold no more nozzles
//! than they have room for, and keep them for the whole panel.

use crate::context::Context;
use crate::verdict::Log;
use diag::codes::verify as code;
use domain::plan::Work;
use std::collections::BTreeMap;

pub(crate) fn check(ctx: &Context<'_>, log: &mut Log) {
    let mut drums: BTreeMap<usize, &Vec<Vec<u32>>> = BTreeMap::new();
    for (s, k, pass) in ctx.passes() {
        let Work::Turret { nozzles, beats } = &pass.work else { continue };
        let place = format!("station `{}`, pass {}", ctx.station(s).name, k + 1);
        let room = ctx.station(s).turret.as_ref().map_or(0, |t| usize::from(t.nozzles_per_head));
        for (i, held) in nozzles.iter().enumerate().filter(|(_, held)| held.len() > room) {
            log.add(code::DRUM_NOZZLES, format!("{place}: head {} of the drum holds {} nozzles, room is for {room}", i + 1, held.len()));
        }
        if *drums.entry(s).or_insert(nozzles) != nozzles {
            log.add(code::NOZZLE_CHANGE_WITHOUT_RACK, place.clone());
        }
        for b in beats.iter().flatten() {
            let (has, wants) = (ctx.plan.stations[s].supplies[b.supply as usize].part, ctx.job.tasks[b.task.index()].part);
            if has != wants {
                let number = |id: domain::product::PartId| &ctx.job.product.parts[id.index()].number;
                let name = ctx.job.name(b.task);
                log.add(code::WRONG_SUPPLY, format!("{place}: {name} wants `{}`, picked is `{}`", number(wants), number(has)));
            }
        }
    }
}
