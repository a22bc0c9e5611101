//! Stations of small nasty lines made turrets, or stations of two beams.

use super::choice::Choice;
use super::{program, sheet};
use domain::job::{Job, TaskId};
use domain::line::{HeadKind, Line, SightMode, Station, StationKind, Turret};
use domain::plan::{Beat, Pass, Plan, SupplyAt, Trip, Work};

/// Makes each station of this kind, or one of any kind where none is given.
pub fn convert<C: Choice>(dice: &mut C, case: &mut Plan, kind: Option<StationKind>) {
    for station in &mut case.line.station {
        match kind.unwrap_or_else(|| dice.one_of(StationKind::ALL)) {
            StationKind::Gantry => {}
            StationKind::Turret => turret(dice, station),
            StationKind::TwoBeam => two_beams(dice, station),
        }
    }
}

fn turret<C: Choice>(dice: &mut C, station: &mut Station) {
    let mut drum = sheet::placing_as(dice, 0, HeadKind::Rotary);
    drum.spindles = dice.one_of(&[2, 2, 3, 4]);
    if let Some(sight) = drum.sight.as_mut().filter(|s| s.mode == SightMode::Camera) {
        (sight.mode, sight.at, sight.field) = (SightMode::InFlight, None, None);
    }
    station.kind = StationKind::Turret;
    (station.head_swap, station.nozzle_rack) = (None, None);
    station.tray.clear();
    if station.bank.is_empty() {
        station.bank.push(sheet::bank(dice, 0));
    }
    let gap = dice.one_of(&[0, 1, 1, drum.spindles - 1]);
    station.turret = Some(Turret { gap, carriage: sheet::axis(dice), nozzles_per_head: 3 });
    station.head = vec![drum];
}

/// Banks and tray places belong to either beam; a beam without any can do nothing.
fn two_beams<C: Choice>(dice: &mut C, station: &mut Station) {
    station.kind = StationKind::TwoBeam;
    (station.head_swap, station.inspection) = (None, None);
    station.head.retain(|h| h.kind != HeadKind::Dispense);
    while station.head.len() < 2 {
        let more = sheet::placing(dice, station.head.len());
        station.head.push(more);
    }
    station.head.truncate(2);
    while station.bank.len() < 2 {
        let more = sheet::bank(dice, station.bank.len());
        station.bank.push(more);
    }
    let first = 1 + dice.below(2) as u8;
    (station.head[0].beam, station.head[1].beam) = (Some(first), Some(3 - first));
    station.bank.iter_mut().for_each(|b| b.beam = Some(1 + dice.below(2) as u8));
    station.tray.iter_mut().for_each(|t| t.beam = Some(1 + dice.below(2) as u8));
}

/// Passes of a turret: the tasks in any order, from any supply of their part, with idle beats between.
pub fn beats<C: Choice>(choice: &mut C, line: &Line, sheet: &Station, job: &Job<'_>, tasks: &[TaskId], supplies: &[SupplyAt]) -> Vec<Pass> {
    let drum = &sheet.head[0];
    let kinds = (0..line.nozzle.len() as u32).filter(|k| drum.nozzles.contains(&line.nozzle[*k as usize].name));
    let nozzles = vec![kinds.collect::<Vec<u32>>(); usize::from(drum.spindles)];
    let mut passes: Vec<Vec<Option<Beat>>> = Vec::new();
    for task in program::shuffled(choice, tasks) {
        let part = job.tasks[task.index()].part;
        let fitting: Vec<u32> = (0..supplies.len() as u32).filter(|k| supplies[*k as usize].part == part).collect();
        let supply = fitting[choice.below(fitting.len())];
        if passes.is_empty() || choice.one_in(6) {
            passes.push(Vec::new());
        }
        if let Some(beats) = passes.last_mut() {
            if choice.one_in(4) {
                beats.extend(vec![None; 1 + choice.below(3)]);
            }
            beats.push(Some(Beat { supply, task }));
        }
    }
    passes.into_iter().map(|beats| Pass { head: 0, work: Work::Turret { nozzles: nozzles.clone(), beats } }).collect()
}

/// Now and then a trip of nothing among those of a beam, which takes it off the board; some trips come after some of the
/// `before` trips of the other beam.
pub fn idle_and_wait<C: Choice>(choice: &mut C, trips: &mut Vec<(Trip, Vec<Option<u32>>)>, before: usize) {
    if choice.one_in(3) {
        let layout = trips[choice.below(trips.len())].1.clone();
        let idle = Trip { layout: 0, strokes: Vec::new(), places: Vec::new(), after: 0 };
        trips.insert(choice.below(trips.len() + 1), (idle, layout));
    }
    if before > 0 && choice.one_in(3) {
        trips[0].0.after = 1 + choice.below(before) as u32;
    }
}
