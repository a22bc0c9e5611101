//! Planning a product on a line.

use diag::{Finding, codes};
use domain::job::{Job, Panel};
use domain::line::Line;
use domain::part::Certainty;
use domain::plan::{Method, Outcome, Plan};
use domain::product::{Product, Side};
use domain::rules::Rules;

use serde::Serialize;
use units::Time;

pub use crate::hold::{Begin, Hold};
pub use optimise::{Limits, Progress, Watch};

/// What to plan.
#[derive(Clone, Debug)]
pub struct PlanRequest {
    /// The product.
    pub product: Product,
    /// Findings of reading it, kept in the plan.
    pub findings: Vec<Finding>,
    /// The line.
    pub line: Line,
    /// Order rules and locks.
    pub rules: Rules,
    /// A plan to begin with, and what of it is to stay.
    pub from: Option<Begin>,
    /// The side; `None` takes the fuller one and says so.
    pub side: Option<Side>,
    /// How boards are repeated.
    pub panel: Panel,
    /// Search, or the hand method.
    pub method: Method,
    /// When to stop.
    pub limits: Limits,
}

/// A plan with what an edge shows of it. The JSON fields are part of the command line's contract.
#[derive(Clone, Debug, Serialize)]
pub struct PlanResult {
    /// How it ended.
    pub outcome: Outcome,
    /// Time per panel [µs].
    pub takt_us: Time,
    /// No plan has a smaller takt [µs].
    pub bound_us: Time,
    /// (takt − bound) / bound; `null` without a plan.
    pub gap: Option<f64>,
    /// Tasks placed.
    pub placed: usize,
    /// Tasks not placed, with their reasons.
    pub unplaced: Vec<UnplacedRow>,
    /// Time of each station.
    pub stations: Vec<StationRow>,
    /// Milliseconds from the start of planning to the first valid plan.
    pub first_plan_ms: u64,
    /// Seed of the search.
    pub seed: u64,
    /// Moves tried.
    pub work: u64,
    /// Side planned.
    pub side: Side,
    /// How it was made.
    pub method: Method,
    /// What holds it back.
    pub reasons: Vec<domain::plan::Reason>,
    /// Everything noticed.
    pub findings: Vec<Finding>,
    /// The plan.
    #[serde(skip)]
    pub plan: Option<Plan>,
}

/// A task not placed.
#[derive(Clone, Debug, Serialize)]
pub struct UnplacedRow {
    /// Reference, and image in a panel.
    pub reference: String,
    /// Code of the reason.
    pub code: String,
    /// The reason in a sentence.
    pub message: String,
}

impl UnplacedRow {
    /// As a plan tells it.
    pub(crate) fn of(u: &domain::plan::Unplaced) -> Self {
        Self { reference: u.reference.clone(), code: u.code.clone(), message: u.message.clone() }
    }
}

/// Time of a station.
#[derive(Clone, Debug, Serialize)]
pub struct StationRow {
    /// Its name.
    pub name: String,
    /// Time per panel [µs].
    pub time_us: Time,
}

