//! Tasks without a place are put where they cost least.

use crate::even::{Stands, stage_for};
use crate::kinds;
use crate::order::Stages;
use crate::planner::LineState;
use crate::problem::Problem;
use crate::station::StationState;
use crate::station::construct::{Stock, add_supply};
use crate::station::export::export;
use crate::transfer::insert;
use diag::codes;
use domain::job::TaskId;
use motion::line_time;
use std::collections::{BTreeMap, BTreeSet};
use units::Time;

/// What a plan costs when feeders have to be moved for it: fewer unplaced first, then takt plus the price of
/// the moves, then the sum of all times.
pub(crate) type Price = (usize, Time, Time);

/// Tasks of one part are put down in at most this many portions, which may go to different stations.
const PORTIONS: usize = 4;
/// Stations and heads really tried for each portion.
const TRIED: usize = 6;

impl LineState {
    /// What the state costs at `price` for each supply that does not stand where it stood.
    pub(crate) fn cost(&self, p: &Problem<'_>, price: Time) -> Price {
        let (unplaced, takt, sum) = self.key(p);
        (unplaced, takt + price * self.moved(p) as i64, sum)
    }

    /// Supplies that do not stand where they stood.
    pub(crate) fn moved(&self, p: &Problem<'_>) -> usize {
        self.stations.iter().map(|s| s.setup.moved(p)).sum()
    }

    /// What the other stations leave in stock.
    pub(crate) fn stock_but(&self, p: &Problem<'_>, but: &[usize]) -> Stock {
        let mut stock = Stock::full(p);
        for (s, other) in self.stations.iter().enumerate() {
            if !but.contains(&s) {
                stock.take(p.line, other);
            }
        }
        stock
    }
}

/// Puts every task that is planned, not placed and not known to be left out somewhere, portions of a part together, the largest first.
pub(super) fn insert_homeless(p: &Problem<'_>, state: &mut LineState, price: Time) {
    let mut placed: BTreeSet<TaskId> = state.stations.iter().flat_map(|s| s.tasks().map(|(_, t)| t)).collect();
    placed.extend(state.unplaced.iter().map(|u| u.task));
    let mut groups: BTreeMap<(usize, Stages), Vec<TaskId>> = BTreeMap::new();
    for t in p.tasks.iter().filter(|t| !placed.contains(t)) {
        groups.entry((p.part_of(*t), p.order.tasks[t.index()])).or_default().push(*t);
    }
    let mut groups: Vec<Vec<TaskId>> = groups.into_values().collect();
    // What few heads take goes first, then what is many.
    let able = |g: &Vec<TaskId>| (0..p.cap.modes.len()).filter(|m| p.cap.can(p.part_of(g[0]), *m)).count();
    groups.sort_by_key(|g| (able(g), std::cmp::Reverse(g.len()), g[0]));
    for group in groups {
        let portion = group.len().div_ceil(PORTIONS).max(1);
        for tasks in group.chunks(portion) {
            if put(p, state, tasks, price) {
                continue;
            }
            // What keeps one of them out need not keep out the others.
            for t in tasks.chunks(1) {
                let is_put = put(p, state, t, price) || borrow(p, state, t[0]) && put(p, state, t, price);
                if !is_put {
                    give_up(p, state, t);
                }
            }
        }
    }
    kinds::time(p, &mut state.stations);
}

/// Beams that take the task get what the other beam of their closed station was allowed to add and has not; whether any did.
fn borrow(p: &Problem<'_>, state: &mut LineState, task: TaskId) -> bool {
    let mut any = false;
    for mode in p.cap.modes.iter().enumerate().filter(|(m, _)| p.cap.can(p.part_of(task), *m)).map(|(_, mode)| mode) {
        if let Some(other) = p.stand_ins.and_then(|s| s.partner(mode.station)) {
            let spare = state.stations[other].setup.give_allowance(p);
            state.stations[mode.station].setup.lent += spare;
            any |= spare > 0;
        }
    }
    any
}

