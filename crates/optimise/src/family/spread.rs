//! A good joint balance: simulated annealing on the joint model.
//!
//! Moves: some placements of a group to another mode; a part from one station to another for all products at once;
//! two parts exchanged between stations; a part that stands at several stations withdrawn from one; a head of a
//! product that gives all its work away, which spares a swap. Wanting more slots than there are, and work that comes
//! before what it must follow, are allowed on the way, at a price that rises.

use super::model::{Assignment, Counts, Joint};

/// One step of a move: placements of a group that change the mode.
#[derive(Clone, Copy, Debug)]
struct Step {
    product: usize,
    group: usize,
    from: usize,
    to: usize,
    n: u32,
}

/// How hot the annealing begins and ends, as shares of the value.
#[derive(Clone, Copy, Debug)]
pub(super) struct Heat {
    pub(super) from: f64,
    pub(super) to: f64,
    /// How many times the usual price a slot too many costs.
    pub(super) price: f64,
}

/// What one more supply must bring, as a share of the value: somebody has to load it.
const SUPPLY: f64 = 0.000_02;

/// Improves `counts` by `tries` moves.
///
/// # Errors
/// The least number of slots, tray places and feeders that were too few and of orders that were broken, when there
/// were always some.
pub(super) fn spread(model: &Joint, counts: Vec<Counts>, tries: u32, heat: Heat, rng: &mut fastrand::Rng) -> Result<Vec<Counts>, u32> {
    let mut spread = Spread { now: Assignment::new(model, counts), by_part: by_part(model), values: Vec::new(), broken: Vec::new() };
    spread.values = (0..model.products.len()).map(|p| spread.now.value_of(p)).collect();
    spread.broken = (0..model.products.len()).map(|p| spread.now.out_of_order(p)).collect();
    let mut excess = spread.excess();
    let mut least = excess;
    let mut best: Option<(f64, Vec<Counts>)> = (excess == 0).then(|| (spread.cost(), spread.now.counts.clone()));
    for k in 0..tries {
        let done = f64::from(k) / f64::from(tries.max(1));
        let value = spread.cost();
        let hot = value * heat.from * (heat.to / heat.from).powf(done);
        // One slot too many costs more and more: from 0.05 % to 5 % of the value.
        let price = value * heat.price * 0.000_5 * 100f64.powf(done);
        let Some(steps) = spread.draw(rng) else { continue };
        let (before, values, broken) = (excess, spread.values.clone(), spread.broken.clone());
        spread.carry_out(&steps);
        excess = spread.excess();
        let next = spread.cost();
        let worse = next - value + price * (f64::from(excess) - f64::from(before));
        if worse <= 0.0 || rng.f64() < (-worse / hot.max(1e-9)).exp() {
            if excess == 0 && best.as_ref().is_none_or(|b| next < b.0) {
                best = Some((next, spread.now.counts.clone()));
            }
            least = least.min(excess);
        } else {
            spread.undo(&steps);
            (spread.values, spread.broken) = (values, broken);
            excess = before;
        }
    }
    best.map(|b| b.1).ok_or(least)
}

/// Groups of each part: product and index.
fn by_part(model: &Joint) -> Vec<Vec<(usize, usize)>> {
    let mut by_part = vec![Vec::new(); model.needs.len()];
    for (p, linear) in model.products.iter().enumerate() {
        for (g, group) in linear.groups.iter().enumerate() {
            by_part[group.part as usize].push((p, g));
        }
    }
    by_part
}

struct Spread<'m> {
    now: Assignment<'m>,
    by_part: Vec<Vec<(usize, usize)>>,
    /// Value of each product.
    values: Vec<f64>,
    /// Orders that each product breaks.
    broken: Vec<u32>,
}

