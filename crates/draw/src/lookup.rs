//! Looking things up in a plan that may refer to what does not exist.
//!
//! A plan file can be edited by hand or belong to another line. Nothing here panics: what is
//! missing comes back as `None` or as a sentence.

use domain::job::{Job, TaskId};
use domain::part::Part;
use domain::plan::{Plan, StationPlan};
use domain::product::PartId;
use std::collections::BTreeMap;
use units::{Length, Point, Time};

/// Largest coordinate or size worked with [µm]: 100 m, beyond any panel, so that squares of
/// distances stay inside 64 bits.
const LARGEST: i64 = 100_000_000;

/// The job of a plan, once its figures are known to be workable.
///
/// # Errors
/// A sentence saying what is wrong with the inputs.
pub fn job(plan: &Plan) -> Result<Job<'_>, String> {
    let panel = &plan.panel;
    let sizes = [plan.product.width_um, plan.product.depth_um];
    let places = plan.product.placements.iter().map(|p| p.at).chain(plan.product.fiducials.iter().map(|f| f.at));
    let huge = |l: Length| !(-LARGEST..=LARGEST).contains(&l.0);
    if sizes.into_iter().any(|l| huge(l) || l.0 < 0) || places.into_iter().any(|p: Point| huge(p.x) || huge(p.y)) {
        return Err("a size or coordinate of the product is beyond 100 m".to_owned());
    }
    let spans = [(panel.columns, panel.pitch_x_um), (panel.rows, panel.pitch_y_um)];
    let too_wide = |(count, pitch): (u32, Length)| i128::from(count) * i128::from(pitch.0).abs() > i128::from(LARGEST);
    let corners = [panel.marks, panel.bad_mark].into_iter().flatten().flat_map(|p| [p.x, p.y]);
    if [panel.rail_x_um, panel.rail_y_um].into_iter().chain(corners).any(huge) {
        return Err("a rail or mark of the panel is beyond 100 m".to_owned());
    }
    if panel.columns.checked_mul(panel.rows).is_none() || spans.into_iter().any(too_wide) {
        return Err(format!("a panel of {} x {} boards is beyond 100 m", panel.columns, panel.rows));
    }
    plan.job().map_err(|finding| finding.message)
}

/// A part of the product.
pub fn part(plan: &Plan, id: PartId) -> Option<&Part> {
    plan.product.parts.get(id.index())
}

/// Number of a part, or a sentence when the product has none with this index.
pub fn part_number(plan: &Plan, id: PartId) -> String {
    part(plan, id).map_or_else(|| format!("part {} (not in the product)", id.0), |p| p.number.clone())
}

/// Reference of a task, with the image in a panel of several boards.
pub fn task_name(job: &Job<'_>, task: TaskId) -> String {
    if task.index() < job.tasks.len() { job.name(task) } else { format!("task {} (not in the job)", task.0) }
}

/// The station of the line that a station plan is for.
pub fn station<'a>(plan: &'a Plan, planned: &StationPlan) -> Option<&'a domain::line::Station> {
    plan.line.station_named(&planned.station).and_then(|i| plan.line.station.get(i))
}

/// Name of a head of a station.
pub fn head_name(plan: &Plan, planned: &StationPlan, head: u32) -> String {
    station(plan, planned)
        .and_then(|s| s.head.get(head as usize))
        .map_or_else(|| format!("head {} (not on the sheet)", u64::from(head) + 1), |h| h.name.clone())
}

/// Which station places each task, as an index into `plan.stations`.
pub fn placed_by(plan: &Plan) -> BTreeMap<TaskId, usize> {
    let mut by = BTreeMap::new();
    for (index, station) in plan.stations.iter().enumerate() {
        for pass in &station.passes {
            by.extend(pass.work.placed().map(|task| (task, index)));
        }
    }
    by
}

/// Seconds, never negative and never beyond what can be drawn.
pub fn seconds(time: Time) -> f64 {
    time.to_s().clamp(0.0, 1e9)
}
