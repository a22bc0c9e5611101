//! The outcome stated agrees with the rest of the plan.

use crate::verdict::Log;
use diag::codes::verify as code;
use domain::plan::{Outcome, Plan};
use units::Time;

/// A plan with stations: feasible, or proven optimal when takt and bound meet.
pub(crate) fn check(plan: &Plan, takt: Time, bound: Time, log: &mut Log) {
    if bound > takt {
        log.add(code::BOUND, format!("the plan itself, with a takt of {} us, beats the bound of {} us", takt.0, bound.0));
    }
    match plan.outcome {
        Outcome::ProvenOptimal if takt != bound => {
            log.add(code::OUTCOME, format!("proven-optimal with a takt of {} us and a bound of {} us", takt.0, bound.0));
        }
        Outcome::ProvenOptimal | Outcome::Feasible => {}
        Outcome::Infeasible | Outcome::Unknown => log.add(code::OUTCOME, format!("{} with programs for the stations", plan.outcome)),
    }
}

/// A plan without stations claims no time and no bound, and an infeasible one says why.
pub(crate) fn check_empty(plan: &Plan, log: &mut Log) {
    if plan.takt_us != Time::ZERO || plan.bound_us.0 < 0 {
        log.add(code::OUTCOME, format!("{} with a takt of {} us and a bound of {} us", plan.outcome, plan.takt_us.0, plan.bound_us.0));
    }
    if plan.bound_us.0 > 0 {
        log.add(code::BOUND, format!("{} with a bound of {} us and no program to hold it against", plan.outcome, plan.bound_us.0));
    }
    if plan.outcome == Outcome::Infeasible && !plan.findings.iter().any(diag::Finding::is_error) {
        log.add(code::OUTCOME, "infeasible, and no finding says why");
    }
}
