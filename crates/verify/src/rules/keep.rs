//! Feeders and trays that the engineer keeps stand where they stood, closed stations get no more than allowed, and no part more feeders.

use crate::context::Context;
use crate::outage::closed;
use crate::verdict::Log;
use diag::codes::verify as code;
use domain::line::Station;
use domain::plan::{SupplyAt, SupplyPlace};
use domain::product::PartId;
use domain::rules::Keep;
use std::collections::BTreeMap;

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
    for (station, plan) in ctx.line.station.iter().zip(&ctx.plan.stations) {
        feeders_per_part(ctx, station, &plan.supplies, log);
    }
}

/// No part has more feeders at a station, or at one of its beams, than the rules allow, unless they are kept.
fn feeders_per_part(ctx: &Context<'_>, station: &Station, supplies: &[SupplyAt], log: &mut Log) {
    let Some(most) = ctx.plan.rules.feeders_per_part else { return };
    let mut feeders: BTreeMap<(PartId, Option<u8>), (usize, usize)> = BTreeMap::new();
    for supply in supplies {
        if let SupplyPlace::Feeder { bank, .. } = supply.place {
            let (all, kept) = feeders.entry((supply.part, station.bank[bank as usize].beam)).or_default();
            *all += 1;
            *kept += usize::from(ctx.plan.rules.keep.iter().any(|k| k.station == station.name && is_kept(ctx, station, supply, k)));
        }
    }
    for ((part, _), (all, kept)) in feeders {
        if all > kept.max(most.get() as usize) {
            let number = &ctx.job.product.parts[part.index()].number;
            log.add(code::FEEDERS_PER_PART, format!("station `{}`: {all} feeders of `{number}`, allowed are {most}", station.name));
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
