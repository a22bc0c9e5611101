//! Plans made of rolls of dice: one station with every kind of head, tape, stick, stacks and
//! magazines. They need not keep the rules, only have references that exist, for the clock.

pub mod kinds;

use crate::common::{line, part, row};
use domain::job::{Panel, TaskId, Turned};
use domain::line::{Head, HeadKind, Inspection, Line, SightMode};
use domain::part::{NozzleClass, Sourced, SpeedPercent, Supply};
use domain::plan::{
    Breakdown, Certificate, Method, Outcome, Pass, Pick, PlaceStep, Plan, SCHEMA, StationPlan, Stroke, SupplyAt, SupplyPlace, Trip, Work,
};
use domain::product::{Fiducial, PartId, Product, Side};
use domain::rules::Rules;
use units::{Jerk, Length, Point, Text, Time};

/// Rolls in order; when all are used they begin again.
struct Dice<'r> {
    rolls: &'r [u32],
    next: usize,
}

impl Dice<'_> {
    /// A number from `least` to `most`.
    fn roll(&mut self, least: i64, most: i64) -> i64 {
        let roll = self.rolls[self.next % self.rolls.len()];
        // Later rounds of the same rolls give other numbers.
        let roll = roll.wrapping_add(((self.next / self.rolls.len()) as u32).wrapping_mul(0x9E37_79B9));
        self.next += 1;
        least + i64::from(roll) % (most - least + 1)
    }

    fn one_in(&mut self, n: i64) -> bool {
        self.roll(1, n) == 1
    }

    fn ms(&mut self, least: i64, most: i64) -> Text<Time> {
        Text(Time(self.roll(least * 1_000, most * 1_000)))
    }
}

const PARTS: u32 = 6;

/// A plan from these rolls, at least one.
pub fn plan(rolls: &[u32]) -> Plan {
    let mut dice = Dice { rolls, next: 0 };
    let line = station(&mut dice);
    let product = product(&mut dice);
    let panel = Panel {
        columns: dice.roll(1, 2) as u32,
        rows: dice.roll(1, 2) as u32,
        pitch_x_um: Length(dice.roll(80_000, 90_000)),
        pitch_y_um: Length(dice.roll(60_000, 70_000)),
        rail_x_um: Length(dice.roll(-5_000, 5_000).max(0)),
        rail_y_um: Length(dice.roll(-5_000, 7_000).max(0)),
        turned: Turned::ALL[dice.roll(0, 3) as usize],
        marks: dice.one_in(3).then(|| Point::from_um(dice.roll(0, 5_000), dice.roll(0, 5_000))),
        bad_mark: dice.one_in(3).then(|| Point::from_um(dice.roll(0, 9_000), dice.roll(0, 9_000))),
    };
    let side = if dice.one_in(3) { Side::Bottom } else { Side::Top };
    let mut product = product;
    product.placements.iter_mut().for_each(|p| p.side = side);
    product.fiducials.iter_mut().for_each(|f| f.side = side);
    let tasks = panel.images() * product.placements.len() as u32;
    let program = program(&mut dice, &line, &product, tasks);
    Plan {
        schema: SCHEMA.to_owned(),
        product,
        side,
        panel,
        rules: Rules::default(),
        line,
        method: Method::Search,
        seed: 0,
        work: 0,
        outcome: Outcome::Feasible,
        takt_us: Time::ZERO,
        bound_us: Time::ZERO,
        certificate: Certificate::default(),
        stations: vec![program],
        unplaced: Vec::new(),
        reasons: Vec::new(),
        findings: Vec::new(),
    }
}

