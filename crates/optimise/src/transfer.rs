//! Moving work between stations (or heads of one station).

use crate::problem::Problem;
use crate::station::construct::{Given, Stock, add_supply, construct};
use crate::station::passes::may_alternate;
use crate::station::state::{Cell, PassWork, StationState, TripState};
use crate::station::timing::{Ready, Timing};
use domain::job::TaskId;
use motion::HeadState;
use std::collections::{BTreeMap, BTreeSet};

/// Trips a task is tried in, nearest on the board first.
const TRIED: usize = 6;

/// Takes tasks away from a station; supplies nobody needs any more go too, unless the engineer keeps them.
pub fn remove(p: &Problem<'_>, state: &mut StationState, tasks: &BTreeSet<TaskId>) {
    for pass in &mut state.passes {
        let PassWork::Trips(trips) = &mut pass.work else { continue };
        for trip in trips.iter_mut() {
            let gone = |s: &u8| tasks.contains(&trip.cells[usize::from(*s)].task);
            let going: Vec<u8> = trip.order.iter().copied().filter(gone).collect();
            going.into_iter().for_each(|s| trip.free(s));
        }
    }
    state.drop_idle();
    drop_unused(p, state);
    state.alternating = may_alternate(p, state);
}

/// Forgets supplies that nobody picks from and the engineer does not keep.
pub fn drop_unused(p: &Problem<'_>, state: &mut StationState) {
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
    let mut supplied: Vec<Cell> = Vec::new();
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
        supplied.push(Cell { task: *t, supply });
    }
    if !state.passes.iter().any(|x| x.head == head && x.stage == stage && x.is_placing()) {
        return rebuild_with(p, state, head, stage, tasks, stock);
    }
    // Tasks that come first go in first, so that those after them know where they are.
    let depth = crate::station::passes::depths(p, tasks);
    supplied.sort_by_key(|c| (depth.get(&c.task).copied().unwrap_or(0), c.task));
    for cell in supplied {
        if !insert_one(p, state, head, stage, cell) {
            return rebuild_with(p, state, head, stage, tasks, stock);
        }
    }
    state.alternating = may_alternate(p, state);
    true
}

/// A place in a program: pass, trip, position among the placements.
type Place = (usize, usize, usize);

/// Places a task may be put in by the pairs of the order rules: after one, before the other.
struct Between {
    after: Option<Place>,
    before: Option<Place>,
}

impl Between {
    fn new(p: &Problem<'_>, state: &StationState, task: TaskId) -> Self {
        let mut found = Self { after: None, before: None };
        if !p.order.is_paired(task) && !p.order.dots.contains_key(&task) && p.order.looks(task).is_empty() {
            return found;
        }
        for (k, pass) in state.passes.iter().enumerate() {
            match &pass.work {
                PassWork::Trips(trips) => {
                    for (i, trip) in trips.iter().enumerate() {
                        for (n, t) in trip.tasks().enumerate() {
                            if p.order.before(task).contains(&t) {
                                found.after = found.after.max(Some((k, i, n)));
                            }
                            if p.order.after(task).contains(&t) {
                                found.before = Some(found.before.map_or((k, i, n), |b| b.min((k, i, n))));
                            }
                        }
                    }
                }
                PassWork::Dots(tasks) if tasks.contains(&task) => found.after = found.after.max(Some((k, usize::MAX, 0))),
                PassWork::Views(_) if !p.order.looks(task).is_empty() => found.after = found.after.max(Some((k, usize::MAX, 0))),
                PassWork::Dots(_) | PassWork::Views(_) => {}
            }
        }
        found
    }

    /// Whether a task put in at this position, which moves what stands there back, keeps the pairs.
    fn holds(&self, at: Place) -> bool {
        self.after.is_none_or(|a| a < at) && self.before.is_none_or(|b| at <= b)
    }
}

