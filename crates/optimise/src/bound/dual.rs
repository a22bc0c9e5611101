//! The best weights of the stations: Kelley's cutting planes on the Lagrangian dual.
//!
//! The dual function is concave and piecewise linear in the weights; each evaluation gives a cut,
//! and a small linear program over all cuts the next weights. Source: J. E. Kelley, The cutting-plane
//! method for solving convex programs, J. SIAM 8 (1960), from memory; the linear program is solved
//! by a library.

use super::cost::{Costs, NEVER};
use microlp::{ComparisonOp, OptimizationDirection, Problem};

/// Weights sum to this.
const UNIT: u64 = 1_000_000;
/// Most combinations of head sets that are looked at one by one (`docs/planning.md` §3).
const MOST_COMBINATIONS: usize = 4096;
/// Most evaluations of the dual function.
const MOST_CUTS: usize = 60;

/// A bound with its certificate.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Dual {
    /// Weight of each station.
    pub weights: Vec<u64>,
    /// The bound [µs].
    pub bound_us: i64,
    /// Load of each station where the minimum is reached [ns]; a subgradient, for reasons.
    pub loads: Vec<i64>,
}

/// A set of heads in use on the whole line: for each column whether it is used.
struct HeadSets {
    /// Used columns of each combination.
    used: Vec<Vec<usize>>,
    /// Fixed cost of each combination at each station [ns]: swaps and constants.
    fixed: Vec<Vec<i64>>,
}

impl HeadSets {
    fn new(costs: &Costs) -> Self {
        let stations = costs.fixed.len();
        let heads = |s: usize| costs.columns.iter().enumerate().filter(move |(_, c)| c.station == s && c.head.is_some()).map(|(i, _)| i).collect::<Vec<_>>();
        let per_station: Vec<Vec<usize>> = (0..stations).map(heads).collect();
        let combinations = per_station.iter().try_fold(1usize, |n, h| 1usize.checked_shl(h.len() as u32).and_then(|k| n.checked_mul(k)));
        let any: Vec<usize> = costs.columns.iter().enumerate().filter(|(_, c)| c.head.is_none()).map(|(i, _)| i).collect();
        if combinations.is_none_or(|n| n > MOST_COMBINATIONS) {
            let fixed = per_station.iter().map(|h| h.iter().map(|c| costs.columns[*c].constant.min(0)).sum()).collect();
            return Self { used: vec![(0..costs.columns.len()).collect()], fixed: vec![fixed] };
        }
        let mut sets = Self { used: vec![any], fixed: vec![vec![0; stations]] };
        for (s, heads) in per_station.iter().enumerate() {
            let mut next = Self { used: Vec::new(), fixed: Vec::new() };
            for (used, fixed) in sets.used.iter().zip(&sets.fixed) {
                for mask in 0..1u32 << heads.len() {
                    let chosen: Vec<usize> = heads.iter().enumerate().filter(|(b, _)| mask >> b & 1 == 1).map(|(_, c)| *c).collect();
                    let k = chosen.len() as i64;
                    let swaps = if k < 2 { 0 } else if costs.alternate[s] { k - 1 } else { k };
                    let mut f = fixed.clone();
                    f[s] = swaps * costs.swap[s] + chosen.iter().map(|c| costs.columns[*c].constant).sum::<i64>();
                    next.used.push(used.iter().copied().chain(chosen).collect());
                    next.fixed.push(f);
                }
            }
            sets = next;
        }
        sets
    }
}

