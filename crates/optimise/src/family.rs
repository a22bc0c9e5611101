//! Families: one set-up for several products, each with its own programs.
//!
//! What counts is the time of the whole demand, Σ panels × takt. The way (docs/families.md §3): every product is
//! planned [`alone`] first, which tells what its placements really take; [`model`] and [`spread`] then decide for all
//! products together at which stations each part is supplied, under the slots and stocks they share; [`setup`] gives
//! the supplies their places; on that set-up, held, every product is planned by the planner itself ([`held`]);
//! [`slots`] moves supplies where all products together gain; [`rounds`] repeats from measured times while there is
//! budget. [`compose`] writes the family plan.

mod alone;
mod budget;
mod compose;
mod held;
mod model;
mod rounds;
mod setup;
mod slots;
mod spread;

use crate::kinds::StandIns;
use crate::planner::{Limits, Watch};
use diag::Finding;
use domain::family::plan::FamilyPlan;
use domain::job::Job;
use domain::line::Line;
use domain::rules::Rules;

/// A product of a family, laid out. All products of a family have the same list of parts
/// ([`domain::family::parts::share_parts`]).
#[derive(Clone, Copy)]
pub struct Wanted<'a> {
    /// The job.
    pub job: &'a Job<'a>,
    /// Order rules and locks. The locks are those of the family.
    pub rules: &'a Rules,
    /// Boards wanted, at least 1.
    pub boards: u64,
}

impl Wanted<'_> {
    /// Panels that hold the boards wanted.
    pub fn panels(&self) -> u64 {
        domain::family::panels(self.boards, &self.job.panel)
    }
}

/// A family plan, and how planning went.
#[derive(Clone, Debug)]
pub struct FamilyPlanned {
    /// The plan.
    pub plan: FamilyPlan,
    /// Seconds until the first valid family plan.
    pub first_plan_seconds: f64,
    /// Whether it was stopped before its limit.
    pub stopped: bool,
}

/// Plans a family. The work limit counts the moves tried on all products together.
///
/// # Errors
/// Findings that forbid any plan of some product, each with the product's name as its file.
pub fn plan_family(
    name: &str,
    products: &[Wanted<'_>],
    line: &Line,
    limits: Limits,
    watch: &dyn Watch,
) -> Result<FamilyPlanned, Vec<Finding>> {
    let stand_ins: Vec<Option<StandIns<'_>>> = products.iter().map(|w| StandIns::of(line, w.job, w.rules)).collect();
    rounds::run(name, products, &stand_ins, line, limits, watch)
}
