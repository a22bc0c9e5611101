//! A small valid plan, built by hand: one side of a river gauge's telemetry board, two boards to
//! a panel, on a line of an inline station and a station with adhesive, drum and single head.

#![allow(dead_code, reason = "each test file uses its own part of this")]

pub mod kinds;
pub mod spread;

use domain::job::{Job, Panel, TaskId};
use domain::line::Line;
use domain::part::{Mount, NozzleClass, Part, Sourced, SpeedPercent, Supply};
use domain::plan::{
    Breakdown, Certificate, HeadUse, Leaf, Method, Outcome, Pass, Pick, PlaceStep, Plan, SCHEMA, StationManner, StationPlan, Stroke,
    SupplyAt, SupplyPlace, Trip, Unplaced, Work,
};
use domain::product::{PartId, Placement, Product, Side, Status};
use domain::rules::Rules;
use motion::Clock;
use units::{Angle, Length, Point, Time};

/// The line of the tests.
pub fn line() -> Line {
    Line::parse("line.toml", include_str!("../data/line.toml")).expect("the tests' line sheet is sound")
}

/// A part with body [µm], supply and nozzle class; everything else harmless.
pub fn part(number: &str, body: (i64, i64, i64), supply: Supply, tape: i64, class: NozzleClass) -> Part {
    Part {
        number: number.to_owned(),
        value: String::new(),
        package: String::new(),
        mount: Sourced::engineer(Mount::Smt),
        body_x_um: Sourced::engineer(Length(body.0)),
        body_y_um: Sourced::engineer(Length(body.1)),
        height_um: Sourced::engineer(Length(body.2)),
        supply: Sourced::engineer(supply),
        tape_width_um: Sourced::engineer(Length(tape)),
        tape_pitch_um: Sourced::engineer(Length(if tape > 8_000 { 8_000 } else { 4_000 })),
        tray_pockets: Sourced::engineer(24),
        tray_height_um: Sourced::engineer(Length(8_000)),
        nozzle_class: Sourced::engineer(class),
        speed: Sourced::engineer(SpeedPercent(100)),
        accuracy_um: Sourced::engineer(Length(100)),
        ball_grid: Sourced::engineer(false),
        shield: Sourced::engineer(false),
        adhesive_dots: Sourced::engineer(0),
        handling: domain::part::Handling::default(),
    }
}

/// A fitted row of the top side; coordinates in µm, rotation in whole degrees.
pub fn row(reference: &str, part: u32, at: (i64, i64), degrees: i64) -> Placement {
    Placement {
        reference: reference.to_owned(),
        part: Some(PartId(part)),
        at: Point::from_um(at.0, at.1),
        rotation_mdeg: Angle(degrees * 1_000),
        side: Side::Top,
        status: Status::Fitted,
        why: String::new(),
        origin: String::new(),
    }
}

fn product() -> Product {
    let mut parts = vec![
        part("RG-ADC-16", (5_000, 4_000, 1_200), Supply::Tape, 12_000, NozzleClass::Large),
        part("RG-CAP-100N", (1_000, 500, 500), Supply::Tape, 8_000, NozzleClass::Tiny),
        part("RG-CON-6", (20_000, 6_000, 11_000), Supply::Tray, 0, NozzleClass::Gripper),
        part("RG-HEADER", (10_000, 2_500, 8_000), Supply::Stick, 0, NozzleClass::Medium),
        part("RG-RES-10K", (1_000, 500, 350), Supply::Tape, 8_000, NozzleClass::Tiny),
        part("RG-SHIELD", (15_000, 12_000, 3_000), Supply::Tray, 0, NozzleClass::Wide),
    ];
    parts[0].speed = Sourced::engineer(SpeedPercent(80));
    parts[2].adhesive_dots = Sourced::engineer(2);
    parts[3].mount = Sourced::engineer(Mount::ThroughHole);
    parts[5].shield = Sourced::engineer(true);
    parts[5].speed = Sourced::engineer(SpeedPercent(60));
    Product {
        schema: domain::product::SCHEMA.to_owned(),
        name: "river gauge telemetry".to_owned(),
        width_um: Length(60_000),
        depth_um: Length(40_000),
        size_stated: true,
        parts,
        placements: vec![
            row("C1", 1, (10_000, 10_000), 0),
            row("C2", 1, (15_000, 26_400), 90),
            row("R1", 4, (20_000, 8_000), 180),
            row("U1", 0, (40_000, 19_000), 90),
            row("X1", 2, (15_000, 30_000), 0),
            row("S1", 5, (40_000, 19_000), 0),
            row("J1", 3, (55_000, 5_000), 0),
        ],
        fiducials: Vec::new(),
    }
}

