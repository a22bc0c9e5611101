//! From the planner's state to a plan's station.

use super::state::{PassState, PassWork, StationState, TripState};
use super::timing::STROKE_TOLERANCE;
use crate::problem::Problem;
use domain::line::HeadKind;
use domain::plan::{Breakdown, Pass, Pick, PlaceStep, StationPlan, Stroke, Trip, Work};
use units::{Point, Time};

/// Whether two passes that follow each other are one pass of the plan.
pub fn is_one_pass(a: &PassState, b: &PassState) -> bool {
    a.is_placing() && b.is_placing() && a.head == b.head && a.layouts == b.layouts
}

/// The station's plan with its time by the full clock.
pub fn export(p: &Problem<'_>, state: &StationState) -> StationPlan {
    let mut passes: Vec<Pass> = Vec::new();
    let mut before: Option<&PassState> = None;
    for pass in &state.passes {
        let work = match &pass.work {
            PassWork::Dots(tasks) => Work::Dispense { tasks: tasks.clone() },
            PassWork::Views(views) => Work::Inspect { views: views.clone() },
            PassWork::Trips(trips) => {
                let busy = trips.iter().filter(|t| !t.order.is_empty()).map(|t| trip(p, state, pass.head, t));
                let busy: Vec<Trip> = busy.collect();
                if busy.is_empty() {
                    continue;
                }
                if let (Some(before), Some(Pass { work: Work::Place { trips, .. }, .. })) = (before, passes.last_mut())
                    && is_one_pass(before, pass)
                {
                    trips.extend(busy);
                    continue;
                }
                Work::Place { layouts: pass.layouts.clone(), trips: busy }
            }
        };
        passes.push(Pass { head: pass.head as u32, work });
        before = Some(pass);
    }
    let mut plan = StationPlan {
        station: p.line.station[state.station].name.clone(),
        supplies: state.setup.supplies.clone(),
        alternating: state.alternating,
        passes,
        time_us: Time::ZERO,
        breakdown: Breakdown::default(),
    };
    plan.breakdown = p.clock.time(state.station, &plan).expect("the planner refers only to what exists");
    plan.time_us = plan.breakdown.total();
    plan
}

fn trip(p: &Problem<'_>, state: &StationState, head: usize, trip: &TripState) -> Trip {
    Trip {
        layout: trip.layout,
        strokes: strokes(p, state, head, trip),
        places: trip.order.iter().map(|s| PlaceStep { spindle: *s, task: trip.cells[usize::from(*s)].task }).collect(),
        after: 0,
    }
}

/// Picks of an inline head that follow each other and want the same reference point are one stroke.
fn strokes(p: &Problem<'_>, state: &StationState, head: usize, trip: &TripState) -> Vec<Stroke> {
    let clock = p.clock.station(state.station);
    let inline = p.line.station[state.station].head[head].kind == HeadKind::Inline;
    let mut strokes: Vec<Stroke> = Vec::new();
    let mut opened: Option<Point> = None;
    for s in &trip.picks {
        let supply = trip.cells[usize::from(*s)].supply;
        let want = clock.reference(head, *s, state.setup.rows[supply as usize].at);
        let pick = Pick { spindle: *s, supply };
        let joins = |o: Point| (o.x - want.x).0.abs() <= STROKE_TOLERANCE && (o.y - want.y).0.abs() <= STROKE_TOLERANCE;
        match strokes.last_mut() {
            Some(stroke) if inline && opened.is_some_and(joins) => stroke.0.push(pick),
            _ => {
                opened = Some(want);
                strokes.push(Stroke(vec![pick]));
            }
        }
    }
    strokes
}