impl Spread<'_> {
    /// What is wanted beyond what there is, and orders that are broken.
    fn excess(&self) -> u32 {
        self.now.excess() + self.broken.iter().sum::<u32>()
    }

    /// The value with the price of all supplies.
    fn cost(&self) -> f64 {
        self.values.iter().sum::<f64>() * (1.0 + SUPPLY * f64::from(self.now.supplies))
    }

    fn carry_out(&mut self, steps: &[Step]) {
        for s in steps {
            self.now.take(s.product, s.group, s.from, s.n);
            self.now.put(s.product, s.group, s.to, s.n);
        }
        self.revalue(steps);
    }

    fn undo(&mut self, steps: &[Step]) {
        for s in steps.iter().rev() {
            self.now.take(s.product, s.group, s.to, s.n);
            self.now.put(s.product, s.group, s.from, s.n);
        }
    }

    fn revalue(&mut self, steps: &[Step]) {
        for (i, s) in steps.iter().enumerate() {
            if !steps[..i].iter().any(|x| x.product == s.product) {
                self.values[s.product] = self.now.value_of(s.product);
                self.broken[s.product] = self.now.out_of_order(s.product);
            }
        }
    }

    fn draw(&self, rng: &mut fastrand::Rng) -> Option<Vec<Step>> {
        match rng.u32(..100) {
            0..=44 => self.some_of_a_group(rng),
            45..=69 => {
                let part = self.any_part(rng)?;
                let (from, to) = (self.a_station_of(part, rng)?, rng.usize(..self.now.model.stations()));
                self.part_to(part, from, to)
            }
            70..=84 => self.exchange(rng),
            85..=94 => self.withdraw(rng),
            _ => self.whole_head(rng),
        }
    }

    /// Placements of one group go to another mode: all, or as many as even two stations out.
    fn some_of_a_group(&self, rng: &mut fastrand::Rng) -> Option<Vec<Step>> {
        let p = rng.usize(..self.now.counts.len());
        let linear = &self.now.model.products[p];
        let g = rng.usize(..linear.groups.len().max(1));
        let row = self.now.counts[p].get(g)?;
        let from = pick(rng, (0..row.len()).filter(|m| row[*m] > 0))?;
        let to = pick(rng, (0..row.len()).filter(|m| *m != from && self.now.can(p, g, *m)))?;
        let (a, b) = (linear.columns[from], linear.columns[to]);
        let slack = self.now.load(p, a) - self.now.load(p, b);
        let each = linear.time[g][from].unwrap_or(0.0) + linear.time[g][to].unwrap_or(0.0);
        let even = if each > 0.0 { (slack / each).round().max(1.0) as u32 } else { 1 };
        let n = match rng.u32(..3) {
            0 => row[from],
            1 => even.min(row[from]),
            _ => rng.u32(1..=row[from]),
        };
        Some(vec![Step { product: p, group: g, from, to, n }])
    }

    fn any_part(&self, rng: &mut fastrand::Rng) -> Option<usize> {
        let part = rng.usize(..self.by_part.len().max(1));
        (!self.by_part.get(part)?.is_empty()).then_some(part)
    }

    fn a_station_of(&self, part: usize, rng: &mut fastrand::Rng) -> Option<usize> {
        pick(rng, (0..self.now.picked.len()).filter(|s| self.now.picked[*s][part] > 0))
    }

    /// All placements of a part at a station, of whatever product, go to the fastest mode of another.
    fn part_to(&self, part: usize, from: usize, to: usize) -> Option<Vec<Step>> {
        if from == to {
            return None;
        }
        let mut steps = Vec::new();
        for (p, g) in &self.by_part[part] {
            let linear = &self.now.model.products[*p];
            for (m, n) in self.now.counts[*p][*g].iter().enumerate().filter(|(m, n)| **n > 0 && linear.columns[*m] == from) {
                let there = (0..linear.columns.len()).filter(|x| linear.columns[*x] == to && linear.time[*g][*x].is_some());
                let time = |x: &usize| linear.time[*g][*x].unwrap_or(f64::INFINITY);
                let best = there.min_by(|a, b| time(a).total_cmp(&time(b)))?;
                steps.push(Step { product: *p, group: *g, from: m, to: best, n: *n });
            }
        }
        (!steps.is_empty()).then_some(steps)
    }

    fn exchange(&self, rng: &mut fastrand::Rng) -> Option<Vec<Step>> {
        let (a, b) = (self.any_part(rng)?, self.any_part(rng)?);
        let (s, t) = (self.a_station_of(a, rng)?, self.a_station_of(b, rng)?);
        if a == b || s == t {
            return None;
        }
        let mut steps = self.part_to(a, s, t)?;
        steps.extend(self.part_to(b, t, s)?);
        Some(steps)
    }

    /// A part that stands at several stations leaves one of them.
    fn withdraw(&self, rng: &mut fastrand::Rng) -> Option<Vec<Step>> {
        let part = self.any_part(rng)?;
        let stations: Vec<usize> = (0..self.now.picked.len()).filter(|s| self.now.picked[*s][part] > 0).collect();
        if stations.len() < 2 {
            return None;
        }
        let from = stations[rng.usize(..stations.len())];
        let to = pick(rng, stations.into_iter().filter(|s| *s != from))?;
        self.part_to(part, from, to)
    }

    /// A head of a product gives all its work to the modes that do it fastest.
    fn whole_head(&self, rng: &mut fastrand::Rng) -> Option<Vec<Step>> {
        let p = rng.usize(..self.now.counts.len());
        let linear = &self.now.model.products[p];
        let (from, to) = (rng.usize(..linear.columns.len().max(1)), rng.usize(..linear.columns.len().max(1)));
        let groups = self.now.counts[p].iter().enumerate().filter(|(_, row)| from != to && row.get(from).is_some_and(|n| *n > 0));
        let steps: Option<Vec<Step>> =
            groups.map(|(g, row)| self.now.can(p, g, to).then_some(Step { product: p, group: g, from, to, n: row[from] })).collect();
        steps.filter(|s| !s.is_empty())
    }
}

