//! From a carried plan to the state of the search.

use super::carry::Carried;
use crate::order::Stages;
use crate::planner::LineState;
use crate::problem::Problem;
use crate::start::StageRanges;
use crate::station::StationState;
use crate::station::export::export;
use crate::station::passes::may_alternate;
use crate::station::state::{Cell, PassState, PassWork, TripState};
use domain::job::TaskId;
use domain::plan::{Pass, Trip, Work};
use std::collections::{BTreeMap, BTreeSet};
use units::Time;

/// The state; `None` when the stages of the order rules leave no way to continue the old order of work, or dots
/// of placed parts have lost their station.
pub(super) fn import(p: &Problem<'_>, carried: Vec<Carried>) -> Option<LineState> {
    let mut stage = 0;
    let mut stations = Vec::new();
    let mut ranges = StageRanges::new();
    for (s, c) in carried.into_iter().enumerate() {
        let begun = stage;
        let mut state = StationState { station: s, setup: c.setup, passes: Vec::new(), alternating: false, time: Time::ZERO };
        for pass in c.passes {
            take_pass(p, &mut state, pass, &mut stage)?;
        }
        let first = state.passes.iter().map(|x| x.stage).min().unwrap_or(begun);
        ranges.push(Stages { from: first, to: stage });
        crate::transfer::drop_unused(p, &mut state);
        state.alternating = may_alternate(p, &state);
        state.time = export(p, &state).time_us;
        stations.push(state);
    }
    widen(p, &mut ranges);
    if !keeps_order(p, &stations) {
        return None;
    }
    let dotted: BTreeSet<TaskId> = stations
        .iter()
        .flat_map(|s| &s.passes)
        .filter_map(|x| if let PassWork::Dots(t) = &x.work { Some(t) } else { None })
        .flatten()
        .copied()
        .collect();
    p.order.dots.keys().all(|t| dotted.contains(t) || !p.tasks.contains(t)).then_some(LineState { stations, ranges, unplaced: Vec::new() })
}

/// Stations without work of their own may take that of any stage between their neighbours'.
fn widen(p: &Problem<'_>, ranges: &mut [Stages]) {
    for s in 0..ranges.len() {
        let after = ranges.get(s + 1).map_or(p.order.stages - 1, |r| r.from);
        let before = s.checked_sub(1).map_or(0, |b| ranges[b].to);
        ranges[s] = Stages { from: ranges[s].from.min(before), to: ranges[s].to.max(after) };
    }
}

/// Adds a pass, split where the stage of its work rises.
fn take_pass(p: &Problem<'_>, state: &mut StationState, pass: Pass, stage: &mut u8) -> Option<()> {
    let head = pass.head as usize;
    match pass.work {
        Work::Inspect { views } => {
            // Where the looks belong is known by the areas' stages; the lowest that is not done yet is theirs.
            *stage = (*stage).max(p.order.inspections.iter().copied().filter(|k| *k >= *stage).min().unwrap_or(*stage));
            state.passes.push(PassState { head, stage: *stage, layouts: Vec::new(), work: PassWork::Views(views) });
        }
        Work::Dispense { tasks } => {
            let wished = tasks.iter().filter_map(|t| p.order.dots.get(t)).copied().max()?;
            if wished < *stage {
                return None;
            }
            *stage = wished;
            state.passes.push(PassState { head, stage: *stage, layouts: Vec::new(), work: PassWork::Dots(tasks) });
        }
        // Beats have become trips when the plan was taken apart.
        Work::Turret { .. } => return None,
        Work::Place { layouts, trips } => {
            let mut open = false;
            for trip in trips {
                let wish = trip.places.iter().fold(Stages { from: 0, to: u8::MAX }, |w, x| {
                    let own = p.order.tasks[x.task.index()];
                    Stages { from: w.from.max(own.from), to: w.to.min(own.to) }
                });
                let here = (*stage).max(wish.from);
                if here > wish.to {
                    return None;
                }
                if !open || here != *stage {
                    state.passes.push(PassState { head, stage: here, layouts: layouts.clone(), work: PassWork::Trips(Vec::new()) });
                    (*stage, open) = (here, true);
                }
                let taken = trip_state(&layouts, &trip);
                state.passes.last_mut().expect("a pass is open").trips_mut().push(taken);
            }
        }
    }
    Some(())
}

/// A trip with its picks and placements in the order of the plan.
fn trip_state(layouts: &[Vec<Option<u32>>], trip: &Trip) -> TripState {
    let mut taken = TripState::idle(trip.layout, layouts[trip.layout as usize].len());
    let picks = || trip.strokes.iter().flat_map(|x| &x.0);
    for step in &trip.places {
        let supply = picks().find(|x| x.spindle == step.spindle).map_or(0, |x| x.supply);
        taken.cells[usize::from(step.spindle)] = Cell { task: step.task, supply };
    }
    taken.picks = picks().map(|x| x.spindle).collect();
    taken.order = trip.places.iter().map(|x| x.spindle).collect();
    taken
}

/// Where something is done along the line: station, pass, place within the pass.
type When = (usize, usize, usize);

/// Whether the old order of work keeps every pair, sets dots before their part and looks before it is placed there.
fn keeps_order(p: &Problem<'_>, stations: &[StationState]) -> bool {
    let (mut placed, mut dotted, mut looked) = (BTreeMap::new(), BTreeMap::new(), None);
    for (s, station) in stations.iter().enumerate() {
        for (k, pass) in station.passes.iter().enumerate() {
            match &pass.work {
                PassWork::Trips(trips) => {
                    placed.extend(trips.iter().flat_map(|t| t.tasks()).enumerate().map(|(i, t)| (t, (s, k, i))));
                }
                PassWork::Dots(tasks) => dotted.extend(tasks.iter().map(|t| (*t, (s, k, 0)))),
                PassWork::Views(_) => looked = Some((s, k, 0)),
            }
        }
    }
    let first = |t: &TaskId| -> Option<When> { placed.get(t).copied() };
    placed.iter().all(|(t, when)| {
        p.order.before(*t).iter().all(|b| first(b).is_none_or(|b| b < *when))
            && dotted.get(t).is_none_or(|d: &When| d < when)
            && (p.order.looks(*t).is_empty() || looked.is_some_and(|l: When| l < *when))
    })
}
