//! Trips: stops dealt to journeys from one base and back, as many stops a journey as its capacity allows.
//!
//! This is capacitated vehicle routing; for a head the capacity is its spindles and every stop weighs 1.
//! Method: slack induction by string removals (J. Christiaens, G. Vanden Berghe, Transportation Science 54,
//! 2020, from memory): strings of neighbouring stops are taken out ([`ruin`]), put back one by one where they
//! cost least ([`recreate`]), and the result is kept as annealing decides. A stop left out because the number of
//! trips is limited costs more than any way, so that all find room before ways are shortened.

mod recreate;
mod ruin;
mod state;

use super::ways::Ways;
use state::State;

/// What is to be visited.
#[derive(Clone, Debug)]
pub struct Visits {
    /// Ways between the stops; stop 0 is the base.
    pub ways: Ways,
    /// What each stop weighs; the base weighs 0.
    pub weight: Vec<u32>,
    /// Most that one trip carries.
    pub capacity: u32,
    /// Most trips, if limited.
    pub most_trips: Option<usize>,
}

/// Trips found, and what they cost.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Dealt {
    /// Stops of each trip in order, the base left out. No trip is empty.
    pub trips: Vec<Vec<u32>>,
    /// Stops that found no room: their weight exceeds the capacity, or the trips are too few.
    pub left_out: Vec<u32>,
    /// Sum of all ways, from the base and back.
    pub cost: i64,
}

/// Average number of stops taken out at once.
const TAKEN_OUT: f64 = 10.0;
/// Heat at the beginning and at the end, as shares of the mean way of the first solution.
const HEAT: (f64, f64) = (0.6, 0.008);

/// Deals the stops into trips.
///
/// `work` counts rounds of taking out and putting back; the same `rng` and work give the same trips.
/// Never worse than `begin`, if given (trips without the base; stops it leaves out are put in where they cost least).
///
/// ```
/// use optimise::engine::{trips::{Visits, deal}, ways::Ways};
/// let at = [0i64, 10, 11, -10, -11];
/// let ways = Ways::new(5, |i, j| (at[i] - at[j]).abs());
/// let visits = Visits { ways, weight: vec![0, 1, 1, 1, 1], capacity: 2, most_trips: None };
/// let found = deal(&visits, None, 200, &mut fastrand::Rng::with_seed(1));
/// assert_eq!((found.cost, found.trips.len()), (44, 2));
/// ```
pub fn deal(visits: &Visits, begin: Option<&[Vec<u32>]>, work: u64, rng: &mut fastrand::Rng) -> Dealt {
    let mut state = State::new(visits);
    state.begin(begin.unwrap_or(&[]));
    recreate::recreate(&mut state, rng);
    let stops = visits.weight.len() - 1;
    let mean = (state.cost() as f64 / (stops + state.used()).max(1) as f64).max(1.0);
    let cooling = (HEAT.1 / HEAT.0).powf(1.0 / work.max(1) as f64);
    let mut heat = HEAT.0 * mean;
    let (mut now, mut best) = (state.rating(), state.dealt());
    let near: Vec<Vec<u32>> = (0..=stops).map(|i| visits.ways.near(i, stops, true)).collect();
    for _ in 0..if stops > 1 { work } else { 0 } {
        state.remember();
        ruin::ruin(&mut state, &near, TAKEN_OUT, rng);
        recreate::recreate(&mut state, rng);
        let next = state.rating();
        if (next as f64) < now as f64 - heat * rng.f64().max(1e-300).ln() {
            now = next;
            if (state.absent.len(), state.cost()) < (best.left_out.len(), best.cost) {
                best = state.dealt();
            }
        } else {
            state.restore();
        }
        heat *= cooling;
    }
    best
}
