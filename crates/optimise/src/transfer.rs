//! Moving work between stations (or heads of one station).

use crate::problem::Problem;
use crate::station::construct::{Given, Stock, add_supply, construct, may_alternate};
use crate::station::state::{Cell, PassWork, StationState, TripState};
use crate::station::timing::{Timer, before_trip};
use domain::job::TaskId;
use std::collections::BTreeSet;
use units::Time;

/// Takes tasks away from a station; supplies nobody needs any more go too, unless kept by a lock.
pub fn remove(p: &Problem<'_>, state: &mut StationState, tasks: &BTreeSet<TaskId>) {
    for pass in &mut state.passes {
        let PassWork::Trips(trips) = &mut pass.work else { continue };
        for trip in trips.iter_mut() {
            let cells = &mut trip.cells;
            trip.order.retain(|s| {
                let gone = tasks.contains(&cells[usize::from(*s)].task);
                if gone {
                    cells[usize::from(*s)] = Cell::IDLE;
                }
                !gone
            });
        }
        trips.retain(|t| !t.order.is_empty());
    }
    state.passes.retain(|pass| !matches!(&pass.work, PassWork::Trips(t) if t.is_empty()));
    drop_unused(p, state);
    state.alternating = may_alternate(p, state);
}

fn drop_unused(p: &Problem<'_>, state: &mut StationState) {
    let mut used = vec![false; state.setup.supplies.len()];
    for c in state.passes.iter().flat_map(|x| x.trips()).flat_map(|t| &t.cells).filter(|c| c.busy()) {
        used[c.supply as usize] = true;
    }
    if used.iter().all(|u| *u) {
        return;
    }
    let index = state.setup.drop_unused(p, &used);
    for pass in &mut state.passes {
        if let PassWork::Trips(trips) = &mut pass.work {
            for c in trips.iter_mut().flat_map(|t| &mut t.cells).filter(|c| c.busy()) {
                c.supply = index[c.supply as usize].expect("a busy cell uses its supply");
            }
        }
    }
}

/// Gives tasks to a head of a station, in a stage. `stock` is what the rest of the line leaves.
///
/// Returns `false`, with the state spoilt, when there is no room for a supply or no nozzle.
pub fn insert(p: &Problem<'_>, state: &mut StationState, head: usize, stage: u8, tasks: &[TaskId], stock: &Stock) -> bool {
    let used = state.setup.feeders_used(p.line);
    let mut left: Vec<u32> = stock.feeders.iter().zip(&used).map(|(a, b)| a.saturating_sub(*b)).collect();
    let mut supplied: Vec<(TaskId, u32)> = Vec::new();
    for t in tasks {
        let part = p.part_of(*t);
        let found = state.setup.of_part(part).next();
        let supply = match found {
            Some(s) => s,
            None => match add_supply(p, &mut state.setup, state.station, part, &mut left) {
                Ok(s) => s,
                Err(_) => return false,
            },
        };
        supplied.push((*t, supply));
    }
    if !state.passes.iter().any(|x| x.head == head && x.stage == stage && matches!(x.work, PassWork::Trips(_))) {
        return rebuild_with(p, state, head, stage, tasks, stock);
    }
    let mut timer = Timer::new(state.setup.supplies.len(), p.line.station[state.station].tray.len());
    for (t, supply) in supplied {
        if !insert_one(p, state, &mut timer, head, stage, Cell { task: t, supply }) {
            return rebuild_with(p, state, head, stage, tasks, stock);
        }
    }
    state.alternating = may_alternate(p, state);
    true
}

/// Puts one task where it costs least: on an idle spindle of a trip, or in a new trip.
fn insert_one(p: &Problem<'_>, state: &mut StationState, timer: &mut Timer, head: usize, stage: u8, cell: Cell) -> bool {
    let mode = p.cap.mode(state.station, head).expect("a placing head");
    let serves = &p.nozzles[p.part_of(cell.task)][mode];
    let mut best: Option<(Time, usize, usize, u8, u8)> = None;
    for k in 0..state.passes.len() {
        if state.passes[k].head != head || state.passes[k].stage != stage {
            continue;
        }
        for i in 0..state.passes[k].trips().len() {
            let trip = &state.passes[k].trips()[i];
            let layout = &state.passes[k].layouts[trip.layout as usize];
            let idle = trip.cells.iter().zip(layout).position(|(c, n)| !c.busy() && n.is_some_and(|n| serves.contains(&n)));
            let Some(spindle) = idle else { continue };
            let (time, position) = try_at(p, state, timer, (k, i), spindle as u8, cell);
            if best.is_none_or(|b| time < b.0) {
                best = Some((time, k, i, spindle as u8, position));
            }
        }
    }
    if let Some((_, k, i, spindle, position)) = best {
        let trip = &mut state.passes[k].trips_mut()[i];
        trip.cells[usize::from(spindle)] = cell;
        trip.order.insert(usize::from(position), spindle);
        return true;
    }
    for pass in state.passes.iter_mut().filter(|x| x.head == head && x.stage == stage && matches!(x.work, PassWork::Trips(_))) {
        for (l, layout) in pass.layouts.iter().enumerate() {
            if let Some(spindle) = layout.iter().position(|n| n.is_some_and(|n| serves.contains(&n))) {
                let mut cells = vec![Cell::IDLE; layout.len()];
                cells[spindle] = cell;
                let trip = TripState { layout: l as u32, cells, order: vec![spindle as u8], sweep: 0, time: Time::ZERO };
                // Trips of one layout stay together, or nozzles would be changed more often.
                let at = pass.trips().iter().rposition(|t| t.layout == l as u32).map_or(pass.trips().len(), |i| i + 1);
                pass.trips_mut().insert(at, trip);
                return true;
            }
        }
    }
    false
}

