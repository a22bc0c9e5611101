//! The best certificate: branching on which heads are used and how many trips they make, with the best weights
//! and prices at each leaf.
//!
//! For a leaf the bound is a Lagrangian dual of the linear balance, concave and piecewise
//! linear in the weights of the stations and in the weighted prices of seats. [`maximise`] climbs it by Kelley's cutting planes
//! ([`super::cuts`]). Prices of first and last placements follow from the weights: as many placements should be cheaper
//! than the price as there are trips. Best-first branching raises the least leaf until nothing is left open in it, or
//! it hardly rises any more.

use super::columns::Costs;
use super::cuts::{Cut, Cuts};
use super::figures::{HeadFigures, NEVER, Prices};
use super::leaf::{NO_LIMIT, Node, Scope, Value};
use domain::plan::Certificate;

/// Weights sum to about this.
pub(super) const UNIT: u64 = 1_000_000;
/// Most evaluations for one set of prices.
const MOST_CUTS: usize = 40;
/// What may be spent on a bound.
#[derive(Clone, Copy, Debug)]
pub struct Effort {
    /// Most leaves of the certificate.
    leaves: usize,
    /// Most work of the branching [items × columns looked at].
    work: u64,
}

impl Effort {
    /// For the certificate of a plan.
    pub const FULL: Self = Self { leaves: 400, work: 300_000_000 };
    /// Weaker, but quick: for comparing bounds with one another.
    pub const QUICK: Self = Self { leaves: 24, work: 10_000_000 };
}

/// Branchings after which the least leaf should have risen by a [`RISE`]th part.
const PATIENCE: usize = 48;
/// See [`PATIENCE`].
const RISE: i64 = 4_000;
/// Work that a linear program counts for.
const WORK_OF_A_PROGRAM: u64 = 40_000;
/// Times within this share of the least one count as equal when prices are set.
const NEAR: i64 = 100;

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

/// A leaf under way.
#[derive(Clone, Debug)]
struct Branch {
    node: Node,
    /// `None` when no plan belongs to it.
    bound_us: Option<i64>,
    /// How its plans are to be parted.
    next: Option<Parting>,
}

/// How the plans of a leaf are parted in two.
#[derive(Clone, Copy, Debug)]
enum Parting {
    /// By the trips of a column: the fewest beyond the cut.
    Trips(usize, u32),
    /// By whether passes of a row alternate.
    Manner(usize),
}

impl Parting {
    /// Both parts.
    fn parts(self, node: &Node) -> [Node; 2] {
        let mut parts = [node.clone(), node.clone()];
        match self {
            Self::Trips(column, cut) => {
                parts[0].range[column].0 = cut;
                parts[1].range[column].1 = cut - 1;
            }
            Self::Manner(row) => {
                parts[0].manners[row] = Some(true);
                parts[1].manners[row] = Some(false);
            }
        }
        parts
    }
}

/// Finds a certificate whose bound is large. The bound is exact for the certificate returned.
///
/// Once `is_over` holds no more leaves are made. `None` when some item can be done nowhere.
pub fn best_weights(costs: &Costs, effort: Effort, is_over: &dyn Fn() -> bool) -> Option<Dual> {
    let stations = costs.fixed.len() as u64;
    let mut work = 0;
    let root = Node {
        range: vec![(0, NO_LIMIT); costs.uses.len()],
        weights: costs.rows.iter().map(|r| UNIT / stations / if costs.is_shared(r.station) { 3 } else { 1 }).collect(),
        prices: costs.heads.iter().map(HeadFigures::plain_prices).collect(),
        manners: vec![None; costs.rows.len()],
    };
    let root = solve(root, costs, &mut work);
    root.bound_us?;
    let mut open = vec![root];
    let mut rises: Vec<i64> = Vec::new();
    while open.len() < effort.leaves && work < effort.work && !is_over() {
        let least = (0..open.len()).min_by_key(|i| (open[*i].bound_us.unwrap_or(i64::MAX), *i)).unwrap_or(0);
        let (Some(parting), Some(bound)) = (open[least].next, open[least].bound_us) else { break };
        rises.push(bound);
        if rises.len() > PATIENCE && bound - rises[rises.len() - 1 - PATIENCE] < bound / RISE {
            break;
        }
        let parent = open.swap_remove(least);
        open.extend(parting.parts(&parent.node).map(|node| solve(node, costs, &mut work)));
    }
    let least = open.iter().filter(|b| b.bound_us.is_some()).min_by_key(|b| b.bound_us)?;
    let bound_us = least.bound_us?;
    let mut weights = vec![0; costs.fixed.len()];
    costs.rows.iter().zip(&least.node.weights).for_each(|(r, w)| weights[r.station] += w);
    let certificate = Certificate { leaves: open.iter().map(|b| b.node.leaf(costs)).collect() };
    Some(Dual { certificate, bound_us, weights })
}

