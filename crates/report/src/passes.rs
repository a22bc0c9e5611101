//! The time of each pass, for the lines of time: the clock is asked for growing stretches of the
//! program, and each pass is what its stretch adds. The one definition of time stays the clock's.

use domain::line::StationKind;
use domain::plan::{Breakdown, Pass, Plan, StationPlan};
use draw::beams::{BeamStretch, BeamWork};
use motion::{Clock, Doing, Stretch};
use units::Time;

/// Time of each pass of each station of the plan, without panel change, marks and head swaps.
///
/// For plans that the checker accepts. A station whose stated seconds are not the clock's gets
/// an empty list, as has a two-beam station, whose passes run side by side; its passes are then drawn by shares.
pub fn pass_times(plan: &Plan) -> Vec<Vec<Time>> {
    let Ok(job) = draw::lookup::job(plan) else { return Vec::new() };
    let clock = Clock::new(&plan.line, &job);
    plan.stations.iter().map(|planned| station_times(plan, &clock, planned).unwrap_or_default()).collect()
}

/// What the beams of each station do when, as the clock plays them out; nothing for stations of one beam.
///
/// For plans that the checker accepts, as [`pass_times`].
pub fn beam_stretches(plan: &Plan) -> Vec<Vec<BeamStretch>> {
    let Ok(job) = draw::lookup::job(plan) else { return Vec::new() };
    let clock = Clock::new(&plan.line, &job);
    let of_station = |planned: &StationPlan| {
        let played = clock.two_beams(plan.line.station_named(&planned.station)?, planned).ok()?;
        let doing = |d: Doing| match d {
            Doing::Fetching => BeamWork::Fetching,
            Doing::Waiting => BeamWork::Waiting,
            Doing::OnBoard => BeamWork::OnBoard,
        };
        let stretch = |s: &Stretch| BeamStretch { beam: s.beam, work: doing(s.doing), from: s.from, to: s.to };
        Some(played.stretches.iter().map(stretch).collect())
    };
    plan.stations.iter().map(|planned| of_station(planned).unwrap_or_default()).collect()
}

/// The passes of one station in the order that sets its time: as written or, where panels alternate, reversed.
fn station_times(plan: &Plan, clock: &Clock<'_>, planned: &StationPlan) -> Option<Vec<Time>> {
    let station = plan.line.station_named(&planned.station)?;
    if plan.line.station[station].kind == StationKind::TwoBeam {
        return None;
    }
    let reversed: Vec<Pass> = planned.passes.iter().rev().cloned().collect();
    let prefix =
        |passes: &[Pass]| clock.time(station, &StationPlan { passes: passes.to_vec(), alternating: false, ..planned.clone() }).ok();
    if without_swaps(prefix(&planned.passes)?) == without_swaps(planned.breakdown) {
        return growth(&planned.passes, prefix);
    }
    if planned.alternating && without_swaps(prefix(&reversed)?) == without_swaps(planned.breakdown) {
        let mut times = growth(&reversed, prefix)?;
        times.reverse();
        return Some(times);
    }
    None
}

/// Swaps belong to no pass, and one order alone pays one more than alternating orders do.
fn without_swaps(b: Breakdown) -> Breakdown {
    Breakdown { head_swap_us: Time::ZERO, ..b }
}

/// What each pass adds to the one before it.
fn growth(passes: &[Pass], prefix: impl Fn(&[Pass]) -> Option<Breakdown>) -> Option<Vec<Time>> {
    let (mut times, mut before) = (Vec::new(), None);
    for end in 0..=passes.len() {
        let b = prefix(&passes[..end])?;
        let now = without_swaps(b).total();
        times.extend(before.map(|t| now - t));
        before = Some(now);
    }
    // What one pass saves another cannot be drawn as a stretch of time.
    times.iter().all(|t| t.0 >= 0).then_some(times)
}
