//! The best certificate: branching on which heads are used, with the best weights at each leaf.
//!
//! For a set of heads the bound is the Lagrangian dual of the linear balance, concave and piecewise
//! linear in the weights of the stations. [`Node::solve`] maximises it by Kelley's cutting planes: each
//! evaluation gives a cut, a small linear program over the cuts the next weights (J. E. Kelley, The
//! cutting-plane method for solving convex programs, J. SIAM 8, 1960, from memory; the linear program
//! is solved by a library). Heads cost swaps, so the least bound over all sets counts; best-first
//! branching raises the least leaf until it does not pay any more.

use super::cost::{Costs, NEVER};
use domain::plan::{Certificate, HeadOf, Leaf};
use microlp::{ComparisonOp, OptimizationDirection, Problem};
use std::collections::BTreeMap;

/// Weights sum to about this.
const UNIT: u64 = 1_000_000;
/// With more heads open than this a leaf is relaxed (`docs/planning.md` §3).
const MOST_OPEN: usize = 12;
/// Most evaluations of the dual function at one node.
const MOST_CUTS: usize = 40;
/// Most leaves of a certificate.
const MOST_LEAVES: usize = 400;
/// Most work of the branching [items × columns looked at]: about a second.
const MOST_WORK: u64 = 400_000_000;

/// A bound with its certificate.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Dual {
    /// The certificate.
    pub certificate: Certificate,
    /// The bound [µs].
    pub bound_us: i64,
    /// Weights of the stations at the leaf that sets the bound; for reasons.
    pub weights: Vec<u64>,
}

/// Costs with alike items counted instead of repeated.
struct Table<'c> {
    costs: &'c Costs,
    /// Rows of costs, one per kind of item, and how many items are of that kind.
    rows: Vec<(Vec<i64>, i64)>,
}

impl<'c> Table<'c> {
    fn new(costs: &'c Costs) -> Self {
        let mut kinds: BTreeMap<Vec<i64>, i64> = BTreeMap::new();
        let width = costs.columns.len();
        for item in 0..costs.items {
            *kinds.entry(costs.time[item * width..(item + 1) * width].to_vec()).or_default() += 1;
        }
        Self { costs, rows: kinds.into_iter().collect() }
    }
}

/// Some heads decided, with the best weights found.
#[derive(Clone, Debug)]
struct Node {
    /// For each column: in use, not in use, or open.
    decided: Vec<Option<bool>>,
    weights: Vec<u64>,
    /// `None` when no choice of the open heads can do all the work.
    bound_us: Option<i64>,
    /// How often each column was in the best set of an evaluation, out of `cuts`.
    chosen: Vec<u32>,
    cuts: u32,
}

/// An evaluation of the dual function.
struct Value {
    /// Σ weight × ns.
    value: i128,
    /// Load of each station where the minimum lies [ns].
    loads: Vec<i64>,
    /// Heads used there.
    used: Vec<bool>,
}

/// Finds a certificate whose bound is large. The bound is exact for the certificate returned.
///
/// With `branch` false only the root is looked at: weaker, but quick. `None` when some item can be
/// done nowhere.
pub fn best_weights(costs: &Costs, branch: bool) -> Option<Dual> {
    let table = Table::new(costs);
    let stations = costs.fixed.len();
    let mut work = 0;
    let mut root = Node {
        decided: vec![None; costs.columns.len()],
        weights: vec![UNIT / stations as u64; stations],
        bound_us: None,
        chosen: vec![0; costs.columns.len()],
        cuts: 0,
    };
    root.solve(&table, &mut work);
    root.bound_us?;
    let mut open = vec![root];
    while branch && open.len() < MOST_LEAVES && work < MOST_WORK {
        let least = (0..open.len()).min_by_key(|i| (open[*i].bound_us.unwrap_or(i64::MAX), *i)).unwrap_or(0);
        let Some(head) = open[least].to_branch() else { break };
        let node = open.swap_remove(least);
        for used in [true, false] {
            let mut child = node.clone();
            child.decided[head] = Some(used);
            child.solve(&table, &mut work);
            open.push(child);
        }
    }
    let least = open.iter().filter(|n| n.bound_us.is_some()).min_by_key(|n| n.bound_us)?;
    let (bound_us, weights) = (least.bound_us?, least.weights.clone());
    let certificate = Certificate { leaves: open.iter().map(|n| n.leaf(costs)).collect() };
    Some(Dual { certificate, bound_us, weights })
}