/// Value of the dual function at the weights [weight·ns], and the loads of the stations there.
fn evaluate(costs: &Costs, sets: &HeadSets, weights: &[u64]) -> Option<(i128, Vec<i64>)> {
    let base: i128 = weights.iter().zip(&costs.fixed).map(|(w, f)| i128::from(*w) * i128::from(*f)).sum();
    let mut best: Option<(i128, usize)> = None;
    for (k, (used, fixed)) in sets.used.iter().zip(&sets.fixed).enumerate() {
        let mut value: i128 = weights.iter().zip(fixed).map(|(w, f)| i128::from(*w) * i128::from(*f)).sum();
        let limit = best.map_or(i128::MAX, |b| b.0);
        let feasible = (0..costs.items).all(|item| {
            let least = cheapest(costs, used, weights, item);
            value += least.map_or(0, |(v, _)| v);
            least.is_some() && value < limit
        });
        if feasible && best.is_none_or(|b| value < b.0) {
            best = Some((value, k));
        }
    }
    let (value, k) = best?;
    let mut loads: Vec<i64> = costs.fixed.iter().zip(&sets.fixed[k]).map(|(a, b)| a + b).collect();
    for item in 0..costs.items {
        let (_, column) = cheapest(costs, &sets.used[k], weights, item)?;
        loads[costs.columns[column].station] += costs.at(item, column);
    }
    Some((base + value, loads))
}

fn cheapest(costs: &Costs, used: &[usize], weights: &[u64], item: usize) -> Option<(i128, usize)> {
    let row = &costs.time[item * costs.columns.len()..(item + 1) * costs.columns.len()];
    let priced = used.iter().filter(|c| row[**c] != NEVER).map(|c| (i128::from(weights[costs.columns[*c].station]) * i128::from(row[*c]), *c));
    priced.min_by_key(|(v, _)| *v)
}

/// Finds weights that make the bound large. The bound is exact for the weights returned.
///
/// `None` when some item can be done nowhere.
pub fn best_weights(costs: &Costs) -> Option<Dual> {
    let stations = costs.fixed.len();
    let sets = HeadSets::new(costs);
    let mut weights = vec![UNIT / stations as u64; stations];
    let mut best: Option<Dual> = None;
    let mut cuts: Vec<Vec<i64>> = Vec::new();
    for _ in 0..MOST_CUTS {
        let (value, loads) = evaluate(costs, &sets, &weights)?;
        let sum: i128 = weights.iter().map(|w| i128::from(*w)).sum();
        let bound_us = (value / (sum * 1000)) as i64;
        if best.as_ref().is_none_or(|b| bound_us > b.bound_us) {
            best = Some(Dual { weights: weights.clone(), bound_us, loads: loads.clone() });
        }
        cuts.push(loads);
        let Some((next, upper_us)) = master(&cuts, stations) else { break };
        let reached = best.as_ref().map_or(0, |b| b.bound_us);
        if upper_us <= reached as f64 * 1.000_01 + 1.0 || next == weights {
            break;
        }
        weights = next;
    }
    best
}

/// Maximise θ under θ ≤ Σ w_s·load_s for every cut, Σ w = 1, w ≥ 0. Loads go in as milliseconds.
fn master(cuts: &[Vec<i64>], stations: usize) -> Option<(Vec<u64>, f64)> {
    let mut lp = Problem::new(OptimizationDirection::Maximize);
    let theta = lp.add_var(1.0, (0.0, 1e9));
    let w: Vec<_> = (0..stations).map(|_| lp.add_var(0.0, (0.0, 1.0))).collect();
    lp.add_constraint(w.iter().map(|v| (*v, 1.0)), ComparisonOp::Eq, 1.0);
    for cut in cuts {
        let mut row: Vec<_> = w.iter().zip(cut).map(|(v, load)| (*v, -(*load as f64) / 1e6)).collect();
        row.push((theta, 1.0));
        lp.add_constraint(row, ComparisonOp::Le, 0.0);
    }
    let solution = lp.solve().ok()?.into_solution().ok()?;
    let weights: Vec<u64> = w.iter().map(|v| (solution[*v].max(0.0) * UNIT as f64).round() as u64).collect();
    (weights.iter().sum::<u64>() > 0).then(|| (weights, solution[theta] * 1000.0))
}
