//! Slots: which feeder stands in which slot, when the cost is how often the head goes from one feeder to another,
//! times how far apart they stand.
//!
//! This is quadratic assignment (docs of the literature: feeder arrangement with flows from the present sequence).
//! Method: robust tabu search (E. Taillard, Parallel Computing 17, 1991, from memory): the best exchange of two that
//! is not forbidden is made in every round, exchanges back are forbidden for a random while, and what an exchange
//! changes is brought up to date in constant time for each pair. Rounds without gain end in a shake.

mod exchange;

use exchange::Exchanges;

/// Feeders to be arranged; there are as many slots as feeders (idle feeders have no flow).
#[derive(Clone, Debug)]
pub struct Arrangement {
    /// Number of feeders and of slots.
    pub feeders: usize,
    /// How often the head goes from feeder i to feeder j, row by row.
    pub flow: Vec<i64>,
    /// What going from slot s to slot t costs, row by row.
    pub distance: Vec<i64>,
    /// What feeder i costs in slot s by itself, row by row; empty if nothing.
    pub own: Vec<i64>,
}

impl Arrangement {
    /// Cost when feeder i stands in slot `slot[i]`.
    pub fn cost(&self, slot: &[u32]) -> i64 {
        let n = self.feeders;
        let between = |i: usize| (0..n).map(|j| self.flow[i * n + j] * self.distance[slot[i] as usize * n + slot[j] as usize]).sum::<i64>();
        (0..n).map(|i| between(i) + self.own_cost(i, slot[i] as usize)).sum()
    }

    fn own_cost(&self, feeder: usize, slot: usize) -> i64 {
        self.own.get(feeder * self.feeders + slot).copied().unwrap_or(0)
    }
}

/// Rounds without a better arrangement, in multiples of the number of feeders, before a shake.
const PATIENCE: u64 = 20;

/// Slot of each feeder, and the cost.
///
/// `work` counts rounds, each of which looks at every pair; the same `rng` and work give the same arrangement.
/// Never worse than `begin`, if given.
///
/// ```
/// use optimise::engine::slots::{Arrangement, arrange};
/// // Feeders 0 and 2 are picked in turn; three slots in a row.
/// let (flow, distance) = (vec![0, 1, 9, 1, 0, 1, 9, 1, 0], vec![0, 1, 2, 1, 0, 1, 2, 1, 0]);
/// let asked = Arrangement { feeders: 3, flow, distance, own: Vec::new() };
/// let (slot, cost) = arrange(&asked, None, 20, &mut fastrand::Rng::with_seed(1));
/// assert_eq!((slot[0].abs_diff(slot[2]), cost), (1, 24));
/// ```
///
/// # Panics
/// When a table has not the size that the number of feeders asks.
pub fn arrange(asked: &Arrangement, begin: Option<&[u32]>, work: u64, rng: &mut fastrand::Rng) -> (Vec<u32>, i64) {
    let n = asked.feeders;
    assert!(asked.flow.len() == n * n && asked.distance.len() == n * n, "square tables of {n} feeders");
    assert!(asked.own.is_empty() || asked.own.len() == n * n, "a cost for every feeder and slot, or none");
    let mut slot: Vec<u32> = begin.map_or_else(|| (0..n as u32).collect(), <[u32]>::to_vec);
    if begin.is_none() {
        rng.shuffle(&mut slot);
    }
    let cost = asked.cost(&slot);
    let mut best = (slot.clone(), cost);
    if n < 2 {
        return best;
    }
    let mut state = Exchanges::new(asked, slot, cost);
    let (mut since, mut local) = (0, cost);
    for round in 0..work {
        state.step(round, best.1, rng);
        since += 1;
        if state.cost < local {
            (local, since) = (state.cost, 0);
        }
        if state.cost < best.1 {
            best = (state.slot.clone(), state.cost);
        }
        if since > PATIENCE * n as u64 {
            // From the best or from where the search is, a third to all of the feeders change places.
            let from = if rng.bool() { best.0.clone() } else { state.slot.clone() };
            state.shake(from, rng);
            (local, since) = (state.cost, 0);
        }
    }
    best
}
