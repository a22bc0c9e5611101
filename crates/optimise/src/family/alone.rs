//! Every product by itself: what it would take with a set-up of its own, and its bound.
//!
//! The bound of a product alone holds in every family: sharing a set-up only takes choices away.

use super::Wanted;
use super::budget::Stretch;
use super::held::solve;
use crate::bound::{Costs, Dual, Effort, best_weights};
use crate::kinds::StandIns;
use crate::planner::{Limits, LineState, Watch, bound_time};
use crate::problem::Problem;
use diag::Finding;
use domain::line::Line;
use units::Time;

/// A product by itself.
pub(super) struct Alone<'a> {
    pub(super) problem: Problem<'a>,
    /// Least times at the stations of the problem.
    pub(super) costs: Costs,
    /// Least times at the stations of the sheet, where others stand in for these.
    sheet_costs: Option<Costs>,
    pub(super) dual: Option<Dual>,
    /// The bound with the line's other equipment; 0 if nothing is proven.
    pub(super) bound: Time,
}

impl<'a> Alone<'a> {
    /// Prepares a product and proves its bound.
    pub(super) fn new(
        wanted: &Wanted<'a>,
        line: &'a Line,
        stand_ins: Option<&'a StandIns<'a>>,
        watch: &dyn Watch,
    ) -> Result<Self, Vec<Finding>> {
        let named = |found: Vec<Finding>| found.into_iter().map(|f| f.at(&wanted.job.product.name, 0)).collect::<Vec<_>>();
        let problem = Problem::on(wanted.job, line, stand_ins, wanted.rules).map_err(named)?;
        let costs = Costs::new(wanted.job, problem.line, wanted.rules, &problem.clock, &problem.cap, &problem.tasks);
        let sheet_costs = stand_ins.map(|_| problem.least_times(&problem.tasks));
        let dual = best_weights(sheet_costs.as_ref().unwrap_or(&costs), Effort::FULL, &|| watch.stopped());
        let bound = bound_time(line, dual.as_ref()).unwrap_or(Time::ZERO);
        Ok(Self { problem, costs, sheet_costs, dual, bound })
    }

    /// Least times at the stations of the sheet.
    pub(super) fn least_times(&self) -> &Costs {
        self.sheet_costs.as_ref().unwrap_or(&self.costs)
    }

    /// Plans it with a set-up of its own.
    pub(super) fn plan(&self, limits: Limits, watch: &dyn Watch) -> (LineState, u64) {
        let watch = Stretch::begin(watch);
        solve(&self.problem, &self.costs, self.bound, limits, &watch, None)
    }
}
