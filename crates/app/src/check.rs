//! Timing, checking and explaining a saved plan.

use diag::{Finding, codes};
use domain::plan::{Breakdown, Plan, SupplyAt, pick_point};
use motion::{Clock, ClockError, line_time};
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
    sound(plan)?;
    let job = plan.job()?;
    let clock = Clock::new(&plan.line, &job);
    let mut stations = Vec::new();
    for (s, station) in plan.stations.iter().enumerate() {
        stands(plan, s)?;
        let breakdown = clock.time(s, station).map_err(missing)?;
        stations.push(StationTiming { name: station.station.clone(), time_us: breakdown.total(), breakdown });
    }
    let times: Vec<Time> = stations.iter().map(|s| s.time_us).collect();
    let line = line_time(&plan.line, &times);
    Ok(Timing { takt_us: line.takt, slowest: line.slowest, stations })
}

/// The line of a plan is one that can be timed.
///
/// # Errors
/// The first thing wrong with its sheet.
pub(crate) fn sound(plan: &Plan) -> Result<(), Box<Finding>> {
    plan.line.check("").into_iter().next().map_or(Ok(()), |wrong| Err(Box::new(wrong)))
}

/// A station of the plan is one of the line, and its supplies stand where they can.
///
/// # Errors
/// `plan.syntax` when not.
pub(crate) fn stands(plan: &Plan, station: usize) -> Result<(), Box<Finding>> {
    let there = |x: &SupplyAt| pick_point(&plan.line, station, &x.place).is_some();
    if station >= plan.line.station.len() || !plan.stations[station].supplies.iter().all(there) {
        return Err(unsound(format!("station {} refers to a place that does not exist", station + 1)));
    }
    Ok(())
}

/// What the clock did not find.
pub(crate) fn missing(e: ClockError) -> Box<Finding> {
    unsound(format!("the plan refers to something that does not exist: {}", e.0))
}

fn unsound(text: String) -> Box<Finding> {
    Box::new(Finding::new(codes::plan::PLAN_SYNTAX, text).hint("`evenline verify` says what is wrong with the plan."))
}
