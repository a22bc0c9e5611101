//! Part types split over stations: what a whole part type is too coarse to level.

use super::spread::{SOFT, softened};
use super::supplies::Supplies;
use super::{Linear, relax, spread_from};

/// Steps for each group of the model.
const STEPS: usize = 4;
/// One move of so many is of all work of a head.
const WHOLE: u32 = 40;
/// Groups times columns up to which heads are left out for trial.
const MOST_CELLS: usize = 4_000;
/// Least gain that is worth another supply, as a part of the slowest station's time.
const NOTABLE: f64 = 0.000_1;
/// Exponents of [`softened`], each tried: a soft norm finds ways past swaps, a hard one does not buy a smaller sum with a slower
/// station.
const SOFTNESS: [u32; 2] = [SOFT, 7];

/// How many placements of each group go to each column, and what follows from it.
struct Pieces<'m> {
    model: &'m Linear,
    counts: Vec<Vec<u32>>,
    /// Work in each column [µs].
    work: Vec<f64>,
    /// Groups in each column.
    users: Vec<u32>,
    supplies: Supplies,
    /// For each group those that must not be at a later station, and those that must not be at an earlier one.
    before: Vec<Vec<usize>>,
    after: Vec<Vec<usize>>,
}

/// Placements of a group that go to another column.
#[derive(Clone, Copy)]
struct Way {
    group: usize,
    from: usize,
    to: usize,
    count: u32,
}

/// Placements that go to another station, and perhaps others back.
#[derive(Clone, Copy)]
struct Step {
    there: Way,
    back: Option<Way>,
    /// Time of the slower of the two stations afterwards [µs].
    slower: f64,
}

/// A balance with groups split where that pays: counts of each group in each column.
///
/// The best of the one that the linear program prefers and of those that do without one head or another, which spares its
/// swap; large models keep their heads. `tries` moves are tried on the model each time.
pub fn level(model: &Linear, tries: u32, rng: &mut fastrand::Rng) -> Vec<Vec<u32>> {
    let mut solve = |model: &Linear| {
        let shares = relax(model).map_or(Vec::new(), |s| s.counts);
        let pieces = split(model, &spread_from(model, &shares, tries, rng), tries, rng);
        let placed: u32 = pieces.counts.iter().flatten().sum();
        ((std::cmp::Reverse(placed), pieces.slowest()), pieces.counts)
    };
    let mut model = model.clone();
    let mut best = solve(&model);
    if model.groups.len() * model.columns.len() > MOST_CELLS {
        return best.1;
    }
    loop {
        let is_used = |c: usize| best.1.iter().any(|row| row[c] > 0);
        let others = |c: usize| (0..model.columns.len()).any(|o| o != c && model.columns[o] == model.columns[c] && is_used(o));
        let spares_a_swap = |c: &usize| model.stations[model.columns[*c]].swap > 0.0 && is_used(*c) && others(*c);
        let without = |c: usize, only_used: bool| {
            let mut without = model.clone();
            let is_closed = |o: usize| o == c || (only_used && !is_used(o));
            without.time.iter_mut().for_each(|row| (0..row.len()).filter(|o| is_closed(*o)).for_each(|o| row[o] = None));
            without
        };
        // Its work goes to heads in use first: another one taken into use would cost the swap that is spared.
        let mut better_without = |only_used: bool| {
            let tried = (0..model.columns.len()).filter(spares_a_swap).map(|c| without(c, only_used)).map(|m| (solve(&m), m));
            // A placement more that finds room by chance is not worth a slower line.
            let better = tried.filter(|((rating, _), _)| rating.0 <= best.0.0 && rating.1 < best.0.1);
            better.min_by(|a, b| a.0.0.1.total_cmp(&b.0.0.1))
        };
        match better_without(true).or_else(|| better_without(false)) {
            Some((found, without)) => (best, model) = (found, without),
            None => return best.1,
        }
    }
}

