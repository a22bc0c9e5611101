//! The checker of family plans (`docs/families.md` §4): every product's plan by itself, then what they share.

use crate::verdict::{Log, Verdict, Violation};
use diag::codes::verify as code;
use domain::family::plan::{FamilyPlan, SCHEMA, weighted};
use domain::family::{MOST_BOARDS, panels};
use domain::plan::{Outcome, Plan};
use serde::Serialize;
use units::Time;

/// The checker's answer about a family plan.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct FamilyVerdict {
    /// Whether every claim of the family plan and of all its products' plans holds.
    pub accepted: bool,
    /// Every claim about the family that does not hold.
    pub violations: Vec<Violation>,
    /// Time of the whole demand as recomputed [µs]; 0 when a product's plan is too unsound to time.
    pub time_us: Time,
    /// The bound as recomputed [µs]; 0 when it proves nothing.
    pub bound_us: Time,
    /// The answer about each product's plan.
    pub members: Vec<MemberVerdict>,
}

/// The checker's answer about the plan of one product.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct MemberVerdict {
    /// Name of the product.
    pub product: String,
    /// The answer.
    #[serde(flatten)]
    pub verdict: Verdict,
}

/// Checks a family plan: every product's plan, the shared set-up, the sums.
///
/// The takt that a product would have alone is told for comparison and not checked: it rests on a plan that the
/// file does not hold.
pub fn verify_family(family: &FamilyPlan) -> FamilyVerdict {
    let mut log = Log::default();
    if family.schema != SCHEMA {
        log.add(code::SCHEMA, format!("`{}`, known is `{SCHEMA}`", family.schema));
        return answer(log, Vec::new(), (Time::ZERO, Time::ZERO));
    }
    let members: Vec<MemberVerdict> =
        family.members.iter().map(|m| MemberVerdict { product: m.plan.product.name.clone(), verdict: crate::verify(&m.plan) }).collect();
    inputs(family, &mut log);
    setup(family, &mut log);
    let sums = sums(family, &members, &mut log);
    answer(log, members, sums)
}

fn answer(log: Log, members: Vec<MemberVerdict>, (time_us, bound_us): (Time, Time)) -> FamilyVerdict {
    let violations = log.into_violations();
    let accepted = violations.is_empty() && members.iter().all(|m| m.verdict.accepted);
    FamilyVerdict { accepted, violations, time_us, bound_us, members }
}

/// One line, one list of parts, one set of locks; panels that hold the boards wanted.
fn inputs(family: &FamilyPlan, log: &mut Log) {
    let Some(first) = family.members.first() else {
        log.add(code::FAMILY_INPUT, "the family has no product");
        return;
    };
    for m in &family.members {
        let (name, a, b) = (&m.plan.product.name, &first.plan, &m.plan);
        let alike: [(&str, bool); 3] = [
            ("line", a.line == b.line),
            ("list of parts", a.product.parts == b.product.parts),
            ("lock and forbid entries", (&a.rules.lock, &a.rules.forbid) == (&b.rules.lock, &b.rules.forbid)),
        ];
        for (what, _) in alike.into_iter().filter(|(_, same)| !same) {
            log.add(code::FAMILY_INPUT, format!("`{name}`: its {what} are not those of `{}`", a.product.name));
        }
        if m.boards == 0 || m.boards > MOST_BOARDS || m.panels != panels(m.boards, &m.plan.panel) {
            log.add(code::FAMILY_INPUT, format!("`{name}`: {} boards in {} panels", m.boards, m.panels));
        }
    }
}

/// Every plan stands on the shared set-up, supply by supply.
fn setup(family: &FamilyPlan, log: &mut Log) {
    for m in &family.members {
        let (plan, name): (&Plan, _) = (&m.plan, &m.plan.product.name);
        if plan.stations.len() != family.setup.len() {
            let text = format!("`{name}`: planned on {} stations, the set-up tells of {}", plan.stations.len(), family.setup.len());
            log.add(code::FAMILY_SET_UP, text);
            continue;
        }
        for (station, shared) in plan.stations.iter().zip(&family.setup) {
            if station.station != shared.station || station.supplies != shared.supplies {
                log.add(code::FAMILY_SET_UP, format!("`{name}`, station `{}`: not the shared set-up", station.station));
            }
        }
    }
}

/// Time and bound of the family: the sums over the products, each times its panels.
fn sums(family: &FamilyPlan, members: &[MemberVerdict], log: &mut Log) -> (Time, Time) {
    let sum = |figure: fn(&Verdict) -> Time| weighted(family.members.iter().zip(members).map(|(m, v)| (m.panels, figure(&v.verdict))));
    let (Some(time), Some(bound)) = (sum(|v| v.takt_us), sum(|v| v.bound_us)) else {
        log.add(code::FAMILY_SUM, "the sum of all times leaves 64 bits");
        return (Time::ZERO, Time::ZERO);
    };
    if family.time_us != time {
        log.add(code::FAMILY_SUM, format!("time {} us stated, {} us recomputed", family.time_us.0, time.0));
    }
    if family.bound_us != bound {
        log.add(code::FAMILY_SUM, format!("bound {} us stated, {} us recomputed", family.bound_us.0, bound.0));
    }
    let wanted = if time == bound { Outcome::ProvenOptimal } else { Outcome::Feasible };
    if family.outcome != wanted {
        log.add(code::OUTCOME, format!("{} stated for a family that takes {} us with a bound of {} us", family.outcome, time.0, bound.0));
    }
    (time, bound)
}
