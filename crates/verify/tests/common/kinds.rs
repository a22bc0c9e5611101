//! A small valid plan on a turret and two beams: chips beat by beat, converters on the front beam's drum, a
//! converter and then the shield over another one on the rear beam.

use super::{feeder, part, pick, retime, row, station, step};
use domain::job::{Panel, TaskId};
use domain::line::Line;
use domain::part::{NozzleClass, Sourced, SpeedPercent, Supply};
use domain::plan::{Beat, Certificate, Leaf, Method, Outcome, Pass, Plan, SCHEMA, StationPlan, Stroke, SupplyAt, SupplyPlace, Trip, Work};
use domain::product::{PartId, Product, Side};
use domain::rules::Rules;
use units::{Length, Time};

/// Its line.
pub fn line() -> Line {
    Line::parse("kinds.toml", include_str!("../data/kinds.toml")).expect("the tests' line sheet is sound")
}

fn product() -> Product {
    let mut parts = vec![
        part("RG-ADC-16", (5_000, 4_000, 1_200), Supply::Tape, 12_000, NozzleClass::Large),
        part("RG-CAP-100N", (1_000, 500, 500), Supply::Tape, 8_000, NozzleClass::Tiny),
        part("RG-RES-10K", (1_000, 500, 350), Supply::Tape, 8_000, NozzleClass::Tiny),
        part("RG-SHIELD", (15_000, 12_000, 3_000), Supply::Tray, 0, NozzleClass::Wide),
    ];
    parts[0].speed = Sourced::engineer(SpeedPercent(80));
    parts[1].speed = Sourced::engineer(SpeedPercent(70));
    parts[3].shield = Sourced::engineer(true);
    Product {
        schema: domain::product::SCHEMA.to_owned(),
        name: "river gauge telemetry".to_owned(),
        width_um: Length(90_000),
        depth_um: Length(80_000),
        size_stated: true,
        parts,
        placements: vec![
            row("C1", 1, (10_000, 10_000), 0),
            row("C2", 1, (15_000, 26_400), 90),
            row("R1", 2, (20_000, 8_000), 180),
            row("U1", 0, (40_000, 19_000), 90),
            row("U2", 0, (70_000, 60_000), 0),
            row("U3", 0, (12_000, 60_000), 0),
            row("S1", 3, (40_000, 19_000), 0),
        ],
        fiducials: Vec::new(),
    }
}

fn chips() -> StationPlan {
    let beat = |supply, task| Some(Beat { supply, task: TaskId(task) });
    let work = Work::Turret { nozzles: vec![vec![0]; 6], beats: vec![beat(0, 0), None, beat(1, 2), beat(0, 1)] };
    station("turret-1", vec![feeder(1, 1, 0), feeder(2, 3, 0)], vec![Pass { head: 0, work }])
}

fn pair() -> StationPlan {
    let drum = Work::Place {
        layouts: vec![vec![Some(1), Some(1), None, None]],
        trips: vec![Trip {
            layout: 0,
            strokes: vec![Stroke(vec![pick(0, 0)]), Stroke(vec![pick(1, 0)])],
            places: vec![step(0, TaskId(3)), step(1, TaskId(5))],
            after: 0,
        }],
    };
    let one = |layout, supply, t| Trip { layout, strokes: vec![Stroke(vec![pick(0, supply)])], places: vec![step(0, TaskId(t))], after: 0 };
    let single = Work::Place { layouts: vec![vec![Some(1)], vec![Some(2)]], trips: vec![one(0, 1, 4), one(1, 2, 6)] };
    let rear = SupplyAt { part: PartId(0), place: SupplyPlace::Feeder { bank: 1, slot: 2, feeder: 1 } };
    let stack = SupplyAt { part: PartId(3), place: SupplyPlace::Tray { tray: 0, level: 1 } };
    station("pair-2", vec![feeder(0, 4, 1), rear, stack], vec![Pass { head: 0, work: drum }, Pass { head: 1, work: single }])
}

/// The valid plan, timed and bounded.
pub fn plan() -> Plan {
    let mut plan = Plan {
        schema: SCHEMA.to_owned(),
        product: product(),
        side: Side::Top,
        panel: Panel::SINGLE,
        rules: Rules::default(),
        line: line(),
        method: Method::Search,
        seed: 1,
        work: 0,
        outcome: Outcome::Feasible,
        takt_us: Time::ZERO,
        bound_us: Time::ZERO,
        certificate: Certificate { leaves: vec![Leaf { weights: vec![1, 1, 1, 1], ..Leaf::default() }] },
        stations: vec![chips(), pair()],
        unplaced: Vec::new(),
        reasons: Vec::new(),
        findings: Vec::new(),
    };
    retime(&mut plan);
    plan
}