fn pick(rng: &mut fastrand::Rng, from: impl Iterator<Item = usize>) -> Option<usize> {
    let all: Vec<usize> = from.collect();
    (!all.is_empty()).then(|| all[rng.usize(..all.len())])
}

#[cfg(test)]
mod tests {
    use super::super::model::Need;
    use super::*;
    use crate::balance::{Group, Linear, Machine};

    /// Two parts of one product, the first fast at the second of two stations and the second at the first.
    fn crossed(pairs: Vec<(usize, usize)>) -> Joint {
        let group = |part| Group { count: 4, slots: 1, places: 0, part };
        let machine = Machine { slots: 2, ..Machine::default() };
        let product = Linear {
            groups: vec![group(0), group(1)],
            columns: vec![0, 1],
            stations: vec![machine; 2],
            time: vec![vec![Some(3.0), Some(1.0)], vec![Some(1.0), Some(3.0)]],
            pairs,
        };
        let needs = vec![Need { slots: 1, ..Need::default() }; 2];
        Joint { products: vec![product], panels: vec![1.0], needs, stock: Vec::new(), reserve: vec![0; 2] }
    }

    #[test]
    fn work_that_must_come_first_is_not_supplied_further_down_the_line() {
        let heat = Heat { from: 0.1, to: 0.001, price: 400.0 };
        let fastest = vec![vec![vec![0, 4], vec![4, 0]]];
        for (pairs, broken) in [(Vec::new(), 1), (vec![(0, 1)], 0)] {
            let model = crossed(pairs);
            let counts = spread(&model, fastest.clone(), 4_000, heat, &mut fastrand::Rng::with_seed(1)).unwrap();
            let ordered = crossed(vec![(0, 1)]);
            assert_eq!(Assignment::new(&ordered, counts).out_of_order(0), broken);
        }
    }
}
