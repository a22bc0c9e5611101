//! Prices of the agents' rooms, and the bound they give.

use super::Jobs;

/// Prices, the reduced costs they leave, and the bound.
pub struct Prices {
    /// Price of a unit of each agent's room.
    pub room: Vec<f64>,
    /// For each job its agents, the one of least reduced cost first, with the reduced cost.
    pub ranked: Vec<Vec<(f64, u32)>>,
    /// No assignment costs less.
    pub bound: i64,
}

impl Prices {
    /// Raises the prices of rooms that are exceeded when every job goes where it is cheapest, lowers the others.
    pub fn new(jobs: &Jobs, steps: u32) -> Self {
        let (n, m) = (jobs.jobs(), jobs.agents);
        let mut price = vec![0.0f64; m];
        let (mut best, mut best_price) = (f64::NEG_INFINITY, price.clone());
        let (mut size, mut stale) = (2.0, 0);
        // A guess of the optimum that the steps aim at: every job at its mean cost, brought near from above.
        let mean = |j: usize| jobs.able(j).map(|i| jobs.cost(j, i) as f64).sum::<f64>() / jobs.able(j).count().max(1) as f64;
        let aim: f64 = (0..n).map(mean).sum();
        for _ in 0..steps {
            let mut load = vec![0.0f64; m];
            let mut value = -price.iter().zip(&jobs.room).map(|(p, r)| p * *r as f64).sum::<f64>();
            for j in 0..n {
                let with = |i: usize| jobs.cost(j, i) as f64 + price[i] * jobs.need(j, i) as f64;
                let Some(i) = jobs.able(j).min_by(|a, b| with(*a).total_cmp(&with(*b))) else { continue };
                value += with(i);
                load[i] += jobs.need(j, i) as f64;
            }
            if value > best + 1e-9 {
                (best, stale) = (value, 0);
                best_price.clone_from(&price);
            } else {
                stale += 1;
                if stale >= 12 {
                    (size, stale) = (size / 1.6, 0);
                    price.clone_from(&best_price);
                    continue;
                }
            }
            let slope: Vec<f64> = load.iter().zip(&jobs.room).map(|(l, r)| l - *r as f64).collect();
            let steep: f64 = slope.iter().map(|s| s * s).sum();
            if steep <= 0.0 {
                break;
            }
            let step = size * (aim - value).max(best.abs() * 0.01).max(1e-3) / steep;
            price.iter_mut().zip(&slope).for_each(|(p, s)| *p = (*p + step * s).max(0.0));
        }
        Self { ranked: rank(jobs, &best_price), bound: (best - 1e-6).ceil() as i64, room: best_price }
    }

    /// The prices of a levelling, as found by [`level_weights`].
    pub fn of_level(jobs: &Jobs, weights: &[f64]) -> Self {
        Self { ranked: rank(jobs, weights), room: vec![0.0; jobs.agents], bound: 0 }
    }
}

fn rank(jobs: &Jobs, price: &[f64]) -> Vec<Vec<(f64, u32)>> {
    let row = |j: usize| {
        let mut row: Vec<(f64, u32)> =
            jobs.able(j).map(|i| (jobs.cost(j, i) as f64 + price[i] * jobs.need(j, i) as f64, i as u32)).collect();
        row.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        let least = row.first().map_or(0.0, |r| r.0);
        row.iter_mut().for_each(|r| r.0 -= least);
        row
    };
    (0..jobs.jobs()).map(row).collect()
}

/// Weights of the agents, summing to 1, and the bound they give: the busiest agent has at least the weighted mean of all loads,
/// and that is least when every job goes where its weighted need is least.
pub fn level_weights(jobs: &Jobs, steps: u32) -> (Vec<f64>, f64) {
    let (n, m) = (jobs.jobs(), jobs.agents);
    let mut weight = vec![1.0 / m as f64; m];
    let (mut best, mut best_weight) = (0.0, weight.clone());
    let mut size = 0.5;
    let mut stale = 0;
    for _ in 0..steps * 3 {
        let mut load = vec![0.0f64; m];
        let mut value = 0.0;
        for j in 0..n {
            let with = |i: usize| weight[i] * jobs.need(j, i) as f64;
            let Some(i) = jobs.able(j).min_by(|a, b| with(*a).total_cmp(&with(*b))) else { continue };
            value += with(i);
            load[i] += jobs.need(j, i) as f64;
        }
        if value > best {
            (best, stale) = (value, 0);
            best_weight.clone_from(&weight);
        } else {
            stale += 1;
            if stale >= 15 {
                (size, stale) = (size * 0.7, 0);
                weight.clone_from(&best_weight);
                continue;
            }
        }
        // Weights grow with the excess of the load over the weighted mean (multiplicative weights).
        let most = load.iter().copied().fold(1.0, f64::max);
        weight.iter_mut().zip(&load).for_each(|(w, l)| *w *= (size * (l - value) / most).exp());
        let sum: f64 = weight.iter().sum();
        weight.iter_mut().for_each(|w| *w /= sum);
    }
    (best_weight, best)
}