impl Node {
    fn leaf(&self, costs: &Costs) -> Leaf {
        let heads = |wanted: bool| {
            let mine = costs.columns.iter().zip(&self.decided).filter(|(_, d)| **d == Some(wanted));
            mine.map(|(c, _)| HeadOf { station: c.station as u32, head: c.head as u32 }).collect()
        };
        Leaf { used: heads(true), unused: heads(false), weights: self.weights.clone() }
    }

    /// The open head whose use differs most between the evaluations; `None` if none differs.
    fn to_branch(&self) -> Option<usize> {
        self.bound_us?;
        let open = (0..self.decided.len()).filter(|c| self.decided[*c].is_none());
        let differs = |c: &usize| self.chosen[*c].min(self.cuts - self.chosen[*c]);
        let best = open.clone().max_by_key(|c| (differs(c), std::cmp::Reverse(*c)))?;
        if differs(&best) > 0 { Some(best) } else { None }
    }

    /// Maximises the dual function over the weights.
    fn solve(&mut self, table: &Table<'_>, work: &mut u64) {
        self.bound_us = None;
        self.chosen.fill(0);
        self.cuts = 0;
        let mut cuts: Vec<Vec<i64>> = Vec::new();
        let mut weights = self.weights.clone();
        while cuts.len() < MOST_CUTS && (cuts.is_empty() || *work < MOST_WORK) {
            let Some(v) = self.evaluate(table, &weights, work) else { return };
            let sum: i128 = weights.iter().map(|w| i128::from(*w)).sum();
            let bound = v.value.div_euclid(sum * 1000) as i64;
            if self.bound_us.is_none_or(|b| bound > b) {
                self.bound_us = Some(bound);
                self.weights.clone_from(&weights);
            }
            self.cuts += 1;
            self.chosen.iter_mut().zip(&v.used).for_each(|(n, u)| *n += u32::from(*u));
            cuts.push(v.loads);
            let Some((next, upper_us)) = master(&cuts, weights.len()) else { break };
            if upper_us <= self.bound_us.unwrap_or(0) as f64 * 1.000_1 + 1.0 || next == weights {
                break;
            }
            weights = next;
        }
    }

    fn evaluate(&self, table: &Table<'_>, weights: &[u64], work: &mut u64) -> Option<Value> {
        let costs = table.costs;
        let weigh = |station: usize, t: i64| if t == NEVER { NEVER } else { weights[station] as i64 * t };
        let mut loads = costs.fixed.clone();
        let mut value: i128 = costs.fixed.iter().zip(weights).map(|(f, w)| i128::from(*f) * i128::from(*w)).sum();
        for area in &costs.areas {
            let s = (0..area.len()).filter(|s| area[*s] != NEVER).min_by_key(|s| (weigh(*s, area[*s]), *s))?;
            loads[s] += area[s];
            value += i128::from(weigh(s, area[s]));
        }
        let open: Vec<usize> = (0..self.decided.len()).filter(|c| self.decided[*c].is_none()).collect();
        let mut used: Vec<bool> = self.decided.iter().map(|d| *d == Some(true)).collect();
        let relaxed = open.len() > MOST_OPEN;
        if relaxed {
            open.iter().for_each(|c| used[*c] = true);
        } else {
            used = Sets { table, weights, open: &open, best: None, work }.least(&used)?;
        }
        for (s, load) in loads.iter_mut().enumerate() {
            let extra = if relaxed { self.relaxed_extra(costs, s) } else { extra(costs, &used, s) };
            *load += extra;
            value += i128::from(extra) * i128::from(weights[s]);
        }
        *work += (table.rows.len() * costs.columns.len()) as u64;
        let mine: Vec<usize> = (0..used.len()).filter(|c| used[*c]).collect();
        for (row, n) in &table.rows {
            let c = mine.iter().copied().filter(|c| row[*c] != NEVER).min_by_key(|c| weigh(costs.columns[*c].station, row[*c]))?;
            let s = costs.columns[c].station;
            loads[s] += n * row[c];
            value += i128::from(weigh(s, row[c])) * i128::from(*n);
        }
        Some(Value { value, loads, used })
    }

