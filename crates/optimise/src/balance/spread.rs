//! A good unsplit balance fast: longest time first, then moves and swaps.

use super::Linear;
use super::supplies::Supplies;

/// Loads and supplies of the stations under an unsplit assignment.
struct State<'a> {
    model: &'a Linear,
    /// Column of each group.
    column: Vec<usize>,
    /// Work in each column [µs].
    work: Vec<f64>,
    /// Groups in each column.
    users: Vec<u32>,
    supplies: Supplies,
    /// For each group those that must not be at a later station, and those that must not be at an earlier one.
    before: Vec<Vec<usize>>,
    after: Vec<Vec<usize>>,
}

const NOWHERE: usize = usize::MAX;

impl<'a> State<'a> {
    fn new(model: &'a Linear) -> Self {
        let (mut before, mut after) = (vec![Vec::new(); model.groups.len()], vec![Vec::new(); model.groups.len()]);
        for (a, b) in &model.pairs {
            before[*b].push(*a);
            after[*a].push(*b);
        }
        Self {
            model,
            before,
            after,
            column: vec![NOWHERE; model.groups.len()],
            work: vec![0.0; model.columns.len()],
            users: vec![0; model.columns.len()],
            supplies: Supplies::none(model),
        }
    }

    fn put(&mut self, g: usize, c: usize) {
        let (group, s) = (self.model.groups[g], self.model.columns[c]);
        self.column[g] = c;
        self.work[c] += self.model.time[g][c].unwrap_or(0.0) * f64::from(group.count);
        self.users[c] += 1;
        self.supplies.add(self.model, g, s);
    }

    fn take(&mut self, g: usize) {
        let c = self.column[g];
        let (group, s) = (self.model.groups[g], self.model.columns[c]);
        self.column[g] = NOWHERE;
        self.work[c] -= self.model.time[g][c].unwrap_or(0.0) * f64::from(group.count);
        self.users[c] -= 1;
        self.supplies.drop(self.model, g, s);
    }

    fn fits(&self, g: usize, c: usize) -> bool {
        let s = self.model.columns[c];
        self.model.time[g][c].is_some() && self.in_order(g, s) && self.supplies.has_room(self.model, g, s)
    }

    /// Whether a group at a station keeps the pairs with all groups that have a column.
    fn in_order(&self, g: usize, s: usize) -> bool {
        let at = |o: &usize| Some(self.column[*o]).filter(|c| *c != NOWHERE).map(|c| self.model.columns[c]);
        self.before[g].iter().all(|o| at(o).is_none_or(|x| x <= s)) && self.after[g].iter().all(|o| at(o).is_none_or(|x| s <= x))
    }

    fn load(&self, s: usize) -> f64 {
        let (mut load, mut heads) = (self.model.stations[s].fixed, 0);
        for (c, at) in self.model.columns.iter().enumerate() {
            if *at == s && self.users[c] > 0 {
                load += self.work[c];
                heads += 1;
            }
        }
        load + self.model.stations[s].swaps(heads)
    }

    /// Puts groups into other columns, all or none; `None` if something does not fit or nothing changes.
    /// Returns where each came from.
    fn carry_out(&mut self, wanted: &[(usize, usize)]) -> Option<Vec<(usize, usize)>> {
        let moved: Vec<(usize, usize)> = wanted.iter().map(|(g, _)| (*g, self.column[*g])).collect();
        if moved.is_empty() || wanted.iter().zip(&moved).any(|((_, to), (_, from))| to == from || *to == NOWHERE) {
            return None;
        }
        moved.iter().filter(|(_, from)| *from != NOWHERE).for_each(|(g, _)| self.take(*g));
        let mut put = 0;
        for (g, to) in wanted {
            if !self.fits(*g, *to) {
                break;
            }
            self.put(*g, *to);
            put += 1;
        }
        if put == wanted.len() {
            return Some(moved);
        }
        wanted[..put].iter().for_each(|(g, _)| self.take(*g));
        moved.iter().filter(|(_, from)| *from != NOWHERE).for_each(|(g, from)| self.put(*g, *from));
        None
    }

    fn value(&self) -> f64 {
        softened((0..self.model.stations.len()).map(|s| self.load(s)), SOFT)
    }
}

/// The exponent of [`softened`] for the balance of whole part types.
pub const SOFT: u32 = 4;

/// Time of the slowest station, softened: the norm of all loads with exponent 2ⁿ, which also rewards
/// relieving stations that are not the slowest; the less so, the larger n.
pub fn softened(loads: impl Iterator<Item = f64> + Clone, n: u32) -> f64 {
    let most = loads.clone().fold(0.0, f64::max);
    if most <= 0.0 {
        return 0.0;
    }
    let power = |load: f64| (0..n).fold(load / most, |x, _| x * x);
    most * loads.map(power).sum::<f64>().powf(0.5f64.powi(n as i32))
}

/// An unsplit assignment: the column of each group, `None` where nothing has room for it.
///
/// `tries` moves are tried after the first spreading.
pub fn spread(model: &Linear, tries: u32, rng: &mut fastrand::Rng) -> Vec<Option<usize>> {
    spread_from(model, &[], tries, rng)
}