/// The flexible station of the tests with an inline head added and every figure rolled.
fn station(dice: &mut Dice<'_>) -> Line {
    let mut line = line();
    let row = line.station[0].head[0].clone();
    let inspection = line.station[0].inspection.clone();
    line.station.remove(0);
    let s = &mut line.station[0];
    s.head.push(row);
    s.inspection = inspection.map(|i| Inspection { time: dice.ms(50, 300), ..i });
    for axis in [&mut s.axes.x, &mut s.axes.y] {
        axis.speed.0.0 = dice.roll(300_000, 2_500_000);
        axis.acceleration.0.0 = dice.roll(3_000_000, 40_000_000);
        axis.jerk = dice.one_in(2).then(|| Text(Jerk(dice.roll(10_000_000, 2_000_000_000))));
    }
    (s.settle_pick, s.settle_place) = (dice.ms(0, 30), dice.ms(0, 40));
    if dice.one_in(4) {
        s.nozzle_rack = None;
    }
    for tray in &mut s.tray {
        tray.change = dice.ms(500, 9_000);
    }
    s.head.iter_mut().for_each(|h| head(dice, h));
    for f in &mut line.feeder {
        f.advance = dice.ms(10, 900);
        f.advance_step.0.0 = [2_000, 3_000, 4_000][dice.roll(0, 2) as usize];
    }
    line.feeder[1].slots = dice.roll(1, 3) as u32;
    line.feeder.push(domain::line::FeederKind { supply: Supply::Stick, name: "stick".to_owned(), ..line.feeder[0].clone() });
    line
}

fn head(dice: &mut Dice<'_>, h: &mut Head) {
    (h.pick, h.place, h.turn_90) = (dice.ms(30, 200), dice.ms(30, 200), dice.ms(0, 300));
    h.index = h.index.map(|_| dice.ms(10, 150));
    h.pitch = h.pitch.map(|_| Text(Length(dice.roll(8_000, 21_001))));
    h.dot = h.dot.map(|_| dice.ms(20, 150));
    if h.kind == HeadKind::Dispense {
        return;
    }
    h.spindles = if h.kind == HeadKind::Single { 1 } else { dice.roll(2, 8) as u8 };
    let camera = line().station[1].head[2].sight.clone();
    h.sight = camera.map(|mut sight| {
        sight.mode = [SightMode::Camera, SightMode::InFlight, SightMode::None][dice.roll(0, 2) as usize];
        sight.time = dice.ms(10, 300);
        sight.field = Some(Text(Length(dice.roll(3_000, 20_000))));
        sight
    });
}

fn product(dice: &mut Dice<'_>) -> Product {
    let supplies = [Supply::Tape, Supply::Tape, Supply::Stick, Supply::Tray, Supply::Tray, Supply::Tray];
    let parts = supplies.iter().enumerate().map(|(k, supply)| {
        let body = (dice.roll(400, 25_000), dice.roll(400, 25_000), dice.roll(200, 9_000));
        let mut p = part(&format!("RG-{k}"), body, *supply, 8_000, NozzleClass::Large);
        p.speed = Sourced::engineer(SpeedPercent(if dice.one_in(2) { 100 } else { dice.roll(1, 99) as u8 }));
        p.tape_pitch_um = Sourced::engineer(Length(dice.roll(0, 24_000)));
        p.tray_pockets = Sourced::engineer(dice.roll(1, 60) as u32);
        p.adhesive_dots = Sourced::engineer(dice.roll(0, 4) as u8);
        p
    });
    let parts = parts.collect();
    let count = dice.roll(2, 7);
    let place = |k: i64| {
        let mut r = row(&format!("U{k}"), dice.roll(0, i64::from(PARTS) - 1) as u32, (dice.roll(0, 80_000), dice.roll(0, 60_000)), 0);
        r.rotation_mdeg.0 = if dice.one_in(2) { dice.roll(0, 3) * 90_000 } else { dice.roll(-400_000, 400_000) };
        r
    };
    let placements = (0..count).map(place).collect();
    let marks = dice.roll(0, 4);
    let mark =
        |k: i64| Fiducial { reference: format!("F{k}"), at: Point::from_um(dice.roll(0, 80_000), dice.roll(0, 60_000)), side: Side::Top };
    Product {
        schema: domain::product::SCHEMA.to_owned(),
        name: "dice".to_owned(),
        width_um: Length(80_000),
        depth_um: Length(60_000),
        size_stated: true,
        parts,
        placements,
        fiducials: (0..marks).map(mark).collect(),
    }
}