    /// Swaps and constants of a station when open heads are relaxed.
    fn relaxed_extra(&self, costs: &Costs, s: usize) -> i64 {
        let mine = || costs.columns.iter().zip(&self.decided).filter(|(c, _)| c.station == s);
        let named = mine().filter(|(_, d)| **d == Some(true)).count();
        let constants = mine().map(|(c, d)| match d {
            Some(true) => c.constant,
            None => c.constant.min(0),
            Some(false) => 0,
        });
        swaps(costs, s, named) + constants.sum::<i64>()
    }
}

/// Swaps of a station with `k` heads in use [ns].
fn swaps(costs: &Costs, s: usize, k: usize) -> i64 {
    let count = if k < 2 {
        0
    } else if costs.alternate[s] {
        k - 1
    } else {
        k
    };
    costs.swap[s] * count as i64
}

/// Swaps and constants of a station with these heads in use [ns].
fn extra(costs: &Costs, used: &[bool], s: usize) -> i64 {
    let mine: Vec<i64> = costs.columns.iter().zip(used).filter(|(c, u)| c.station == s && **u).map(|(c, _)| c.constant).collect();
    swaps(costs, s, mine.len()) + mine.iter().sum::<i64>()
}

/// The search for the cheapest set of heads: one head after the other is taken or left, keeping for
/// every row the least weighted cost so far.
struct Sets<'s, 'c> {
    table: &'s Table<'c>,
    weights: &'s [u64],
    open: &'s [usize],
    best: Option<(i128, Vec<bool>)>,
    work: &'s mut u64,
}

impl Sets<'_, '_> {
    fn least(mut self, decided: &[bool]) -> Option<Vec<bool>> {
        let mut least = vec![NEVER; self.table.rows.len()];
        for c in (0..decided.len()).filter(|c| decided[*c]) {
            self.take(c, &mut least);
        }
        let mut used = decided.to_vec();
        self.go(0, &least, &mut used);
        self.best.map(|b| b.1)
    }

    fn take(&mut self, c: usize, least: &mut [i64]) {
        let w = self.weights[self.table.costs.columns[c].station] as i64;
        for (l, (row, _)) in least.iter_mut().zip(&self.table.rows) {
            if row[c] != NEVER {
                *l = (*l).min(w * row[c]);
            }
        }
        *self.work += least.len() as u64;
    }

    fn go(&mut self, next: usize, least: &[i64], used: &mut Vec<bool>) {
        let Some(c) = self.open.get(next).copied() else {
            self.finish(least, used);
            return;
        };
        self.go(next + 1, least, used);
        let mut with = least.to_vec();
        self.take(c, &mut with);
        used[c] = true;
        self.go(next + 1, &with, used);
        used[c] = false;
    }

    fn finish(&mut self, least: &[i64], used: &[bool]) {
        let costs = self.table.costs;
        let mut value: i128 = (0..costs.fixed.len()).map(|s| i128::from(extra(costs, used, s)) * i128::from(self.weights[s])).sum();
        for (l, (_, n)) in least.iter().zip(&self.table.rows) {
            if *l == NEVER {
                return;
            }
            value += i128::from(*l) * i128::from(*n);
        }
        if self.best.as_ref().is_none_or(|b| value < b.0) {
            self.best = Some((value, used.to_vec()));
        }
    }
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
