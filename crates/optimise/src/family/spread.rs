//! A good joint balance: simulated annealing on the joint model.
//!
//! Moves: some placements of a group to another mode; a part from one station to another for all products at once;
//! two parts exchanged between stations; a part that stands at several stations withdrawn from one; a head of a
//! product that gives all its work away, which spares a swap. After every move the products it touched are levelled on
//! the supplies that then stand: what counts is which supplies stand where, and single moves of placements would judge a
//! supply before anything is picked from it. Wanting more slots than there are, and work that comes before what it must
//! follow, are allowed on the way, at a price that rises.

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

/// Steps that level a product after a move, at most.
const LEVELLING: usize = 4;
/// What such a step must bring, as a share of the slowest station's time.
const WORTH_LEVELLING: f64 = 0.000_5;

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
        let Some(mut steps) = spread.draw(rng) else { continue };
        let (before, values, broken) = (excess, spread.values.clone(), spread.broken.clone());
        spread.carry_out(&mut steps);
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

    /// Carries steps out and levels the products they touch; `steps` are then all that was done.
    fn carry_out(&mut self, steps: &mut Vec<Step>) {
        steps.iter().for_each(|s| self.go(*s));
        let mut products: Vec<usize> = steps.iter().map(|s| s.product).collect();
        products.sort_unstable();
        products.dedup();
        for p in products {
            for _ in 0..LEVELLING {
                let Some(step) = self.levelling(p) else { break };
                self.go(step);
                steps.push(step);
            }
            self.values[p] = self.now.value_of(p);
            self.broken[p] = self.now.out_of_order(p);
        }
    }

    fn go(&mut self, s: Step) {
        self.now.take(s.product, s.group, s.from, s.n);
        self.now.put(s.product, s.group, s.to, s.n);
    }

    fn undo(&mut self, steps: &[Step]) {
        steps.iter().rev().for_each(|s| self.go(Step { from: s.to, to: s.from, ..*s }));
    }

    /// Placements that go from the slowest station of a product to a head in use at another one where their part is
    /// supplied already: those that leave the slower of the two fastest. `None` if nothing is gained.
    fn levelling(&self, p: usize) -> Option<Step> {
        let linear = &self.now.model.products[p];
        let loads: Vec<f64> = (0..self.now.model.stations()).map(|s| self.now.load(p, s)).collect();
        let slowest = (0..loads.len()).max_by(|a, b| loads[*a].total_cmp(&loads[*b]).then(b.cmp(a)))?;
        let mut best: Option<(f64, Step)> = None;
        for (group, row) in self.now.counts[p].iter().enumerate() {
            let part = linear.groups[group].part as usize;
            let is_open = |m: &usize| {
                let s = linear.columns[*m];
                s != slowest && self.now.users[p][*m] > 0 && self.now.picked[s][part] > 0
            };
            for (from, here) in row.iter().enumerate().filter(|(m, n)| **n > 0 && linear.columns[*m] == slowest) {
                let less = linear.time[group][from].unwrap_or(0.0);
                for to in (0..linear.columns.len()).filter(is_open) {
                    let (Some(more), quick) = (linear.time[group][to], loads[linear.columns[to]]) else { continue };
                    let even = ((loads[slowest] - quick) / (less + more).max(1e-9)).floor().clamp(0.0, f64::from(*here)) as u32;
                    for n in [even, even + 1].into_iter().filter(|n| (1..=*here).contains(n)) {
                        let slower = (loads[slowest] - less * f64::from(n)).max(quick + more * f64::from(n));
                        if best.is_none_or(|b| slower < b.0) {
                            best = Some((slower, Step { product: p, group, from, to, n }));
                        }
                    }
                }
            }
        }
        best.filter(|b| b.0 < loads[slowest] * (1.0 - WORTH_LEVELLING)).map(|b| b.1)
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
    use microlp::{ComparisonOp, OptimizationDirection, Problem, Variable};

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

    /// Two products of six groups each, of eight parts, on three stations, the last with two heads; the slots hold twelve
    /// or thirteen supplies.
    fn random(seed: u64) -> Joint {
        let mut rng = fastrand::Rng::with_seed(seed);
        let machine = |slots| Machine { fixed: 20.0, slots, swap: 30.0, alternate: true, ..Machine::default() };
        let stations = vec![machine(4), machine(4), machine(4 + rng.u32(..2))];
        let mut product = || {
            let groups = (0..6).map(|g| Group { count: rng.u32(1..12), slots: 1, places: 0, part: g + rng.u32(..3) }).collect();
            let mut time = |c: usize| (c < 3 || rng.bool()).then(|| 5.0 + 10.0 * rng.f64());
            let time = (0..6).map(|_| (0..4).map(&mut time).collect()).collect();
            Linear { groups, columns: vec![0, 1, 2, 2], stations: stations.clone(), time, pairs: Vec::new() }
        };
        let products = vec![product(), product()];
        Joint {
            products,
            panels: vec![1.0, 3.0],
            needs: vec![Need { slots: 1, ..Need::default() }; 8],
            stock: Vec::new(),
            reserve: vec![0; 3],
        }
    }

    /// Σ panels × slowest station.
    fn total(model: &Joint, counts: Vec<Counts>) -> f64 {
        let spread = Assignment::new(model, counts);
        let slowest = |p: usize| (0..model.stations()).map(|s| spread.load(p, s)).fold(0.0, f64::max);
        (0..model.products.len()).map(|p| model.panels[p] * slowest(p)).sum()
    }

    /// The least [`total`], by the mixed-integer solver of the registry's `microlp` on a model written here.
    fn optimum(model: &Joint) -> f64 {
        let mut mip = Problem::new(OptimizationDirection::Minimize);
        let supply: Vec<Vec<Variable>> = (0..8).map(|_| (0..3).map(|_| mip.add_binary_var(0.0)).collect()).collect();
        for (s, machine) in model.products[0].stations.iter().enumerate() {
            let row: Vec<(Variable, f64)> = supply.iter().map(|of_part| (of_part[s], 1.0)).collect();
            mip.add_constraint(&row[..], ComparisonOp::Le, f64::from(machine.slots));
        }
        for (product, panels) in model.products.iter().zip(&model.panels) {
            let slowest = mip.add_var(*panels, (0.0, f64::INFINITY));
            let used: Vec<Variable> = (0..4).map(|_| mip.add_binary_var(0.0)).collect();
            let mut loads: Vec<Vec<(Variable, f64)>> = vec![vec![(slowest, -1.0)]; 3];
            for (group, times) in product.groups.iter().zip(&product.time) {
                let mut all = Vec::new();
                for (c, time) in times.iter().enumerate().filter_map(|(c, t)| Some((c, (*t)?))) {
                    let count = mip.add_integer_var(0.0, (0, group.count as i32));
                    let s = product.columns[c];
                    for what in [used[c], supply[group.part as usize][s]] {
                        mip.add_constraint([(count, 1.0), (what, -f64::from(group.count))], ComparisonOp::Le, 0.0);
                    }
                    loads[s].push((count, time));
                    all.push((count, 1.0));
                }
                mip.add_constraint(&all[..], ComparisonOp::Eq, f64::from(group.count));
            }
            for (s, row) in loads.iter().enumerate() {
                let machine = product.stations[s];
                mip.add_constraint(&row[..], ComparisonOp::Le, -machine.fixed);
                if s == 2 {
                    let both = [row.as_slice(), &[(used[2], machine.swap), (used[3], machine.swap)]].concat();
                    mip.add_constraint(&both[..], ComparisonOp::Le, machine.swap - machine.fixed);
                }
            }
        }
        mip.solve().unwrap().into_solution().unwrap().objective()
    }

    #[test]
    fn a_joint_balance_is_near_the_optimum_of_a_mixed_integer_solver() {
        let heat = Heat { from: 0.01, to: 0.000_02, price: 1.0 };
        let mut above = Vec::new();
        for seed in 0..12 {
            let model = random(seed);
            let first = |p: &Linear| p.groups.iter().map(|g| vec![g.count, 0, 0, 0]).collect();
            let first: Vec<Counts> = model.products.iter().map(first).collect();
            let counts = spread(&model, first, 20_000, heat, &mut fastrand::Rng::with_seed(1)).unwrap();
            let (found, least) = (total(&model, counts), optimum(&model));
            assert!(found >= least * (1.0 - 1e-6), "seed {seed}: {found} is less than the optimum {least}");
            above.push(found / least - 1.0);
        }
        let mean = above.iter().sum::<f64>() / above.len() as f64;
        assert!(above.iter().all(|a| *a < 0.05) && mean < 0.01, "{above:.4?}");
    }

    #[test]
    fn passes_do_not_alternate_where_one_head_must_come_before_another() {
        let mut model = crossed(vec![(0, 1)]);
        let product = &mut model.products[0];
        (product.columns, product.stations) = (vec![0, 0], vec![Machine { swap: 5.0, alternate: true, ..Machine::default() }]);
        model.reserve = vec![0];
        let load = |model: &Joint, counts| Assignment::new(model, vec![counts]).load(0, 0);
        assert_eq!(load(&model, vec![vec![0, 4], vec![4, 0]]), 8.0 + 2.0 * 5.0);
        model.products[0].pairs.clear();
        assert_eq!(load(&model, vec![vec![0, 4], vec![4, 0]]), 8.0 + 5.0);
    }
}
