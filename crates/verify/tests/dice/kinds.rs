//! The station of the dice made one of two beams, or a turret.

use super::{Dice, pass, plan};
use domain::job::TaskId;
use domain::line::{Axis, HeadKind, StationKind, Turret};
use domain::plan::{Beat, Pass, Plan, SupplyPlace, Work};
use units::{Acceleration, Point, Speed, Text};

/// Two of the placing heads on two beams; the magazine and the bank on either side.
pub fn two_beams(rolls: &[u32]) -> Plan {
    let mut plan = plan(rolls);
    let mut dice = Dice { rolls, next: 1_000 };
    let station = &mut plan.line.station[0];
    station.kind = StationKind::TwoBeam;
    (station.head_swap, station.inspection) = (None, None);
    station.head.retain(|h| h.kind != HeadKind::Dispense);
    station.head.remove(dice.roll(0, station.head.len() as i64 - 1) as usize);
    let second = dice.roll(0, 1) as usize;
    for (i, head) in station.head.iter_mut().enumerate() {
        head.beam = Some(if i == second { 2 } else { 1 });
    }
    station.bank[0].beam = Some(1);
    station.tray.iter_mut().for_each(|t| t.beam = Some(2));
    let tasks = plan.panel.images() * plan.product.placements.len() as u32;
    let mut passes: Vec<Pass> = Vec::new();
    for _ in 0..dice.roll(0, 5) {
        let drawn = pass(&mut dice, &plan.line, &plan.product, tasks);
        if matches!(drawn.work, Work::Place { .. }) {
            passes.push(drawn);
        }
    }
    wait_for_the_first(&mut dice, &mut passes, second as u32);
    plan.stations[0].passes = passes;
    plan.stations[0].alternating = false;
    plan
}

/// Some trips of beam 2 come after some of beam 1.
fn wait_for_the_first(dice: &mut Dice<'_>, passes: &mut [Pass], second: u32) {
    let trips = |p: &Pass| if let Work::Place { trips, .. } = &p.work { trips.len() } else { 0 };
    let before: usize = passes.iter().filter(|p| p.head != second).map(trips).sum();
    for pass in passes.iter_mut().filter(|p| p.head == second) {
        let Work::Place { trips, .. } = &mut pass.work else { continue };
        for trip in trips {
            trip.after = if dice.one_in(3) { dice.roll(0, before as i64) as u32 } else { 0 };
        }
    }
}

/// The drum alone, with every supply on the bank, which is the carriage.
pub fn turret(rolls: &[u32]) -> Plan {
    let mut plan = plan(rolls);
    let mut dice = Dice { rolls, next: 1_000 };
    let station = &mut plan.line.station[0];
    station.kind = StationKind::Turret;
    (station.head_swap, station.nozzle_rack) = (None, None);
    station.head.retain(|h| h.kind == HeadKind::Rotary);
    station.tray.clear();
    let heads = station.head[0].spindles;
    let carriage = Axis {
        speed: Text(Speed(dice.roll(300_000, 2_500_000))),
        acceleration: Text(Acceleration(dice.roll(3_000_000, 40_000_000))),
        jerk: None,
    };
    station.turret = Some(Turret { gap: dice.roll(0, i64::from(heads) - 1) as u8, carriage, nozzles_per_head: 1 });
    for supply in &mut plan.stations[0].supplies {
        supply.place = SupplyPlace::Feeder { bank: 0, slot: dice.roll(1, 4) as u32, feeder: dice.roll(0, 2) as u32 };
    }
    let tasks = i64::from(plan.panel.images()) * plan.product.placements.len() as i64;
    let rows = plan.product.placements.len();
    let mut passes = Vec::new();
    for _ in 0..dice.roll(0, 3) {
        let work = if dice.one_in(4) {
            Work::Inspect { views: (0..dice.roll(0, 2)).map(|_| Point::from_um(dice.roll(0, 80_000), dice.roll(0, 60_000))).collect() }
        } else {
            let mut beat = || {
                let task = TaskId(dice.roll(0, tasks - 1) as u32);
                let part = plan.product.placements[task.index() % rows].part.map_or(0, |p| p.0);
                (!dice.one_in(5)).then_some(Beat { supply: part, task })
            };
            let beats = (0..12).map(|_| beat()).collect::<Vec<_>>();
            let n = dice.roll(0, 12) as usize;
            Work::Turret { nozzles: vec![vec![0]; usize::from(heads)], beats: beats[..n].to_vec() }
        };
        passes.push(Pass { head: 0, work });
    }
    plan.stations[0].passes = passes;
    plan.stations[0].alternating = false;
    plan
}
