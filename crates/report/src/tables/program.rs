//! Every placement in the order of work, one a row: the program as a table.

use crate::present::Report;
use crate::supply;
use crate::table::{Cell, Table};
use domain::job::TaskId;
use domain::plan::{Beat, PlaceStep, StationPlan, Trip, Work};
use draw::lookup;

/// Every placement of every station.
pub(crate) fn program(report: &Report<'_>) -> Table {
    let mut table = Table::new(&[
        "station",
        ">pass",
        "head",
        ">trip",
        ">stroke",
        ">spindle",
        "nozzle",
        "source",
        "reference",
        ">x mm",
        ">y mm",
        ">rotation °",
        "part",
    ]);
    for planned in &report.plan.stations {
        for (p, pass) in planned.passes.iter().enumerate() {
            let head = lookup::head_name(report.plan, planned, pass.head);
            if let Work::Turret { nozzles, beats } = &pass.work {
                for (i, beat) in beats.iter().enumerate().filter_map(|(i, b)| Some((i, b.as_ref()?))) {
                    let mut row = vec![planned.station.clone().into(), (p + 1).into(), head.clone().into(), Cell::Empty];
                    row.extend(beat_cells(report, planned, nozzles, i, beat));
                    row.extend(place_cells(report, beat.task));
                    table.row(row);
                }
            }
            let Work::Place { layouts, trips } = &pass.work else { continue };
            for (t, trip) in trips.iter().enumerate() {
                for step in &trip.places {
                    let mut row = vec![planned.station.clone().into(), (p + 1).into(), head.clone().into(), (t + 1).into()];
                    row.extend(pick_cells(report, planned, layouts, trip, step));
                    row.extend(place_cells(report, step.task));
                    table.row(row);
                }
            }
        }
    }
    table
}

/// Stroke, spindle, nozzle and source of one placement.
fn pick_cells(report: &Report<'_>, planned: &StationPlan, layouts: &[Vec<Option<u32>>], trip: &Trip, step: &PlaceStep) -> [Cell; 4] {
    let stroke = trip.strokes.iter().position(|s| s.0.iter().any(|p| p.spindle == step.spindle));
    let pick = trip.strokes.iter().flat_map(|s| &s.0).find(|p| p.spindle == step.spindle);
    let nozzle = layouts
        .get(trip.layout as usize)
        .and_then(|l| l.get(usize::from(step.spindle)).copied().flatten())
        .and_then(|n| report.plan.line.nozzle.get(n as usize));
    [
        stroke.map_or(Cell::from("not picked"), |s| (s + 1).into()),
        (usize::from(step.spindle) + 1).into(),
        nozzle.map_or_else(|| "none".into(), |n| n.name.clone().into()),
        pick.map_or_else(|| "not picked".into(), |p| supply::short(report.plan, planned, p.supply).into()),
    ]
}

/// Beat (as the stroke), head of the drum (as the spindle), nozzle and source of one placement of a turret.
fn beat_cells(report: &Report<'_>, planned: &StationPlan, nozzles: &[Vec<u32>], i: usize, beat: &Beat) -> [Cell; 4] {
    let head = i % nozzles.len().max(1);
    let task = report.job.as_ref().ok().and_then(|j| j.tasks.get(beat.task.index()));
    let class = task.and_then(|t| lookup::part(report.plan, t.part)).map(|p| p.nozzle_class.value);
    let held = nozzles.get(head).into_iter().flatten().filter_map(|n| report.plan.line.nozzle.get(*n as usize));
    let serving = held.into_iter().find(|n| class.is_some_and(|c| n.classes.contains(&c)));
    [
        (i + 1).into(),
        (head + 1).into(),
        serving.map_or_else(|| "none".into(), |n| n.name.clone().into()),
        supply::short(report.plan, planned, beat.supply).into(),
    ]
}

/// Reference, place, rotation and part of a task.
fn place_cells(report: &Report<'_>, id: TaskId) -> Vec<Cell> {
    let mut cells = vec![Cell::from(report.task(id))];
    match report.job.as_ref().ok().and_then(|j| j.tasks.get(id.index())) {
        Some(task) => cells.extend([
            Cell::Number(task.at.x.to_mm(), 3),
            Cell::Number(task.at.y.to_mm(), 3),
            Cell::Number(task.rotation.to_deg(), 3),
            lookup::part_number(report.plan, task.part).into(),
        ]),
        None => cells.extend([Cell::Empty, Cell::Empty, Cell::Empty, Cell::Empty]),
    }
    cells
}
