//! A small line and board with figures that can be worked in the head, and short words for programs.
//!
//! Both axes reach 1 m/s at 10 m/s², so a way of k² millimetres takes 20·k ms up to 100 mm (2√(d/a)) and a
//! longer one of d millimetres d + 100 ms (d/v + v/a). At 25 % the limits are 0.25 m/s and 2.5 m/s²: 40·k ms
//! up to 25 mm, 4·d + 100 ms beyond.

#![allow(dead_code, reason = "each test file uses its own part of this")]

use domain::job::{Panel, TaskId};
use domain::line::Line;
use domain::part::{Mount, NozzleClass, Part, Sourced, SpeedPercent, Supply};
use domain::plan::{Breakdown, Pass, Pick, PlaceStep, StationPlan, Stroke, SupplyAt, SupplyPlace, Trip, Work};
use domain::product::{Fiducial, PartId, Placement, Product, SCHEMA, Side, Status};
use units::{Angle, Length, Point, Time};

/// One station with every kind of head, one bank, a stack and a magazine.
///
/// Head numbers: 0 `row` (inline), 1 `drum`, 2 `solo` (single), 3 `glue` (dispense). Nozzle kinds: 0, 1.
const LINE: &str = r#"
schema = "evenline-line/1"
name = "bench of the gauge works"
notes = "Invented: figures that can be worked in the head."

[[feeder]]
name = "tape 8"
supply = "tape"
tape_width = "8 mm"
slots = 1
advance = "200 ms"
stock = 20

[[nozzle]]
name = "small"
classes = ["small"]
stock = 9

[[nozzle]]
name = "large"
classes = ["large"]
stock = 9

[[station]]
name = "bench"
kind = "gantry"
max_panel = { x = "300 mm", y = "300 mm" }
transfer = "2 s"
clamp = "500 ms"
axes = { x = { speed = "1 m/s", acceleration = "10 m/s2" }, y = { speed = "1 m/s", acceleration = "10 m/s2" } }
settle_pick = "10 ms"
settle_place = "20 ms"
fiducial = "100 ms"
head_swap = { time = "3 s", at = { x = "0 mm", y = "-90 mm" }, alternate = true }
nozzle_rack = { change = "700 ms", at = { x = "-44 mm", y = "-90 mm" } }
inspection = { field = { x = "20 mm", y = "20 mm" }, time = "150 ms" }

[[station.head]]
name = "row"
kind = "inline"
spindles = 2
pitch = "20 mm"
turn_90 = "70 ms"
envelope = { min_side = "0.3 mm", max_short = "50 mm", max_long = "50 mm", max_height = "10 mm" }
accuracy = "50 um"
pick = "50 ms"
place = "60 ms"
sight = { mode = "in-flight", time = "30 ms" }
nozzles = ["small", "large"]

[[station.head]]
name = "drum"
kind = "rotary"
spindles = 4
index = "40 ms"
turn_90 = "70 ms"
envelope = { min_side = "0.3 mm", max_short = "50 mm", max_long = "50 mm", max_height = "10 mm" }
accuracy = "50 um"
pick = "50 ms"
place = "60 ms"
sight = { mode = "in-flight", time = "30 ms" }
nozzles = ["small", "large"]

[[station.head]]
name = "solo"
kind = "single"
turn_90 = "70 ms"
envelope = { min_side = "0.3 mm", max_short = "50 mm", max_long = "50 mm", max_height = "20 mm" }
accuracy = "50 um"
pick = "150 ms"
place = "160 ms"
sight = { mode = "camera", time = "80 ms", at = { x = "40 mm", y = "-54 mm" }, field = "16 mm" }
nozzles = ["small", "large"]

[[station.head]]
name = "glue"
kind = "dispense"
dot = "75 ms"

[[station.bank]]
name = "front"
mount = "fixed"
slots = 20
first = { x = "0 mm", y = "-90 mm" }
pitch = "10 mm"

[[station.tray]]
name = "stack"
kind = "stack"
at = { x = "59 mm", y = "-90 mm" }
change = "6 s"
stack_height = "40 mm"

[[station.tray]]
name = "tower"
kind = "magazine"
at = { x = "95 mm", y = "-90 mm" }
levels = 5
change = "3 s"
"#;

/// The line.
pub fn line() -> Line {
    Line::parse("bench.toml", LINE).expect("the tests' sheet is sound")
}