/// As [`spread`], beginning with the columns that a linear program prefers: `shares` are its counts for
/// each group and column ([`super::relax`]). Groups it leaves open are spread as usual.
pub fn spread_from(model: &Linear, shares: &[Vec<f64>], tries: u32, rng: &mut fastrand::Rng) -> Vec<Option<usize>> {
    let mut state = State::new(model);
    let options = |g: usize| model.time[g].iter().flatten().count();
    // Groups with little choice first, so that room is left for them.
    let mut by_choice: Vec<usize> = (0..model.groups.len()).collect();
    by_choice.sort_by_key(|g| options(*g));
    for g in by_choice {
        let Some(row) = shares.get(g) else { continue };
        let most = row.iter().enumerate().max_by(|a, b| a.1.total_cmp(b.1).then(b.0.cmp(&a.0)));
        if let Some((c, n)) = most
            && *n > 0.0
            && state.fits(g, c)
        {
            state.put(g, c);
        }
    }
    let longest = |g: usize| model.time[g].iter().flatten().copied().fold(f64::INFINITY, f64::min) * f64::from(model.groups[g].count);
    let mut by_need: Vec<usize> = (0..model.groups.len()).filter(|g| options(*g) > 0 && state.column[*g] == NOWHERE).collect();
    // Of those with as little choice the longest first.
    by_need.sort_by(|a, b| options(*a).cmp(&options(*b)).then(longest(*b).total_cmp(&longest(*a))).then(a.cmp(b)));
    for g in by_need {
        let mut best: Option<(f64, usize)> = None;
        for c in 0..model.columns.len() {
            if state.fits(g, c) {
                state.put(g, c);
                let value = state.value();
                state.take(g);
                if best.is_none_or(|b| value < b.0) {
                    best = Some((value, c));
                }
            }
        }
        if let Some((_, c)) = best {
            state.put(g, c);
        }
    }
    improve(&mut state, tries, rng);
    state.column.iter().map(|c| (*c != NOWHERE).then_some(*c)).collect()
}

/// Longest time first, by the book: groups in the order of their whole time, each to the station with
/// the least load so far that has room, there to its fastest column. Head swaps are not minded.
pub fn longest_first(model: &Linear) -> Vec<Option<usize>> {
    let mut state = State::new(model);
    let mut load: Vec<f64> = model.stations.iter().map(|s| s.fixed).collect();
    let whole = |g: usize, c: usize| model.time[g][c].unwrap_or(0.0) * f64::from(model.groups[g].count);
    let longest = |g: usize| (0..model.columns.len()).filter(|c| model.time[g][*c].is_some()).map(|c| whole(g, c)).fold(0.0, f64::max);
    let mut order: Vec<usize> = (0..model.groups.len()).collect();
    order.sort_by(|a, b| longest(*b).total_cmp(&longest(*a)).then(a.cmp(b)));
    for g in order {
        let room = (0..model.columns.len()).filter(|c| state.fits(g, *c));
        let best = room.min_by(|a, b| {
            let key = |c: &usize| (load[model.columns[*c]], whole(g, *c));
            key(a).0.total_cmp(&key(b).0).then(key(a).1.total_cmp(&key(b).1)).then(a.cmp(b))
        });
        if let Some(c) = best {
            load[model.columns[c]] += whole(g, c);
            state.put(g, c);
        }
    }
    state.column.iter().map(|c| (*c != NOWHERE).then_some(*c)).collect()
}

/// Moves one group, swaps two, or moves all of a column, by annealing on the model.
fn improve(state: &mut State<'_>, tries: u32, rng: &mut fastrand::Rng) {
    let groups = state.model.groups.len();
    let columns = state.model.columns.len();
    if groups == 0 || columns < 2 {
        return;
    }
    let mut value = state.value();
    let (mut best, mut best_value) = (state.column.clone(), value);
    for k in 0..tries {
        // From 3 % down to 0.003 % of the value, evenly in ratio.
        let heat = value * 0.03 * 0.001f64.powf(f64::from(k) / f64::from(tries));
        let wanted = match rng.u32(..100) {
            0..=45 => vec![(rng.usize(..groups), rng.usize(..columns))],
            46..=93 => {
                let (a, b) = (rng.usize(..groups), rng.usize(..groups));
                vec![(a, state.column[b]), (b, state.column[a])]
            }
            // A head that loses all its work spares a swap, which single moves do not see.
            _ => {
                let (from, to) = (rng.usize(..columns), rng.usize(..columns));
                (0..groups).filter(|g| state.column[*g] == from && state.model.time[*g][to].is_some()).map(|g| (g, to)).collect()
            }
        };
        let Some(undo) = state.carry_out(&wanted) else { continue };
        let next = state.value();
        let fits_more = undo.iter().any(|(_, from)| *from == NOWHERE);
        if fits_more || next <= value || rng.f64() < ((value - next) / heat.max(1e-9)).exp() {
            value = next;
            if value < best_value || fits_more {
                (best, best_value) = (state.column.clone(), value);
            }
        } else {
            undo.iter().for_each(|(g, _)| state.take(*g));
            undo.iter().for_each(|(g, c)| state.put(*g, *c));
        }
    }
    let now: Vec<usize> = (0..groups).filter(|g| state.column[*g] != NOWHERE).collect();
    now.iter().for_each(|g| state.take(*g));
    for (g, c) in best.iter().enumerate().filter(|(_, c)| **c != NOWHERE) {
        state.put(g, *c);
    }
}
