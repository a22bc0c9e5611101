//! The order of work of a station: passes, trips, and the nozzles they need.

use crate::present::Report;
use crate::supply;
use crate::table::{Cell, Table};
use domain::plan::{Beat, Pass, Plan, StationPlan, Stroke, Trip, Work};
use draw::lookup;
use std::collections::BTreeMap;

/// Nozzles each head of a station needs at once, by head and kind: of each kind the most any layout asks.
pub(crate) fn nozzle_needs(planned: &StationPlan) -> BTreeMap<(u32, u32), usize> {
    let mut most: BTreeMap<(u32, u32), usize> = BTreeMap::new();
    for pass in &planned.passes {
        // What a head holds at once: a layout, or all nozzles of a turret's drum.
        let at_once: Vec<Vec<u32>> = match &pass.work {
            Work::Place { layouts, .. } => layouts.iter().map(|l| l.iter().flatten().copied().collect()).collect(),
            Work::Turret { nozzles, .. } => vec![nozzles.concat()],
            Work::Dispense { .. } | Work::Inspect { .. } => continue,
        };
        for layout in at_once {
            let mut used: BTreeMap<u32, usize> = BTreeMap::new();
            layout.iter().for_each(|n| *used.entry(*n).or_default() += 1);
            for (nozzle, count) in used {
                let entry = most.entry((pass.head, nozzle)).or_default();
                *entry = (*entry).max(count);
            }
        }
    }
    most
}

/// Nozzles each head needs at once, as a table.
pub(crate) fn nozzles(report: &Report<'_>, planned: &StationPlan) -> Table {
    let mut table = Table::new(&["head", "nozzle or gripper", ">needed at once"]);
    for ((head, nozzle), count) in nozzle_needs(planned) {
        table.row(vec![lookup::head_name(report.plan, planned, head).into(), nozzle_name(report.plan, nozzle).into(), count.into()]);
    }
    table
}

fn nozzle_name(plan: &Plan, nozzle: u32) -> String {
    plan.line.nozzle.get(nozzle as usize).map_or_else(|| format!("nozzle {nozzle} (not on the sheet)"), |n| n.name.clone())
}

/// The passes of a station in order.
pub(crate) fn passes(report: &Report<'_>, planned: &StationPlan) -> Table {
    let mut table = Table::new(&[">pass", "head", "work", ">trips", ">strokes", ">placements", "steps in order"]);
    for (i, pass) in planned.passes.iter().enumerate() {
        let head = lookup::head_name(report.plan, planned, pass.head);
        let mut row: Vec<Cell> = vec![(i + 1).into(), head.into()];
        row.extend(match &pass.work {
            Work::Place { trips, .. } => {
                let strokes: usize = trips.iter().map(|t| t.strokes.len()).sum();
                let places: usize = trips.iter().map(|t| t.places.len()).sum();
                [Cell::from("pick and place"), trips.len().into(), strokes.into(), places.into(), "see the trips below".into()]
            }
            Work::Dispense { tasks } => {
                let names: Vec<String> = tasks.iter().map(|t| report.task(*t)).collect();
                [Cell::from("adhesive dots"), Cell::Empty, Cell::Empty, Cell::Empty, names.join(", ").into()]
            }
            Work::Inspect { views } => {
                let places: Vec<String> = views.iter().map(|v| format!("({:.1}, {:.1}) mm", v.x.to_mm(), v.y.to_mm())).collect();
                [Cell::from("inspection"), Cell::Empty, Cell::Empty, Cell::Empty, places.join(", ").into()]
            }
            Work::Turret { beats, .. } => {
                let places = beats.iter().flatten().count();
                [Cell::from("pick and place, beat by beat"), Cell::Empty, places.into(), places.into(), "see the beats below".into()]
            }
        });
        table.row(row);
    }
    table
}

/// The trips or beats of a pass in order, with what they are called; `None` when it is not one of placing.
pub(crate) fn trips(report: &Report<'_>, planned: &StationPlan, pass: &Pass) -> Option<(&'static str, Table)> {
    match &pass.work {
        Work::Place { layouts, trips } => Some(("Trips", trips_table(report, planned, layouts, trips))),
        Work::Turret { nozzles, beats } => Some(("Beats", beats_table(report, planned, nozzles, beats))),
        Work::Dispense { .. } | Work::Inspect { .. } => None,
    }
}

