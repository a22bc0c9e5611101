//! Trips: spindles carry one part each, what is picked is placed, strokes reach their pockets, and
//! nozzles change only at a rack.

use crate::context::{Context, TripAt};
use crate::verdict::Log;
use diag::codes::verify as code;
use domain::line::HeadKind;
use domain::plan::{Stroke, pick_point};
use std::collections::BTreeMap;
use units::Point;

/// How far pockets of one stroke may lie off their spindles along X and Y [µm]: common practice, no source.
const STROKE_TOLERANCE: i64 = 100;

pub(crate) fn check(ctx: &Context<'_>, log: &mut Log) {
    let mut layouts: BTreeMap<(usize, usize), &[Option<u32>]> = BTreeMap::new();
    for at in ctx.trips() {
        spindles(ctx, &at, log);
        for stroke in &at.trip.strokes {
            reach(ctx, &at, stroke, log);
        }
        // Without a rack a head keeps its nozzles for the whole panel, over all its passes.
        if ctx.station(at.station).nozzle_rack.is_none() && *layouts.entry((at.station, at.head)).or_insert(at.layout) != at.layout {
            log.add(code::NOZZLE_CHANGE_WITHOUT_RACK, at.say(ctx));
        }
    }
}

/// Every spindle picks and places once, and places what it picked.
fn spindles(ctx: &Context<'_>, at: &TripAt<'_>, log: &mut Log) {
    let mut picked: BTreeMap<u8, u32> = BTreeMap::new();
    for pick in at.trip.strokes.iter().flat_map(|s| &s.0) {
        if picked.insert(pick.spindle, pick.supply).is_some() {
            log.add(code::SPINDLE_TWICE, format!("{}: spindle {} picks twice", at.say(ctx), pick.spindle));
        }
    }
    let mut placed: BTreeMap<u8, ()> = BTreeMap::new();
    for step in &at.trip.places {
        if placed.insert(step.spindle, ()).is_some() {
            log.add(code::SPINDLE_TWICE, format!("{}: spindle {} places twice", at.say(ctx), step.spindle));
            continue;
        }
        let name = ctx.job.name(step.task);
        let Some(supply) = picked.remove(&step.spindle) else {
            log.add(code::PLACE_WITHOUT_PICK, format!("{}: spindle {} places {name}", at.say(ctx), step.spindle));
            continue;
        };
        let (has, wants) = (ctx.plan.stations[at.station].supplies[supply as usize].part, ctx.job.tasks[step.task.index()].part);
        if has != wants {
            let number = |id: domain::product::PartId| &ctx.job.product.parts[id.index()].number;
            log.add(code::WRONG_SUPPLY, format!("{}: {name} wants `{}`, picked is `{}`", at.say(ctx), number(wants), number(has)));
        }
    }
    for spindle in picked.keys() {
        log.add(code::PICK_WITHOUT_PLACE, format!("{}: spindle {spindle}", at.say(ctx)));
    }
}

/// A stroke picks one part, or several whose pockets all lie under their spindles.
fn reach(ctx: &Context<'_>, at: &TripAt<'_>, stroke: &Stroke, log: &mut Log) {
    let head = ctx.head(at.station, at.head);
    if stroke.0.is_empty() {
        log.add(code::STROKE_REACH, format!("{}: an empty stroke", at.say(ctx)));
        return;
    }
    if head.kind != HeadKind::Inline {
        if stroke.0.len() > 1 {
            log.add(code::STROKE_REACH, format!("{}: {} picks at once with a {} head", at.say(ctx), stroke.0.len(), head.kind));
        }
        return;
    }
    let pitch = head.pitch.map_or(0, |p| p.0.0);
    let wanted = stroke.0.iter().filter_map(|pick| {
        let supply = &ctx.plan.stations[at.station].supplies[pick.supply as usize];
        let point = pick_point(ctx.line, at.station, &supply.place)?;
        Some(Point::from_um(point.x.0 - i64::from(pick.spindle) * pitch, point.y.0))
    });
    let wanted: Vec<Point> = wanted.collect();
    let off = |p: &Point| (p.x - wanted[0].x).abs().0.max((p.y - wanted[0].y).abs().0);
    let most = wanted.iter().map(off).max().unwrap_or(0);
    if most > STROKE_TOLERANCE {
        log.add(code::STROKE_REACH, format!("{}: pockets of one stroke lie {most} um off their spindles", at.say(ctx)));
    }
}