/// Splits groups of an assignment (the column of each, `None` for those without) by annealing, then placements go from the
/// slowest station to another while the slower of the two gets faster.
fn split<'m>(model: &'m Linear, columns: &[Option<usize>], tries: u32, rng: &mut fastrand::Rng) -> Pieces<'m> {
    let of = |(column, group): (&Option<usize>, &super::Group)| {
        (0..model.columns.len()).map(|c| if Some(c) == *column { group.count } else { 0 }).collect()
    };
    let counts: Vec<Vec<u32>> = columns.iter().zip(&model.groups).map(of).collect();
    let one = |softness: u32| {
        let mut pieces = Pieces::of(model, counts.clone());
        pieces.anneal(tries, softness, rng);
        for _ in 0..STEPS * model.groups.len() {
            let Some(step) = pieces.best_step() else { break };
            std::iter::once(step.there).chain(step.back).for_each(|way| pieces.go(way));
        }
        pieces
    };
    SOFTNESS.map(one).into_iter().min_by(|a, b| a.slowest().total_cmp(&b.slowest())).expect("some are tried")
}

impl<'m> Pieces<'m> {
    fn of(model: &'m Linear, counts: Vec<Vec<u32>>) -> Self {
        let (mut before, mut after) = (vec![Vec::new(); model.groups.len()], vec![Vec::new(); model.groups.len()]);
        for (a, b) in &model.pairs {
            before[*b].push(*a);
            after[*a].push(*b);
        }
        let mut pieces = Self {
            model,
            before,
            after,
            counts: vec![vec![0; model.columns.len()]; model.groups.len()],
            work: vec![0.0; model.columns.len()],
            users: vec![0; model.columns.len()],
            supplies: Supplies::none(model),
        };
        for (g, row) in counts.iter().enumerate() {
            row.iter().enumerate().filter(|(_, n)| **n > 0).for_each(|(c, n)| pieces.add(g, c, *n));
        }
        pieces
    }

    fn add(&mut self, g: usize, c: usize, count: u32) {
        if self.counts[g][c] == 0 && count > 0 {
            self.users[c] += 1;
            self.supplies.add(self.model, g, self.model.columns[c]);
        }
        self.counts[g][c] += count;
        self.work[c] += self.time(g, c) * f64::from(count);
    }

    fn drop(&mut self, g: usize, c: usize, count: u32) {
        self.counts[g][c] -= count;
        self.work[c] -= self.time(g, c) * f64::from(count);
        if self.counts[g][c] == 0 {
            self.users[c] -= 1;
            self.supplies.drop(self.model, g, self.model.columns[c]);
        }
    }

    fn go(&mut self, way: Way) {
        self.drop(way.group, way.from, way.count);
        self.add(way.group, way.to, way.count);
    }

    fn value(&self, softness: u32) -> f64 {
        softened((0..self.model.stations.len()).map(|s| self.load_now(s)), softness)
    }

    /// Time of the slowest station [µs].
    fn slowest(&self) -> f64 {
        (0..self.model.stations.len()).map(|s| self.load_now(s)).fold(0.0, f64::max)
    }

    /// Placements of a group go elsewhere, alone or in exchange for others, by annealing; ends with the best found.
    fn anneal(&mut self, tries: u32, softness: u32, rng: &mut fastrand::Rng) {
        let (groups, columns) = (self.counts.len(), self.model.columns.len());
        if groups == 0 || columns < 2 {
            return;
        }
        let mut value = self.value(softness);
        let (mut best, mut best_value) = (self.counts.clone(), value);
        for k in 0..tries {
            // From 1 % down to 0.001 % of the value, evenly in ratio.
            let heat = value * 0.01 * 0.001f64.powf(f64::from(k) / f64::from(tries));
            let (from, to) = (rng.usize(..columns), rng.usize(..columns));
            let ways = if rng.u32(..WHOLE) == 0 { self.whole_column(from, rng) } else { self.one_or_two(from, to, rng) };
            if ways.is_empty() || !self.carry_out(&ways) {
                continue;
            }
            let next = self.value(softness);
            if next <= value || rng.f64() < ((value - next) / heat.max(1e-9)).exp() {
                value = next;
                if value < best_value {
                    (best, best_value) = (self.counts.clone(), value);
                }
            } else {
                ways.iter().for_each(|w| self.go(Way { from: w.to, to: w.from, ..*w }));
            }
        }
        *self = Self::of(self.model, best);
    }

