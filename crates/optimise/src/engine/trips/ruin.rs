//! Takes out strings of stops near each other.

use super::state::{NONE, State};

/// Longest string taken out of one trip.
const LONGEST: f64 = 10.0;
/// How often a string keeps a stretch in its middle.
const SPLIT: f64 = 0.5;
/// How often that stretch grows by one stop more.
const STRETCH_GROWS: f64 = 0.99;

/// Takes out strings round a stop drawn at random, about `taken_out` stops; `near` lists for each stop the others, nearest first.
pub fn ruin(state: &mut State<'_>, near: &[Vec<u32>], taken_out: f64, rng: &mut fastrand::Rng) {
    let stops = state.trip_of.len() - 1;
    let mean = (stops - state.absent.len()) as f64 / state.used().max(1) as f64;
    let longest = LONGEST.min(mean).max(1.0);
    let most = 4.0 * taken_out / (1.0 + longest) - 1.0;
    let strings = ((rng.f64() * most).floor() as usize + 1).max(1);
    let seed = rng.u32(1..=stops as u32);
    let mut ruined: Vec<usize> = Vec::with_capacity(strings);
    for stop in std::iter::once(seed).chain(near[seed as usize].iter().copied()) {
        if ruined.len() >= strings {
            break;
        }
        if stop == 0 || state.trip_of[stop as usize] == NONE {
            continue;
        }
        let trip = state.trip_of[stop as usize] as usize;
        if ruined.contains(&trip) {
            continue;
        }
        ruined.push(trip);
        let length = state.trips[trip].len();
        let at = state.trips[trip].iter().position(|s| *s == stop).expect("a stop is in its trip");
        let string = ((rng.f64() * longest.min(length as f64)).floor() as usize + 1).min(length);
        take_string(state, trip, at, string, rng);
    }
}

/// Takes a string of `string` stops that holds position `at` out of a trip, all of it or but for a stretch in its middle.
fn take_string(state: &mut State<'_>, trip: usize, at: usize, string: usize, rng: &mut fastrand::Rng) {
    let length = state.trips[trip].len();
    let mut kept = 0;
    if string > 1 && string < length && rng.f64() < SPLIT {
        kept = 1;
        while string + kept < length && rng.f64() < STRETCH_GROWS {
            kept += 1;
        }
    }
    let whole = string + kept;
    let (lowest, highest) = ((at + 1).saturating_sub(whole), at.min(length - whole));
    let from = rng.usize(lowest..=highest);
    if kept == 0 {
        state.take_out(trip, from, from + whole);
        return;
    }
    let keep_from = from + rng.usize(1..string);
    state.take_out(trip, keep_from + kept, from + whole);
    state.take_out(trip, from, keep_from);
}
