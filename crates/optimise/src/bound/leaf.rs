//! The bound of a leaf: `docs/planning.md` §3.4.

use super::columns::{Costs, Row, Use};
use super::figures::{NEVER, Prices};
use super::station::Heads;
use domain::plan::{HeadUse, Leaf, StationManner};
use std::borrow::Cow;

/// Stands for "no limit".
pub(super) const NO_LIMIT: u32 = u32::MAX;

/// A leaf with the best weights and prices found for it.
#[derive(Clone, Debug)]
pub(super) struct Node {
    /// For each column the fewest and most trips (1 and 0 for used and not used).
    pub range: Vec<(u32, u32)>,
    /// Weight of each row.
    pub weights: Vec<u64>,
    /// Prices of each head.
    pub prices: Vec<Prices>,
    /// For each row whether passes alternate, where the leaf says so.
    pub manners: Vec<Option<bool>>,
}

/// What a leaf leaves to the plans that belong to it, whatever its weights and prices.
pub(super) struct Scope<'c> {
    /// For each row whether passes may not alternate, and whether they may.
    pub manners: Vec<(bool, bool)>,
    /// Items each column can do, rising: fewer where passes alternate and pairs hold two pieces of work to one head.
    pub does: Vec<Cow<'c, [u32]>>,
    /// For each row whether pairs would hold work to fewer heads if passes alternated.
    pub holds: Vec<bool>,
}

/// An evaluation of a leaf.
#[derive(Clone, Debug)]
pub(super) struct Value {
    /// The numerator of the bound: Σ weight × ns.
    pub value: i128,
    /// What the minimum lies at, as the load of each row [ns]: value = Σ weight × load.
    pub loads: Vec<i64>,
    /// Open columns that the minimum uses, with the weight of what they do there.
    pub leaning: Vec<(usize, i128)>,
    /// For each item the least weighted time.
    pub least: Vec<i64>,
    /// Seats that the work of each head takes where the minimum lies.
    pub seats: Vec<i64>,
    /// Trips of each head there; 0 where they are not priced.
    pub trips: Vec<i64>,
    /// For each row whether passes alternate there.
    pub alternating: Vec<bool>,
}

impl Node {
    /// Whether a column is named as used.
    pub fn is_given(&self, column: usize) -> bool {
        self.range[column].0 > 0
    }

    /// Whether a column may be used or not.
    pub fn is_open(&self, column: usize) -> bool {
        self.range[column].0 == 0 && self.range[column].1 > 0
    }

    /// Times of all items at all heads under the prices.
    pub fn times(&self, costs: &Costs) -> Vec<Vec<i64>> {
        costs.heads.iter().zip(&self.prices).map(|(f, p)| f.times(p)).collect()
    }

    /// Tells the weighted time of each of these items at a head.
    fn each_weighted(
        &self,
        (costs, h): (&Costs, usize),
        times: &[Vec<i64>],
        weights: &[u64],
        items: &[u32],
        mut tell: impl FnMut(usize, i64),
    ) {
        let (figures, times) = (&costs.heads[h], &times[h]);
        let items = items.iter().map(|i| *i as usize);
        // The innermost loop of the bound: without a board the weight is the same for all.
        match &figures.board {
            None => {
                let w = weights[figures.row] as i64;
                items.for_each(|i| tell(i, w * times[i]));
            }
            Some(_) => {
                let prices = &self.prices[h];
                items.for_each(|i| tell(i, figures.weighted(i, times[i], prices, weights)));
            }
        }
    }

