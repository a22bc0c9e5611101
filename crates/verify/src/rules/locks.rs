//! The engineer's lock and forbid entries hold and name things that exist.

use crate::context::{Context, Placed};
use crate::verdict::Log;
use diag::codes::verify as code;
use domain::line::Station;
use domain::plan::{SupplyAt, SupplyPlace};
use domain::rules::{Forbid, Lock};

pub(crate) fn check(ctx: &Context<'_>, log: &mut Log) {
    for lock in &ctx.plan.rules.lock {
        if let Some(unknown) = unknown_of_lock(ctx, lock) {
            log.add(code::LOCK, format!("lock of `{}`: {unknown} does not exist", lock.part));
            continue;
        }
        placements(ctx, &lock.part).filter(|p| leaves(ctx, lock, p)).for_each(|p| log.add(code::LOCK, ctx.say(p)));
        supplies(ctx, lock, log);
    }
    for forbid in &ctx.plan.rules.forbid {
        if let Some(unknown) = unknown_of_forbid(ctx, forbid) {
            log.add(code::FORBID, format!("forbidding `{}`: {unknown} does not exist", forbid.part));
            continue;
        }
        placements(ctx, &forbid.part).filter(|p| touches(ctx, forbid, p)).for_each(|p| log.add(code::FORBID, ctx.say(p)));
    }
}

fn placements<'c>(ctx: &'c Context<'_>, part: &'c str) -> impl Iterator<Item = &'c Placed> {
    ctx.placed.iter().filter(move |p| ctx.part(p.task).number == part)
}

fn leaves(ctx: &Context<'_>, lock: &Lock, p: &Placed) -> bool {
    let away = |name: &Option<String>, here: &str| name.as_deref().is_some_and(|n| n != here);
    away(&lock.station, &ctx.station(p.station).name) || away(&lock.head, &ctx.head(p.station, p.head).name)
}

fn touches(ctx: &Context<'_>, forbid: &Forbid, p: &Placed) -> bool {
    ctx.station(p.station).name == forbid.station && forbid.head.as_deref().is_none_or(|h| h == ctx.head(p.station, p.head).name)
}

/// A lock with a bank or tray place binds every supply of the part at the stations it speaks of.
fn supplies(ctx: &Context<'_>, lock: &Lock, log: &mut Log) {
    for (station, plan) in ctx.line.station.iter().zip(&ctx.plan.stations) {
        if lock.station.as_deref().is_some_and(|n| n != station.name) {
            continue;
        }
        for supply in plan.supplies.iter().filter(|s| ctx.job.product.parts[s.part.index()].number == lock.part) {
            if !stands(lock, station, supply) {
                let detail = format!("`{}` at station `{}` does not stand where it is locked to", lock.part, station.name);
                log.add(code::LOCK, detail);
            }
        }
    }
}

fn stands(lock: &Lock, station: &Station, supply: &SupplyAt) -> bool {
    match supply.place {
        SupplyPlace::Feeder { bank, slot, .. } => {
            let here = station.bank.get(bank as usize).map(|b| b.name.as_str());
            lock.tray.is_none() && lock.bank.as_deref().is_none_or(|b| here == Some(b)) && lock.slot.is_none_or(|s| s == slot)
        }
        SupplyPlace::Tray { tray, level } => {
            let here = station.tray.get(tray as usize).map(|t| t.name.as_str());
            lock.bank.is_none()
                && lock.slot.is_none()
                && lock.tray.as_deref().is_none_or(|t| here == Some(t))
                && lock.level.is_none_or(|l| l == level)
        }
    }
}

fn unknown_of_lock(ctx: &Context<'_>, lock: &Lock) -> Option<String> {
    let here = |s: &&Station| lock.station.as_deref().is_none_or(|n| n == s.name);
    unknown_part(ctx, &lock.part)
        .or_else(|| lock.station.as_ref().filter(|n| ctx.line.station_named(n).is_none()).map(|n| format!("station `{n}`")))
        .or_else(|| {
            let known = |h: &str| ctx.line.station.iter().filter(here).any(|s| s.head.iter().any(|x| x.name == h));
            lock.head.as_ref().filter(|h| !known(h)).map(|h| format!("head `{h}`"))
        })
        .or_else(|| {
            let known = |b: &str| ctx.line.station.iter().filter(here).any(|s| s.bank.iter().any(|x| x.name == b));
            lock.bank.as_ref().filter(|b| !known(b)).map(|b| format!("bank `{b}`"))
        })
        .or_else(|| {
            let known = |t: &str| ctx.line.station.iter().filter(here).any(|s| s.tray.iter().any(|x| x.name == t));
            lock.tray.as_ref().filter(|t| !known(t)).map(|t| format!("tray place `{t}`"))
        })
}

fn unknown_of_forbid(ctx: &Context<'_>, forbid: &Forbid) -> Option<String> {
    let Some(station) = ctx.line.station.iter().find(|s| s.name == forbid.station) else {
        return unknown_part(ctx, &forbid.part).or_else(|| Some(format!("station `{}`", forbid.station)));
    };
    let known = |h: &String| station.head.iter().any(|x| x.name == *h);
    unknown_part(ctx, &forbid.part).or_else(|| forbid.head.as_ref().filter(|h| !known(h)).map(|h| format!("head `{h}`")))
}

fn unknown_part(ctx: &Context<'_>, number: &str) -> Option<String> {
    let known = ctx.job.product.parts.iter().any(|p| p.number == number);
    (!known).then(|| format!("part `{number}`"))
}
