//! A plan of the sheet taken apart into programs of the stand-ins, as planning from it begins there.

use super::stand_in::{Origin, StandIn, StandIns};
use domain::job::Job;
use domain::line::Line;
use domain::plan::{Beat, Pass, Pick, PlaceStep, Plan, StationPlan, Stroke, SupplyAt, Trip, Work};
use std::borrow::Cow;

/// A plan with one program for each stand-in; the plan itself where all of its stations are gantries.
///
/// `None` if its inputs make no job.
pub(crate) fn apart(plan: &Plan) -> Option<Cow<'_, Plan>> {
    let job = plan.job().ok()?;
    let Some(s) = StandIns::of(&plan.line, &job, &plan.rules) else { return Some(Cow::Borrowed(plan)) };
    let of = |place: &StandIn| Some(program(&plan.line, &job, place, plan.stations.get(place.station)?));
    // A plan without programs stays one.
    let stations = s.places.iter().filter_map(of).collect();
    Some(Cow::Owned(Plan { stations, line: s.line, ..plan.clone() }))
}

fn program(line: &Line, job: &Job<'_>, place: &StandIn, whole: &StationPlan) -> StationPlan {
    // For each supply of the station its number at the stand-in.
    let mut numbers: Vec<Option<u32>> = Vec::new();
    let mut supplies = Vec::new();
    for x in &whole.supplies {
        let own = place.own_place(&x.place);
        numbers.push(own.is_some().then_some(supplies.len() as u32));
        supplies.extend(own.map(|at| SupplyAt { part: x.part, place: at }));
    }
    let number = |supply: u32| numbers.get(supply as usize).copied().flatten();
    let passes = whole.passes.iter().filter_map(|pass| {
        let head = match &place.origin {
            Origin::Beam { head, .. } => (pass.head == *head).then_some(0)?,
            _ => pass.head,
        };
        let work = match &pass.work {
            Work::Place { layouts, trips } => {
                Work::Place { layouts: layouts.clone(), trips: trips.iter().map(|t| renumbered(t, number)).collect() }
            }
            Work::Turret { nozzles, beats } => one_by_one(line, job, nozzles.first().map_or(&[], Vec::as_slice), beats),
            work => work.clone(),
        };
        Some(Pass { head, work })
    });
    StationPlan { passes: passes.collect(), supplies, ..whole.clone() }
}

fn renumbered(trip: &Trip, number: impl Fn(u32) -> Option<u32>) -> Trip {
    let pick = |x: &Pick| Some(Pick { supply: number(x.supply)?, ..*x });
    // What comes after trips of the other beam is found again when the programs are joined.
    Trip { strokes: trip.strokes.iter().map(|x| Stroke(x.0.iter().filter_map(pick).collect())).collect(), after: 0, ..trip.clone() }
}

/// Beats as trips of one part each; every nozzle kind of the drum is a layout of its own.
fn one_by_one(line: &Line, job: &Job<'_>, kinds: &[u32], beats: &[Option<Beat>]) -> Work {
    let serves = |k: u32, beat: &Beat| {
        let part = job.tasks.get(beat.task.index()).map(|_| job.part(beat.task));
        part.is_some_and(|part| line.nozzle.get(k as usize).is_some_and(|n| n.classes.contains(&part.nozzle_class.value)))
    };
    let trip = |beat: &Beat| {
        let layout = kinds.iter().position(|k| serves(*k, beat))? as u32;
        let strokes = vec![Stroke(vec![Pick { spindle: 0, supply: beat.supply }])];
        Some(Trip { layout, strokes, places: vec![PlaceStep { spindle: 0, task: beat.task }], after: 0 })
    };
    Work::Place { layouts: kinds.iter().map(|k| vec![Some(*k)]).collect(), trips: beats.iter().flatten().filter_map(trip).collect() }
}
