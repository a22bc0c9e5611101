//! Planning anew after a failure.

use crate::plan::{Limits, PlanResult, Watch, show};
use diag::{Finding, codes};
use domain::moves::{Moves, moves};
use domain::plan::Plan;
use domain::rules::{Down, Failure, Keep, Rules};
use serde::Serialize;
use units::Time;

/// What failed, and what moving feeders may cost.
#[derive(Clone, Debug)]
pub struct ReplanRequest {
    /// The plan the line ran by.
    pub plan: Plan,
    /// What is out of order now.
    pub down: Vec<Down>,
    /// What works again; each must be down in the plan.
    pub up: Vec<Down>,
    /// What one moved feeder or tray may cost in takt.
    pub price: Time,
    /// When to stop.
    pub limits: Limits,
}

/// A plan after a failure. The JSON fields are part of the command line's contract.
#[derive(Clone, Debug, Serialize)]
pub struct ReplanResult {
    /// Everything that is down, as the command line writes it.
    pub down: Vec<String>,
    /// Takt of the plan before [µs].
    pub takt_before_us: Time,
    /// What one moved feeder or tray may cost in takt [µs].
    pub move_price_us: Time,
    /// Takt plus the price of all moves: what was made small [µs].
    pub cost_us: Time,
    /// No plan costs less: bound plus the price of the moves that cannot be spared [µs].
    pub cost_bound_us: Time,
    /// Feeders and trays that every plan must move.
    pub least_moved: u32,
    /// What has to be carried.
    pub moves: Moves,
    /// The plan, as `plan` tells it.
    #[serde(flatten)]
    pub result: PlanResult,
}

/// Plans anew.
///
/// # Errors
/// Findings that forbid any plan: names that do not exist, rules that contradict each other, unsound inputs.
pub fn replan(request: ReplanRequest, watch: &dyn Watch) -> Result<ReplanResult, Vec<Finding>> {
    let base = request.plan;
    let job = base.job().map_err(|f| vec![*f])?;
    let (rules, notes) = rules(&base, request.down, &request.up)?;
    let found = optimise::replan(&job, &base.line, &rules, &base, request.price, request.limits, watch)?;
    let mut plan = found.planned.plan;
    let mut findings = notes;
    if found.planned.stopped {
        findings.push(Finding::new(codes::plan::STOPPED, "planning was stopped; this is the best plan so far"));
    }
    let conflicts = optimise::conflict::conflicts(&job, &base.line, &rules, &plan.unplaced);
    findings.extend(conflicts.iter().map(|c| c.finding()));
    findings.append(&mut plan.findings);
    plan.findings = findings;
    let moves = moves(&plan.line, &Keep::all_of(&base), &Keep::all_of(&plan));
    let result = show(plan, (found.planned.first_plan_seconds * 1000.0).ceil() as u64);
    Ok(ReplanResult {
        down: rules.down.iter().map(ToString::to_string).collect(),
        takt_before_us: base.takt_us,
        move_price_us: request.price,
        cost_us: result.takt_us + request.price * i64::from(moves.moved),
        cost_bound_us: result.bound_us + request.price * i64::from(found.least_moved),
        least_moved: found.least_moved,
        moves,
        result,
    })
}

/// The rules of a plan with what is down now; kept supplies that stand on it are let go.
fn rules(plan: &Plan, down: Vec<Down>, up: &[Down]) -> Result<(Rules, Vec<Finding>), Vec<Finding>> {
    let mut rules = plan.rules.clone();
    let mut wrong = Vec::new();
    for d in up {
        match rules.down.iter().position(|x| x == d) {
            Some(i) => drop(rules.down.remove(i)),
            None => wrong.push(Finding::new(codes::plan::LOCK_UNKNOWN, format!("`{d}` is not down in the plan")).value(d.to_string())),
        }
    }
    if !wrong.is_empty() {
        return Err(wrong);
    }
    let new = down.into_iter().filter(|d| !rules.down.contains(d)).collect::<Vec<_>>();
    rules.down.extend(new);
    let lost: Vec<Failure<'_>> = rules.down.iter().filter_map(|d| d.what().ok()).collect();
    let (gone, kept): (Vec<Keep>, Vec<Keep>) = rules.keep.iter().cloned().partition(|k| lost.iter().any(|f| stands_on(plan, k, *f)));
    let mut notes = Vec::new();
    if !gone.is_empty() {
        let places: Vec<String> = gone.iter().map(|k| format!("{} at {}", k.part, k.place())).collect();
        notes.push(Finding::new(codes::plan::KEEP_GONE, "what was kept on places that are down now is let go").value(places.join(", ")));
    }
    rules.keep = kept;
    Ok((rules, notes))
}

fn stands_on(plan: &Plan, keep: &Keep, failure: Failure<'_>) -> bool {
    let here = |s: &str| keep.station == s;
    let width = plan.line.feeder.iter().find(|f| Some(&f.name) == keep.feeder.as_ref()).map_or(1, |f| f.slots);
    match failure {
        Failure::Station(s) => here(s),
        Failure::Bank(s, b) => here(s) && keep.bank.as_deref() == Some(b),
        Failure::Slots(s, b, from, to) => {
            here(s) && keep.bank.as_deref() == Some(b) && keep.slot.is_some_and(|first| first <= to && from < first + width)
        }
        Failure::Tray(s, t) => here(s) && keep.tray.as_deref() == Some(t),
        Failure::Feeder(kind, None) => keep.feeder.as_deref() == Some(kind),
        Failure::Head(..) | Failure::Nozzle(..) | Failure::Feeder(..) => false,
    }
}