/// Tasks of each board, in the order of the product.
pub const TASKS_OF_A_BOARD: u32 = 7;

fn task(image: u32, placement: u32) -> TaskId {
    TaskId(image * TASKS_OF_A_BOARD + placement)
}

fn feeder(part: u32, slot: u32, feeder: u32) -> SupplyAt {
    SupplyAt { part: PartId(part), place: SupplyPlace::Feeder { bank: 0, slot, feeder } }
}

fn tray(part: u32, tray: u32, level: u32) -> SupplyAt {
    SupplyAt { part: PartId(part), place: SupplyPlace::Tray { tray, level } }
}

fn pick(spindle: u8, supply: u32) -> Pick {
    Pick { spindle, supply }
}

fn step(spindle: u8, task: TaskId) -> PlaceStep {
    PlaceStep { spindle, task }
}

fn station(name: &str, supplies: Vec<SupplyAt>, passes: Vec<Pass>) -> StationPlan {
    StationPlan { station: name.to_owned(), supplies, alternating: false, passes, time_us: Time::ZERO, breakdown: Breakdown::default() }
}

fn chips() -> StationPlan {
    let trips = (0..2).map(|image| Trip {
        layout: 0,
        strokes: vec![Stroke(vec![pick(0, 0), pick(1, 1)]), Stroke(vec![pick(2, 0)])],
        places: vec![step(0, task(image, 0)), step(1, task(image, 2)), step(2, task(image, 1))],
        after: 0,
    });
    let views = (0..2).map(|image| Point::from_um(40_000, 19_000 + 45_000 * image)).collect();
    let place = Work::Place { layouts: vec![vec![Some(0), Some(0), Some(0), None]], trips: trips.collect() };
    let passes = vec![Pass { head: 0, work: Work::Inspect { views } }, Pass { head: 0, work: place }];
    station("chip-1", vec![feeder(1, 1, 0), feeder(4, 3, 0)], passes)
}

fn flexible() -> StationPlan {
    let dots = Work::Dispense { tasks: vec![task(0, 4), task(1, 4)] };
    let drum = Work::Place {
        layouts: vec![vec![Some(1), Some(1), None, None, None, None]],
        trips: vec![Trip {
            layout: 0,
            strokes: vec![Stroke(vec![pick(0, 0)]), Stroke(vec![pick(1, 0)])],
            places: vec![step(0, task(0, 3)), step(1, task(1, 3))],
            after: 0,
        }],
    };
    let one = |layout, supply, t| Trip { layout, strokes: vec![Stroke(vec![pick(0, supply)])], places: vec![step(0, t)], after: 0 };
    let single = Work::Place {
        layouts: vec![vec![Some(3)], vec![Some(2)]],
        trips: vec![one(0, 1, task(0, 4)), one(0, 1, task(1, 4)), one(1, 2, task(0, 5)), one(1, 2, task(1, 5))],
    };
    let passes = [dots, drum, single].into_iter().enumerate().map(|(head, work)| Pass { head: head as u32, work }).collect();
    station("flex-2", vec![feeder(0, 2, 1), tray(2, 0, 1), tray(5, 1, 2)], passes)
}

/// The valid plan, timed and bounded.
pub fn plan() -> Plan {
    let unplaced = |image: u32| Unplaced {
        reference: format!("J1@{}", image + 1),
        task: task(image, 6),
        code: "plan.through-hole".to_owned(),
        message: "inserted by hand".to_owned(),
    };
    let mut plan = Plan {
        schema: SCHEMA.to_owned(),
        product: product(),
        side: Side::Top,
        panel: Panel { columns: 1, rows: 2, pitch_x_um: Length(0), pitch_y_um: Length(45_000), ..Panel::SINGLE },
        rules: Rules::parse("rules.toml", include_str!("../data/rules.toml")).expect("the tests' rules are sound"),
        line: line(),
        method: Method::Search,
        seed: 1,
        work: 0,
        outcome: Outcome::Feasible,
        takt_us: Time::ZERO,
        bound_us: Time::ZERO,
        certificate: Certificate { leaves: vec![Leaf { weights: vec![1, 3], ..Leaf::default() }] },
        stations: vec![chips(), flexible()],
        unplaced: vec![unplaced(0), unplaced(1)],
        reasons: Vec::new(),
        findings: Vec::new(),
    };
    retime(&mut plan);
    plan
}

