//! Stations of other kinds than gantry, planned by the same planner.
//!
//! For planning, gantry stations stand in for them ([`stand_in`]): each beam of two is a station of its own, and a
//! turret is one whose head takes a beat for a part, in the order of its trips. So balance, set-up and moves of
//! work know gantries only. What is their own: two beams are timed together, played out ([`beams`]); a turret
//! is timed and searched beat by beat ([`turret`], [`sequence`], [`slots`]). [`stations`] makes the programs of the sheet.

mod apart;
mod beams;
mod sequence;
mod slots;
mod stand_in;
mod turret;

pub(crate) use apart::apart;
pub(crate) use stand_in::{Origin, StandIns};
pub(crate) use turret::search;

use crate::problem::Problem;
use crate::station::StationState;
use crate::station::export::export;
use domain::job::TaskId;
use domain::plan::{StationPlan, SupplyAt};
use units::Time;

/// The times of all states that do not stand for themselves, on the clock of the sheet.
pub(crate) fn time(p: &Problem<'_>, states: &mut [StationState]) {
    let Some(s) = p.stand_ins else { return };
    // The second beam is timed with the first.
    (0..states.len()).filter(|k| s.partner(*k).is_none_or(|other| *k < other)).for_each(|k| time_one(p, states, k));
}

/// The time of one state, and of the other beam's, if it does not stand for itself.
pub(crate) fn time_one(p: &Problem<'_>, states: &mut [StationState], k: usize) {
    let Some(s) = p.stand_ins else { return };
    match (&s.places[k].origin, s.partner(k)) {
        (Origin::Turret, _) => states[k].time = turret::program(p, s, &states[k]).time_us,
        (Origin::Beam { .. }, Some(other)) => {
            let first = k.min(other);
            let [a, b] = beams::times(p, s, first, [&states[first], &states[first + 1]]);
            (states[first].time, states[first + 1].time) = (a, b);
        }
        _ => {}
    }
}

/// The longest time of stations that change, with what shares a board with them.
pub(crate) fn longest(p: &Problem<'_>, states: &[StationState], changed: &[(usize, StationState)]) -> Time {
    let own = |k: usize| changed.iter().find(|c| c.0 == k).map_or(&states[k], |c| &c.1);
    let of = |k: usize| match p.stand_ins.and_then(|s| Some((s, s.partner(k)?))) {
        None => own(k).time,
        Some((s, other)) => {
            let first = k.min(other);
            let [a, b] = beams::times(p, s, first, [own(first), own(first + 1)]);
            a.max(b)
        }
    };
    changed.iter().map(|c| of(c.0)).max().unwrap_or(Time::ZERO)
}

/// Times of the stations of the sheet from those of the states.
pub(crate) fn of_sheet(p: &Problem<'_>, times: &[Time]) -> Vec<Time> {
    let Some(s) = p.stand_ins.filter(|_| !times.is_empty()) else { return times.to_vec() };
    let mut all = vec![Time::ZERO; s.real.station.len()];
    for (place, t) in s.places.iter().zip(times) {
        all[place.station] = all[place.station].max(*t);
    }
    all
}

/// The programs of the stations of the sheet, timed. By hand they are left as they are.
pub(crate) fn stations(p: &Problem<'_>, states: &[StationState], by_hand: bool) -> Vec<StationPlan> {
    let Some(s) = p.stand_ins else { return states.iter().map(|state| export(p, state)).collect() };
    let mut all: Vec<StationPlan> = Vec::new();
    for (k, state) in states.iter().enumerate() {
        match &s.places[k].origin {
            Origin::Gantry => all.push(export(p, state)),
            Origin::Turret => all.push(turret::program(p, s, state)),
            Origin::Beam { .. } if s.partner(k) == Some(k + 1) => all.push(beams::program(p, s, k, [state, &states[k + 1]], by_hand)),
            // The second beam is told with the first.
            Origin::Beam { .. } => {}
        }
    }
    all
}

/// Supplies of the stations of the sheet from those of the problem's.
pub(crate) fn supplies(p: &Problem<'_>, all: Vec<Vec<SupplyAt>>) -> Vec<Vec<SupplyAt>> {
    let Some(s) = p.stand_ins else { return all };
    let mut joined = vec![Vec::new(); s.real.station.len()];
    for (place, own) in s.places.iter().zip(all) {
        joined[place.station].extend(own.into_iter().map(|x| SupplyAt { place: place.real_place(&x.place), ..x }));
    }
    joined
}

/// Whether a station of the problem stands in for a turret.
pub(crate) fn is_turret(p: &Problem<'_>, station: usize) -> bool {
    p.stand_ins.is_some_and(|s| s.places[station].origin == Origin::Turret)
}

/// Whether the order rules part all work of the line where this task is: it keeps its place among the others of that sort.
fn is_staged(p: &Problem<'_>, task: TaskId) -> bool {
    let stages = p.order.tasks[task.index()];
    stages.from > 0 || stages.to + 1 < p.order.stages
}