/// Plans. Whatever happens, the result says so by its outcome and findings.
pub fn plan(request: PlanRequest, watch: &dyn Watch) -> PlanResult {
    let mut findings = request.findings;
    let side = request.side.unwrap_or_else(|| fuller_side(&request.product, &mut findings));
    let refused = |findings: Vec<Finding>, seed: u64, method: Method| PlanResult {
        outcome: Outcome::Infeasible,
        takt_us: Time::ZERO,
        bound_us: Time::ZERO,
        gap: None,
        placed: 0,
        unplaced: Vec::new(),
        stations: Vec::new(),
        first_plan_ms: 0,
        seed,
        work: 0,
        side,
        method,
        reasons: Vec::new(),
        findings,
        plan: None,
    };
    let (seed, method) = (request.limits.seed, request.method);
    let mut rules = request.rules;
    if let Some(from) = &request.from {
        let held = crate::hold::hold(&mut rules, from, &request.product);
        let wrong = held.iter().any(Finding::is_error);
        findings.extend(held);
        if wrong {
            return refused(findings, seed, method);
        }
    }
    let job = match Job::new(&request.product, side, request.panel) {
        Ok(job) => job,
        Err(f) => {
            findings.push(*f);
            return refused(findings, seed, method);
        }
    };
    findings.extend(doubts(&job));
    let planned = match method {
        Method::Search => optimise::plan_from(&job, &request.line, &rules, request.from.as_ref().map(|f| &f.plan), request.limits, watch)
            .map(|p| (p.plan, (p.first_plan_seconds * 1000.0).ceil() as u64, p.stopped)),
        Method::Hand => {
            optimise::hand::by_hand(&job, &request.line, &rules, watch).map(|p| (p, (watch.seconds() * 1000.0).ceil() as u64, false))
        }
    };
    match planned {
        Err(wrong) => {
            findings.extend(wrong);
            refused(findings, seed, method)
        }
        Ok((mut plan, first_plan_ms, stopped)) => {
            findings.extend(optimise::conflict::conflicts(&job, &request.line, &rules, &plan.unplaced).iter().map(|c| c.finding()));
            if stopped {
                findings.push(Finding::new(codes::plan::STOPPED, "planning was stopped; this is the best plan so far"));
            }
            findings.append(&mut plan.findings);
            plan.findings = findings;
            let plan = match &request.from {
                Some(from) if method == Method::Search => crate::hold::no_worse(plan, &from.plan),
                _ => plan,
            };
            show(plan, first_plan_ms)
        }
    }
}

pub(crate) fn show(plan: Plan, first_plan_ms: u64) -> PlanResult {
    PlanResult {
        outcome: plan.outcome,
        takt_us: plan.takt_us,
        bound_us: plan.bound_us,
        gap: (plan.bound_us.0 > 0).then(|| plan.gap()),
        placed: plan.placed(),
        unplaced: plan.unplaced.iter().map(UnplacedRow::of).collect(),
        stations: plan.stations.iter().map(|s| StationRow { name: s.station.clone(), time_us: s.time_us }).collect(),
        first_plan_ms,
        seed: plan.seed,
        work: plan.work,
        side: plan.side,
        method: plan.method,
        reasons: plan.reasons.clone(),
        findings: plan.findings.clone(),
        plan: Some(plan),
    }
}

pub(crate) fn fuller_side(product: &Product, findings: &mut Vec<Finding>) -> Side {
    let (top, bottom) = (product.fitted_on(Side::Top), product.fitted_on(Side::Bottom));
    let side = if bottom > top { Side::Bottom } else { Side::Top };
    if top > 0 && bottom > 0 {
        let text = format!("{top} parts lie on the top and {bottom} on the bottom; the {} side is planned", side.word());
        findings.push(Finding::new(codes::plan::SIDE_CHOSEN, text).value(side.word()));
    }
    side
}

/// What the plan will rest on without anybody having stated it.
pub(crate) fn doubts(job: &Job<'_>) -> Vec<Finding> {
    let mut found = Vec::new();
    if job.fiducials_assumed {
        found.push(Finding::new(codes::plan::FIDUCIALS_ASSUMED, "fewer than two marks are known on this side"));
    }
    let guessed = |p: &domain::part::Part| [&p.body_x_um, &p.body_y_um, &p.height_um].iter().any(|f| f.certainty == Certainty::Guess);
    let mut parts: Vec<(usize, &str)> = Vec::new();
    for (i, part) in job.product.parts.iter().enumerate() {
        let n = job.tasks.iter().filter(|t| t.part.index() == i).count();
        if n > 0 && guessed(part) {
            parts.push((n, &part.number));
        }
    }
    parts.sort_by_key(|(n, number)| (std::cmp::Reverse(*n), *number));
    if !parts.is_empty() {
        let n: usize = parts.iter().map(|(n, _)| n).sum();
        let names: Vec<&str> = parts.iter().take(8).map(|(_, name)| *name).collect();
        let types = if parts.len() == 1 { "1 part type".to_owned() } else { format!("{} part types", parts.len()) };
        let text = format!("the size of {types} ({n} of {} placements) is guessed in part", job.tasks.len());
        found.push(Finding::new(codes::plan::SIZE_GUESSED, text).value(names.join(", ")));
    }
    found
}