/// Supplies 0 to 5 hold parts 0 to 5: two feeders, a stick, the stack, two levels of the magazine.
fn supplies(dice: &mut Dice<'_>) -> Vec<SupplyAt> {
    let mut feeder = |part: u32, feeder: u32| SupplyAt {
        part: PartId(part),
        place: SupplyPlace::Feeder { bank: 0, slot: dice.roll(1, 4) as u32, feeder },
    };
    let tray = |part: u32, tray: u32, level: u32| SupplyAt { part: PartId(part), place: SupplyPlace::Tray { tray, level } };
    vec![feeder(0, 0), feeder(1, 1), feeder(2, 2), tray(3, 0, 1), tray(4, 1, 1), tray(5, 1, 3)]
}

fn program(dice: &mut Dice<'_>, line: &Line, product: &Product, tasks: u32) -> StationPlan {
    let supplies = supplies(dice);
    let passes = (0..dice.roll(0, 5)).map(|_| pass(dice, line, product, tasks)).collect();
    StationPlan {
        station: line.station[0].name.clone(),
        supplies,
        alternating: dice.one_in(2),
        passes,
        time_us: Time::ZERO,
        breakdown: Breakdown::default(),
    }
}

fn pass(dice: &mut Dice<'_>, line: &Line, product: &Product, tasks: u32) -> Pass {
    let heads = &line.station[0].head;
    let head = dice.roll(0, heads.len() as i64 - 1);
    let work = if dice.one_in(6) {
        Work::Inspect { views: (0..dice.roll(0, 3)).map(|_| Point::from_um(dice.roll(0, 80_000), dice.roll(0, 60_000))).collect() }
    } else if heads[head as usize].kind == HeadKind::Dispense {
        Work::Dispense { tasks: (0..dice.roll(0, 4)).map(|_| TaskId(dice.roll(0, i64::from(tasks) - 1) as u32)).collect() }
    } else {
        let spindles = heads[head as usize].spindles;
        let layouts: Vec<Vec<Option<u32>>> =
            (0..3).map(|_| (0..spindles).map(|_| dice.one_in(2).then(|| dice.roll(0, 2) as u32)).collect()).collect();
        let inline = heads[head as usize].kind == HeadKind::Inline;
        Work::Place { trips: (0..dice.roll(0, 4)).map(|_| trip(dice, product, tasks, spindles, inline)).collect(), layouts }
    };
    Pass { head: head as u32, work }
}

/// Every spindle with even odds picks and places a task; inline heads join some picks to one stroke.
fn trip(dice: &mut Dice<'_>, product: &Product, tasks: u32, spindles: u8, inline: bool) -> Trip {
    let mut trip = Trip { layout: dice.roll(0, 2) as u32, strokes: Vec::new(), places: Vec::new(), after: 0 };
    for spindle in 0..spindles {
        if spindle > 0 && dice.one_in(2) {
            continue;
        }
        let task = dice.roll(0, i64::from(tasks) - 1) as u32;
        let part = product.placements[task as usize % product.placements.len()].part.map_or(0, |p| p.0);
        let pick = Pick { spindle, supply: part };
        match trip.strokes.last_mut() {
            // One stroke cannot pick from two levels of the magazine.
            Some(stroke) if inline && dice.one_in(2) && (part < 4 || stroke.0.iter().all(|p| p.supply < 4)) => stroke.0.push(pick),
            _ => trip.strokes.push(Stroke(vec![pick])),
        }
        trip.places.push(PlaceStep { spindle, task: TaskId(task) });
    }
    let turn = dice.roll(0, trip.strokes.len() as i64 - 1) as usize;
    trip.strokes.rotate_left(turn);
    let turn = dice.roll(0, trip.places.len() as i64 - 1) as usize;
    trip.places.rotate_left(turn);
    trip
}
