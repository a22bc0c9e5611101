//! Feeders and trays that the engineer keeps stand where they stood, and closed stations get no more than allowed.

use crate::context::Context;
use crate::outage::closed;
use crate::verdict::Log;
use diag::codes::verify as code;
use domain::line::Station;
use domain::plan::{SupplyAt, SupplyPlace};
use domain::rules::Keep;

pub(crate) fn check(ctx: &Context<'_>, log: &mut Log) {
    let rules = &ctx.plan.rules;
    for keep in &rules.keep {
        let station = ctx.line.station.iter().zip(&ctx.plan.stations).find(|(s, _)| s.name == keep.station);
        let stands = station.is_some_and(|(s, plan)| plan.supplies.iter().any(|x| is_kept(ctx, s, x, keep)));
        if !stands {
            log.add(code::KEEP, format!("`{}` does not stand at `{}`", keep.part, keep.place()));
        }
    }
    for entry in rules.closed.iter().filter(|c| ctx.line.station_named(&c.station).is_none()) {
        log.add(code::CLOSED, format!("station `{}` does not exist", entry.station));
    }
    for (station, plan) in ctx.line.station.iter().zip(&ctx.plan.stations) {
        let Some(entry) = closed(rules, &station.name) else { continue };
        let here = || rules.keep.iter().filter(|k| k.station == station.name);
        let added = plan.supplies.iter().filter(|x| !here().any(|k| is_kept(ctx, station, x, k))).count();
        if added > entry.add as usize {
            log.add(code::CLOSED, format!("station `{}`: {added} supplies are added, allowed are {}", station.name, entry.add));
        }
    }
}

/// Whether this supply is the one the entry keeps.
fn is_kept(ctx: &Context<'_>, station: &Station, supply: &SupplyAt, keep: &Keep) -> bool {
    if ctx.job.product.parts[supply.part.index()].number != keep.part {
        return false;
    }
    match supply.place {
        SupplyPlace::Feeder { bank, slot, feeder } => {
            let kind = &ctx.line.feeder[feeder as usize].name;
            keep.tray.is_none()
                && keep.bank.as_ref() == Some(&station.bank[bank as usize].name)
                && keep.slot == Some(slot)
                && keep.feeder.as_ref().is_none_or(|f| f == kind)
        }
        SupplyPlace::Tray { tray, level } => {
            keep.tray.as_ref() == Some(&station.tray[tray as usize].name) && keep.level.unwrap_or(1) == level
        }
    }
}
