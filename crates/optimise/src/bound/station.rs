//! What heads in use cost a station beside their work, and which open ones are worth it
//! (`docs/planning.md` §3.3, §3.4).

use super::columns::Costs;
use super::figures::{NEVER, Prices};

/// The heads of a row under a leaf: of a station, or one beam of two.
pub(super) struct Heads<'l> {
    pub costs: &'l Costs,
    /// Index into [`Costs::rows`].
    pub row: usize,
    /// Weight of every row.
    pub weights: &'l [u64],
    /// Range of trips of every column.
    pub range: &'l [(u32, u32)],
    /// Prices of every head.
    pub prices: &'l [Prices],
    /// What each open column would spare, weighted.
    pub gain: &'l [i128],
    /// Whether passes may not alternate, and whether they may.
    pub manners: (bool, bool),
}

/// The cheapest set of open columns.
#[derive(Clone, Debug, Default)]
pub(super) struct Choice {
    /// What it costs less what it spares, weighted.
    pub value: i128,
    /// What it costs in this row and in that of the board [ns].
    pub extra: [i64; 2],
    /// The open columns taken.
    pub opened: Vec<usize>,
    /// Trips of the heads in use whose trips are priced: head and number.
    pub trips: Vec<(usize, i64)>,
}

/// A head in use, at its cheapest.
struct InUse {
    /// Index into [`Costs::heads`].
    head: usize,
    given: bool,
    choice: Choice,
}

impl Heads<'_> {
    /// The cheapest choice and whether passes alternate there; `None` if the given columns cannot be used together.
    pub fn cheapest(&self) -> Option<(Choice, bool)> {
        let (still, alternating) = self.manners;
        let manner = |is_allowed: bool, alternating: bool| {
            if is_allowed { self.in_manner(alternating).map(|c| (c, alternating)) } else { None }
        };
        [manner(still, false), manner(alternating, true)].into_iter().flatten().min_by_key(|c| c.0.value)
    }

    fn in_manner(&self, alternating: bool) -> Option<Choice> {
        let mut heads = Vec::new();
        let mut k = 0;
        while k < self.costs.uses.len() {
            let head = self.costs.uses[k].head;
            let next = (k..self.costs.uses.len()).find(|c| self.costs.uses[*c].head != head).unwrap_or(self.costs.uses.len());
            if self.costs.heads[head].row == self.row && (k..next).any(|c| self.range[c].1 > 0) {
                let given: Vec<usize> = (k..next).filter(|c| self.range[*c].0 > 0).collect();
                let open: Vec<usize> = (k..next).filter(|c| self.range[*c].0 == 0 && self.range[*c].1 > 0).collect();
                match self.one(head, &given, open, alternating) {
                    Some(choice) => heads.push(InUse { head, given: !given.is_empty(), choice }),
                    None if given.is_empty() => {}
                    None => return None,
                }
            }
            k = next;
        }
        self.together(&heads, alternating)
    }

    /// A head in use by itself: trips and nozzle changes, less what its open columns spare.
    fn one(&self, head: usize, given: &[usize], mut open: Vec<usize>, alternating: bool) -> Option<Choice> {
        let figures = &self.costs.heads[head];
        if let Some(c) = given.first().or(open.first()).filter(|c| self.costs.uses[**c].nozzle.is_none()) {
            let (count, extra) = figures.trips(&self.prices[head], self.range[*c], self.weights)?;
            let value = self.weighted(extra);
            let trips = if count > 0 { vec![(head, count)] } else { Vec::new() };
            return Some(if given.is_empty() {
                Choice { value: value - self.gain[*c], extra, opened: vec![*c], trips }
            } else {
                Choice { value, extra, opened: Vec::new(), trips }
            });
        }
        open.sort_by_key(|c| (std::cmp::Reverse(self.gain[*c]), *c));
        let most = if figures.change == NEVER { 1 } else { given.len() + open.len() };
        let of = |kinds: usize| {
            let changes = if kinds < 2 { 0 } else { kinds - usize::from(alternating) };
            let held = figures.board.as_ref().map_or(0, |b| b.change);
            let extra = if changes == 0 { [0, 0] } else { [figures.change, held].map(|c| c * changes as i64) };
            let opened = open[..kinds - given.len()].to_vec();
            let gain: i128 = opened.iter().map(|c| self.gain[*c]).sum();
            Choice { value: self.weighted(extra) - gain, extra, opened, trips: Vec::new() }
        };
        (given.len().max(1)..=most).map(of).min_by_key(|c| c.value)
    }

    /// Times of this row and of the board, weighted.
    fn weighted(&self, [own, held]: [i64; 2]) -> i128 {
        let board = self.costs.rows[self.row].board.map_or(0, |b| self.weights[b]);
        i128::from(self.weights[self.row]) * i128::from(own) + i128::from(board) * i128::from(held)
    }

    /// The heads together: who enters and leaves, and the swaps between them.
    fn together(&self, heads: &[InUse], alternating: bool) -> Option<Choice> {
        let figures = |u: &InUse| &self.costs.heads[u.head];
        let add = |u: &InUse, more: [i64; 2]| Choice {
            value: u.choice.value + self.weighted(more),
            extra: [u.choice.extra[0] + more[0], u.choice.extra[1] + more[1]],
            opened: u.choice.opened.clone(),
            trips: u.choice.trips.clone(),
        };
        let station = self.costs.rows[self.row].station;
        let changer = self.costs.changer[station];
        let given: Vec<&InUse> = heads.iter().filter(|u| u.given).collect();
        let mut found = Vec::new();
        if given.is_empty() {
            found.push(Choice::default());
        }
        if given.len() <= 1 {
            let alone = |u: &InUse| {
                let f = figures(u);
                let own = if changer { f.enter_mark.min(f.enter_changer) } else { f.enter_mark } + f.end;
                add(u, [own, f.board.as_ref().map_or(0, |b| b.enter + b.end)])
            };
            found.extend(heads.iter().filter(|u| u.given || given.is_empty()).map(alone));
        }
        if changer && heads.len() >= 2 {
            let least = |f: &dyn Fn(&InUse) -> i64| heads.iter().map(f).min().unwrap_or(0).min(0);
            let first = least(&|u| figures(u).enter_mark - figures(u).enter_changer);
            let last = if alternating {
                least(&|u| figures(u).end - figures(u).leave)
            } else {
                let again = least(&|u| figures(u).enter_changer + figures(u).end - self.prices[u.head].last);
                again.min(least(&|u| figures(u).end - figures(u).leave + figures(u).mark_to_changer))
            };
            let swap = self.costs.swap[station];
            let each = |u: &InUse| add(u, [figures(u).enter_changer + figures(u).leave + swap, 0]);
            let mut open: Vec<Choice> = heads.iter().filter(|u| !u.given).map(each).collect();
            open.sort_by_key(|c| c.value);
            let spared = first + last - if alternating { swap } else { 0 };
            let mut all = Choice { value: self.weighted([spared, 0]), extra: [spared, 0], ..Choice::default() };
            let mut taken = 0;
            let mut take = |c: Choice| {
                all.value += c.value;
                all.extra[0] += c.extra[0];
                all.opened.extend(c.opened);
                all.trips.extend(c.trips);
                taken += 1;
            };
            given.iter().for_each(|u| take(each(u)));
            let need = 2usize.saturating_sub(given.len());
            open.into_iter().enumerate().filter(|(i, c)| *i < need || c.value < 0).for_each(|(_, c)| take(c));
            if taken >= 2 {
                found.push(all);
            }
        }
        found.into_iter().min_by_key(|c| c.value)
    }
}
