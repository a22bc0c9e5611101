//! The slowest station is relieved where that gains more than the moves it needs cost.

use crate::kinds;
use crate::planner::{LineState, Run, mix};
use crate::problem::Problem;
use crate::search::polish::QUICK;
use crate::search::{Heat, Search};
use crate::station::StationState;
use crate::station::export::export;
use crate::station::setup::Slot;
use crate::transfer::{dissolve, remove};
use crate::warm::{Price, put_at};
use domain::job::TaskId;
use domain::plan::SupplyPlace;
use std::collections::BTreeMap;
use units::Time;

/// How often work is taken off the slowest station in one call.
const STEPS: u64 = 3;
/// Ways of doing so that are really tried.
const TRIED: usize = 4;
/// Single feeders tried at other slots in one call.
const SHIFTS: usize = 20;

/// Gives work of the slowest station to others and tries single feeders elsewhere; only what lowers the cost stays.
pub(super) fn relieve(run: &mut Run<'_>, state: &mut LineState, price: Time, seed: u64) {
    let mut rng = fastrand::Rng::with_seed(seed);
    for step in 0..STEPS {
        if run.share() >= 1.0 || !give_work(run, state, price, &mut rng, mix(seed, 7, step)) {
            break;
        }
    }
    for _ in 0..SHIFTS {
        if run.share() >= 1.0 {
            break;
        }
        shift_feeder(run, state, price, &mut rng);
    }
}

fn slowest(state: &LineState) -> usize {
    (0..state.stations.len()).max_by_key(|s| (state.stations[*s].time, std::cmp::Reverse(*s))).unwrap_or(0)
}

/// Some tasks of one part that leave the slowest station for a head elsewhere.
struct Leaving {
    tasks: Vec<TaskId>,
    station: usize,
    head: usize,
    /// Estimated cost afterwards [µs].
    estimate: i64,
}

fn give_work(run: &mut Run<'_>, state: &mut LineState, price: Time, rng: &mut fastrand::Rng, seed: u64) -> bool {
    let p = run.p;
    let from = slowest(state);
    let mut ways = ways(p, state, from, price, rng);
    ways.sort_by_key(|w| (w.estimate, w.station, w.head, w.tasks[0]));
    ways.truncate(TRIED);
    let before = state.cost(p, price);
    let mut best: Option<(Price, LineState)> = None;
    for (k, way) in ways.into_iter().enumerate() {
        let Some(tried) = carry_out(run, state, from, &way, mix(seed, 17, k as u64)) else { continue };
        let cost = tried.cost(p, price);
        if cost < best.as_ref().map_or(before, |b| b.0) {
            best = Some((cost, tried));
        }
    }
    let found = best.is_some();
    if let Some((_, better)) = best {
        *state = better;
    }
    found
}

/// All part types of the station, each with every head elsewhere that takes it.
fn ways(p: &Problem<'_>, state: &LineState, from: usize, price: Time, rng: &mut fastrand::Rng) -> Vec<Leaving> {
    let here = &state.stations[from];
    let mut groups: BTreeMap<usize, Vec<TaskId>> = BTreeMap::new();
    for (_, t) in here.tasks() {
        groups.entry(p.part_of(t)).or_default().push(t);
    }
    let trips: i64 = here.passes.iter().flat_map(|x| x.trips()).map(|t| t.time.0).sum();
    let each = trips / (here.placed().max(1) as i64);
    let rest = state.stations.iter().enumerate().filter(|(s, _)| *s != from).map(|(_, s)| s.time.0).max().unwrap_or(0);
    let mut found = Vec::new();
    for (part, tasks) in groups {
        for (_, mode) in p.cap.modes.iter().enumerate().filter(|(m, mode)| p.cap.can(part, *m) && mode.station != from) {
            let there = &state.stations[mode.station];
            // All of them, or as many as make the two stations even.
            let even = ((here.time - there.time).0 / (2 * each.max(1))).clamp(1, tasks.len() as i64) as usize;
            let n = if rng.bool() { tasks.len() } else { even };
            let supplied = there.setup.of_part(part).next().is_some() || there.setup.standing(p, part, &p.feeder_stock()).is_some();
            let comes_back = n == tasks.len() && here.setup.of_part(part).any(|s| !p.stands(from, &here.setup.supplies[s as usize]));
            let moves = i64::from(!supplied) - i64::from(comes_back);
            let slower = (here.time.0 - each * n as i64).max(there.time.0 + each * n as i64).max(rest);
            let estimate = slower + price.0 * moves;
            if estimate < here.time.0 {
                found.push(Leaving { tasks: tasks[..n].to_vec(), station: mode.station, head: mode.head, estimate });
            }
        }
    }
    found
}

