//! The independent checker of a plan and of its bound.
//!
//! [`verify`] recomputes everything a plan file claims from the file alone: every rule of
//! `docs/planning.md` §1, every second by the clock, and the bound by §3 of the same page. It
//! shares no code with the planner; what both need is written here a second time, from the text.
//!
//! Reading order: [`verify`], `capability` (what a head can take), `outage` (what is down), `sequence`
//! (in which order things happen), `rules` (one rule per file), `bound`.

mod bound;
mod capability;
mod context;
mod family;
mod outage;
mod rules;
mod sequence;
mod verdict;

pub use bound::bound;
pub use family::{FamilyVerdict, MemberVerdict, verify_family};
pub use verdict::{Verdict, Violation};

use context::Context;
use diag::codes::verify as code;
use domain::plan::{Outcome, Plan, SCHEMA};
use motion::Clock;
use units::Time;
use verdict::Log;

/// Checks a plan: its rules, its seconds, its bound.
///
/// Nothing in the plan is trusted: any value that a plan file can hold yields a verdict, never a
/// panic. Once the inputs or the references of a plan are unsound, the rules that rest on them are
/// not checked, and the takt and bound of the verdict are 0.
pub fn verify(plan: &Plan) -> Verdict {
    let mut log = Log::default();
    let (takt, bound) = stages(plan, &mut log);
    Verdict::new(log, takt, bound)
}

/// Runs the checks in the order in which they rest on each other; the recomputed takt and bound.
fn stages(plan: &Plan, log: &mut Log) -> (Time, Time) {
    const NOTHING: (Time, Time) = (Time::ZERO, Time::ZERO);
    if plan.schema != SCHEMA {
        log.add(code::SCHEMA, format!("`{}`, known is `{SCHEMA}`", plan.schema));
        return NOTHING;
    }
    rules::sheet::check(plan, log);
    rules::range::check(plan, log);
    if !log.is_empty() {
        return NOTHING;
    }
    if plan.stations.is_empty() && matches!(plan.outcome, Outcome::Infeasible | Outcome::Unknown) {
        rules::outcome::check_empty(plan, log);
        return NOTHING;
    }
    let job = match plan.job() {
        Ok(job) => job,
        Err(finding) => {
            log.add(code::PRODUCT, finding.message);
            return NOTHING;
        }
    };
    let clock = Clock::new(&plan.line, &job);
    rules::reference::check(plan, &job, log);
    if log.is_empty() {
        rules::time::can_be_timed(plan, &clock, log);
    }
    if !log.is_empty() {
        return NOTHING;
    }
    let ctx = Context::new(plan, &job, &clock);
    rules::check_all(&ctx, log);
    let takt = rules::time::check(&ctx, log);
    let bound = rules::bound::check(&ctx, log);
    rules::outcome::check(plan, takt, bound, log);
    (takt, bound)
}
