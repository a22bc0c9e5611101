//! Timing, checking and explaining a saved plan.

use diag::{Finding, codes};
use domain::plan::{Breakdown, Plan};
use motion::{Clock, line_time};
use serde::Serialize;
use units::Time;

pub use verify::{Verdict, Violation};

/// Checks a plan with the independent checker.
pub fn check(plan: &Plan) -> Verdict {
    verify::verify(plan)
}

/// A plan as the clock times it now.
#[derive(Clone, Debug, Serialize)]
pub struct Timing {
    /// Time per panel of the slowest station or equipment [µs].
    pub takt_us: Time,
    /// Its name.
    pub slowest: String,
    /// Each station.
    pub stations: Vec<StationTiming>,
}

/// A station as the clock times it.
#[derive(Clone, Debug, Serialize)]
pub struct StationTiming {
    /// Its name.
    pub name: String,
    /// Time per panel [µs].
    pub time_us: Time,
    /// Where it goes.
    pub breakdown: Breakdown,
}

/// Times a plan anew.
///
/// # Errors
/// When the plan's inputs are unsound or it refers to what does not exist.
pub fn time(plan: &Plan) -> Result<Timing, Box<Finding>> {
    let unsound =
        |text: String| Box::new(Finding::new(codes::plan::PLAN_SYNTAX, text).hint("`evenline verify` says what is wrong with the plan."));
    if let Some(wrong) = plan.line.check("").into_iter().next() {
        return Err(Box::new(wrong));
    }
    let job = plan.job()?;
    let clock = Clock::new(&plan.line, &job);
    let mut stations = Vec::new();
    for (s, station) in plan.stations.iter().enumerate() {
        if s >= plan.line.station.len() || station.supplies.iter().any(|x| domain::plan::pick_point(&plan.line, s, &x.place).is_none()) {
            return Err(unsound(format!("station {} refers to a place that does not exist", s + 1)));
        }
        let breakdown =
            clock.time(s, station).map_err(|e| unsound(format!("the plan refers to something that does not exist: {}", e.0)))?;
        stations.push(StationTiming { name: station.station.clone(), time_us: breakdown.total(), breakdown });
    }
    let times: Vec<Time> = stations.iter().map(|s| s.time_us).collect();
    let line = line_time(&plan.line, &times);
    Ok(Timing { takt_us: line.takt, slowest: line.slowest, stations })
}