    /// What the leaf leaves to its plans.
    pub fn scope<'c>(&self, costs: &'c Costs) -> Scope<'c> {
        // The row where everything that can do an item is, and its heads.
        let at = |list: &Vec<u32>| -> Option<(usize, Vec<usize>)> {
            let mut heads: Vec<usize> =
                list.iter().filter(|c| self.range[**c as usize].1 > 0).map(|c| costs.uses[*c as usize].head).collect();
            heads.dedup();
            let row = costs.heads[*heads.first()?].row;
            heads.iter().all(|h| costs.heads[*h].row == row).then_some((row, heads))
        };
        let places: Vec<Option<(usize, Vec<usize>)>> = costs.orders.doers.iter().map(at).collect();
        let mut may: Vec<bool> = costs.rows.iter().map(|r| costs.alternate[r.station]).collect();
        for (a, b) in &costs.orders.pairs {
            if let (Some((s, a)), Some((t, b))) = (&places[*a as usize], &places[*b as usize])
                && s == t
                && !a.iter().any(|h| b.contains(h))
            {
                may[*s] = false;
            }
        }
        let manners = (0..may.len()).map(|r| (self.manners[r] != Some(true), self.manners[r] != Some(false) && may[r])).collect();
        let mut holds = vec![false; costs.rows.len()];
        let mut of_column = |column: &'c Use| {
            let row = costs.heads[column.head].row;
            let is_held = |i: &u32| {
                let partners = costs.orders.partners.get(*i as usize).map_or(&[][..], |p| p);
                partners.iter().any(|l| places[*l as usize].as_ref().is_some_and(|(r, heads)| *r == row && !heads.contains(&column.head)))
            };
            if !may[row] || costs.is_shared(costs.rows[row].station) || !column.does.iter().any(is_held) {
                return Cow::Borrowed(&column.does[..]);
            }
            holds[row] = true;
            if self.manners[row] != Some(true) {
                return Cow::Borrowed(&column.does[..]);
            }
            column.does.iter().copied().filter(|i| !is_held(i)).collect()
        };
        let does = costs.uses.iter().map(&mut of_column).collect();
        Scope { manners, does, holds }
    }

    /// The bound's numerator under these weights; `None` when no plan belongs to the leaf.
    pub fn evaluate(&self, costs: &Costs, times: &[Vec<i64>], scope: &Scope<'_>, weights: &[u64], work: &mut u64) -> Option<Value> {
        let add = |loads: &mut [i64], h: usize, i: usize, sign: i64| {
            let figures = &costs.heads[h];
            match &figures.board {
                None => loads[figures.row] += sign * times[h][i],
                Some(board) => {
                    let (own, held) = figures.shares(board, i, &self.prices[h], weights);
                    loads[figures.row] += sign * own;
                    loads[board.row] += sign * held;
                }
            }
        };
        let mut loads: Vec<i64> = costs.rows.iter().map(|r| costs.fixed[r.station]).collect();
        for area in &costs.areas {
            let able = (0..area.len()).filter(|s| area[*s] != NEVER);
            let s = able.min_by_key(|s| (i128::from(weights[*s]) * i128::from(area[*s]), *s))?;
            loads[s] += area[s];
        }
        let mut least = vec![NEVER; costs.items];
        let mut by = vec![u32::MAX; costs.items];
        let mut lower = |c: usize, least: &mut [i64], only_new: Option<&[bool]>| {
            let h = costs.uses[c].head;
            *work += scope.does[c].len() as u64;
            self.each_weighted((costs, h), times, weights, &scope.does[c], |i, time| {
                if time < least[i] && only_new.is_none_or(|new| new[i]) {
                    least[i] = time;
                    by[i] = c as u32;
                }
            });
        };
        (0..self.range.len()).filter(|c| self.is_given(*c)).for_each(|c| lower(c, &mut least, None));
        let new: Vec<bool> = least.iter().map(|l| *l == NEVER).collect();
        let open: Vec<usize> = (0..self.range.len()).filter(|c| self.is_open(*c)).collect();
        let mut gain: Vec<i128> = vec![0; self.range.len()];
        if new.contains(&true) {
            open.iter().for_each(|c| lower(*c, &mut least, Some(&new)));
        }
        if least.contains(&NEVER) {
            return None;
        }
        for c in &open {
            let u = &costs.uses[*c];
            self.each_weighted((costs, u.head), times, weights, &scope.does[*c], |i, time| {
                gain[*c] += i128::from((least[i] - time).max(0))
            });
        }
        let mut on_open: Vec<i128> = vec![0; self.range.len()];
        let (mut seats, mut trips) = (vec![0; costs.heads.len()], vec![0; costs.heads.len()]);
        for (i, c) in by.iter().enumerate() {
            let u = &costs.uses[*c as usize];
            add(&mut loads, u.head, i, 1);
            seats[u.head] += 1;
            if new[i] {
                on_open[*c as usize] += i128::from(least[i].max(1));
            }
        }
        let mut alternating = Vec::with_capacity(costs.rows.len());
        for (r, row) in costs.rows.iter().enumerate() {
            let heads = Heads { costs, row: r, weights, range: &self.range, prices: &self.prices, gain: &gain, manners: scope.manners[r] };
            let (choice, alternates) = heads.cheapest()?;
            alternating.push(alternates);
            loads[r] += choice.extra[0];
            row.board.iter().for_each(|b| loads[*b] += choice.extra[1]);
            choice.trips.iter().for_each(|(h, n)| trips[*h] = *n);
            for c in choice.opened {
                on_open[c] += gain[c];
                let h = costs.uses[c].head;
                self.each_weighted((costs, h), times, weights, &scope.does[c], |i, time| {
                    if least[i] > time {
                        add(&mut loads, h, i, 1);
                        seats[h] += 1;
                        let from = costs.uses[by[i] as usize].head;
                        add(&mut loads, from, i, -1);
                        seats[from] -= 1;
                    }
                });
            }
        }
        let value = loads.iter().zip(weights).map(|(l, w)| i128::from(*l) * i128::from(*w)).sum();
        let leaning = on_open.into_iter().enumerate().filter(|(_, w)| *w > 0).collect();
        Some(Value { value, loads, leaning, least, seats, trips, alternating })
    }

    /// As the certificate states it.
    pub fn leaf(&self, costs: &Costs) -> Leaf {
        let of = |(c, range): (usize, &(u32, u32))| {
            let u = &costs.uses[c];
            let (figures, prices) = (&costs.heads[u.head], if range.1 > 0 { self.prices[u.head] } else { Prices::default() });
            let says = HeadUse {
                station: figures.station as u32,
                head: figures.head as u32,
                nozzle: u.nozzle,
                at_least: range.0,
                at_most: (range.1 != NO_LIMIT).then_some(range.1),
                seat_ns: prices.seat,
                first_ns: prices.first,
                last_ns: prices.last,
            };
            (*range != (0, NO_LIMIT) || prices != Prices::default()).then_some(says)
        };
        let manner =
            |(row, manner): (&Row, &Option<bool>)| manner.map(|alternating| StationManner { station: row.station as u32, alternating });
        Leaf {
            heads: self.range.iter().enumerate().filter_map(of).collect(),
            weights: self.weights.clone(),
            manners: costs.rows.iter().zip(&self.manners).filter_map(manner).collect(),
        }
    }
}
