//! Feeders and nozzles in use do not exceed what the line has. Carts are checked with the sheet.

use crate::context::Context;
use crate::outage::{feeders_left, nozzles_left};
use crate::verdict::Log;
use diag::codes::verify as code;
use domain::plan::{SupplyPlace, Work};
use std::collections::BTreeMap;

pub(crate) fn check(ctx: &Context<'_>, log: &mut Log) {
    for (kind, used) in ctx.line.feeder.iter().zip(feeders_used(ctx)) {
        let left = feeders_left(&ctx.plan.rules, kind);
        if used > kind.stock {
            log.add(code::FEEDER_STOCK, format!("{used} feeders `{}`, stock is {}", kind.name, kind.stock));
        } else if used > left {
            log.add(code::DOWN, format!("{used} feeders `{}`, {left} are not down", kind.name));
        }
    }
    for (kind, used) in ctx.line.nozzle.iter().zip(nozzles_used(ctx)) {
        let left = nozzles_left(&ctx.plan.rules, kind);
        if used > kind.stock {
            log.add(code::NOZZLE_STOCK, format!("{used} nozzles `{}`, stock is {}", kind.name, kind.stock));
        } else if used > left {
            log.add(code::DOWN, format!("{used} nozzles `{}`, {left} are not down", kind.name));
        }
    }
}

/// Feeders of each kind set up on the whole line.
pub(crate) fn feeders_used(ctx: &Context<'_>) -> Vec<u32> {
    let mut used = vec![0; ctx.line.feeder.len()];
    for supply in ctx.plan.stations.iter().flat_map(|s| &s.supplies) {
        if let SupplyPlace::Feeder { feeder, .. } = supply.place {
            used[feeder as usize] += 1;
        }
    }
    used
}

/// Nozzles of each kind: for each head the most that any of its layouts holds, over all heads.
pub(crate) fn nozzles_used(ctx: &Context<'_>) -> Vec<u32> {
    let mut most: BTreeMap<(usize, u32), Vec<u32>> = BTreeMap::new();
    for (s, _, pass) in ctx.passes() {
        // A layout is what a head holds at once; the drum of a turret holds all of its nozzles at once.
        let at_once: Vec<Vec<u32>> = match &pass.work {
            Work::Place { layouts, .. } => layouts.iter().map(|l| l.iter().flatten().copied().collect()).collect(),
            Work::Turret { nozzles, .. } => vec![nozzles.concat()],
            Work::Dispense { .. } | Work::Inspect { .. } => continue,
        };
        let held = most.entry((s, pass.head)).or_insert_with(|| vec![0; ctx.line.nozzle.len()]);
        for layout in at_once {
            let mut count = vec![0u32; held.len()];
            layout.iter().for_each(|k| count[*k as usize] += 1);
            held.iter_mut().zip(count).for_each(|(h, c)| *h = (*h).max(c));
        }
    }
    let mut used = vec![0; ctx.line.nozzle.len()];
    for held in most.values() {
        used.iter_mut().zip(held).for_each(|(u, h)| *u += h);
    }
    used
}
