//! The minimum over all sets of heads that agree with a leaf, and the weighted mean.
//!
//! Open heads are taken in or left out one after the other; each choice keeps, for every task, the least
//! weighted cost among the heads taken so far. A leaf that decides all heads costs one pass over each.

use super::NS;
use super::leaves::Leaf;
use units::Time;

/// With more open heads than this a leaf is relaxed.
const MOST_OPEN: usize = 12;
/// Stands for "no head taken so far does this".
const NEVER: i128 = i128::MAX / 4;

/// Stands for "this head cannot do it" among one head's costs.
pub(crate) const CANNOT: i64 = i64::MAX;

/// One head's figures [ns].
pub(crate) struct Column {
    pub(crate) station: usize,
    /// For each task, then for the dots of each; [`CANNOT`] where the head cannot do it.
    pub(crate) costs: Vec<i64>,
    /// Whenever the head is in use.
    pub(crate) constant: i64,
}

/// One station's figures [ns].
pub(crate) struct StationModel {
    pub(crate) fixed: i64,
    pub(crate) swap: i64,
    pub(crate) alternates: bool,
}

/// The whole line.
pub(crate) struct Model {
    stations: Vec<StationModel>,
    columns: Vec<Column>,
    /// For each area its time at each station [ns], `None` where it cannot be done.
    areas: Vec<Vec<Option<i64>>>,
}

/// A set of heads in use and what it costs so far, weighted.
#[derive(Clone)]
struct Taken {
    used: Vec<bool>,
    constant: i128,
    /// For each task and dots the least cost.
    least: Vec<i128>,
}

impl Model {
    /// Work that no head can do is left out and adds nothing, which makes no bound larger.
    pub(crate) fn new(stations: Vec<StationModel>, mut columns: Vec<Column>, areas: Vec<Vec<Option<i64>>>) -> Self {
        let items = columns.first().map_or(0, |c| c.costs.len());
        let done: Vec<usize> = (0..items).filter(|i| columns.iter().any(|c| c.costs[*i] != CANNOT)).collect();
        for column in &mut columns {
            column.costs = done.iter().map(|i| column.costs[*i]).collect();
        }
        Self { stations, columns, areas }
    }

    /// The bound of a leaf [µs, rounded down]; `None` when none of its sets of heads can do all the work.
    pub(crate) fn bound(&self, leaf: &Leaf) -> Option<Time> {
        let weights: i128 = leaf.weights.iter().sum();
        let fixed: i128 = self.stations.iter().zip(&leaf.weights).map(|(s, w)| w * i128::from(s.fixed)).sum();
        let looks = self.areas.iter().map(|area| {
            let each = area.iter().zip(&leaf.weights).filter_map(|(t, w)| t.map(|t| w * i128::from(t)));
            each.min()
        });
        let looks: i128 = looks.collect::<Option<Vec<i128>>>()?.iter().sum();
        let open: Vec<usize> = (0..self.columns.len()).filter(|c| leaf.says(*c).is_none()).collect();
        let named = self.named(leaf);
        let least = if open.len() > MOST_OPEN { self.relaxed(leaf, &open, named) } else { self.least_of_all(leaf, &open, named) }?;
        let total = (fixed + looks + least).div_euclid(weights * i128::from(NS));
        Some(Time(i64::try_from(total).unwrap_or(i64::MAX).max(0)))
    }

    /// The heads that the leaf names as in use.
    fn named(&self, leaf: &Leaf) -> Taken {
        let mut taken = Taken {
            used: vec![false; self.columns.len()],
            constant: 0,
            least: vec![NEVER; self.columns.first().map_or(0, |c| c.costs.len())],
        };
        for (column, _) in leaf.named.iter().filter(|(_, used)| *used) {
            self.take(leaf, *column, &mut taken);
        }
        taken
    }

    fn take(&self, leaf: &Leaf, column: usize, taken: &mut Taken) {
        taken.used[column] = true;
        taken.constant += self.constant(leaf, column);
        self.lower(leaf, column, &mut taken.least);
    }

    /// Lowers the least costs to those of a head.
    fn lower(&self, leaf: &Leaf, column: usize, least: &mut [i128]) {
        let c = &self.columns[column];
        let weight = leaf.weights[c.station];
        for (l, t) in least.iter_mut().zip(&c.costs).filter(|(_, t)| **t != CANNOT) {
            *l = (*l).min(weight * i128::from(*t));
        }
    }

    /// What a head costs whenever it is in use, weighted.
    fn constant(&self, leaf: &Leaf, column: usize) -> i128 {
        leaf.weights[self.columns[column].station] * i128::from(self.columns[column].constant)
    }

    /// Swaps between the heads in use, weighted.
    fn swaps(&self, leaf: &Leaf, used: &[bool]) -> i128 {
        let mut heads = vec![0i128; self.stations.len()];
        for (c, _) in self.columns.iter().zip(used).filter(|(_, used)| **used) {
            heads[c.station] += 1;
        }
        let swaps = |k: i128, s: &StationModel| match k {
            0 | 1 => 0,
            k if s.alternates => (k - 1) * i128::from(s.swap),
            k => k * i128::from(s.swap),
        };
        heads.into_iter().zip(&self.stations).zip(&leaf.weights).map(|((k, s), w)| w * swaps(k, s)).sum()
    }

    /// The least over all sets of open heads, together with those taken; `None` if no set does all the work.
    fn least_of_all(&self, leaf: &Leaf, open: &[usize], mut taken: Taken) -> Option<i128> {
        let Some((head, rest)) = open.split_first() else {
            return Some(sum(&taken.least)? + taken.constant + self.swaps(leaf, &taken.used));
        };
        let without = self.least_of_all(leaf, rest, taken.clone());
        self.take(leaf, *head, &mut taken);
        let with = self.least_of_all(leaf, rest, taken);
        without.into_iter().chain(with).min()
    }

    /// Open heads may all be used; only named heads cost swaps; constants of open heads only lower the figure.
    fn relaxed(&self, leaf: &Leaf, open: &[usize], mut taken: Taken) -> Option<i128> {
        for head in open {
            taken.constant += self.constant(leaf, *head).min(0);
            self.lower(leaf, *head, &mut taken.least);
        }
        Some(sum(&taken.least)? + taken.constant + self.swaps(leaf, &taken.used))
    }
}

/// All of the work; `None` if no head taken does some of it.
fn sum(least: &[i128]) -> Option<i128> {
    least.iter().try_fold(0, |sum, t| (*t < NEVER).then(|| sum + t))
}
