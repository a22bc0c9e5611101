//! The family plan document.

use super::Wanted;
use super::alone::Alone;
use super::rounds::Family;
use crate::kinds;
use crate::planner::{Limits, Run, Watch};
use diag::codes;
use domain::family::plan::{FamilyPlan, Member, SCHEMA, SharedSetup, weighted};
use domain::plan::{Method, Outcome, Reason};
use std::collections::BTreeSet;
use units::Time;

/// Nobody asks for progress while a plan is written.
struct Quiet;

impl Watch for Quiet {
    fn seconds(&self) -> f64 {
        0.0
    }

    fn stopped(&self) -> bool {
        false
    }

    fn progress(&self, _: &crate::planner::Progress) {}
}

/// Writes the plan of every product and what they share.
pub(super) fn compose(
    name: &str,
    products: &[Wanted<'_>],
    alone: &[Alone<'_>],
    takts: &[Time],
    family: Family<'_>,
    limits: &Limits,
    work: u64,
) -> FamilyPlan {
    let line = alone[0].problem.sheet();
    let mut members = Vec::new();
    for (((w, a), state), takt) in products.iter().zip(alone).zip(family.states).zip(takts) {
        let mut state = state;
        // What only the held set-up keeps off the line is not known to the product's own problem.
        let placed: BTreeSet<_> = state.stations.iter().flat_map(|s| s.tasks().map(|(_, t)| t).collect::<Vec<_>>()).collect();
        let told: BTreeSet<_> = state.unplaced.iter().map(|u| u.task).collect();
        for t in a.problem.tasks.iter().filter(|t| !placed.contains(t) && !told.contains(t)) {
            let text = format!("no slot is left for `{}` beside the supplies of the other products", w.job.part(*t).number);
            state.unplaced.push(a.problem.unplaced_task(*t, codes::plan::NO_SLOT, text));
        }
        let run = Run { p: &a.problem, limits: *limits, watch: &Quiet, work };
        let plan = run.compose(&state, a.least_times(), a.dual.clone(), Method::Search);
        members.push(Member { boards: w.boards, panels: w.panels(), alone_us: *takt, plan });
    }
    let sum = |figure: fn(&Member) -> Time| weighted(members.iter().map(|m| (m.panels, figure(m)))).unwrap_or(Time(i64::MAX));
    let (time_us, bound_us) = (sum(|m| m.plan.takt_us), sum(|m| m.plan.bound_us));
    let setup = line.station.iter().zip(kinds::supplies(&alone[0].problem, family.supplies.stations));
    let setup: Vec<SharedSetup> = setup.map(|(s, supplies)| SharedSetup { station: s.name.clone(), supplies }).collect();
    let reasons = reasons(&members, &setup, time_us, bound_us);
    FamilyPlan {
        schema: SCHEMA.to_owned(),
        name: name.to_owned(),
        seed: limits.seed,
        work,
        outcome: if time_us == bound_us { Outcome::ProvenOptimal } else { Outcome::Feasible },
        time_us,
        bound_us,
        setup,
        members,
        reasons,
        findings: Vec::new(),
    }
}

fn percent(part: Time, of: Time) -> f64 {
    if of.0 > 0 { 100.0 * part.0 as f64 / of.0 as f64 } else { 0.0 }
}

fn reasons(members: &[Member], setup: &[SharedSetup], time: Time, bound: Time) -> Vec<Reason> {
    let mut found = vec![Reason {
        text: format!(
            "The whole demand takes {:.1} h; no family plan on this line takes less than {:.1} h, so this one is {:.1} % above the least possible.",
            time.to_s() / 3600.0,
            bound.to_s() / 3600.0,
            percent(time - bound, bound)
        ),
        worth_us: time - bound,
    }];
    found.extend(sharing(members, time));
    let mut by_time: Vec<&Member> = members.iter().collect();
    by_time.sort_by_key(|m| std::cmp::Reverse(i128::from(m.plan.takt_us.0) * i128::from(m.panels)));
    for m in by_time {
        let all = Time(m.plan.takt_us.0.saturating_mul(m.panels as i64));
        let slowest = m.plan.stations.iter().max_by_key(|s| s.time_us).map_or("", |s| s.station.as_str());
        let text = format!(
            "`{}`: {} panels of {:.2} s are {:.0} % of the time; bound {:.2} s, gap {:.1} %, slowest `{slowest}`.",
            m.plan.product.name,
            m.panels,
            m.plan.takt_us.to_s(),
            percent(all, time),
            m.plan.bound_us.to_s(),
            100.0 * m.plan.gap()
        );
        let worth = (m.plan.takt_us - m.plan.bound_us).0.saturating_mul(m.panels as i64);
        found.push(Reason { text, worth_us: Time(worth) });
    }
    found.push(supplies(setup));
    found
}

/// What the one set-up costs against set-ups of their own, changing over not counted.
fn sharing(members: &[Member], time: Time) -> Option<Reason> {
    let alone = weighted(members.iter().map(|m| (m.panels, m.alone_us)))?;
    if members.iter().any(|m| m.alone_us == Time::ZERO) || alone == Time::ZERO {
        return None;
    }
    let cost = time - alone;
    let text = if cost > Time::ZERO {
        format!(
            "Sharing one set-up costs {:.2} h ({:.1} %) against the best plans with a set-up of their own that were found on the way; every changeover it spares counts against that.",
            cost.to_s() / 3600.0,
            percent(cost, alone)
        )
    } else {
        "Sharing one set-up costs nothing against the plans with a set-up of their own that were found on the way.".to_owned()
    };
    Some(Reason { text, worth_us: cost.max(Time::ZERO) })
}

fn supplies(setup: &[SharedSetup]) -> Reason {
    let all: usize = setup.iter().map(|s| s.supplies.len()).sum();
    let parts: BTreeSet<_> = setup.iter().flat_map(|s| &s.supplies).map(|s| s.part).collect();
    let twice = all - parts.len();
    let more = match twice {
        0 => "each part stands once".to_owned(),
        1 => "one part stands at two stations".to_owned(),
        n => format!("{n} supplies stand a second time, at another station, because it pays"),
    };
    Reason { text: format!("{all} feeders and trays for {} part types stand on the line; {more}.", parts.len()), worth_us: Time::ZERO }
}
