//! Shares of the budget: how long each product may be searched in each phase.

use crate::planner::{Limits, Progress, Watch};

/// A stretch of planning seen as if it were all: its seconds begin at 0, and its progress is nobody's.
pub(super) struct Stretch<'w> {
    watch: &'w dyn Watch,
    begun: f64,
}

impl<'w> Stretch<'w> {
    pub(super) fn begin(watch: &'w dyn Watch) -> Self {
        Self { watch, begun: watch.seconds() }
    }
}

impl Watch for Stretch<'_> {
    fn seconds(&self) -> f64 {
        self.watch.seconds() - self.begun
    }

    fn stopped(&self) -> bool {
        self.watch.stopped()
    }

    fn progress(&self, _: &Progress) {}
}

/// The limits of a phase that has `share` of the whole budget, for one of its jobs that has `part` of the phase.
///
/// Jobs run on several threads, so each has more seconds than its part of the wall clock, up to the whole phase.
pub(super) fn slice(all: &Limits, share: f64, part: f64, seed: u64) -> Limits {
    let threads = all.threads.max(1) as f64;
    Limits {
        seconds: all.seconds.map(|s| s * share * (part * threads).min(1.0)),
        work: all.work.map(|w| ((w as f64 * share * part) as u64).max(1)),
        seed,
        threads: 1,
    }
}

/// How a phase is shared among products: by the root of placements × time wanted, since both the effort that a
/// product needs and what the effort brings grow with one of them.
pub(super) fn parts(placements: &[usize], demand: &[f64]) -> Vec<f64> {
    let weight: Vec<f64> = placements.iter().zip(demand).map(|(n, d)| (*n as f64 * d.max(1.0)).sqrt()).collect();
    let sum: f64 = weight.iter().sum();
    weight.iter().map(|w| w / sum.max(1e-9)).collect()
}
