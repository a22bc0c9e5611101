//! A balance solved elsewhere, carried out by this planner's stations.
//!
//! To compare the planner's balance with that of a general solver both must end on the same clock:
//! [`Outside::model`] states the linear balance of a job, somebody solves it by whatever means, and
//! [`Outside::plan`] gives every station the work the answer assigns to it and searches the stations
//! (set-up, trips, order) as the planner does. No work moves between stations afterwards.

use crate::balance::Linear;
use crate::bound::{Costs, Effort, best_weights};
use crate::planner::{Limits, Planned, Run, Watch, measured, mix};
use crate::problem::Problem;
use crate::search::Heat;
use crate::start::{Estimate, chosen_model, start_from_counts};
use diag::{Finding, codes};
use domain::job::Job;
use domain::line::{Line, StationKind};
use domain::plan::Method;
use domain::rules::Rules;

/// A job whose balance is solved elsewhere.
pub struct Outside<'a> {
    p: Problem<'a>,
    costs: Costs,
    estimate: Estimate,
    model: Linear,
}

/// How much longer than its least time a placement takes, before anything is measured.
const FIRST_FACTOR: f64 = 1.15;
/// Trips are hot at first and cold at the end, as in the planner's own cooling [µs].
const HEAT: (f64, f64) = (60_000.0, 200.0);

impl<'a> Outside<'a> {
    /// Prepares a job.
    ///
    /// # Errors
    /// As [`crate::plan`]; `plan.not-planned-yet` on a line with other stations than gantries.
    pub fn new(job: &'a Job<'a>, line: &'a Line, rules: &'a Rules) -> Result<Self, Vec<Finding>> {
        if let Some(s) = line.station.iter().find(|s| s.kind != StationKind::Gantry) {
            let message = format!("station `{}` is of kind {}, for which no balance is carried out", s.name, s.kind);
            return Err(vec![Finding::new(codes::plan::NOT_PLANNED_YET, message).value(s.kind.word())]);
        }
        let p = Problem::on(job, line, None, rules)?;
        let costs = Costs::new(job, line, rules, &p.clock, &p.cap, &p.tasks);
        let estimate = Estimate::new(&p, &costs, &vec![FIRST_FACTOR; p.cap.modes.len()]);
        let model = chosen_model(&p, &estimate);
        Ok(Self { p, costs, estimate, model })
    }

    /// The linear balance, times as far as they are known [µs]: estimated at first, measured after a plan.
    ///
    /// Where order rules cut the line into stages, it is the model of the cut the planner itself would choose.
    pub fn model(&self) -> &Linear {
        &self.model
    }

    /// Plans with the work spread as `counts` says: placements of each group in each column.
    ///
    /// Placements of a group that no column counts are left out with their reason. The next
    /// [`Self::model`] has the times that the stations really took.
    pub fn plan(&mut self, counts: &[Vec<u32>], limits: Limits, watch: &dyn Watch) -> Planned {
        let p = &self.p;
        let first = start_from_counts(p, &self.estimate, counts);
        let mut run = Run { p, limits, watch, work: 0 };
        let mut state = run.timed(first);
        let first_plan_seconds = watch.seconds();
        let mut best = state.clone();
        let mut round = 0;
        while run.share() < 1.0 && !state.stations.is_empty() {
            let now = HEAT.0 * (HEAT.1 / HEAT.0).powf(run.share());
            run.work += run.search_all(&mut state, Heat { from: now, to: now * 0.8 }, mix(limits.seed, 21, round), limits.threads);
            if state.key(p) < best.key(p) {
                best = state.clone();
            }
            round += 1;
        }
        let plan = run.compose(&best, &self.costs, best_weights(&self.costs, Effort::FULL, &|| false), Method::Search);
        let stopped = watch.stopped();
        if !best.stations.is_empty() {
            self.estimate = Estimate::new(p, &self.costs, &measured(p, &self.costs, &best));
            self.model = chosen_model(p, &self.estimate);
        }
        Planned { plan, first_plan_seconds, stopped }
    }
}
