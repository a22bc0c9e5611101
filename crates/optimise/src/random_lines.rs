//! Random lines and products for tests: everything that ties trips together.
//!
//! Nozzle racks, slow sticks whose lateness reaches into later trips, magazines of several levels, stacks, heads that are swapped with
//! and without alternating passes, delicate parts, adhesive.

use domain::line::{Line, Station};
use domain::part::{Mount, NozzleClass, Part, Sourced, SpeedPercent, Supply};
use domain::product::{PartId, Placement, Product, SCHEMA, Side, Status};
use units::{Angle, Length, Point};

pub(crate) fn sheet(rng: &mut fastrand::Rng) -> Line {
    let jerk = if rng.bool() { ", jerk = \"900 m/s3\"" } else { "" };
    let rack = if rng.bool() { "nozzle_rack = { change = \"200 ms\", at = { x = \"-40 mm\", y = \"-20 mm\" } }" } else { "" };
    let first = match rng.u32(..3) {
        0 => "kind = \"inline\"\nspindles = 3\npitch = \"20 mm\"",
        1 => "kind = \"rotary\"\nspindles = 5\nindex = \"50 ms\"",
        _ => "kind = \"rotary\"\nspindles = 2\nindex = \"1 ms\"",
    };
    let text = format!(
        r#"
schema = "evenline-line/1"
name = "exact"
[[feeder]]
name = "tape 8"
supply = "tape"
tape_width = "8 mm"
slots = 1
advance = "{advance} ms"
stock = 20
[[feeder]]
name = "stick"
supply = "stick"
max_body = "9 mm"
slots = 2
advance = "{stick} ms"
stock = 9
[[nozzle]]
name = "small"
classes = ["small"]
stock = 20
[[nozzle]]
name = "body"
classes = ["medium", "large"]
stock = 20
[[station]]
name = "gauge-1"
kind = "gantry"
max_panel = {{ x = "300 mm", y = "300 mm" }}
transfer = "2 s"
clamp = "300 ms"
axes = {{ x = {{ speed = "1.2 m/s", acceleration = "15 m/s2"{jerk} }}, y = {{ speed = "1 m/s", acceleration = "12 m/s2" }} }}
settle_pick = "10 ms"
settle_place = "20 ms"
fiducial = "150 ms"
head_swap = {{ time = "{swap} ms", at = {{ x = "130 mm", y = "-20 mm" }}, alternate = {alternate} }}
{rack}
[[station.head]]
name = "first"
{first}
turn_90 = "50 ms"
envelope = {{ min_side = "0.1 mm", max_short = "10 mm", max_long = "20 mm", max_height = "20 mm" }}
accuracy = "50 um"
pick = "80 ms"
place = "40 ms"
sight = {{ mode = "in-flight", time = "10 ms" }}
nozzles = ["small", "body"]
[[station.head]]
name = "single"
kind = "single"
turn_90 = "90 ms"
envelope = {{ min_side = "0.1 mm", max_short = "40 mm", max_long = "40 mm", max_height = "20 mm" }}
accuracy = "50 um"
pick = "60 ms"
place = "50 ms"
sight = {{ mode = "camera", time = "30 ms", at = {{ x = "50 mm", y = "-30 mm" }}, field = "12 mm" }}
nozzles = ["body", "small"]
[[station.head]]
name = "adhesive"
kind = "dispense"
dot = "75 ms"
[[station.bank]]
name = "front"
mount = "fixed"
slots = 14
first = {{ x = "0 mm", y = "-60 mm" }}
pitch = "10 mm"
[[station.bank]]
name = "rear"
mount = "fixed"
slots = 8
first = {{ x = "0 mm", y = "160 mm" }}
pitch = "10 mm"
[[station.tray]]
name = "tower"
kind = "magazine"
at = {{ x = "60 mm", y = "190 mm" }}
levels = 3
change = "1.5 s"
[[station.tray]]
name = "stack"
kind = "stack"
at = {{ x = "20 mm", y = "190 mm" }}
stack_height = "60 mm"
change = "1 s"
"#,
        advance = rng.u32(20..=250),
        stick = rng.u32(100..=2_500),
        swap = [1, 40, 2_000][rng.usize(..3)],
        alternate = rng.bool(),
    );
    Line::parse("exact.toml", &text).unwrap_or_else(|f| panic!("{f:#?}"))
}

/// A random sheet whose station stands there again under other names.
pub(crate) fn stations(more: &[&str], rng: &mut fastrand::Rng) -> Line {
    let mut line = sheet(rng);
    let first = line.station[0].clone();
    line.station.extend(more.iter().map(|name| Station { name: (*name).to_owned(), ..first.clone() }));
    line
}

fn part(number: &str, side: i64, class: NozzleClass, supply: Supply, percent: u8, dots: u8) -> Part {
    Part {
        number: number.to_owned(),
        value: String::new(),
        package: String::new(),
        mount: Sourced::engineer(Mount::Smt),
        body_x_um: Sourced::engineer(Length(side)),
        body_y_um: Sourced::engineer(Length(side)),
        height_um: Sourced::engineer(Length(side / 2)),
        supply: Sourced::engineer(supply),
        tape_width_um: Sourced::engineer(Length(8_000)),
        tape_pitch_um: Sourced::engineer(Length(8_000)),
        tray_pockets: Sourced::engineer(7),
        tray_height_um: Sourced::engineer(Length(8_000)),
        nozzle_class: Sourced::engineer(class),
        speed: Sourced::engineer(SpeedPercent(percent)),
        accuracy_um: Sourced::engineer(Length(100)),
        ball_grid: Sourced::engineer(false),
        shield: Sourced::engineer(false),
        adhesive_dots: Sourced::engineer(dots),
        handling: domain::part::Handling::default(),
    }
}

pub(crate) fn product(rng: &mut fastrand::Rng) -> Product {
    let slow = |rng: &mut fastrand::Rng| [100, 100, 70, 45][rng.usize(..4)];
    let parts = vec![
        part("RG-CAP", 1_600, NozzleClass::Small, Supply::Tape, slow(rng), 0),
        part("RG-RES", 2_000, NozzleClass::Small, Supply::Tape, 100, 0),
        part("RG-DRV", 6_000, NozzleClass::Medium, Supply::Stick, slow(rng), 0),
        part("RG-MEM", 9_000, NozzleClass::Medium, Supply::Tape, slow(rng), u8::from(rng.bool())),
        part("RG-MCU", 14_000, NozzleClass::Large, Supply::Tray, slow(rng), 0),
        part("RG-ADC", 12_000, NozzleClass::Large, Supply::Tray, 100, 0),
        part("RG-PHY", 12_000, NozzleClass::Medium, Supply::Tray, 80, 0),
    ];
    let at = |rng: &mut fastrand::Rng| Point::from_um(rng.i64(2_000..98_000), rng.i64(2_000..98_000));
    let placements = (0..rng.u32(8..=36)).map(|k| {
        let part = rng.u32(..7);
        Placement {
            reference: format!("{}{}", ["C", "R", "U", "M", "P", "A", "Y"][part as usize], k + 1),
            part: Some(PartId(part)),
            at: at(rng),
            rotation_mdeg: Angle(rng.i64(0..8) * 45_000),
            side: Side::Top,
            status: Status::Fitted,
            why: String::new(),
            origin: String::new(),
        }
    });
    let placements = placements.collect();
    Product {
        schema: SCHEMA.to_owned(),
        name: "river gauge".to_owned(),
        width_um: Length(100_000),
        depth_um: Length(100_000),
        size_stated: true,
        parts,
        placements,
        fiducials: Vec::new(),
    }
}
