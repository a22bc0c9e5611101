//! Two beams: each searched by itself, both played out together.

use super::is_staged;
use super::stand_in::{Origin, StandIn, StandIns};
use crate::problem::Problem;
use crate::station::StationState;
use crate::station::export::export;
use domain::job::TaskId;
use domain::plan::{Pass, StationPlan, SupplyAt, Trip, Work};
use motion::Played;
use std::collections::BTreeMap;
use units::Time;

/// Exchanges of trips tried on the played-out clock, for each trip of the station and at most.
const TRIES: (usize, usize) = (20, 2_000);

/// When each beam has done its work; `first` is the stand-in of beam 1.
pub(super) fn times(p: &Problem<'_>, s: &StandIns<'_>, first: usize, states: [&StationState; 2]) -> [Time; 2] {
    let plan = joined(p, s, first, states);
    played(s, s.places[first].station, &plan).ends
}

/// Both beams' programs in one, timed.
pub(super) fn program(p: &Problem<'_>, s: &StandIns<'_>, first: usize, states: [&StationState; 2], by_hand: bool) -> StationPlan {
    let station = s.places[first].station;
    let mut plan = joined(p, s, first, states);
    if !by_hand {
        exchange_trips(p, s, station, &mut plan);
    }
    plan.breakdown = played(s, station, &plan).breakdown;
    plan.time_us = plan.breakdown.total();
    plan
}

fn played(s: &StandIns<'_>, station: usize, plan: &StationPlan) -> Played {
    s.clock.two_beams(station, plan).expect("the planner refers only to what exists, and beam 1 waits for nobody")
}

fn joined(p: &Problem<'_>, s: &StandIns<'_>, first: usize, states: [&StationState; 2]) -> StationPlan {
    let plans = states.map(|state| export(p, state));
    let mut plan = StationPlan { supplies: Vec::new(), passes: Vec::new(), alternating: false, ..plans[0].clone() };
    append(&mut plan, &s.places[first], &plans[0]);
    let second = plan.passes.len();
    append(&mut plan, &s.places[first + 1], &plans[1]);
    come_after(p, &mut plan, second);
    plan
}

/// Adds a stand-in's supplies and passes.
fn append(plan: &mut StationPlan, place: &StandIn, own: &StationPlan) {
    let Origin::Beam { head, .. } = &place.origin else { return };
    let offset = plan.supplies.len() as u32;
    plan.supplies.extend(own.supplies.iter().map(|x| SupplyAt { part: x.part, place: place.real_place(&x.place) }));
    for pass in &own.passes {
        let mut work = pass.work.clone();
        if let Work::Place { trips, .. } = &mut work {
            trips.iter_mut().flat_map(|t| &mut t.strokes).flat_map(|x| &mut x.0).for_each(|pick| pick.supply += offset);
        }
        plan.passes.push(Pass { head: *head, work });
    }
}

fn trips(passes: &[Pass]) -> impl Iterator<Item = &Trip> {
    passes.iter().flat_map(|p| if let Work::Place { trips, .. } = &p.work { trips.as_slice() } else { &[] })
}

/// Whether an order rule may say something about a trip and others.
fn is_concerned(p: &Problem<'_>, t: &Trip) -> bool {
    t.places.iter().any(|x| is_staged(p, x.task) || p.order.is_paired(x.task))
}

/// What comes first by an order rule is done by beam 1: the stand-ins stand in this order. Trips of beam 2, from
/// pass `second` on, come after those of beam 1 that hold what precedes them.
fn come_after(p: &Problem<'_>, plan: &mut StationPlan, second: usize) {
    let (one, two) = plan.passes.split_at_mut(second);
    // Number of trips up to the one that holds a task of a pair; and to the last one that stages concern.
    let mut done: BTreeMap<TaskId, u32> = BTreeMap::new();
    let mut staged = 0;
    for (n, trip) in (1..).zip(trips(one)) {
        for x in &trip.places {
            if is_staged(p, x.task) {
                staged = n;
            }
            if p.order.is_paired(x.task) {
                done.insert(x.task, n);
            }
        }
    }
    for pass in two {
        let Work::Place { trips, .. } = &mut pass.work else { continue };
        for trip in trips {
            let after = trip.places.iter().map(|x| {
                let pairs = p.order.before(x.task).iter().filter_map(|b| done.get(b)).copied().max().unwrap_or(0);
                pairs.max(if is_staged(p, x.task) { staged } else { 0 })
            });
            trip.after = after.max().unwrap_or(0);
        }
    }
}

/// Exchanges trips of one pass as long as the station is done no later: whose picking falls into whose placing.
fn exchange_trips(p: &Problem<'_>, s: &StandIns<'_>, station: usize, plan: &mut StationPlan) {
    let mut rng = fastrand::Rng::with_seed(station as u64);
    let mut best = played(s, station, plan).breakdown.total();
    let tries = (TRIES.0 * trips(&plan.passes).count()).min(TRIES.1);
    for _ in 0..tries {
        let pass = rng.usize(..plan.passes.len().max(1));
        let Some(Work::Place { trips, .. }) = plan.passes.get_mut(pass).map(|x| &mut x.work) else { continue };
        if trips.len() < 2 {
            continue;
        }
        let (a, b) = (rng.usize(..trips.len()), rng.usize(..trips.len()));
        if a == b || trips[a].layout != trips[b].layout || is_concerned(p, &trips[a]) || is_concerned(p, &trips[b]) {
            continue;
        }
        trips.swap(a, b);
        let now = played(s, station, plan).breakdown.total();
        if now <= best {
            best = now;
        } else if let Work::Place { trips, .. } = &mut plan.passes[pass].work {
            trips.swap(a, b);
        }
    }
}