fn carry_out(run: &mut Run<'_>, state: &LineState, from: usize, way: &Leaving, seed: u64) -> Option<LineState> {
    let p = run.p;
    let mut tried = state.clone();
    remove(p, &mut tried.stations[from], &way.tasks.iter().copied().collect());
    let there = put_at(p, &tried, way.station, way.head, &way.tasks)?;
    tried.stations[way.station] = there;
    for (s, salt) in [(from, 1), (way.station, 2)] {
        let station = std::mem::replace(&mut tried.stations[s], state.stations[s].clone());
        tried.stations[s] = settle(run, station, mix(seed, salt, s as u64));
    }
    kinds::time(p, &mut tried.stations);
    Some(tried)
}

/// A short, cool search after work has changed.
fn settle(run: &mut Run<'_>, mut station: StationState, seed: u64) -> StationState {
    let heat = Heat { from: 4_000.0, to: 300.0 };
    let tries = (station.placed() as u32 * 20).clamp(1_000, 15_000);
    run.work += u64::from(tries);
    station.setup.hold_standing(run.p);
    if kinds::is_turret(run.p, station.station) {
        return kinds::search(run.p, station, tries, heat, seed);
    }
    dissolve(run.p, &mut station);
    let mut search = Search::new(run.p, station, seed);
    search.anneal(tries, heat);
    search.finish(QUICK)
}

/// Tries one feeder of the slowest station at another slot, or in exchange with another feeder.
fn shift_feeder(run: &mut Run<'_>, state: &mut LineState, price: Time, rng: &mut fastrand::Rng) {
    let p = run.p;
    let s = slowest(state);
    let before = state.cost(p, price);
    let Some(mut station) = shifted(p, &state.stations[s], rng) else { return };
    run.work += station.placed() as u64;
    station.time = export(p, &station).time_us;
    let old = std::mem::replace(&mut state.stations[s], station);
    kinds::time(p, &mut state.stations);
    if state.cost(p, price) < before {
        state.stations[s].setup.hold_standing(p);
    } else {
        state.stations[s] = old;
        kinds::time(p, &mut state.stations);
    }
}

fn shifted(p: &Problem<'_>, station: &StationState, rng: &mut fastrand::Rng) -> Option<StationState> {
    let setup = &station.setup;
    let movable: Vec<u32> =
        (0..setup.supplies.len()).filter(|i| setup.is_free_to_move(p, *i) && setup.width(p.line, *i) > 0).map(|i| i as u32).collect();
    if movable.is_empty() {
        return None;
    }
    let a = movable[rng.usize(..movable.len())];
    let width = setup.width(p.line, a as usize);
    let mut new = station.clone();
    if rng.bool() {
        let b = movable[rng.usize(..movable.len())];
        if a == b || setup.width(p.line, b as usize) != width {
            return None;
        }
        new.setup.exchange(p, a, b);
    } else {
        let free = setup.free(width);
        if free.is_empty() {
            return None;
        }
        // A slot that stands free, or the one where it stood.
        let home = p.standing.get(station.station).into_iter().flatten().find(|x| x.part == setup.supplies[a as usize].part);
        let home = home.and_then(|x| match x.place {
            SupplyPlace::Feeder { bank, slot, .. } => Some(Slot { bank: bank as usize, slot }),
            SupplyPlace::Tray { .. } => None,
        });
        let to = home.filter(|h| free.contains(h) && rng.bool()).unwrap_or_else(|| free[rng.usize(..free.len())]);
        new.setup.place_anew(p, &[(a, to)]);
    }
    Some(new)
}
