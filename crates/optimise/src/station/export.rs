//! From the planner's state to a plan's station.

use super::state::{PassWork, StationState, TripState};
use super::timing::Timer;
use crate::problem::Problem;
use domain::plan::{Breakdown, Pass, Pick, PlaceStep, StationPlan, Stroke, Trip, Work};
use units::Time;

/// The station's plan with its time by the full clock.
pub fn export(p: &Problem<'_>, state: &StationState) -> StationPlan {
    let mut timer = Timer::new(state.setup.supplies.len(), p.line.station[state.station].tray.len());
    let mut passes: Vec<Pass> = Vec::new();
    for pass in &state.passes {
        let work = match &pass.work {
            PassWork::Dots(tasks) => Work::Dispense { tasks: tasks.clone() },
            PassWork::Views(views) => Work::Inspect { views: views.clone() },
            PassWork::Trips(trips) => {
                let layouts = pass.layouts.clone();
                // Passes of one head that follow each other are one pass of the plan.
                if let Some(Pass { head, work: Work::Place { trips: before, layouts: same } }) = passes.last_mut()
                    && *head as usize == pass.head
                    && *same == layouts
                {
                    before.extend(trips.iter().map(|t| trip(p, state, &mut timer, pass.head, t)));
                    continue;
                }
                Work::Place { layouts, trips: trips.iter().map(|t| trip(p, state, &mut timer, pass.head, t)).collect() }
            }
        };
        passes.push(Pass { head: pass.head as u32, work });
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

fn trip(p: &Problem<'_>, state: &StationState, timer: &mut Timer, head: usize, trip: &TripState) -> Trip {
    Trip {
        layout: trip.layout,
        strokes: strokes(timer.strokes(p, state, head, trip)),
        places: trip.order.iter().map(|s| PlaceStep { spindle: *s, task: trip.cells[usize::from(*s)].task }).collect(),
    }
}

fn strokes(picks: &[motion::PickStep]) -> Vec<Stroke> {
    let mut strokes: Vec<Stroke> = Vec::new();
    for pick in picks {
        if pick.opens {
            strokes.push(Stroke(Vec::new()));
        }
        if let Some(stroke) = strokes.last_mut() {
            stroke.0.push(Pick { spindle: pick.spindle, supply: pick.supply });
        }
    }
    strokes
}