/// Heads whose trips the leaf limits, so that their seats have a price of their own.
fn limited(node: &Node, costs: &Costs) -> Vec<usize> {
    let limits = |(u, range): (&super::columns::Use, &(u32, u32))| {
        let trips = costs.heads[u.head].spindles > 1 && range.0 >= 1 && *range != (1, NO_LIMIT);
        trips.then_some(u.head)
    };
    costs.uses.iter().zip(&node.range).filter_map(limits).collect()
}

/// The best weights and prices of a leaf, beginning with those it has.
fn solve(mut node: Node, costs: &Costs, work: &mut u64) -> Branch {
    let scope = node.scope(costs);
    let mut cuts = Cuts::new(costs, limited(&node, costs));
    let Some((mut bound, mut value)) = maximise(&mut node, &mut cuts, costs, &scope, work) else {
        return Branch { node, bound_us: None, next: None };
    };
    for _ in 0..2 {
        let mut other = node.clone();
        other.prices = better_prices(&node, costs, &value);
        if other.prices == node.prices {
            break;
        }
        let mut more = Cuts::new(costs, limited(&node, costs));
        let Some((b, v)) = maximise(&mut other, &mut more, costs, &scope, work) else { break };
        if b <= bound {
            break;
        }
        (node, bound, value, cuts) = (other, b, v, more);
    }
    // Where the climb ends several evaluations meet, and a column one of them uses may be missing from another.
    let mixture = cuts.mixture();
    let leaning = mixture.as_ref().map_or(&[][..], |m| &m.leaning);
    let open = || leaning.iter().max_by(|a, b| a.1.total_cmp(&b.1).then(b.0.cmp(&a.0))).map(|(c, _)| Parting::Trips(*c, 1));
    let trips = || broken_trips(&node, costs, &mixture.as_ref()?.trips).map(|(c, cut)| Parting::Trips(c, cut));
    let next = manner(&node, costs, &scope, &value).or_else(open).or_else(trips);
    Branch { node, bound_us: Some(bound), next }
}

/// The row of most weight whose given heads the bound lets alternate, though pairs would hold work to fewer of them then.
fn manner(node: &Node, costs: &Costs, scope: &Scope<'_>, value: &Value) -> Option<Parting> {
    let several_given = |r: usize| {
        let given = costs.uses.iter().zip(&node.range).filter(|(u, range)| range.0 > 0 && costs.heads[u.head].row == r);
        let mut heads: Vec<usize> = given.map(|(u, _)| u.head).collect();
        heads.dedup();
        heads.len() > 1
    };
    let is_open = |r: &usize| node.manners[*r].is_none() && scope.holds[*r] && value.alternating[*r] && several_given(*r);
    let rows = (0..costs.rows.len()).filter(is_open).filter(|r| node.weights[*r] > 0);
    rows.max_by_key(|r| (node.weights[*r], std::cmp::Reverse(*r))).map(Parting::Manner)
}

/// The column whose number of trips is farthest from whole where the cuts meet, by what that leaves out.
fn broken_trips(node: &Node, costs: &Costs, trips: &[f64]) -> Option<(usize, u32)> {
    let score = |c: usize| -> Option<(f64, usize, u32)> {
        let h = costs.uses[c].head;
        let figures = &costs.heads[h];
        let (least, most) = node.range[c];
        if figures.spindles == 1 || least == 0 {
            return None;
        }
        let part = trips[h] - trips[h].floor();
        let roles = (node.prices[h].first + node.prices[h].last) as f64 * figures.weight(&node.weights) as f64;
        let each = figures.per_trip as f64 * node.weights[figures.row] as f64 + roles;
        let cut = trips[h].floor() as u32 + 1;
        let worth = each * part.min(1.0 - part);
        (part > 0.01 && part < 0.99 && cut > least && cut <= most && worth > 0.0).then_some((worth, c, cut))
    };
    (0..costs.uses.len()).filter_map(score).max_by(|a, b| a.0.total_cmp(&b.0).then(b.1.cmp(&a.1))).map(|(_, c, cut)| (c, cut))
}