/// Beats of a turret; heads of the drum and beats are counted from 1, as people count.
fn beats_table(report: &Report<'_>, planned: &StationPlan, nozzles: &[Vec<u32>], beats: &[Option<Beat>]) -> Table {
    let mut table = Table::new(&[">beat", ">head of the drum", "nozzles it holds", "picked from", "placed"]);
    for (i, beat) in beats.iter().enumerate() {
        let head = i % nozzles.len().max(1);
        let held: Vec<String> = nozzles.get(head).into_iter().flatten().map(|n| nozzle_name(report.plan, *n)).collect();
        let (from, placed) = match beat {
            Some(b) => (supply::short(report.plan, planned, b.supply), report.task(b.task)),
            None => ("empty".to_owned(), String::new()),
        };
        table.row(vec![(i + 1).into(), (head + 1).into(), held.join(", ").into(), from.into(), placed.into()]);
    }
    table
}

fn trips_table(report: &Report<'_>, planned: &StationPlan, layouts: &[Vec<Option<u32>>], trips: &[Trip]) -> Table {
    let mut table = Table::new(&[">trip", "nozzles (spindle: kind)", ">strokes", "picks in order (place → spindle)", "placed in order"]);
    for (i, trip) in trips.iter().enumerate() {
        let layout =
            layouts.get(trip.layout as usize).map_or_else(|| "layout missing in the plan".to_owned(), |l| layout_words(report.plan, l));
        let places: Vec<String> = trip.places.iter().map(|p| report.task(p.task)).collect();
        table.row(vec![
            (i + 1).into(),
            layout.into(),
            trip.strokes.len().into(),
            picks_words(report.plan, planned, &trip.strokes).into(),
            places.join(", ").into(),
        ]);
    }
    table
}

/// Picks of a trip, stroke by stroke; strokes that follow each other at the same place with
/// neighbouring spindles are joined, such as `front 2 → 1–8`.
fn picks_words(plan: &Plan, planned: &StationPlan, strokes: &[Stroke]) -> String {
    let mut words: Vec<String> = Vec::new();
    let mut run: Option<(u32, u8, u8)> = None;
    let close = |run: &mut Option<(u32, u8, u8)>, words: &mut Vec<String>| {
        if let Some((supply, first, last)) = run.take() {
            let spindles = span(usize::from(first), usize::from(last));
            words.push(format!("{} → {spindles}", supply::short(plan, planned, supply)));
        }
    };
    for stroke in strokes {
        match (stroke.0.as_slice(), &mut run) {
            ([pick], Some((supply, _, last))) if *supply == pick.supply && last.checked_add(1) == Some(pick.spindle) => {
                *last = pick.spindle
            }
            ([pick], _) => {
                close(&mut run, &mut words);
                run = Some((pick.supply, pick.spindle, pick.spindle));
            }
            _ => {
                close(&mut run, &mut words);
                words.push(stroke_words(plan, planned, stroke));
            }
        }
    }
    close(&mut run, &mut words);
    words.join(", ")
}

/// Spindles from first to last, counted from 0, as people count them.
fn span(first: usize, last: usize) -> String {
    if first == last { format!("{}", first + 1) } else { format!("{}–{}", first + 1, last + 1) }
}

/// Picks of one stroke; those made at once are joined by `+`.
fn stroke_words(plan: &Plan, planned: &StationPlan, stroke: &Stroke) -> String {
    let picks: Vec<String> =
        stroke.0.iter().map(|p| format!("{} → {}", supply::short(plan, planned, p.supply), u16::from(p.spindle) + 1)).collect();
    picks.join(" + ")
}

/// A nozzle layout with equal neighbours joined, such as `1–4: n-tiny, 5: n-small`.
pub(crate) fn layout_words(plan: &Plan, layout: &[Option<u32>]) -> String {
    let mut groups: Vec<(usize, usize, u32)> = Vec::new();
    for (spindle, nozzle) in layout.iter().enumerate() {
        let Some(nozzle) = nozzle else { continue };
        match groups.last_mut() {
            Some((_, last, kind)) if *kind == *nozzle && *last + 1 == spindle => *last = spindle,
            _ => groups.push((spindle, spindle, *nozzle)),
        }
    }
    let words: Vec<String> = groups
        .into_iter()
        .map(|(first, last, kind)| {
            let spindles = span(first, last);
            format!("{spindles}: {}", nozzle_name(plan, kind))
        })
        .collect();
    words.join(", ")
}
