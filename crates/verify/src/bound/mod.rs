//! The bound of a plan, from its certificate: `docs/planning.md` §3.
//!
//! Written from the text of that page. All figures are lower limits of what a head must spend on a
//! task, in whole nanoseconds; [`combine`] spreads the work over the columns that a leaf gives or leaves open.

mod combine;
mod drum;
mod figures;
mod leaves;
mod manners;
mod model;
mod neighbours;
mod orders;
mod regions;
mod station;
mod views;

use domain::job::Job;
use domain::plan::Plan;
use model::Model;
use motion::Clock;
use units::Time;

/// Nanoseconds in a microsecond.
const NS: i64 = 1_000;

/// What the certificate of a plan proves: no plan that places the same tasks can have a smaller takt.
///
/// `None` if the leaves are unsound or do not cover every choice. A task that no head takes adds nothing, which makes the figure no larger. References of the
/// plan's tasks must exist, and its figures must be sound, as [`crate::verify`] checks.
pub fn bound(plan: &Plan, job: &Job<'_>) -> Option<Time> {
    let clock = Clock::new(&plan.line, job);
    of(plan, job, &clock).ok()
}

/// As [`bound`].
///
/// # Errors
/// A sentence that says what is wrong with the certificate.
pub(crate) fn of(plan: &Plan, job: &Job<'_>, clock: &Clock<'_>) -> Result<Time, String> {
    let model = Model::new(plan, job, clock);
    let leaves = leaves::read(plan, &model)?;
    // Leaves whose heads cannot do the work belong to no plan. Without any other nothing is proven.
    let least = leaves.iter().filter_map(|leaf| combine::bound(&model, leaf)).min().unwrap_or(Time::ZERO);
    let equipment = plan.line.equipment.iter().map(|e| *e.time).max().unwrap_or(Time::ZERO);
    Ok(least.max(equipment))
}
