//! What geometry forces: low parts before tall neighbours, covered parts before their shield.
//!
//! Neighbours are found with a grid over one board; all boards of a panel are alike.

use super::body::Body;
use super::{Ranks, Stated};
use crate::context::Context;
use crate::verdict::Log;
use diag::{Code, codes::verify as code};
use domain::job::{Job, TaskId};
use domain::line::Line;
use domain::plan::Plan;
use domain::rules::OrderRule;
use std::collections::BTreeMap;

/// Task `first` comes before task `then`.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Pair {
    pub(crate) first: usize,
    pub(crate) then: usize,
    /// Whether a shield, not a holder's reach, is the cause.
    cover: bool,
}

pub(crate) fn check(ctx: &Context<'_>, stated: &Stated, ranks: &Ranks, log: &mut Log) {
    for Pair { first, then, cover } in pairs(ctx.line, ctx.plan, ctx.job) {
        let geometric = ranks.leaves_to_geometry(first) && ranks.leaves_to_geometry(then);
        let overruled = stated.says_before(then, first) || (ranks.says_before(then, first) && !stated.says_before(first, then));
        let (Some(a), Some(b)) = (ctx.sequence.placed[first], ctx.sequence.placed[then]) else { continue };
        if !geometric || overruled || a.is_before(&b) {
            continue;
        }
        let name = |t: usize| ctx.job.name(TaskId(t as u32));
        let (code, how): (&'static Code, _) =
            if cover { (code::ORDER_COVER, "its shield") } else { (code::ORDER_CLEARANCE, "its taller neighbour") };
        log.add(code, format!("{} is not before {how} {}", name(first), name(then)));
    }
}

/// All orders that geometry forces under the rule in force, over all boards of the panel.
pub(crate) fn pairs(line: &Line, plan: &Plan, job: &Job<'_>) -> Vec<Pair> {
    let rule = plan.rules.order_rule();
    if rule == OrderRule::None {
        return Vec::new();
    }
    let images = job.panel.images() as usize;
    let per_image = job.tasks.len() / images;
    let bodies: Vec<Body> = (0..per_image).map(|t| Body::new(&job.tasks[t], job.part(TaskId(t as u32)))).collect();
    let (reach, step) = (line.clearance.reach.0.0, line.clearance.height_step.0.0);
    let mut all = Vec::new();
    for (a, b) in neighbours(&bodies, reach) {
        let covers = |over: usize, under: usize| job.part(TaskId(over as u32)).shield.value && bodies[over].covers(job.tasks[under].at);
        let before = |first, then, cover| Pair { first, then, cover };
        match (covers(a, b), covers(b, a)) {
            (false, false) => {
                // Under `low-before-tall` heights are ranked; only shields are left to geometry.
                let near = rule != OrderRule::LowBeforeTall && bodies[a].is_within(&bodies[b], reach);
                let (ha, hb) = (bodies[a].height, bodies[b].height);
                if near && (ha - hb).abs() > step {
                    all.push(if ha < hb { before(a, b, false) } else { before(b, a, false) });
                }
            }
            (true, false) => all.push(before(b, a, true)),
            (false, true) => all.push(before(a, b, true)),
            // Two shields over each other's middle: no order keeps both, so none is asked.
            (true, true) => {}
        }
    }
    let on_image = |image: usize, p: &Pair| Pair { first: p.first + image * per_image, then: p.then + image * per_image, cover: p.cover };
    (0..images).flat_map(|i| all.iter().map(move |p| on_image(i, p))).collect()
}

/// Pairs of bodies whose boxes, widened by half the reach each, share a cell of the grid, each pair once.
fn neighbours(bodies: &[Body], reach: i64) -> Vec<(usize, usize)> {
    let cell = cell_size(bodies, reach);
    let mut cells: BTreeMap<(i64, i64), Vec<usize>> = BTreeMap::new();
    for (i, body) in bodies.iter().enumerate() {
        let [x0, y0, x1, y1] = body.box_widened(reach / 2 + 1).map(|v| v.div_euclid(cell));
        for x in x0..=x1 {
            for y in y0..=y1 {
                cells.entry((x, y)).or_default().push(i);
            }
        }
    }
    let mut found = Vec::new();
    for list in cells.values() {
        for (k, a) in list.iter().enumerate() {
            found.extend(list[k + 1..].iter().map(|b| (*a, *b)));
        }
    }
    found.sort_unstable();
    found.dedup();
    found
}

/// A cell about as large as a usual body with its reach, and never so small that one body fills
/// more than some thousand cells.
fn cell_size(bodies: &[Body], reach: i64) -> i64 {
    let extents: Vec<i64> = bodies
        .iter()
        .map(|b| {
            let [x0, y0, x1, y1] = b.box_widened(reach / 2 + 1);
            (x1 - x0).max(y1 - y0)
        })
        .collect();
    let mean = extents.iter().sum::<i64>() / (extents.len() as i64).max(1);
    let largest = extents.iter().copied().max().unwrap_or(0);
    mean.max(largest / 40).max(1)
}
