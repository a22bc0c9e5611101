//! The reason given for each unplaced task holds, as far as it follows from parts, sheet and set-up.
//!
//! A part can be refused by several heads for several reasons, and the planner may name any of them
//! that plays a part. What is checked: no head takes the task, and the reason named is one of those.
//! Where room is the reason (`plan.no-slot`, `plan.no-stock`, `plan.order`), the claim is refused if
//! a head that takes the part plainly has room and no order concerns the task.

use super::order::concerned;
use super::stock::{feeders_used, nozzles_used};
use crate::capability::{Refusal, feeder_fits, is_on_panel, nozzle_serves, places, refusals, tray_fits};
use crate::context::Context;
use crate::outage::{closed, feeders_left, nozzles_left, slot_is_down, tray_is_down};
use crate::verdict::Log;
use diag::codes::{plan, verify as code};
use domain::job::TaskId;
use domain::line::HeadKind;
use domain::part::{Mount, Part, Supply};
use domain::plan::{SupplyPlace, Unplaced, Work, is_reached};

pub(crate) fn check(ctx: &Context<'_>, log: &mut Log) {
    if ctx.plan.unplaced.is_empty() {
        return;
    }
    let concerned = concerned(ctx);
    for u in &ctx.plan.unplaced {
        let name = ctx.job.name(u.task);
        if u.reference != name {
            log.add(code::REFERENCE, format!("unplaced `{}` is task {}, which is {name}", u.reference, u.task.0));
        }
        if let Err(why) = holds(ctx, u, concerned[u.task.index()]) {
            log.add(code::UNPLACED_REASON, format!("{name}: `{}`, but {why}", u.code));
        }
    }
}

/// Whether the reason holds; else why not.
fn holds(ctx: &Context<'_>, u: &Unplaced, ordered: bool) -> Result<(), String> {
    let part = ctx.part(u.task);
    let claim = |holds: bool, why: &str| if holds { Ok(()) } else { Err(why.to_owned()) };
    let id = u.code.as_str();
    if id == plan::THROUGH_HOLE.id {
        return claim(part.mount.value == Mount::ThroughHole, "its part is not a through-hole part");
    }
    if id == plan::BY_HAND.id {
        return claim(part.mount.value == Mount::Hand, "its part is not placed by hand");
    }
    if id == plan::OFF_BOARD.id {
        return claim(!is_on_panel(ctx.job, u.task), "it lies on the panel");
    }
    if id == plan::NO_ADHESIVE.id {
        let dispensers = ctx.line.station.iter().flat_map(|s| &s.head).any(|h| h.kind == HeadKind::Dispense);
        return claim(part.adhesive_dots.value > 0 && !dispensers, "it needs no dots, or a head sets them");
    }
    let named: &[Refusal] = match id {
        _ if id == plan::TOO_LARGE.id => &[Refusal::TooLarge],
        _ if id == plan::TOO_SMALL.id => &[Refusal::TooSmall],
        _ if id == plan::NO_NOZZLE.id => &[Refusal::Nozzle],
        _ if id == plan::ACCURACY.id => &[Refusal::Accuracy],
        _ if id == plan::NO_FEEDER.id => &[Refusal::Supply],
        _ if id == plan::BOARD_TOO_LARGE.id => &[Refusal::Panel],
        _ if id == plan::DOWN.id => &[Refusal::Down],
        _ if id == plan::LOCK_CONFLICT.id => return lock_conflict(ctx, part),
        _ if id == plan::NO_SLOT.id || id == plan::NO_STOCK.id => return no_room(ctx, u.task, ordered),
        _ if id == plan::ORDER_NO_HEAD.id || id == plan::ORDER_CYCLE.id => return claim(ordered, "no order concerns it"),
        _ => return Err("that is no reason for leaving a task".to_owned()),
    };
    static_reason(ctx, part, named)
}

/// Every placing head of the line with its reasons against the part.
fn all_refusals(ctx: &Context<'_>, part: &Part) -> Vec<(usize, usize, Vec<Refusal>)> {
    let mut all = Vec::new();
    for (s, station) in ctx.line.station.iter().enumerate() {
        for (h, head) in station.head.iter().enumerate().filter(|(_, h)| places(h)) {
            all.push((s, h, refusals(ctx.line, &ctx.plan.rules, ctx.job.size, station, head, part)));
        }
    }
    all
}

/// No head takes the part, and a head that would take its size has the reason named. (Size itself
/// must be the matter at every head.)
fn static_reason(ctx: &Context<'_>, part: &Part, named: &[Refusal]) -> Result<(), String> {
    let heads = all_refusals(ctx, part);
    if let Some((s, h, _)) = heads.iter().find(|(_, _, r)| r.is_empty()) {
        return Err(format!("head `{}` of station `{}` takes it", ctx.head(*s, *h).name, ctx.station(*s).name));
    }
    let is_size = |r: &Refusal| matches!(r, Refusal::TooLarge | Refusal::TooSmall);
    let by_size = named.iter().any(is_size);
    let named_somewhere = heads.iter().any(|(_, _, r)| r.iter().any(|x| named.contains(x)) && (by_size || !r.iter().any(is_size)));
    let size_everywhere = heads.iter().all(|(_, _, r)| r.iter().any(is_size));
    if heads.is_empty() || (named_somewhere && (!by_size || size_everywhere)) {
        Ok(())
    } else {
        Err("that is not what keeps it off".to_owned())
    }
}

