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

/// A stretch of the whole budget, as shares of it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Phase {
    pub(super) from: f64,
    pub(super) to: f64,
}

impl Phase {
    /// From a share of this phase on to a later one.
    pub(super) fn part(self, from: f64, to: f64) -> Self {
        let at = |share: f64| self.from + share * (self.to - self.from);
        Self { from: at(from), to: at(to) }
    }

    /// The limits of one of its jobs, which has `part` of the phase; `now` are the seconds since planning began.
    ///
    /// What was used beside the phases before is taken from all that are still to come. Jobs run on several threads, so
    /// each has more seconds than its part of the wall clock, up to the whole phase.
    pub(super) fn slice(self, all: &Limits, now: f64, part: f64, seed: u64) -> Limits {
        let share = self.to - self.from;
        let threads = all.threads.max(1) as f64;
        let left = |s: f64| (s - now).max(0.0) / (1.0 - self.from).max(1e-6);
        Limits {
            seconds: all.seconds.map(|s| left(s) * share * (part * threads).min(1.0)),
            work: all.work.map(|w| ((w as f64 * share * part) as u64).max(1)),
            seed,
            threads: 1,
        }
    }
}

/// How a phase is shared among products: by the root of placements × time wanted, since both the effort that a
/// product needs and what the effort brings grow with one of them.
pub(super) fn parts(placements: &[usize], demand: &[f64]) -> Vec<f64> {
    let weight: Vec<f64> = placements.iter().zip(demand).map(|(n, d)| (*n as f64 * d.max(1.0)).sqrt()).collect();
    let sum: f64 = weight.iter().sum();
    weight.iter().map(|w| w / sum.max(1e-9)).collect()
}