/// Maximises the bound over the weights and the prices of seats; leaves the best in the node. `None` when no plan belongs to it.
fn maximise(node: &mut Node, cuts: &mut Cuts<'_>, costs: &Costs, scope: &Scope<'_>, work: &mut u64) -> Option<(i64, Value)> {
    let even = |h: &usize| costs.heads[*h].has_even_seat() && !cuts.prices_seats_of(*h);
    let even: Vec<usize> = (0..costs.heads.len()).filter(even).collect();
    let spread =
        |node: &mut Node| even.iter().for_each(|h| node.prices[*h].seat = costs.heads[*h].even_seat(&node.prices[*h], &node.weights));
    let program = WORK_OF_A_PROGRAM * costs.rows_per_station().pow(2);
    let mut trial = node.clone();
    spread(&mut trial);
    let mut times = trial.times(costs);
    let mut best: Option<(i64, Value)> = None;
    for _ in 0..MOST_CUTS {
        let v = trial.evaluate(costs, &times, scope, &trial.weights, work)?;
        let sum: i128 = trial.weights.iter().map(|w| i128::from(*w)).sum();
        let bound = v.value.div_euclid(sum * 1000) as i64;
        let cut = Cut::new(&v, &trial.prices, cuts);
        cuts.add(cut);
        if best.as_ref().is_none_or(|b| bound > b.0) {
            node.weights.clone_from(&trial.weights);
            node.prices.clone_from(&trial.prices);
            best = Some((bound, v));
        }
        *work += program;
        let Some(peak) = cuts.next() else { break };
        let same = peak.weights == trial.weights && peak.seats.iter().all(|(h, seat)| trial.prices[*h].seat == *seat);
        if same || peak.height_us <= best.as_ref().map_or(0, |b| b.0) as f64 * 1.000_05 + 1.0 {
            break;
        }
        trial.weights = peak.weights;
        spread(&mut trial);
        for (h, seat) in peak.seats {
            trial.prices[h].seat = seat;
            times[h] = costs.heads[h].times(&trial.prices[h]);
        }
    }
    best
}

/// Prices such that of the placements a head has as many are cheaper as it makes trips.
///
/// Heads that are equally good for a placement share it.
fn better_prices(node: &Node, costs: &Costs, value: &Value) -> Vec<Prices> {
    let times = node.times(costs);
    let weighted = |h: usize, i: usize| costs.heads[h].weighted(i, times[h][i], &node.prices[h], &node.weights);
    let mut used = vec![false; costs.heads.len()];
    costs.uses.iter().zip(&node.range).filter(|(_, r)| r.1 > 0).for_each(|(u, _)| used[u.head] = true);
    let near = |h: usize, i: usize| used[h] && costs.heads[h].base[i] != NEVER && weighted(h, i) <= value.least[i] + value.least[i] / NEAR;
    let sharers: Vec<usize> = (0..costs.items).map(|i| (0..costs.heads.len()).filter(|h| near(*h, i)).count()).collect();
    let limited = limited(node, costs);
    let of = |h: usize| {
        let figures = &costs.heads[h];
        if figures.spindles == 1 || !used[h] {
            return node.prices[h];
        }
        let mine: Vec<usize> = (0..costs.items).filter(|i| near(h, *i)).collect();
        let whole: f64 = mine.iter().map(|i| 1.0 / sharers[*i] as f64).sum();
        let trips = whole / figures.spindles as f64;
        let price = |of: &[i64], cheaper: f64| -> Option<i64> {
            let mut sorted: Vec<(i64, usize)> = mine.iter().map(|i| (of[*i], *i)).collect();
            sorted.sort_unstable();
            let mut sum = 0.0;
            let reached = |(_, i): &&(i64, usize)| {
                sum += 1.0 / sharers[*i] as f64;
                sum >= cheaper
            };
            sorted.iter().find(reached).map(|(t, _)| *t)
        };
        let (first, last) = figures.roles(&node.weights);
        match (price(&first, trips), price(&last, trips - 1.0)) {
            (Some(first), Some(last)) if limited.contains(&h) => Prices { first, last, ..node.prices[h] },
            (Some(first), Some(last)) => figures.priced(first, last),
            _ => node.prices[h],
        }
    };
    (0..costs.heads.len()).map(of).collect()
}
