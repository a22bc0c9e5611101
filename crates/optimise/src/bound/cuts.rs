//! Kelley's cutting planes: each evaluation of the bound gives a cut, a small linear program over the cuts the
//! next weights and prices (J. E. Kelley, The cutting-plane method for solving convex programs, J. SIAM 8, 1960,
//! from memory; the linear programs are solved by a library).

use super::columns::Costs;
use super::dual::UNIT;
use super::figures::Prices;
use super::leaf::Value;
use microlp::{ComparisonOp, OptimizationDirection, Problem};
use std::collections::BTreeMap;

/// No seat costs more than this [ms].
const DEAREST_SEAT: f64 = 2_000.0;

/// A plane above the bound: Σ weight × load + Σ weighted price of a seat × seats lacking.
pub(super) struct Cut {
    /// Load of each row without the prices of seats that have their own [ns].
    loads: Vec<i64>,
    /// For each head with a price of its own: seats taken beyond those its trips have.
    lacking: Vec<i64>,
    /// Seats taken of every head.
    seats: Vec<i64>,
    /// Trips of every head.
    trips: Vec<i64>,
    /// Open columns that the evaluation uses, with the weight of what they do there.
    leaning: Vec<(usize, i128)>,
}

/// Where the cuts meet: their mixture whose slowest row is fastest.
pub(super) struct Mixture {
    /// Trips of every head.
    pub trips: Vec<f64>,
    /// Open columns in use, with the weight of what they do.
    pub leaning: Vec<(usize, f64)>,
}

impl Cut {
    /// The plane at an evaluation under these prices.
    pub fn new(value: &Value, prices: &[Prices], cuts: &Cuts<'_>) -> Self {
        let mut loads = value.loads.clone();
        let lacking = |h: &usize| value.seats[*h] - cuts.costs.heads[*h].spindles * value.trips[*h];
        for (h, figures) in cuts.costs.heads.iter().enumerate() {
            let (price, lacking) = (&prices[h], lacking(&h));
            if cuts.priced.contains(&h) {
                figures.rows().for_each(|r| loads[r] -= price.seat * lacking);
            } else if figures.has_even_seat() && price.seat > 0 {
                // Its seat price follows the weights; this is each row's share of it.
                let roles = price.first + price.last;
                for (r, trip) in figures.rows().zip([figures.per_trip + roles, roles]) {
                    loads[r] += lacking * (trip / figures.spindles - price.seat);
                }
            }
        }
        Self {
            loads,
            lacking: cuts.priced.iter().map(lacking).collect(),
            seats: value.seats.clone(),
            trips: value.trips.clone(),
            leaning: value.leaning.clone(),
        }
    }
}

/// Where the lowest plane is highest.
pub(super) struct Peak {
    pub weights: Vec<u64>,
    /// Prices of seats [ns] by head.
    pub seats: Vec<(usize, i64)>,
    /// No leaf with these heads has a larger bound.
    pub height_us: f64,
}

/// The cuts so far.
pub(super) struct Cuts<'c> {
    costs: &'c Costs,
    /// Heads whose seats have a price of their own.
    priced: Vec<usize>,
    cuts: Vec<Cut>,
}

impl<'c> Cuts<'c> {
    /// No cuts; `priced` are the heads whose seats have a price of their own.
    pub fn new(costs: &'c Costs, priced: Vec<usize>) -> Self {
        Self { costs, priced, cuts: Vec::new() }
    }

    /// Whether the seats of a head have a price of their own.
    pub fn prices_seats_of(&self, head: usize) -> bool {
        self.priced.contains(&head)
    }

    /// Adds a cut.
    pub fn add(&mut self, cut: Cut) {
        self.cuts.push(cut);
    }