    /// Some placements of a group go to another column, alone or in exchange for others.
    fn one_or_two(&self, from: usize, to: usize, rng: &mut fastrand::Rng) -> Vec<Way> {
        let groups = self.counts.len();
        let (a, b, in_exchange) = (rng.usize(..groups), rng.usize(..groups), rng.bool());
        let mut some = |count: u32| match rng.u32(..3) {
            0 => count,
            1 => 1,
            _ => rng.u32(1..=count.max(1)),
        };
        let mut ways = Vec::with_capacity(2);
        if from != to && self.counts[a][from] > 0 {
            ways.push(Way { group: a, from, to, count: some(self.counts[a][from]) });
            if b != a && self.counts[b][to] > 0 && in_exchange {
                ways.push(Way { group: b, from: to, to: from, count: some(self.counts[b][to]) });
            }
        }
        ways
    }

    /// A head gives all its work to others that are in use: that spares a swap, which single moves do not see.
    fn whole_column(&self, from: usize, rng: &mut fastrand::Rng) -> Vec<Way> {
        let mut ways = Vec::new();
        for (g, row) in self.counts.iter().enumerate().filter(|(_, row)| row[from] > 0) {
            let open: Vec<usize> = (0..row.len()).filter(|c| *c != from && self.users[*c] > 0 && self.may_go(g, *c)).collect();
            match open.len() {
                0 => return Vec::new(),
                n => ways.push(Way { group: g, from, to: open[rng.usize(..n)], count: row[from] }),
            }
        }
        ways
    }

    /// Carries ways out, all or none; whether all have room and keep the pairs.
    fn carry_out(&mut self, ways: &[Way]) -> bool {
        ways.iter().for_each(|w| self.drop(w.group, w.from, w.count));
        let mut gone = 0;
        for w in ways {
            if !self.may_go(w.group, w.to) {
                break;
            }
            self.add(w.group, w.to, w.count);
            gone += 1;
        }
        if gone < ways.len() {
            ways[..gone].iter().for_each(|w| self.drop(w.group, w.to, w.count));
            ways.iter().for_each(|w| self.add(w.group, w.from, w.count));
        }
        gone == ways.len()
    }

    fn time(&self, g: usize, c: usize) -> f64 {
        self.model.time[g][c].unwrap_or(0.0)
    }

    /// Time of a station [µs].
    fn load_now(&self, s: usize) -> f64 {
        self.load(s, usize::MAX, 0, 0.0)
    }

    /// Time of a station if this column had so many groups and so much more work [µs].
    fn load(&self, s: usize, column: usize, users: u32, more: f64) -> f64 {
        let mine = || (0..self.model.columns.len()).filter(|c| self.model.columns[*c] == s);
        let heads = mine().filter(|c| if *c == column { users > 0 } else { self.users[*c] > 0 }).count();
        let station = &self.model.stations[s];
        station.fixed + mine().map(|c| self.work[c]).sum::<f64>() + more + station.swaps(heads)
    }

