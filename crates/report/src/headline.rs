//! The plan in a few figures and a sentence.

use crate::present::Report;
use domain::plan::{Outcome, Plan};

/// A figure with its name and what it means.
pub(crate) struct Figure {
    pub(crate) name: &'static str,
    pub(crate) value: String,
    pub(crate) unit: &'static str,
}

/// The figures at the head of a report.
pub(crate) fn figures(report: &Report<'_>) -> Vec<Figure> {
    let plan = report.plan;
    let figure = |name, value, unit| Figure { name, value, unit };
    let (takt, bound) = (plan.takt_us.to_s(), plan.bound_us.to_s());
    let unknown = || "–".to_owned();
    let per_hour = |count: f64| if takt > 0.0 { format!("{:.0}", 3600.0 / takt * count) } else { unknown() };
    let images = f64::from(plan.panel.columns) * f64::from(plan.panel.rows);
    vec![
        figure("takt", if takt > 0.0 { format!("{takt:.2}") } else { unknown() }, "s per panel"),
        figure("bound", if bound > 0.0 { format!("{bound:.2}") } else { unknown() }, "s per panel"),
        figure("gap", gap(plan).map_or_else(unknown, |g| format!("{g:.1}")), "% above the bound"),
        figure("panels", per_hour(1.0), "per hour without stops"),
        figure("boards", per_hour(images), "per hour without stops"),
        figure("placed", placed(report), "of all placements"),
        figure("not placed", plan.unplaced.len().to_string(), if plan.unplaced.len() == 1 { "placement" } else { "placements" }),
    ]
}

fn placed(report: &Report<'_>) -> String {
    match &report.job {
        Ok(job) => format!("{} of {}", report.plan.placed(), job.tasks.len()),
        Err(_) => report.plan.placed().to_string(),
    }
}

/// How far the takt is above the bound [%]; `None` where one of them is not known.
pub(crate) fn gap(plan: &Plan) -> Option<f64> {
    let (takt, bound) = (plan.takt_us.to_s(), plan.bound_us.to_s());
    (takt > 0.0 && bound > 0.0).then(|| (takt - bound) / bound * 100.0)
}

/// How planning ended, in words.
pub fn outcome(plan: &Plan) -> String {
    let (takt, bound) = (plan.takt_us.to_s(), plan.bound_us.to_s());
    match plan.outcome {
        Outcome::ProvenOptimal => format!("Proven best: no plan of this job on this line has a takt under {takt:.2} s."),
        Outcome::Feasible => match gap(plan) {
            Some(gap) => format!(
                "A valid plan. No plan of this job on this line can have a takt under {bound:.2} s; this one is {gap:.1} % above that."
            ),
            None => "A valid plan; how far it is from the best is not known.".to_owned(),
        },
        Outcome::Infeasible => "There is no plan: this line cannot build this job as it stands. The findings say why.".to_owned(),
        Outcome::Unknown => "No plan was found in the time given, and none was proven impossible. Plan longer.".to_owned(),
    }
}

/// How the plan was made, in words.
pub fn method(plan: &Plan) -> String {
    let images = u64::from(plan.panel.columns) * u64::from(plan.panel.rows);
    let boards =
        if images == 1 { "single board".to_owned() } else { format!("panel of {} x {} boards", plan.panel.columns, plan.panel.rows) };
    let how = match plan.method {
        domain::plan::Method::Search => "the planner's search",
        domain::plan::Method::Hand => "the hand method, kept as a baseline",
    };
    format!("{boards}; made by {how}, seed {}, {} moves tried; order rule: {}", plan.seed, plan.work, plan.rules.order_rule())
}