    /// The weights and prices [ns] where the lowest plane is highest, and how high that is [µs].
    pub fn next(&self) -> Option<Peak> {
        let mut lp = Problem::new(OptimizationDirection::Maximize);
        let theta = lp.add_var(1.0, (0.0, 1e9));
        let w: Vec<_> = self.costs.rows.iter().map(|_| lp.add_var(0.0, (0.0, 1.0))).collect();
        let x: Vec<_> = self.priced.iter().map(|_| lp.add_var(0.0, (0.0, DEAREST_SEAT))).collect();
        lp.add_constraint(w.iter().map(|v| (*v, 1.0)), ComparisonOp::Eq, 1.0);
        for (h, x) in self.priced.iter().zip(&x) {
            let dearest = self.costs.heads[*h].rows().map(|r| (w[r], -DEAREST_SEAT));
            lp.add_constraint(std::iter::once((*x, 1.0)).chain(dearest), ComparisonOp::Le, 0.0);
        }
        for cut in &self.cuts {
            let mut row: Vec<_> = w.iter().zip(&cut.loads).map(|(v, load)| (*v, -(*load as f64) / 1e6)).collect();
            row.extend(x.iter().zip(&cut.lacking).map(|(v, n)| (*v, -(*n as f64))));
            row.push((theta, 1.0));
            lp.add_constraint(row, ComparisonOp::Le, 0.0);
        }
        let solution = lp.solve().ok()?.into_solution().ok()?;
        let weights: Vec<u64> = w.iter().map(|v| (solution[*v].max(0.0) * UNIT as f64).round() as u64).collect();
        let seat = |(h, x): (&usize, &microlp::Variable)| {
            let share = self.costs.heads[*h].weight(&weights) as f64 / UNIT as f64;
            let price = if share > 0.0 { solution[*x].max(0.0) / share } else { 0.0 };
            (*h, (price.min(DEAREST_SEAT) * 1e6).round() as i64)
        };
        let seats = self.priced.iter().zip(&x).map(seat).collect();
        (weights.iter().sum::<u64>() > 0).then(|| Peak { weights, seats, height_us: solution[theta] * 1000.0 })
    }

    /// The mixture of the cuts where they meet.
    pub fn mixture(&self) -> Option<Mixture> {
        let mut lp = Problem::new(OptimizationDirection::Minimize);
        let slowest = lp.add_var(1.0, (0.0, 1e9));
        let mix: Vec<_> = self.cuts.iter().map(|_| lp.add_var(0.0, (0.0, 1.0))).collect();
        lp.add_constraint(mix.iter().map(|v| (*v, 1.0)), ComparisonOp::Eq, 1.0);
        // Seats that lack cost the dearest price, as in the program whose dual this one is.
        let short: Vec<_> = self.priced.iter().map(|_| lp.add_var(0.0, (0.0, 1e9))).collect();
        for r in 0..self.costs.rows.len() {
            let mut row: Vec<_> = mix.iter().zip(&self.cuts).map(|(v, cut)| (*v, cut.loads[r] as f64 / 1e6)).collect();
            let here = self.priced.iter().zip(&short).filter(|(h, _)| self.costs.heads[**h].rows().any(|x| x == r));
            row.extend(here.map(|(_, v)| (*v, DEAREST_SEAT)));
            row.push((slowest, -1.0));
            lp.add_constraint(row, ComparisonOp::Le, 0.0);
        }
        for (k, short) in short.iter().enumerate() {
            let mut row: Vec<_> = mix.iter().zip(&self.cuts).map(|(v, cut)| (*v, cut.lacking[k] as f64)).collect();
            row.push((*short, -1.0));
            lp.add_constraint(row, ComparisonOp::Le, 0.0);
        }
        let solution = lp.solve().ok()?.into_solution().ok()?;
        let of = |h: usize| {
            let mean = |of: &dyn Fn(&Cut) -> f64| mix.iter().zip(&self.cuts).map(|(v, cut)| solution[*v] * of(cut)).sum::<f64>();
            if self.priced.contains(&h) {
                mean(&|cut| cut.trips[h] as f64)
            } else {
                mean(&|cut| cut.seats[h] as f64) / self.costs.heads[h].spindles as f64
            }
        };
        let mut leaning: BTreeMap<usize, f64> = BTreeMap::new();
        for (v, cut) in mix.iter().zip(&self.cuts) {
            for (c, weight) in &cut.leaning {
                *leaning.entry(*c).or_default() += solution[*v].max(0.0) * *weight as f64;
            }
        }
        let leaning = leaning.into_iter().filter(|(_, weight)| *weight > 0.0).collect();
        Some(Mixture { trips: (0..self.costs.heads.len()).map(of).collect(), leaning })
    }
}