/// Writes the clock's times and the certificate's bound into a plan.
pub fn retime(plan: &mut Plan) {
    let copy = plan.clone();
    let job: Job<'_> = copy.job().expect("a job");
    let clock = Clock::new(&copy.line, &job);
    let mut takt = copy.line.equipment.iter().map(|e| *e.time).max().unwrap_or(Time::ZERO);
    for (s, station) in plan.stations.iter_mut().enumerate() {
        station.breakdown = clock.time(s, &copy.stations[s]).expect("a program whose references exist");
        station.time_us = station.breakdown.total();
        takt = takt.max(station.time_us);
    }
    plan.takt_us = takt;
    plan.bound_us = verify::bound(&copy, &job).expect("weights");
}

/// Number of weights of a leaf: one for a station, three for one of two beams.
pub fn rows(line: &Line) -> usize {
    line.station.iter().map(|s| if s.kind == domain::line::StationKind::TwoBeam { 3 } else { 1 }).sum()
}

/// All columns that the checker knows for the work of a plan (`docs/planning.md` §3.1).
pub fn columns(plan: &Plan) -> Vec<HeadUse> {
    let job = plan.job().expect("a job");
    let ones = vec![1; rows(&plan.line)];
    let knows = |column: &HeadUse| {
        let certificate = Certificate { leaves: vec![Leaf { heads: vec![*column], weights: ones.clone(), ..Leaf::default() }] };
        verify::bound(&Plan { certificate, ..plan.clone() }, &job).is_some()
    };
    let mut all = Vec::new();
    for (station, s) in (0..).zip(&plan.line.station) {
        for (head, h) in (0..).zip(&s.head) {
            let named = (0..).zip(&plan.line.nozzle).filter(|(_, n)| h.nozzles.contains(&n.name)).map(|(k, _)| Some(k));
            let is_drum = s.kind == domain::line::StationKind::Turret;
            let one = h.kind != domain::line::HeadKind::Dispense && h.spindles == 1 && !is_drum;
            let kinds: Vec<Option<u32>> = if one { named.collect() } else { vec![None] };
            all.extend(kinds.into_iter().map(|nozzle| HeadUse { station, head, nozzle, ..HeadUse::default() }));
        }
    }
    all.retain(knows);
    all
}

/// Leaves that cover every choice, by branching on the manner of one station and one column after the other until there are
/// `count` of them or all is decided; `weights` gives those of each.
pub fn branched(plan: &Plan, count: usize, weights: &mut dyn FnMut(u64) -> Vec<u64>) -> Vec<Leaf> {
    let columns = columns(plan);
    let swapping: Vec<u32> = (0..).zip(&plan.line.station).filter(|(_, s)| s.head_swap.is_some()).map(|(k, _)| k).collect();
    let mut leaves = std::collections::VecDeque::from([Leaf::default()]);
    while leaves.len() < count {
        let Some(leaf) = leaves.pop_front() else { break };
        let (mut with, mut without) = (leaf.clone(), leaf.clone());
        if let Some(station) = swapping.get(leaf.manners.len()) {
            with.manners.push(StationManner { station: *station, alternating: true });
            without.manners.push(StationManner { station: *station, alternating: false });
        } else if let Some(column) = columns.get(leaf.heads.len()) {
            with.heads.push(HeadUse { at_least: 1, ..*column });
            without.heads.push(HeadUse { at_most: Some(0), ..*column });
        } else {
            leaves.push_front(leaf);
            break;
        }
        leaves.extend([with, without]);
    }
    leaves.into_iter().zip(0..).map(|(leaf, k)| Leaf { weights: weights(k), ..leaf }).collect()
}