/// Puts tasks of one part at the head where the plan costs least; whether there was room.
fn put(p: &Problem<'_>, state: &mut LineState, tasks: &[TaskId], price: Time) -> bool {
    let part = p.part_of(tasks[0]);
    let mut modes: Vec<usize> = (0..p.cap.modes.len()).filter(|m| p.cap.can(part, *m)).collect();
    let supplied = |s: usize| {
        let setup = &state.stations[s].setup;
        setup.of_part(part).next().is_some() || p.standing.get(s).is_some_and(|all| all.iter().any(|x| x.part.index() == part))
    };
    modes.sort_by_key(|m| (!supplied(p.cap.modes[*m].station), state.stations[p.cap.modes[*m].station].time, *m));
    let mut best: Option<(Time, Time, usize, StationState)> = None;
    let mut tried = 0;
    for m in modes {
        // Once something is found, only the most promising others are tried too.
        if tried >= TRIED && best.is_some() {
            break;
        }
        let mode = p.cap.modes[m];
        let Some(tried_state) = put_at(p, state, mode.station, mode.head, tasks) else { continue };
        tried += 1;
        let mut times: Vec<Time> = state.stations.iter().map(|s| s.time).collect();
        times[mode.station] = tried_state.time;
        let moved = tried_state.setup.moved(p) as i64 - state.stations[mode.station].setup.moved(p) as i64;
        let cost = line_time(p.sheet(), &kinds::of_sheet(p, &times)).takt + price * moved;
        let added = tried_state.time - state.stations[mode.station].time;
        if best.as_ref().is_none_or(|b| (cost, added) < (b.0, b.1)) {
            best = Some((cost, added, mode.station, tried_state));
        }
    }
    let Some((_, _, s, new)) = best else { return false };
    state.stations[s] = new;
    true
}

/// A station with more tasks, timed; `None` where there is no room.
pub(crate) fn put_at(p: &Problem<'_>, state: &LineState, s: usize, head: usize, tasks: &[TaskId]) -> Option<StationState> {
    let stands = Stands::new(p, state);
    if !tasks.iter().all(|t| stands.may(p, *t, s, &|o| tasks.contains(&o))) {
        return None;
    }
    let mut new = state.stations[s].clone();
    let stage = stage_for(p, &new, state.ranges[s], head, tasks)?;
    let stock = state.stock_but(p, &[s]);
    if !insert(p, &mut new, head, stage, tasks, &stock) {
        return None;
    }
    new.time = export(p, &new).time_us;
    Some(new)
}

/// Lists tasks as unplaced with the reason that their stations give.
fn give_up(p: &Problem<'_>, state: &mut LineState, tasks: &[TaskId]) {
    let part = p.part_of(tasks[0]);
    let number = &p.job.product.parts[part].number;
    let stands = Stands::new(p, state);
    let (mut full, mut has_room, mut has_room_out_of_order) = (None, false, false);
    for mode in p.cap.modes.iter().enumerate().filter(|(m, _)| p.cap.can(part, *m)).map(|(_, mode)| mode) {
        let station = &state.stations[mode.station];
        let in_order = stage_for(p, station, state.ranges[mode.station], mode.head, tasks).is_some()
            && tasks.iter().all(|t| stands.may(p, *t, mode.station, &|o| tasks.contains(&o)));
        let mut left = state.stock_but(p, &[]).feeders;
        match add_supply(p, &mut station.setup.clone(), mode.station, part, &mut left) {
            Err(why) if in_order => full = Some(why),
            Err(_) => {}
            Ok(_) if in_order => has_room = true,
            Ok(_) => has_room_out_of_order = true,
        }
    }
    let (code, text) = match full {
        _ if has_room => (codes::plan::NO_STOCK, format!("no nozzle for `{number}` is left in stock")),
        Some(why) if !has_room_out_of_order => why,
        _ => (codes::plan::ORDER_NO_HEAD, format!("no station that takes `{number}` comes at the right point of the order")),
    };
    state.unplaced.extend(tasks.iter().map(|t| p.unplaced_task(*t, code, text.clone())));
}
