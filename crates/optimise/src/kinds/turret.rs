//! A turret: the trips of its stand-in, one part each, are its beats in their order.

use super::sequence::{Beats, Step};
use super::slots::Slots;
use super::stand_in::StandIns;
use crate::problem::Problem;
use crate::search::Heat;
use crate::station::StationState;
use crate::station::export::export;
use crate::station::setup::Slot;
use crate::station::state::TripState;
use domain::job::TaskId;
use domain::plan::{Beat, Pass, StationPlan, Work};
use std::collections::{BTreeMap, BTreeSet};
use units::Time;

/// The program, timed.
pub(super) fn program(p: &Problem<'_>, s: &StandIns<'_>, state: &StationState) -> StationPlan {
    let station = s.places[state.station].station;
    let mut plan = export(p, state);
    let heads = s.clock.station(station).drum().map_or(1, motion::DrumClock::heads);
    let mut passes: Vec<Pass> = Vec::new();
    let mut kinds: BTreeSet<u32> = BTreeSet::new();
    for pass in plan.passes {
        // One part a trip: picks and placements stand in the same order.
        let beats: Vec<_> = pass.work.placed().zip(pass.work.picked()).map(|(task, supply)| Some(Beat { supply, task })).collect();
        match (&pass.work, passes.last_mut().map(|x| &mut x.work)) {
            (Work::Place { layouts, trips }, before) => {
                kinds.extend(trips.iter().flat_map(|t| layouts[t.layout as usize].iter().flatten()));
                // The drum is emptied only where the station does something else between.
                if let Some(Work::Turret { beats: all, .. }) = before {
                    all.extend(beats);
                } else {
                    passes.push(Pass { head: 0, work: Work::Turret { nozzles: Vec::new(), beats } });
                }
            }
            _ => passes.push(pass),
        }
    }
    for pass in &mut passes {
        if let Work::Turret { nozzles, .. } = &mut pass.work {
            *nozzles = vec![kinds.iter().copied().collect(); heads];
        }
    }
    plan.passes = passes;
    plan.breakdown = s.clock.time(station, &plan).expect("the planner refers only to what exists");
    plan.time_us = plan.breakdown.total();
    plan
}

/// How much cooler a turret is searched: its steps differ by hundredths of a second, a gantry's trips by tenths.
const COOLER: f64 = 0.25;

/// Searches the order of the beats, and the slots for the longest pass; times the station.
pub(crate) fn search(p: &Problem<'_>, mut state: StationState, tries: u32, heat: Heat, seed: u64) -> StationState {
    let Some(s) = p.stand_ins else { return state };
    let station = s.places[state.station].station;
    let mut slots = Slots::new(s.real, p.rules, station, &state.setup.supplies, &state.setup.locked);
    let placed = state.placed().max(1) as u32;
    let longest = (0..state.passes.len()).max_by_key(|k| (state.passes[*k].trips().len(), std::cmp::Reverse(*k)));
    let mut order: Vec<usize> = longest.into_iter().collect();
    order.extend((0..state.passes.len()).filter(|k| Some(*k) != longest));
    order.retain(|k| state.passes[*k].is_placing());
    let heat = Heat { from: heat.from * COOLER, to: heat.to * COOLER };
    let start = p.job.fiducials.last().copied().unwrap_or_default();
    for k in order {
        let trips = std::mem::take(state.passes[k].trips_mut());
        let list: Vec<Step> = trips
            .iter()
            .flat_map(|t| t.order.iter().map(|x| t.cells[usize::from(*x)]))
            .map(|c| Step { task: c.task, supply: c.supply })
            .collect();
        let share = (u64::from(tries) * list.len() as u64 / u64::from(placed)) as u32;
        let mut beats = Beats::new(p, s, station, &state.setup.supplies, slots.xs(s.real, station), list, start);
        beats.anneal(share, heat, (Some(k) == longest).then_some(&mut slots), (s.real, station), seed ^ k as u64);
        *state.passes[k].trips_mut() = in_order(trips, beats.into_list());
    }
    let stood: Vec<(u32, Slot)> = slots.places().map(|(i, bank, slot)| (i, Slot { bank, slot })).collect();
    state.setup.place_anew(p, &stood);
    let plan = program(p, s, &state);
    state.time = plan.time_us;
    // What a placement takes, for the estimates of the balance.
    let fixed = s.clock.fixed(station).total();
    let each = Time(((state.time - fixed - plan.breakdown.inspection_us).0 / i64::from(placed)).max(0));
    state.passes.iter_mut().filter(|x| x.is_placing()).flat_map(|x| x.trips_mut()).for_each(|t| t.time = each);
    state
}

/// Trips, one part each, in the order of the steps.
fn in_order(trips: Vec<TripState>, steps: Vec<Step>) -> Vec<TripState> {
    let mut of_task: BTreeMap<TaskId, TripState> = BTreeMap::new();
    for trip in trips {
        let first = trip.tasks().next();
        of_task.extend(first.map(|t| (t, trip)));
    }
    steps.iter().filter_map(|step| of_task.remove(&step.task)).collect()
}
