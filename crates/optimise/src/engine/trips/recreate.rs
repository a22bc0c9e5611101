//! Puts absent stops back where they cost least.

use super::state::State;

/// How often a place is overlooked, so that the same stops do not always come back to the same places.
const BLINK: f64 = 0.01;

/// Puts every absent stop into a trip, as far as capacity and the number of trips allow.
pub fn recreate(state: &mut State<'_>, rng: &mut fastrand::Rng) {
    let mut waiting = std::mem::take(&mut state.absent);
    rng.shuffle(&mut waiting);
    let visits = state.visits;
    // At random, heavy ones first, far ones first, near ones first: weights 4, 4, 2, 1.
    match rng.u32(..11) {
        0..4 => {}
        4..8 => waiting.sort_by_key(|s| std::cmp::Reverse(visits.weight[*s as usize])),
        8..10 => waiting.sort_by_key(|s| std::cmp::Reverse(visits.ways.way(0, *s as usize))),
        _ => waiting.sort_by_key(|s| visits.ways.way(0, *s as usize)),
    }
    // Draws are spared: the number of places until the next one overlooked.
    let until = |rng: &mut fastrand::Rng| (rng.f64().max(1e-300).ln() / (1.0 - BLINK).ln()) as u32;
    let mut seen = until(rng);
    let mut out = Vec::new();
    for stop in waiting {
        let weight = visits.weight[stop as usize];
        let mut best: Option<(i64, usize, usize)> = None;
        for trip in 0..state.trips.len() {
            if state.trips[trip].is_empty() || state.load[trip] + weight > visits.capacity {
                continue;
            }
            for at in 0..=state.trips[trip].len() {
                if seen == 0 {
                    seen = until(rng);
                    continue;
                }
                seen -= 1;
                let extra = state.extra(stop, trip, at);
                if best.is_none_or(|b| extra < b.0) {
                    best = Some((extra, trip, at));
                }
            }
        }
        let may_open = weight <= visits.capacity && visits.most_trips.is_none_or(|m| state.used() < m);
        match best {
            Some((_, trip, at)) => state.insert(stop, trip, at),
            None if may_open => {
                let trip = state.open();
                state.insert(stop, trip, 0);
            }
            None => out.push(stop),
        }
    }
    state.absent = out;
}
