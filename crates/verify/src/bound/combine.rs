//! The minimum over all sets of heads in use, and the weighted mean.
//!
//! Heads are taken in or left out one after the other; each choice keeps, for every task, the least
//! weighted cost among the heads taken so far. So all sets together cost about two passes over the
//! tasks each, on flat arrays.

use super::NS;
use units::Time;

/// Combinations of head sets that are tried one by one; with more the minimum is relaxed.
const COMBINATIONS: u32 = 4096;
/// Stands for "no head taken so far does this".
const NEVER: i128 = i128::MAX / 4;

/// One head's figures [ns].
pub(crate) struct Column {
    /// For each task, dot and area, or `None` where the head cannot do it.
    pub(crate) costs: Vec<Option<i64>>,
    /// Whenever the head is in use.
    pub(crate) constant: i64,
}

/// One station's figures [ns].
pub(crate) struct StationModel {
    pub(crate) weight: i128,
    pub(crate) fixed: i64,
    pub(crate) swap: i64,
    pub(crate) alternates: bool,
    pub(crate) columns: Vec<Column>,
}

/// The whole line.
pub(crate) struct Model {
    pub(crate) stations: Vec<StationModel>,
}

/// One head, weighted.
struct Weighted {
    station: usize,
    constant: i128,
    costs: Vec<i128>,
}

impl Model {
    /// The bound [µs, rounded down].
    pub(crate) fn bound(&self) -> Time {
        let weights: i128 = self.stations.iter().map(|s| s.weight).sum();
        let fixed: i128 = self.stations.iter().map(|s| s.weight * i128::from(s.fixed)).sum();
        let heads = self.weighted();
        let combinations = 1u32.checked_shl(heads.len() as u32).filter(|_| heads.len() < 32).unwrap_or(u32::MAX);
        let least = if combinations > COMBINATIONS { relaxed(&heads) } else { self.least_of_all(&heads) };
        let total = (fixed + least).div_euclid(weights * i128::from(NS));
        Time(i64::try_from(total).unwrap_or(i64::MAX).max(0))
    }

    /// The heads with their stations' weights; tasks that no head does are left out.
    fn weighted(&self) -> Vec<Weighted> {
        let columns = || self.stations.iter().flat_map(|s| &s.columns);
        let tasks = columns().map(|c| c.costs.len()).max().unwrap_or(0);
        let done: Vec<usize> = (0..tasks).filter(|i| columns().any(|c| c.costs[*i].is_some())).collect();
        let mut heads = Vec::new();
        for (s, station) in self.stations.iter().enumerate() {
            for column in &station.columns {
                let cost = |i: &usize| column.costs[*i].map_or(NEVER, |t| station.weight * i128::from(t));
                heads.push(Weighted {
                    station: s,
                    constant: station.weight * i128::from(column.constant),
                    costs: done.iter().map(cost).collect(),
                });
            }
        }
        heads
    }

    fn least_of_all(&self, heads: &[Weighted]) -> i128 {
        let tasks = heads.first().map_or(0, |h| h.costs.len());
        let mut search = Search { model: self, heads, best: NEVER, used: vec![0; self.stations.len()] };
        search.go(0, 0, &vec![NEVER; tasks]);
        search.best
    }

    /// Swaps when `used` heads of a station are in use.
    fn swaps(&self, station: usize, used: i64) -> i128 {
        let s = &self.stations[station];
        let count = match used {
            0 | 1 => 0,
            k if s.alternates => k - 1,
            k => k,
        };
        s.weight * i128::from(count * s.swap)
    }
}

struct Search<'m> {
    model: &'m Model,
    heads: &'m [Weighted],
    best: i128,
    used: Vec<i64>,
}

impl Search<'_> {
    fn go(&mut self, next: usize, constant: i128, least: &[i128]) {
        let Some(head) = self.heads.get(next) else {
            // A task that no taken head does makes the sum larger than any real one.
            let sum = least.iter().try_fold(constant, |sum, t| (*t < NEVER).then(|| sum + t));
            let swaps: i128 = self.used.iter().enumerate().map(|(s, k)| self.model.swaps(s, *k)).sum();
            self.best = sum.map_or(self.best, |sum| self.best.min(sum + swaps));
            return;
        };
        self.go(next + 1, constant, least);
        let with: Vec<i128> = least.iter().zip(&head.costs).map(|(a, b)| *a.min(b)).collect();
        self.used[head.station] += 1;
        self.go(next + 1, constant + head.constant, &with);
        self.used[head.station] -= 1;
    }
}

/// All heads in use, no swaps, constants only where they lower the figure.
fn relaxed(heads: &[Weighted]) -> i128 {
    let tasks = heads.first().map_or(0, |h| h.costs.len());
    let least = |i: usize| heads.iter().map(|h| h.costs[i]).min().unwrap_or(0);
    let constants: i128 = heads.iter().map(|h| h.constant.min(0)).sum();
    constants + (0..tasks).map(least).sum::<i128>()
}
