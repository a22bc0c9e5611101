//! The minimum over all sets of heads that agree with a leaf, and the weighted mean.
//!
//! Heads are taken in or left out one after the other; each choice keeps, for every task, the least
//! weighted cost among the heads taken so far. A leaf that decides all heads costs one pass.

use super::NS;
use super::leaves::Leaf;
use units::Time;

/// With more open heads than this a leaf is relaxed.
const MOST_OPEN: usize = 12;
/// Stands for "no head taken so far does this".
const NEVER: i128 = i128::MAX / 4;

/// One head's figures [ns].
pub(crate) struct Column {
    pub(crate) station: usize,
    /// For each task and its dots, or `None` where the head cannot do it.
    pub(crate) costs: Vec<Option<i64>>,
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
    /// Items that some head does; others add nothing.
    done: Vec<usize>,
}

impl Model {
    pub(crate) fn new(stations: Vec<StationModel>, columns: Vec<Column>, areas: Vec<Vec<Option<i64>>>) -> Self {
        let items = columns.iter().map(|c| c.costs.len()).max().unwrap_or(0);
        let done = (0..items).filter(|i| columns.iter().any(|c| c.costs[*i].is_some())).collect();
        Self { stations, columns, areas, done }
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
        let open: Vec<usize> = (0..self.columns.len()).filter(|c| leaf.decided[*c].is_none()).collect();
        let least = if open.len() > MOST_OPEN { self.relaxed(leaf) } else { self.least_of_all(leaf, &open) }?;
        let total = (fixed + looks + least).div_euclid(weights * i128::from(NS));
        Some(Time(i64::try_from(total).unwrap_or(i64::MAX).max(0)))
    }

    /// Lowers each item's least cost by those of one head.
    fn take(&self, leaf: &Leaf, column: usize, least: &mut [i128]) {
        let c = &self.columns[column];
        let w = leaf.weights[c.station];
        for (l, i) in least.iter_mut().zip(&self.done) {
            if let Some(t) = c.costs[*i] {
                *l = (*l).min(w * i128::from(t));
            }
        }
    }

    /// Swaps when `used` heads of a station are in use, weighted.
    fn swaps(&self, leaf: &Leaf, station: usize, used: usize) -> i128 {
        let s = &self.stations[station];
        let count = match used {
            0 | 1 => 0,
            k if s.alternates => k - 1,
            k => k,
        };
        leaf.weights[station] * count as i128 * i128::from(s.swap)
    }

    fn all_swaps(&self, leaf: &Leaf, used: &[bool]) -> i128 {
        let count = |s: usize| self.columns.iter().zip(used).filter(|(c, u)| c.station == s && **u).count();
        (0..self.stations.len()).map(|s| self.swaps(leaf, s, count(s))).sum()
    }

    fn constant(&self, leaf: &Leaf, column: usize) -> i128 {
        leaf.weights[self.columns[column].station] * i128::from(self.columns[column].constant)
    }

    fn least_of_all(&self, leaf: &Leaf, open: &[usize]) -> Option<i128> {
        let mut used: Vec<bool> = leaf.decided.iter().map(|d| *d == Some(true)).collect();
        let mut least = vec![NEVER; self.done.len()];
        let mut constant = 0;
        for c in (0..used.len()).filter(|c| used[*c]) {
            self.take(leaf, c, &mut least);
            constant += self.constant(leaf, c);
        }
        let mut best = None;
        self.go(leaf, open, constant, &least, &mut used, &mut best);
        best
    }

    fn go(&self, leaf: &Leaf, open: &[usize], constant: i128, least: &[i128], used: &mut [bool], best: &mut Option<i128>) {
        let Some((head, rest)) = open.split_first() else {
            let sum = least.iter().try_fold(constant, |sum, t| (*t < NEVER).then(|| sum + t));
            if let Some(sum) = sum.map(|sum| sum + self.all_swaps(leaf, used)) {
                *best = Some(best.map_or(sum, |b| b.min(sum)));
            }
            return;
        };
        self.go(leaf, rest, constant, least, used, best);
        let mut with = least.to_vec();
        self.take(leaf, *head, &mut with);
        used[*head] = true;
        self.go(leaf, rest, constant + self.constant(leaf, *head), &with, used, best);
        used[*head] = false;
    }

    /// Open heads may all be used; only named heads cost swaps; constants of open heads only lower the figure.
    fn relaxed(&self, leaf: &Leaf) -> Option<i128> {
        let mut least = vec![NEVER; self.done.len()];
        let named: Vec<bool> = leaf.decided.iter().map(|d| *d == Some(true)).collect();
        let mut sum = self.all_swaps(leaf, &named);
        for c in (0..named.len()).filter(|c| leaf.decided[*c] != Some(false)) {
            self.take(leaf, c, &mut least);
            let constant = self.constant(leaf, c);
            sum += if named[c] { constant } else { constant.min(0) };
        }
        least.iter().try_fold(sum, |sum, t| (*t < NEVER).then(|| sum + t))
    }
}
