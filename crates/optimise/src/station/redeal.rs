//! Deals nozzles anew when a head's work has changed so much that other nozzles on its spindles need fewer trips.

use super::construct::{Layouts, deal_pass, lay_out_head, nozzles_used, pairs_hold};
use super::state::{Cell, PassState, PassWork, StationState, TripState};
use super::timing::Timing;
use crate::problem::Problem;
use domain::job::TaskId;
use std::collections::BTreeSet;

/// Deals every head's nozzles anew where that spares trips; `spare` are nozzles of each kind the station may take
/// beyond what it holds. Tasks keep the order they have, so that what was brought together stays together.
pub fn redeal(p: &Problem<'_>, state: &mut StationState, spare: &[u32]) {
    let mut spare = spare.to_vec();
    let heads: BTreeSet<usize> = state.passes.iter().filter(|x| x.is_placing()).map(|x| x.head).collect();
    for head in heads {
        // All nozzles the station holds but those of other heads, and the spare ones.
        let mut others = state.clone();
        others.passes.retain(|x| x.head != head);
        let (all, theirs) = (nozzles_used(p.line, state), nozzles_used(p.line, &others));
        let mine: Vec<u32> = spare.iter().zip(all.iter().zip(&theirs)).map(|(s, (a, o))| s + a - o).collect();
        redeal_head(p, state, head, &mine);
        // What one head took is no longer there for the next.
        let now = nozzles_used(p.line, state);
        spare.iter_mut().zip(all.iter().zip(&now)).for_each(|(s, (before, now))| *s = (*s + before).saturating_sub(*now));
    }
}

fn redeal_head(p: &Problem<'_>, state: &mut StationState, head: usize, nozzles: &[u32]) {
    let is_mine = |x: &PassState| x.head == head && x.is_placing();
    let tasks: Vec<TaskId> = state.passes.iter().filter(|x| is_mine(x)).flat_map(|x| x.trips()).flat_map(TripState::tasks).collect();
    let now: usize = state.passes.iter().filter(|x| is_mine(x)).flat_map(|x| x.trips()).filter(|t| !t.order.is_empty()).count();
    let (layouts, refused) = lay_out_head(p, state.station, head, tasks, nozzles);
    // More layouts mean more changes at the rack, which trips spared would have to pay for.
    let held = state.passes.iter().filter(|x| is_mine(x)).map(|x| x.layouts.len()).max().unwrap_or(0);
    if !refused.is_empty() || layouts.len() > held {
        return;
    }
    let mut dealt: Vec<(usize, Vec<TripState>)> = Vec::new();
    for (k, pass) in state.passes.iter().enumerate().filter(|(_, x)| is_mine(x)) {
        let kept = in_present_order(p, state, pass, &layouts);
        let trips = if pairs_hold(p, &kept) {
            kept
        } else {
            deal_pass(p, state, head, &layouts, &pass.trips().iter().flat_map(TripState::tasks).collect())
        };
        dealt.push((k, trips));
    }
    if dealt.iter().map(|d| d.1.len()).sum::<usize>() >= now {
        return;
    }
    for (k, trips) in dealt {
        state.passes[k].layouts = layouts.iter().map(|l| l.1.clone()).collect();
        state.passes[k].work = PassWork::Trips(trips);
    }
}

/// A pass's tasks dealt to new layouts in the order they are done now.
fn in_present_order(p: &Problem<'_>, state: &StationState, pass: &PassState, layouts: &Layouts) -> Vec<TripState> {
    let timing = Timing::new(p, state.station);
    let cells: Vec<Cell> = pass.trips().iter().flat_map(|t| t.order.iter().map(|s| t.cells[usize::from(*s)])).collect();
    let mut dealt = Vec::new();
    for (l, (kinds, layout)) in layouts.iter().enumerate() {
        let mut trips: Vec<TripState> = Vec::new();
        for (kind, members) in kinds {
            let members: BTreeSet<TaskId> = members.iter().copied().collect();
            let spindles: Vec<usize> = (0..layout.len()).filter(|s| layout[*s] == Some(*kind)).collect();
            for (n, cell) in cells.iter().filter(|c| members.contains(&c.task)).enumerate() {
                let (trip, s) = (n / spindles.len(), n % spindles.len());
                if trip == trips.len() {
                    trips.push(TripState::idle(l as u32, layout.len()));
                }
                trips[trip].cells[spindles[s]] = *cell;
            }
        }
        dealt.extend(trips);
    }
    for trip in &mut dealt {
        trip.in_spindle_order();
        timing.sweep(pass.head, &state.setup, trip);
    }
    dealt
}
