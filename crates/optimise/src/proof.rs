//! The bound, which is worked out beside the search.
//!
//! Only the end of the search asks for it, so a large line is searched from the first second on. With a limit of work the
//! search waits for it where it first asks, so that the plan does not depend on which of the two is faster.

use crate::bound::{Costs, Dual, Effort, best_weights};
use crate::planner::{Limits, Watch, bound_time};
use domain::line::Line;
use std::sync::OnceLock;
use units::Time;

/// A bound that may still be under way.
#[derive(Debug, Default)]
pub(crate) struct Proof {
    found: OnceLock<(Option<Time>, Option<Dual>)>,
}

impl Proof {
    /// A bound that is known.
    pub fn known(bound: Option<Time>) -> Self {
        let proof = Self::default();
        proof.found.get_or_init(|| (bound, None));
        proof
    }

    /// Works the bound out; a stop or the end of the time limit ends its branching early.
    pub fn work_out(&self, line: &Line, costs: &Costs, limits: &Limits, watch: &dyn Watch) {
        /// Whoever waits is let go even if the work below panics; the panic ends the run where the threads are joined.
        struct Settled<'p>(&'p Proof);
        impl Drop for Settled<'_> {
            fn drop(&mut self) {
                self.0.found.get_or_init(|| (None, None));
            }
        }
        let _settled = Settled(self);
        self.found.get_or_init(|| {
            let is_over = || watch.stopped() || limits.seconds.is_some_and(|s| watch.seconds() >= s);
            let dual = best_weights(costs, Effort::FULL, &is_over);
            (bound_time(line, dual.as_ref()), dual)
        });
    }

    /// Whether it is not known yet.
    pub fn is_under_way(&self) -> bool {
        self.found.get().is_none()
    }

    /// The bound as far as it is known.
    pub fn bound(&self) -> Option<Time> {
        self.found.get().and_then(|f| f.0)
    }

    /// Waits until it is known.
    pub fn wait(&self) {
        self.found.wait();
    }

    /// The certificate, once [`Proof::work_out`] has ended.
    pub fn into_dual(self) -> Option<Dual> {
        self.found.into_inner().and_then(|f| f.1)
    }
}