/// A lock or forbid entry speaks of the part, and with it in force no head is left, or its slot may be contested.
fn lock_conflict(ctx: &Context<'_>, part: &Part) -> Result<(), String> {
    let rules = &ctx.plan.rules;
    let spoken_of =
        rules.lock.iter().any(|l| l.part == part.number) || rules.forbid.iter().any(|f| f.part == part.number) || !rules.closed.is_empty();
    if spoken_of { Ok(()) } else { Err("no lock speaks of its part".to_owned()) }
}

/// Nothing takes the part, or no head that takes it plainly has room.
fn no_room(ctx: &Context<'_>, task: TaskId, ordered: bool) -> Result<(), String> {
    let part = ctx.part(task);
    let locked = ctx.plan.rules.lock.iter().any(|l| l.part == part.number);
    if !is_on_panel(ctx.job, task) {
        return Err("it does not lie on the panel".to_owned());
    }
    let heads = all_refusals(ctx, part);
    let mut able = heads.iter().filter(|(_, _, r)| r.is_empty()).peekable();
    if able.peek().is_none() {
        return Err("no head takes its part at all".to_owned());
    }
    if ordered || locked {
        return Ok(());
    }
    match able.find(|(s, h, _)| has_nozzle(ctx, *s, *h, part) && has_place(ctx, *s, *h, part)) {
        Some((s, h, _)) => Err(format!("station `{}` has room for it and head `{}` takes it", ctx.station(*s).name, ctx.head(*s, *h).name)),
        None => Ok(()),
    }
}

/// The head has a nozzle for the part in one of its layouts, or one is in stock and the head can fetch it.
fn has_nozzle(ctx: &Context<'_>, s: usize, h: usize, part: &Part) -> bool {
    let head = ctx.head(s, h);
    let serving = |k: &usize| nozzle_serves(ctx.line, head, part, *k);
    let used = nozzles_used(ctx);
    let mut passes = ctx.passes().filter(|(at, _, pass)| *at == s && pass.head as usize == h).peekable();
    let idle = passes.peek().is_none();
    let fitted = passes.any(|(_, _, pass)| match &pass.work {
        Work::Place { layouts, .. } => layouts.iter().flatten().flatten().any(|k| serving(&(*k as usize))),
        Work::Turret { nozzles, .. } => nozzles.iter().flatten().any(|k| serving(&(*k as usize))),
        Work::Dispense { .. } | Work::Inspect { .. } => false,
    });
    let in_stock = (0..ctx.line.nozzle.len()).filter(serving).any(|k| used[k] < nozzles_left(&ctx.plan.rules, &ctx.line.nozzle[k]));
    fitted || (in_stock && (idle || ctx.station(s).nozzle_rack.is_some()))
}

/// The station supplies the part already, or has a place and a feeder for it.
fn has_place(ctx: &Context<'_>, s: usize, h: usize, part: &Part) -> bool {
    let (station, supplies) = (ctx.station(s), &ctx.plan.stations[s].supplies);
    let same = |p: &domain::plan::SupplyAt| ctx.job.product.parts[p.part.index()].number == part.number;
    if supplies.iter().any(|x| same(x) && is_reached(station, h, &x.place)) {
        return true;
    }
    let full =
        closed(&ctx.plan.rules, &station.name).is_some_and(|c| supplies.len() as u64 >= u64::from(c.add) + kept_at(ctx, &station.name));
    if full {
        return false;
    }
    if part.supply.value == Supply::Tray {
        return free_tray(ctx, s, h, part);
    }
    let used = feeders_used(ctx);
    let kinds = ctx
        .line
        .feeder
        .iter()
        .zip(used)
        .enumerate()
        .filter(|(_, (f, used))| feeder_fits(f, part) && *used < feeders_left(&ctx.plan.rules, f));
    let banks = || (0..station.bank.len()).filter(|b| station.reaches(h, station.bank[*b].beam));
    kinds.into_iter().any(|(_, (f, _))| banks().any(|b| longest_free_run(ctx, s, b) >= f.slots))
}

fn free_tray(ctx: &Context<'_>, s: usize, h: usize, part: &Part) -> bool {
    let station = ctx.station(s);
    let taken = |t: usize| {
        ctx.plan.stations[s].supplies.iter().filter(|x| matches!(x.place, SupplyPlace::Tray { tray, .. } if tray as usize == t)).count()
    };
    let up = |place: &domain::line::TrayPlace| !tray_is_down(&ctx.plan.rules, &station.name, &place.name);
    let mut mine = station.tray.iter().enumerate().filter(|(_, place)| station.reaches(h, place.beam) && up(place));
    mine.any(|(t, place)| tray_fits(place, part) && (taken(t) as u64) < u64::from(place.levels()))
}

/// Supplies that are kept at a station.
fn kept_at(ctx: &Context<'_>, station: &str) -> u64 {
    ctx.plan.rules.keep.iter().filter(|k| k.station == station).count() as u64
}

fn longest_free_run(ctx: &Context<'_>, s: usize, bank: usize) -> u32 {
    let (station, sheet) = (ctx.station(s), &ctx.station(s).bank[bank]);
    let mut taken: Vec<bool> = (1..=sheet.slots).map(|k| slot_is_down(&ctx.plan.rules, &station.name, &sheet.name, k)).collect();
    for supply in &ctx.plan.stations[s].supplies {
        let SupplyPlace::Feeder { bank: b, slot, feeder } = supply.place else { continue };
        if b as usize == bank {
            let from = slot as usize - 1;
            taken[from..from + ctx.line.feeder[feeder as usize].slots as usize].fill(true);
        }
    }
    taken.split(|t| *t).map(|run| run.len() as u32).max().unwrap_or(0)
}