fn part(number: &str, body: (i64, i64), supply: Supply, class: NozzleClass, percent: u8) -> Part {
    Part {
        number: number.to_owned(),
        value: String::new(),
        package: String::new(),
        mount: Sourced::engineer(Mount::Smt),
        body_x_um: Sourced::engineer(Length(body.0)),
        body_y_um: Sourced::engineer(Length(body.1)),
        height_um: Sourced::engineer(Length(1_000)),
        supply: Sourced::engineer(supply),
        tape_width_um: Sourced::engineer(Length(8_000)),
        tape_pitch_um: Sourced::engineer(Length(4_000)),
        tray_pockets: Sourced::engineer(24),
        tray_height_um: Sourced::engineer(Length(8_000)),
        nozzle_class: Sourced::engineer(class),
        speed: Sourced::engineer(SpeedPercent(percent)),
        accuracy_um: Sourced::engineer(Length(100)),
        ball_grid: Sourced::engineer(false),
        shield: Sourced::engineer(false),
        adhesive_dots: Sourced::engineer(2),
        handling: domain::part::Handling::default(),
    }
}

/// Capacitor, 8 mm tape.
pub const CAP: u32 = 0;
/// Resistor, 8 mm tape.
pub const RES: u32 = 1;
/// Crystal that allows a quarter of the speed, 8 mm tape.
pub const XTAL: u32 = 2;
/// Modem of 30 x 10 mm in trays of 24.
pub const MODEM: u32 = 3;
/// Level sensor of 10 x 10 mm in trays of 24.
pub const SENSOR: u32 = 4;

/// A board of the gauge with these placements: part, x, y [mm], rotation [°]; marks at (10, 10) and (59, 10).
pub fn board(placements: &[(u32, i64, i64, i64)]) -> Product {
    let row = |(k, (part, x, y, degrees)): (usize, &(u32, i64, i64, i64))| Placement {
        reference: format!("P{}", k + 1),
        part: Some(PartId(*part)),
        at: Point::from_um(x * 1_000, y * 1_000),
        rotation_mdeg: Angle(degrees * 1_000),
        side: Side::Top,
        status: Status::Fitted,
        why: String::new(),
        origin: String::new(),
    };
    let mark = |(reference, x): (&str, i64)| Fiducial { reference: reference.to_owned(), at: Point::from_um(x, 10_000), side: Side::Top };
    Product {
        schema: SCHEMA.to_owned(),
        name: "river gauge".to_owned(),
        width_um: Length(120_000),
        depth_um: Length(120_000),
        size_stated: true,
        parts: vec![
            part("RG-CAP-100N", (1_600, 800), Supply::Tape, NozzleClass::Small, 100),
            part("RG-RES-10K", (1_600, 800), Supply::Tape, NozzleClass::Small, 100),
            part("RG-XTAL-32K", (3_200, 1_500), Supply::Tape, NozzleClass::Small, 25),
            part("RG-MODEM-4", (30_000, 10_000), Supply::Tray, NozzleClass::Large, 100),
            part("RG-LEVEL-2", (10_000, 10_000), Supply::Tray, NozzleClass::Large, 100),
        ],
        placements: placements.iter().enumerate().map(row).collect(),
        fiducials: [("F1", 10_000), ("F2", 59_000)].map(mark).to_vec(),
    }
}

/// A panel of one board.
pub const PANEL: Panel = Panel::SINGLE;

/// A feeder of the only kind.
pub fn feeder(part: u32, slot: u32) -> SupplyAt {
    SupplyAt { part: PartId(part), place: SupplyPlace::Feeder { bank: 0, slot, feeder: 0 } }
}

/// A tray on place 0 (stack) or 1 (magazine).
pub fn tray(part: u32, tray: u32, level: u32) -> SupplyAt {
    SupplyAt { part: PartId(part), place: SupplyPlace::Tray { tray, level } }
}

/// A trip: strokes of (spindle, supply), places of (spindle, task).
pub fn trip(layout: u32, strokes: &[&[(u8, u32)]], places: &[(u8, u32)]) -> Trip {
    let stroke = |s: &&[(u8, u32)]| Stroke(s.iter().map(|(spindle, supply)| Pick { spindle: *spindle, supply: *supply }).collect());
    let step = |(spindle, task): &(u8, u32)| PlaceStep { spindle: *spindle, task: TaskId(*task) };
    Trip { layout, strokes: strokes.iter().map(stroke).collect(), places: places.iter().map(step).collect(), after: 0 }
}

/// A pass of trips with these nozzle layouts.
pub fn pass(head: u32, layouts: &[&[Option<u32>]], trips: Vec<Trip>) -> Pass {
    Pass { head, work: Work::Place { layouts: layouts.iter().map(|l| l.to_vec()).collect(), trips } }
}

/// The station's program.
pub fn program(supplies: Vec<SupplyAt>, passes: Vec<Pass>) -> StationPlan {
    let station = "bench".to_owned();
    StationPlan { station, supplies, alternating: false, passes, time_us: Time::ZERO, breakdown: Breakdown::default() }
}