/// Puts one task where it costs little: on an idle spindle of a near trip, or in a new trip.
fn insert_one(p: &Problem<'_>, state: &mut StationState, head: usize, stage: u8, cell: Cell) -> bool {
    let mode = p.cap.mode(state.station, head).expect("a placing head");
    let serves = &p.nozzles[p.part_of(cell.task)][mode];
    let between = Between::new(p, state, cell.task);
    let place = |t: TaskId| p.job.tasks[t.index()].at;
    let mut open: Vec<(i64, usize, usize, u8, usize)> = Vec::new();
    for (k, pass) in state.passes.iter().enumerate().filter(|(_, x)| x.head == head && x.stage == stage) {
        for (i, trip) in pass.trips().iter().enumerate() {
            let layout = &pass.layouts[trip.layout as usize];
            let idle = trip.cells.iter().zip(layout).position(|(c, n)| !c.busy() && n.is_some_and(|n| serves.contains(&n)));
            let Some(spindle) = idle else { continue };
            let far = |t: TaskId| {
                let d = place(t) - place(cell.task);
                d.x.0.abs().max(d.y.0.abs())
            };
            if let Some((far, n)) = trip.tasks().enumerate().map(|(n, t)| (far(t), n)).min() {
                open.push((far, k, i, spindle as u8, n));
            }
        }
    }
    open.sort_unstable();
    let timing = Timing::new(p, state.station);
    let mut ready = Ready::default();
    let mut best: Option<(i64, Place, u8)> = None;
    let mut tried = 0;
    for (_, k, i, spindle, beside) in open {
        if tried >= TRIED {
            break;
        }
        let from = stand_before(p, state, &timing, k, i);
        let mut trip = state.passes[k].trips()[i].clone();
        let before = timing.trip(head, &state.setup, &trip, from, &mut ready);
        let positions: Vec<usize> = if between.after.is_some() || between.before.is_some() {
            (0..=trip.order.len()).filter(|n| between.holds((k, i, *n))).collect()
        } else {
            vec![beside, beside + 1]
        };
        tried += usize::from(!positions.is_empty());
        for n in positions {
            trip.give(spindle, cell, n);
            let time = timing.trip(head, &state.setup, &trip, from, &mut ready) - before;
            trip.free(spindle);
            if best.is_none_or(|b| time < b.0) {
                best = Some((time, (k, i, n), spindle));
            }
        }
    }
    if let Some((_, (k, i, n), spindle)) = best {
        state.passes[k].trips_mut()[i].give(spindle, cell, n);
        timing.sweep(head, &state.setup, &mut state.passes[k].trips_mut()[i]);
        return true;
    }
    new_trip(state, head, stage, cell, serves, &between)
}

/// A new trip for one task: at the end of its layout's trips, or where pairs of the rules let it be.
fn new_trip(state: &mut StationState, head: usize, stage: u8, cell: Cell, serves: &[u32], between: &Between) -> bool {
    let passes = state.passes.iter_mut().enumerate().filter(|(_, x)| x.head == head && x.stage == stage && x.is_placing());
    for (k, pass) in passes {
        for l in 0..pass.layouts.len() {
            let layout = &pass.layouts[l];
            let Some(spindle) = layout.iter().position(|n| n.is_some_and(|n| serves.contains(&n))) else { continue };
            let spindles = layout.len();
            let trips = pass.trips_mut();
            // Trips of one layout stay together, or nozzles would be changed more often.
            let end = trips.iter().rposition(|t| t.layout == l as u32).map_or(trips.len(), |i| i + 1);
            let fits = |i: &usize| between.holds((k, *i, 0)) && between.after.is_none_or(|a| (a.0, a.1) < (k, *i));
            let spot = std::iter::once(end).chain(0..=trips.len()).find(fits);
            let Some(at) = spot else { continue };
            let mut trip = TripState::idle(l as u32, spindles);
            trip.give(spindle as u8, cell, 0);
            trips.insert(at, trip);
            return true;
        }
    }
    false
}

/// About where the head stands before a trip; the beginning of a pass is taken from the marks.
fn stand_before(p: &Problem<'_>, state: &StationState, timing: &Timing<'_>, k: usize, i: usize) -> HeadState {
    let trips = &state.passes[k].trips()[..i];
    match trips.iter().rev().find(|t| !t.order.is_empty()) {
        Some(t) => timing.end(state.passes[k].head, t),
        None => HeadState { at: p.job.fiducials.last().copied().unwrap_or_default(), drum: 0 },
    }
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
    // Feeders stay where they stood as far as they can.
    keep_slots(p, state, &mut fresh);
    // Areas are kept as they were: their views do not depend on the parts.
    keep_views(state, &mut fresh);
    fresh.alternating = may_alternate(p, &fresh);
    *state = fresh;
    true
}

