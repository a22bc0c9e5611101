//! The bound of a plan, from its certificate: `docs/planning.md` §3.
//!
//! Written from the text of that page. All figures are lower limits of what a head must spend on a
//! task, in whole nanoseconds; [`combine`] spreads the tasks over the best set of heads that agrees with a leaf.

mod combine;
mod figures;
mod leaves;
mod neighbours;
mod regions;
mod views;

use crate::capability::{HeadTakes, is_on_panel, table};
use combine::{CANNOT, Column, Model, StationModel};
use domain::job::{Job, TaskId};
use domain::line::{HeadKind, StationKind};
use domain::plan::Plan;
use motion::Clock;
use units::Time;

/// Nanoseconds in a microsecond.
const NS: i64 = 1_000;

/// What the certificate of a plan proves: no plan that places the same tasks can have a smaller takt.
///
/// `None` if the leaves are unsound or do not cover every choice of heads. A task that no head takes adds nothing, which makes the figure no larger. References of the
/// plan's tasks must exist, and its figures must be sound, as [`crate::verify`] checks.
pub fn bound(plan: &Plan, job: &Job<'_>) -> Option<Time> {
    let clock = Clock::new(&plan.line, job);
    of(plan, job, &clock).ok()
}

/// As [`bound`].
///
/// # Errors
/// A sentence that says what is wrong with the certificate.
pub(crate) fn of(plan: &Plan, job: &Job<'_>, clock: &Clock<'_>) -> Result<Time, String> {
    let leaves = leaves::read(plan)?;
    let model = model(plan, job, clock);
    // Leaves whose heads cannot do the work belong to no plan. Without any other nothing is proven.
    let least = leaves.iter().filter_map(|leaf| model.bound(leaf)).min().unwrap_or(Time::ZERO);
    let equipment = plan.line.equipment.iter().map(|e| *e.time).max().unwrap_or(Time::ZERO);
    Ok(least.max(equipment))
}

fn model(plan: &Plan, job: &Job<'_>, clock: &Clock<'_>) -> Model {
    let placed = placed(plan, job);
    let heads = table(&plan.line, &plan.rules, job);
    let stations = plan.line.station.iter().enumerate().map(|(s, station)| StationModel {
        fixed: clock.fixed(s).total().0 * NS,
        swap: station.head_swap.as_ref().map_or(0, |x| x.time.0.0) * NS,
        alternates: station.head_swap.as_ref().is_some_and(|x| x.alternate),
    });
    let mut columns = Vec::new();
    for (s, station) in plan.line.station.iter().enumerate() {
        for h in 0..station.head.len() {
            columns.push(column(plan, job, clock, &placed, &heads, s, h));
        }
    }
    Model::new(stations.collect(), columns, views::times(plan, job))
}

/// The tasks the plan places, each once, rising.
fn placed(plan: &Plan, job: &Job<'_>) -> Vec<TaskId> {
    let mut is_placed = vec![false; job.tasks.len()];
    for pass in plan.stations.iter().flat_map(|s| &s.passes) {
        for task in pass.work.placed() {
            if let Some(placed) = is_placed.get_mut(task.index()) {
                *placed = true;
            }
        }
    }
    (0..job.tasks.len() as u32).map(TaskId).filter(|t| is_placed[t.index()]).collect()
}

/// One head's costs: first all placed tasks, then their dots.
fn column(plan: &Plan, job: &Job<'_>, clock: &Clock<'_>, placed: &[TaskId], heads: &[HeadTakes], s: usize, h: usize) -> Column {
    let station = &plan.line.station[s];
    let head = &station.head[h];
    let mut costs = vec![CANNOT; placed.len()];
    let mut constant = 0;
    if let Some(row) = heads.iter().find(|x| x.station == s && x.head == h) {
        let able: Vec<usize> =
            (0..placed.len()).filter(|i| row.takes[job.tasks[placed[*i].index()].part.index()] && is_on_panel(job, placed[*i])).collect();
        let tasks: Vec<TaskId> = able.iter().map(|i| placed[*i]).collect();
        if station.kind != StationKind::Gantry {
            able.iter().for_each(|i| costs[*i] = 0);
        } else if let Some(figures) = figures::of(&plan.line, job, clock, s, h, &tasks) {
            constant = figures.constant;
            for (i, t) in able.into_iter().zip(figures.costs) {
                costs[i] = t;
            }
        }
    }
    for task in placed {
        let dots = i64::from(job.part(*task).adhesive_dots.value);
        if dots > 0 {
            let each = head.dot.map_or(0, |d| d.0.0);
            costs.push(if head.kind == HeadKind::Dispense { each * dots * NS } else { CANNOT });
        }
    }
    Column { station: s, costs, constant }
}
