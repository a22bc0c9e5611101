//! A line state as the plan document.

use super::{LineState, Run, bound_time};
use crate::bound::{Costs, Dual, Effort, best_weights};
use crate::kinds;
use diag::{Finding, codes};
use domain::job::TaskId;
use domain::plan::{Certificate, Method, Outcome, Plan, SCHEMA, StationPlan, Unplaced};
use motion::line_time;
use std::collections::{BTreeMap, BTreeSet};
use units::Time;

impl Run<'_> {
    /// The plan document of a line state.
    pub fn compose(&self, state: &LineState, costs: &Costs, dual: Option<Dual>, method: Method) -> Plan {
        self.document(state, Some((costs, dual)), method)
    }

    /// As [`Run::compose`]; without least times it has no bound and no reasons.
    pub(super) fn document(&self, state: &LineState, least: Option<(&Costs, Option<Dual>)>, method: Method) -> Plan {
        let p = self.p;
        let mut unplaced: Vec<Unplaced> = p.unplaced.iter().chain(&state.unplaced).cloned().collect();
        unplaced.sort_by_key(|u| u.task);
        let stations: Vec<StationPlan> = kinds::stations(p, &state.stations, method == Method::Hand);
        let times: Vec<Time> = stations.iter().map(|s| s.time_us).collect();
        let takt = line_time(p.sheet(), &times).takt;
        // The bound is for the tasks that are placed.
        let gone: BTreeSet<TaskId> = unplaced.iter().map(|u| u.task).collect();
        let placed: Vec<TaskId> = p.tasks.iter().copied().filter(|t| !gone.contains(t)).collect();
        let fresh;
        let (costs, dual) = match least {
            Some((costs, dual)) if !stations.is_empty() && placed.len() == p.tasks.len() => (Some(costs), dual),
            Some(_) if !stations.is_empty() => {
                fresh = p.least_times(&placed);
                (Some(&fresh), best_weights(&fresh, Effort::FULL, &|| false))
            }
            _ => (None, None),
        };
        let bound = bound_time(p.sheet(), dual.as_ref()).unwrap_or(Time::ZERO);
        let outcome = match () {
            () if stations.is_empty() || placed.is_empty() => Outcome::Infeasible,
            () if takt == bound => Outcome::ProvenOptimal,
            () => Outcome::Feasible,
        };
        let threads = self.limits.threads;
        let reasons = costs.zip(dual.as_ref());
        let reasons = reasons.map_or(Vec::new(), |least| crate::reasons::reasons(p, &stations, least, takt, bound, threads));
        Plan {
            schema: SCHEMA.to_owned(),
            product: p.job.product.clone(),
            side: p.job.side,
            panel: p.job.panel,
            rules: p.rules.clone(),
            line: p.sheet().clone(),
            method,
            seed: self.limits.seed,
            work: self.work,
            outcome,
            takt_us: if outcome == Outcome::Infeasible { Time::ZERO } else { takt },
            bound_us: if outcome == Outcome::Infeasible { Time::ZERO } else { bound },
            certificate: if outcome == Outcome::Infeasible {
                Certificate::default()
            } else {
                dual.map_or_else(Certificate::default, |d| d.certificate)
            },
            stations: if outcome == Outcome::Infeasible { Vec::new() } else { stations },
            findings: if outcome == Outcome::Infeasible { why_infeasible(&unplaced) } else { Vec::new() },
            unplaced,
            reasons,
        }
    }
}

/// One error for each kind of reason that kept every placement off the line.
fn why_infeasible(unplaced: &[Unplaced]) -> Vec<Finding> {
    let mut by_code: BTreeMap<&str, Vec<&Unplaced>> = BTreeMap::new();
    for u in unplaced {
        by_code.entry(&u.code).or_default().push(u);
    }
    let finding = |(code, all): (&str, Vec<&Unplaced>)| {
        let code = codes::find(code)?;
        let text = format!("nothing can be placed; {} of {} placements for this reason: {}", all.len(), unplaced.len(), all[0].message);
        let mut finding = Finding::new(code, text).value(&all[0].reference);
        finding.severity = diag::Severity::Error;
        Some(finding)
    };
    by_code.into_iter().filter_map(finding).collect()
}
