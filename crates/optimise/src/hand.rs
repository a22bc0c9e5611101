//! The hand method, kept as a baseline.
//!
//! Part types are spread over the stations, longest time first; feeders stand in the order of their
//! number; placements are done in the order of the file, and every panel runs the passes in the same
//! order. The plan keeps every rule and is timed by the same clock.

use crate::bound::{Costs, Effort, best_weights};
use crate::kinds::StandIns;
use crate::planner::{Limits, LineState, Run, Watch};
use crate::problem::Problem;
use crate::start::{Estimate, start_by_hand};
use crate::station::export::export;
use crate::station::passes::depths;
use crate::station::setup::Slot;
use crate::station::state::{Cell, PassWork};
use crate::station::timing::Timing;
use crate::station::{StationState, TripState};
use diag::Finding;
use domain::job::{Job, TaskId};
use domain::line::Line;
use domain::plan::{Method, Plan, SupplyPlace};
use domain::rules::Rules;

/// Plans by the hand method.
///
/// # Errors
/// As [`crate::plan`].
pub fn by_hand(job: &Job<'_>, line: &Line, rules: &Rules, watch: &dyn Watch) -> Result<Plan, Vec<Finding>> {
    let stand_ins = StandIns::of(line, job, rules);
    Ok(planned(&Problem::on(job, line, stand_ins.as_ref(), rules)?, watch))
}

fn planned(p: &Problem<'_>, watch: &dyn Watch) -> Plan {
    let costs = Costs::new(p.job, p.line, p.rules, &p.clock, &p.cap, &p.tasks);
    let estimate = Estimate::new(p, &costs, &vec![1.0; p.cap.modes.len()]);
    let first = start_by_hand(p, &estimate);
    let mut state = LineState { stations: first.stations, ranges: first.ranges, unplaced: first.unplaced };
    crate::warm::rescue(p, &mut state);
    for s in &mut state.stations {
        s.alternating = false;
        feeders_by_number(p, s);
        file_order(p, s);
        s.time = export(p, s).time_us;
    }
    let run = Run { p, limits: Limits { seconds: None, work: None, seed: 0, threads: 1 }, watch, work: 0 };
    let least = p.least_times(&p.tasks);
    run.compose(&state, &least, best_weights(&least, Effort::FULL, &|| false), Method::Hand)
}

/// Feeders from slot 1 on, bank by bank, in the order of the part numbers.
fn feeders_by_number(p: &Problem<'_>, s: &mut StationState) {
    let mut free: Vec<u32> =
        (0..s.setup.supplies.len() as u32).filter(|i| s.setup.width(p.line, *i as usize) > 0 && !s.setup.locked[*i as usize]).collect();
    free.sort_by_key(|i| s.setup.supplies[*i as usize].part);
    let banks: Vec<u32> = p.line.station[s.station].bank.iter().map(|b| b.slots).collect();
    let fixed: Vec<(Slot, u32)> = (0..s.setup.supplies.len())
        .filter(|i| s.setup.locked[*i])
        .filter_map(|i| match s.setup.supplies[i].place {
            SupplyPlace::Feeder { bank, slot, .. } => Some((Slot { bank: bank as usize, slot }, s.setup.width(p.line, i))),
            SupplyPlace::Tray { .. } => None,
        })
        .collect();
    let mut plan: Vec<(u32, Slot)> = Vec::new();
    let (mut bank, mut slot) = (0, 1);
    for i in free {
        let width = s.setup.width(p.line, i as usize);
        loop {
            if bank >= banks.len() {
                return; // The banks are full in this order: the set-up stays as it is.
            }
            if slot + width - 1 > banks[bank] {
                (bank, slot) = (bank + 1, 1);
            } else if fixed.iter().any(|(f, w)| f.bank == bank && slot < f.slot + w && f.slot < slot + width) {
                slot += 1;
            } else {
                break;
            }
        }
        plan.push((i, Slot { bank, slot }));
        slot += width;
    }
    s.setup.place_anew(p, &plan);
}

/// Trips filled spindle by spindle with the next task of the file that the nozzle takes, placed in that order.
fn file_order(p: &Problem<'_>, s: &mut StationState) {
    let station = s.station;
    let (timing, setup) = (Timing::new(p, station), &s.setup);
    for pass in &mut s.passes {
        let PassWork::Trips(trips) = &mut pass.work else { continue };
        let Some(mode) = p.cap.mode(station, pass.head) else { continue };
        let mut all: Vec<(TaskId, u32)> =
            trips.iter().flat_map(|t| t.cells.iter().filter(|c| c.busy()).map(|c| (c.task, c.supply))).collect();
        all.sort_unstable();
        trips.clear();
        // Tasks that order rules put after others of the pass come in trips after theirs.
        let depth = depths(p, &all.iter().map(|t| t.0).collect::<Vec<_>>());
        let of = |t: &TaskId| depth.get(t).copied().unwrap_or(0);
        for level in 0..=depth.values().copied().max().unwrap_or(0) {
            let mut tasks: Vec<(TaskId, u32)> = all.iter().copied().filter(|t| of(&t.0) == level).collect();
            for (l, layout) in pass.layouts.iter().enumerate() {
                while let Some(trip) = next_trip(p, mode, l as u32, layout, &mut tasks) {
                    trips.push(trip);
                }
            }
            assert!(tasks.is_empty(), "a head's layouts hold a nozzle for each of its tasks");
        }
        trips.iter_mut().for_each(|t| timing.sweep(pass.head, setup, t));
    }
}

/// The next trip with this layout; `None` when no task left fits it.
fn next_trip(p: &Problem<'_>, mode: usize, index: u32, layout: &[Option<u32>], tasks: &mut Vec<(TaskId, u32)>) -> Option<TripState> {
    let mut trip = TripState::idle(index, layout.len());
    let mut order = Vec::new();
    for (spindle, nozzle) in layout.iter().enumerate() {
        let fits = |t: &(TaskId, u32)| nozzle.is_some_and(|n| p.nozzles[p.part_of(t.0)][mode].contains(&n));
        if let Some(i) = tasks.iter().position(fits) {
            let (task, supply) = tasks.remove(i);
            trip.cells[spindle] = Cell { task, supply };
            order.push((task, spindle as u8));
        }
    }
    order.sort_unstable();
    trip.in_spindle_order();
    trip.order = order.into_iter().map(|(_, spindle)| spindle).collect();
    (!trip.order.is_empty()).then_some(trip)
}