/// What a trip takes longer with one more task, placed beside its nearest companion.
fn try_at(p: &Problem<'_>, state: &mut StationState, timer: &mut Timer, (k, i): (usize, usize), spindle: u8, cell: Cell) -> (Time, u8) {
    let from = before_trip(p, state, k, i);
    let place = |t: TaskId| p.job.tasks[t.index()].at;
    let trip = &state.passes[k].trips()[i];
    let far = |s: &u8| {
        let d = place(trip.cells[usize::from(*s)].task) - place(cell.task);
        d.x.0.abs().max(d.y.0.abs())
    };
    let beside = (0..trip.order.len()).min_by_key(|n| far(&trip.order[*n])).unwrap_or(0);
    let before = timer.trip(p, state, &state.passes[k], i, from);
    let mut best = (Time(i64::MAX), 0);
    for position in [beside, beside + 1] {
        let trip = &mut state.passes[k].trips_mut()[i];
        trip.cells[usize::from(spindle)] = cell;
        trip.order.insert(position, spindle);
        let time = timer.trip(p, state, &state.passes[k], i, from) - before;
        let trip = &mut state.passes[k].trips_mut()[i];
        trip.order.remove(position);
        trip.cells[usize::from(spindle)] = Cell::IDLE;
        if time < best.0 {
            best = (time, position as u8);
        }
    }
    best
}

/// Builds the station's program anew with more tasks, for a head or nozzle it did not use before.
fn rebuild_with(p: &Problem<'_>, state: &mut StationState, head: usize, stage: u8, tasks: &[TaskId], stock: &Stock) -> bool {
    let mut given = given_of(state);
    let there: BTreeSet<TaskId> = given.tasks.iter().map(|t| t.2).collect();
    given.tasks.extend(tasks.iter().filter(|t| !there.contains(t)).map(|t| (head, stage, *t)));
    for t in &mut given.tasks {
        if tasks.contains(&t.2) {
            (t.0, t.1) = (head, stage);
        }
    }
    let (mut fresh, refused) = construct(p, state.station, &given, stock);
    if !refused.is_empty() {
        return false;
    }
    // Areas are kept as they were: their views do not depend on the parts.
    keep_views(state, &mut fresh);
    fresh.alternating = may_alternate(p, &fresh);
    *state = fresh;
    true
}

fn keep_views(old: &StationState, fresh: &mut StationState) {
    for (i, pass) in old.passes.iter().enumerate() {
        if matches!(pass.work, PassWork::Views(_)) {
            let at =
                fresh.passes.iter().position(|x| x.stage > pass.stage || (x.stage == pass.stage && i == 0)).unwrap_or(fresh.passes.len());
            fresh.passes.insert(at, pass.clone());
        }
    }
}

/// The work of a station as it was given (without areas).
pub fn given_of(state: &StationState) -> Given {
    let mut given = Given::default();
    for pass in &state.passes {
        match &pass.work {
            PassWork::Trips(trips) => {
                let tasks = trips.iter().flat_map(|t| t.order.iter().map(|s| t.cells[usize::from(*s)].task));
                given.tasks.extend(tasks.map(|t| (pass.head, pass.stage, t)));
            }
            PassWork::Dots(tasks) => given.dots.extend(tasks.iter().map(|t| (pass.head, pass.stage, *t))),
            PassWork::Views(_) => {}
        }
    }
    given
}

/// Does away with trips that few parts ride in, where other trips of the pass have idle spindles.
pub fn dissolve(p: &Problem<'_>, state: &mut StationState) {
    let mut timer = Timer::new(state.setup.supplies.len(), p.line.station[state.station].tray.len());
    for k in 0..state.passes.len() {
        while let Some(i) = thinnest(state, k) {
            let mut tried = state.clone();
            let (head, stage) = (tried.passes[k].head, tried.passes[k].stage);
            let gone = tried.passes[k].trips_mut().remove(i);
            let trips = tried.passes[k].trips().len();
            let fits = gone.order.iter().all(|s| insert_one(p, &mut tried, &mut timer, head, stage, gone.cells[usize::from(*s)]));
            let fewer = tried.passes[k].trips().len() == trips;
            if !fits || !fewer {
                break;
            }
            *state = tried;
        }
    }
}

fn thinnest(state: &StationState, pass: usize) -> Option<usize> {
    let trips = state.passes[pass].trips();
    let (i, t) = trips.iter().enumerate().min_by_key(|(_, t)| t.order.len())?;
    let idle = |o: &TripState| if o.layout == t.layout { o.cells.len() - o.order.len() } else { 0 };
    let room: usize = trips.iter().enumerate().filter(|(j, _)| *j != i).map(|(_, o)| idle(o)).sum();
    (trips.len() > 1 && room >= t.order.len()).then_some(i)
}