    /// The step that leaves the slower of both stations fastest; `None` if none is worth it.
    fn best_step(&self) -> Option<Step> {
        let (columns, stations) = (&self.model.columns, 0..self.model.stations.len());
        let loads: Vec<f64> = stations.map(|s| self.load_now(s)).collect();
        let slowest = (0..loads.len()).max_by(|a, b| loads[*a].total_cmp(&loads[*b]).then(b.cmp(a)))?;
        let mut best: Option<Step> = None;
        let mut offer = |step: Step| {
            if best.is_none_or(|b| step.slower < b.slower) {
                best = Some(step);
            }
        };
        let at = |c: usize| (0..self.counts.len()).filter(move |g| self.counts[*g][c] > 0);
        for from in (0..columns.len()).filter(|c| columns[*c] == slowest && self.users[*c] > 0) {
            for to in (0..columns.len()).filter(|c| loads[columns[*c]] < loads[slowest]) {
                let quick = loads[columns[to]];
                at(from).filter_map(|g| self.step(g, (from, loads[slowest]), (to, quick))).for_each(&mut offer);
            }
            // One for one, in columns that are in use and stay so: what is too coarse one way is fine in exchange.
            for back in (0..columns.len()).filter(|c| loads[columns[*c]] < loads[slowest] && self.users[*c] > 0) {
                let quick = loads[columns[back]];
                let coming: Vec<usize> = at(back).filter(|h| self.may_go(*h, from)).collect();
                for to in (0..columns.len()).filter(|c| columns[*c] == columns[back] && self.users[*c] > 0) {
                    for g in at(from).filter(|g| self.may_go(*g, to)) {
                        let (less, more) = (self.time(g, from), self.time(g, to));
                        // Two of a pair may each go for itself, but not past each other.
                        let free = |h: &&usize| **h != g && !self.before[g].contains(h) && !self.after[g].contains(h);
                        for h in coming.iter().filter(free) {
                            let slower = (loads[slowest] - less + self.time(*h, from)).max(quick + more - self.time(*h, back));
                            let way = |group, from, to| Way { group, from, to, count: 1 };
                            offer(Step { there: way(g, from, to), back: Some(way(*h, back, from)), slower });
                        }
                    }
                }
            }
        }
        best.filter(|b| b.slower < loads[slowest] * (1.0 - NOTABLE))
    }

    /// Whether a group can be done in a column, has or finds a supply there and keeps the pairs.
    fn may_go(&self, g: usize, c: usize) -> bool {
        let s = self.model.columns[c];
        self.model.time[g][c].is_some() && self.supplies.has_room(self.model, g, s) && self.in_order(g, s)
    }

    /// The number of a group's placements that makes two stations most alike, each a column and its station's time now.
    fn step(&self, g: usize, (from, slow): (usize, f64), (to, quick): (usize, f64)) -> Option<Step> {
        let (s, t) = (self.model.columns[from], self.model.columns[to]);
        if !self.may_go(g, to) {
            return None;
        }
        let (each_from, each_to) = (self.time(g, from), self.time(g, to));
        let here = self.counts[g][from];
        let users = |c: usize, change: i64| (i64::from(self.users[c]) + change) as u32;
        let comes = i64::from(self.counts[g][to] == 0);
        // A head that begins to be used costs swaps before it does anything.
        let begun = self.load(t, to, users(to, comes), 0.0) - quick;
        let even = ((slow - quick - begun) / (each_from + each_to).max(1e-9)).floor().clamp(0.0, f64::from(here)) as u32;
        let of = |count: u32| {
            let goes = i64::from(count == here);
            let left = self.load(s, from, users(from, -goes), -each_from * f64::from(count));
            let there = self.load(t, to, users(to, comes), each_to * f64::from(count));
            Step { there: Way { group: g, from, to, count }, back: None, slower: left.max(there) }
        };
        [even, even + 1, here].into_iter().filter(|n| (1..=here).contains(n)).map(of).min_by(|a, b| a.slower.total_cmp(&b.slower))
    }

    /// Whether placements of a group at a station keep the pairs with all that is placed.
    fn in_order(&self, g: usize, s: usize) -> bool {
        let at = |g: &usize| self.counts[*g].iter().zip(&self.model.columns).filter(|(n, _)| **n > 0).map(|(_, s)| *s);
        self.before[g].iter().all(|a| at(a).all(|x| x <= s)) && self.after[g].iter().all(|b| at(b).all(|x| s <= x))
    }
}