/// Puts feeders of a new program where the old one had them, if all of them fit.
fn keep_slots(p: &Problem<'_>, old: &StationState, fresh: &mut StationState) {
    let mut stood: BTreeMap<usize, _> = BTreeMap::new();
    for s in 0..old.setup.supplies.len() as u32 {
        if let Some(slot) = old.setup.slot(s) {
            stood.insert(old.setup.supplies[s as usize].part.index(), (slot, old.setup.width(p.line, s as usize)));
        }
    }
    let feeders: Vec<u32> = (0..fresh.setup.supplies.len() as u32).filter(|s| fresh.setup.slot(*s).is_some()).collect();
    let back = |s: &u32| {
        let (slot, width) = stood.get(&fresh.setup.supplies[*s as usize].part.index())?;
        (fresh.setup.width(p.line, *s as usize) == *width).then_some((*s, *slot))
    };
    // A feeder that was not there before has been set up in the old state too, so its slot is known.
    let plan: Option<Vec<_>> = feeders.iter().map(back).collect();
    if let Some(plan) = plan.filter(|_| !fresh.setup.locked.contains(&true)) {
        fresh.setup.place_anew(p, &plan);
    }
}

/// Looks go where their stage begins, with whatever head is fitted then.
fn keep_views(old: &StationState, fresh: &mut StationState) {
    for pass in old.passes.iter().filter(|x| matches!(x.work, PassWork::Views(_))) {
        let at = fresh.passes.iter().position(|x| x.stage >= pass.stage).unwrap_or(fresh.passes.len());
        let mut views = pass.clone();
        if let Some(next) = fresh.passes.get(at) {
            views.head = next.head;
        }
        fresh.passes.insert(at, views);
    }
}

/// The work of a station as it was given (without areas).
pub fn given_of(state: &StationState) -> Given {
    let mut given = Given { lent: state.setup.lent, ..Given::default() };
    for pass in &state.passes {
        match &pass.work {
            PassWork::Trips(trips) => given.tasks.extend(trips.iter().flat_map(TripState::tasks).map(|t| (pass.head, pass.stage, t))),
            PassWork::Dots(tasks) => given.dots.extend(tasks.iter().map(|t| (pass.head, pass.stage, *t))),
            PassWork::Views(_) => {}
        }
    }
    given
}

/// Does away with trips that few parts ride in, where other trips of the pass have idle spindles.
pub fn dissolve(p: &Problem<'_>, state: &mut StationState) {
    for k in 0..state.passes.len() {
        while let Some(i) = thinnest(state, k) {
            let pass = state.passes[k].clone();
            let (head, stage) = (pass.head, pass.stage);
            let gone = state.passes[k].trips_mut().remove(i);
            let trips: usize = state.passes.iter().map(|x| x.trips().len()).sum();
            let fits = gone.order.iter().all(|s| insert_one(p, state, head, stage, gone.cells[usize::from(*s)]));
            let fewer = state.passes.iter().map(|x| x.trips().len()).sum::<usize>() == trips;
            if !fits || !fewer {
                // What insertion did elsewhere is rare and harmless; the pass itself is put back.
                restore(state, k, pass);
                break;
            }
        }
    }
}

/// Puts a pass back; its tasks are taken out wherever they went in the meantime.
fn restore(state: &mut StationState, k: usize, pass: crate::station::state::PassState) {
    let mine: BTreeSet<TaskId> = pass.trips().iter().flat_map(TripState::tasks).collect();
    for other in state.passes.iter_mut().enumerate().filter(|(j, x)| *j != k && x.is_placing()).map(|(_, x)| x) {
        for trip in other.trips_mut() {
            let back: Vec<u8> = trip.order.iter().copied().filter(|s| mine.contains(&trip.cells[usize::from(*s)].task)).collect();
            back.into_iter().for_each(|s| trip.free(s));
        }
        other.trips_mut().retain(|t| !t.order.is_empty());
    }
    state.passes[k] = pass;
}

fn thinnest(state: &StationState, pass: usize) -> Option<usize> {
    let trips = state.passes[pass].trips();
    let (i, t) = trips.iter().enumerate().min_by_key(|(_, t)| t.order.len())?;
    let idle = |o: &TripState| if o.layout == t.layout { o.cells.len() - o.order.len() } else { 0 };
    let room: usize = trips.iter().enumerate().filter(|(j, _)| *j != i).map(|(_, o)| idle(o)).sum();
    (trips.len() > 1 && room >= t.order.len()).then_some(i)
}
