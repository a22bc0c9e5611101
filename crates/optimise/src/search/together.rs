//! Annealing several programs that stand on one set-up: products of a family at one station.
//!
//! A move of a program counts with its product's weight; a move of a supply is made in all programs and counts with
//! all their weights.

use super::{Heat, Search};

/// Tries `tries` moves on all programs together. Their set-ups are alike before and after.
pub(crate) fn anneal_together(searches: &mut [Search<'_>], weights: &[f64], tries: u32, heat: Heat, rng: &mut fastrand::Rng) {
    // Programs are drawn by the root of tasks × weight: large ones need more moves, heavy ones earn more by each.
    let pull: Vec<f64> =
        searches.iter().zip(weights).map(|(s, w)| if s.tasks.len() < 2 { 0.0 } else { (s.tasks.len() as f64 * w).sqrt() }).collect();
    let all: f64 = pull.iter().sum();
    if all <= 0.0 {
        return;
    }
    let cooling = (heat.to / heat.from).powf(1.0 / f64::from(tries.max(1)));
    let mut now = heat.from;
    for _ in 0..tries {
        now *= cooling;
        let mut at = rng.f64() * all;
        let drawn = pull.iter().position(|x| {
            at -= x;
            at < 0.0
        });
        let k = drawn.unwrap_or(searches.len() - 1);
        // How much worse is accepted is drawn first, so that moves beyond it need no timing.
        let loss = -now * rng.f64().max(1e-300).ln();
        let limit = (loss / weights[k].max(1e-9)) as i64;
        let Some(change) = searches[k].try_move(limit) else { continue };
        if let Some(change) = &change {
            searches.iter_mut().enumerate().filter(|(i, _)| *i != k).for_each(|(_, s)| s.follow(change));
        }
        let mine = |i: usize| change.is_some() || i == k;
        let worse: f64 = searches.iter().zip(weights).enumerate().filter(|(i, _)| mine(*i)).map(|(_, (s, w))| s.worse() as f64 * w).sum();
        if worse > loss {
            searches.iter_mut().enumerate().filter(|(i, _)| mine(*i)).for_each(|(_, s)| s.roll_back());
        }
    }
}
