//! Sample plans for tests: a maker of river-gauge telemetry (invented), built by hand without
//! the planner. Times are made up from round figures; only their sums matter here.
#![allow(dead_code)] // each test file uses its own share

use diag::{Finding, codes};
use domain::job::{Panel, TaskId};
use domain::line::Line;
use domain::part::{Certainty, Mount, NozzleClass, Part, Source, Sourced, SpeedPercent, Supply};
use domain::plan::*;
use domain::product::{Fiducial, PartId, Placement, Product, Side, Status};
use domain::rules::Rules;
use units::{Angle, Length, Point, Time};

/// The sheet of the sample line; `wide` adds a third station.
fn sheet(wide: bool) -> String {
    let gantry = |name: &str, slots: u32, heads: &str, more: &str| {
        format!(
            r#"
[[station]]
name = "{name}"
kind = "gantry"
max_panel = {{ x = "460 mm", y = "400 mm" }}
transfer = "2.2 s"
clamp = "0.6 s"
axes = {{ x = {{ speed = "1.8 m/s", acceleration = "20 m/s2" }}, y = {{ speed = "1.8 m/s", acceleration = "18 m/s2" }} }}
settle_pick = "15 ms"
settle_place = "25 ms"
fiducial = "180 ms"
{more}
{heads}
[[station.bank]]
name = "front"
mount = "cart"
cart = "cart-{slots}"
slots = {slots}
first = {{ x = "-60 mm", y = "-80 mm" }}
pitch = "8 mm"
[[station.bank]]
name = "rear"
mount = "fixed"
slots = {slots}
first = {{ x = "-60 mm", y = "420 mm" }}
pitch = "8 mm"
"#
        )
    };
    let inline = r#"
[[station.head]]
name = "inline-8"
kind = "inline"
spindles = 8
pitch = "16 mm"
turn_90 = "60 ms"
envelope = { min_side = "0.4 mm", max_short = "16 mm", max_long = "20 mm", max_height = "8 mm" }
accuracy = "50 um"
pick = "110 ms"
place = "120 ms"
sight = { mode = "in-flight", time = "60 ms" }
nozzles = ["n-tiny", "n-small", "n-medium", "n-large"]
"#;
    let single = r#"
[[station.head]]
name = "single"
kind = "single"
turn_90 = "80 ms"
envelope = { min_side = "1 mm", max_short = "60 mm", max_long = "90 mm", max_height = "30 mm" }
accuracy = "30 um"
pick = "220 ms"
place = "260 ms"
sight = { mode = "camera", time = "140 ms", at = { x = "120 mm", y = "-30 mm" }, field = "40 mm" }
nozzles = ["n-large", "n-wide", "jaws"]
[[station.tray]]
name = "magazine"
kind = "magazine"
at = { x = "330 mm", y = "-110 mm" }
change = "2.5 s"
levels = 6
"#;
    let swap = "head_swap = { time = \"3.2 s\", at = { x = \"420 mm\", y = \"200 mm\" }, alternate = true }\nnozzle_rack = { change = \"0.9 s\", at = { x = \"380 mm\", y = \"-20 mm\" } }";
    let slots = if wide { 44 } else { 24 };
    let mut text = format!(
        r#"schema = "evenline-line/1"
name = "hall 2, line A"
{}
[[cart]]
name = "cart-{slots}"
stock = 4
[[equipment]]
name = "printer"
time = "14 s"
"#,
        r#"
[[feeder]]
name = "tape 8"
supply = "tape"
tape_width = "8 mm"
slots = 1
advance = "80 ms"
stock = 300
[[feeder]]
name = "tape 12"
supply = "tape"
tape_width = "12 mm"
slots = 2
advance = "90 ms"
stock = 60
[[feeder]]
name = "tape 24"
supply = "tape"
tape_width = "24 mm"
slots = 3
advance = "120 ms"
stock = 40
[[feeder]]
name = "vibrating sticks"
supply = "stick"
max_body = "12 mm"
slots = 4
advance = "300 ms"
stock = 4
[[nozzle]]
name = "n-tiny"
classes = ["micro", "tiny"]
stock = 20
[[nozzle]]
name = "n-small"
classes = ["small"]
stock = 20
[[nozzle]]
name = "n-medium"
classes = ["medium"]
stock = 20
[[nozzle]]
name = "n-large"
classes = ["large"]
stock = 10
[[nozzle]]
name = "n-wide"
classes = ["wide"]
stock = 4
[[nozzle]]
name = "jaws"
classes = ["gripper"]
stock = 2
"#
    );
    text.push_str(&gantry("chip-1", slots, inline, ""));
    if wide {
        text.push_str(&gantry("chip-2", slots, inline, ""));
    }
    text.push_str(&gantry("flex-1", slots, &format!("{inline}{single}"), swap));
    text
}

/// One part type with all its sizes from `source`.
#[allow(clippy::too_many_arguments)]
fn part(
    number: &str,
    value: &str,
    package: &str,
    (x, y, z): (i64, i64, i64),
    supply: Supply,
    tape: i64,
    class: NozzleClass,
    sure: Certainty,
) -> Part {
    fn given<T>(value: T, certainty: Certainty) -> Sourced<T> {
        Sourced::new(value, if certainty == Certainty::Certain { Source::Engineer } else { Source::Name }, certainty)
    }
    Part {
        number: number.to_owned(),
        value: value.to_owned(),
        package: package.to_owned(),
        mount: given(Mount::Smt, Certainty::Certain),
        body_x_um: given(Length(x), sure),
        body_y_um: given(Length(y), sure),
        height_um: given(Length(z), sure),
        supply: given(supply, Certainty::Certain),
        tape_width_um: given(Length(tape), Certainty::Certain),
        tape_pitch_um: given(Length(if tape <= 8_000 { 4_000 } else { 8_000 }), Certainty::Likely),
        tray_pockets: given(40, Certainty::Likely),
        tray_height_um: given(Length(6_000), Certainty::Likely),
        nozzle_class: given(class, sure),
        speed: given(SpeedPercent(100), Certainty::Likely),
        accuracy_um: given(Length(60), Certainty::Likely),
        ball_grid: given(false, Certainty::Likely),
        shield: given(false, Certainty::Likely),
        adhesive_dots: given(0, Certainty::Likely),
        handling: domain::part::Handling::default(),
    }
}

fn row(reference: String, part: u32, x: i64, y: i64, turn: i64) -> Placement {
    Placement {
        reference,
        part: Some(PartId(part)),
        at: Point::from_um(x, y),
        rotation_mdeg: Angle(turn),
        side: Side::Top,
        status: Status::Fitted,
        why: String::new(),
        origin: String::new(),
    }
}

/// A river-gauge node: 2 x 1 boards, two stations, one part unplaced.
pub fn small() -> Plan {
    use Certainty::{Certain, Guess, Likely};
    let parts = vec![
        part("CC1005-100N", "100 nF", "0402", (1_000, 500, 500), Supply::Tape, 8_000, NozzleClass::Tiny, Likely),
        part("CC2012-10U", "10 uF", "0805", (2_000, 1_250, 1_250), Supply::Tape, 8_000, NozzleClass::Small, Likely),
        part("CON-ANT-2", "antenna socket", "RF-SMD", (3_000, 2_600, 1_250), Supply::Tape, 12_000, NozzleClass::Medium, Guess),
        part("HDR-GAUGE-8", "gauge header", "header-8-smt", (16_300, 5_000, 8_500), Supply::Stick, 0, NozzleClass::Large, Certain),
        part("MCU-RG-64", "controller", "LQFP-64", (12_000, 12_000, 1_600), Supply::Tray, 0, NozzleClass::Wide, Likely),
        part("MOD-LORA-868", "radio module 868 MHz", "module-26x16", (26_000, 16_000, 3_200), Supply::Tray, 0, NozzleClass::Wide, Certain),
        part("RC1005-10K", "10 k", "0402", (1_000, 500, 350), Supply::Tape, 8_000, NozzleClass::Tiny, Likely),
        part("TRF-SURGE-9", "surge coil", "unknown", (9_000, 9_000, 11_000), Supply::Tape, 24_000, NozzleClass::Gripper, Guess),
        part("X32-SMD", "32.768 kHz", "3215", (3_200, 1_500, 900), Supply::Tape, 8_000, NozzleClass::Medium, Likely),
    ];
    let mut rows = Vec::new();
    for i in 0..10 {
        rows.push(row(format!("C{}", i + 1), 0, 6_000 + 3_200 * i, 7_000 + (i % 2) * 2_000, (i % 4) * 90_000));
        rows.push(row(format!("R{}", i + 1), 6, 6_000 + 3_200 * i, 14_000, (i % 2) * 90_000));
    }
    for i in 0..4 {
        rows.push(row(format!("C{}", i + 11), 1, 42_000, 6_000 + 3_000 * i, 0));
    }
    rows.push(row("J1".into(), 2, 55_000, 34_000, 270_000));
    rows.push(row("J2".into(), 3, 12_000, 36_700, 0));
    rows.push(row("U1".into(), 4, 51_500, 20_000, 45_000));
    rows.push(row("U2".into(), 5, 27_000, 25_000, 0));
    rows.push(row("T1".into(), 7, 7_000, 25_000, 0));
    rows.push(row("Y1".into(), 8, 44_500, 33_000, 90_000));
    let fiducials = [(3_000, 3_000), (57_000, 37_000), (57_000, 3_000)];
    let product = product("River gauge node RG-7", (60_000, 40_000), parts, rows, &fiducials);
    let panel = Panel { columns: 2, rows: 1, pitch_x_um: Length(62_000), pitch_y_um: Length(0), ..Panel::SINGLE };
    assemble(product, panel, sheet(false), &[7])
}

/// 2,000 tasks, about 150 part types, three stations.
pub fn large() -> Plan {
    let mut parts = Vec::new();
    for i in 0..150u32 {
        let (name, body, supply, tape, class) = match i {
            0..=69 => ("RC", (1_000, 500, 350), Supply::Tape, 8_000, NozzleClass::Tiny),
            70..=109 => ("CC", (1_600, 800, 800), Supply::Tape, 8_000, NozzleClass::Small),
            110..=129 => ("DQ", (2_900, 1_600, 1_100), Supply::Tape, 8_000, NozzleClass::Medium),
            130..=143 => ("IC", (6_000, 5_000, 1_700), Supply::Tape, 12_000, NozzleClass::Large),
            144..=147 => ("UX", (14_000, 14_000, 1_600), Supply::Tray, 0, NozzleClass::Wide),
            _ => ("LT", (10_000, 10_000, 6_000), Supply::Tape, 24_000, NozzleClass::Wide),
        };
        let sure = if i % 37 == 5 { Certainty::Guess } else { Certainty::Certain };
        parts.push(part(&format!("{name}-{i:03}-GAUGE"), &format!("value {i}"), &format!("{name} size"), body, supply, tape, class, sure));
    }
    parts.sort_by(|a, b| a.number.cmp(&b.number));
    // Cells of 7 x 7 mm, wide ones in cells of their own at the right.
    let mut rows = Vec::new();
    let (small, wide): (Vec<u32>, Vec<u32>) = (0..150u32).partition(|p| parts[*p as usize].long_side().0 < 9_000);
    for i in 0..1_980usize {
        let (column, line) = ((i % 55) as i64, (i / 55) as i64);
        rows.push(row(
            format!("P{}", i + 1),
            small[i * 7 % small.len()],
            6_000 + column * 7_000,
            6_000 + line * 7_000,
            (i as i64 % 4) * 90_000,
        ));
    }
    for i in 0..20usize {
        rows.push(row(format!("U{}", i + 1), wide[i % wide.len()], 404_000 + 18_000 * (i as i64 % 2), 12_000 + 24_000 * (i as i64 / 2), 0));
    }
    let product = product("Basin station BS-40, main board", (440_000, 262_000), parts, rows, &[(3_000, 258_000), (436_000, 3_000)]);
    assemble(product, Panel::SINGLE, sheet(true), &[])
}

fn product(name: &str, (w, d): (i64, i64), parts: Vec<Part>, placements: Vec<Placement>, marks: &[(i64, i64)]) -> Product {
    let mark =
        |(i, (x, y)): (usize, &(i64, i64))| Fiducial { reference: format!("FID{}", i + 1), at: Point::from_um(*x, *y), side: Side::Top };
    Product {
        schema: domain::product::SCHEMA.to_owned(),
        name: name.to_owned(),
        width_um: Length(w),
        depth_um: Length(d),
        size_stated: true,
        parts,
        placements,
        fiducials: marks.iter().enumerate().map(mark).collect(),
    }
}

/// Head (station, index in the station) that places a part: chips in turn, the rest at the end.
fn head_of(line: &Line, part: &Part, index: usize) -> (usize, u32) {
    let last = line.station.len() - 1;
    match part.nozzle_class.value {
        NozzleClass::Wide | NozzleClass::Gripper => (last, 1),
        NozzleClass::Large | NozzleClass::Medium => (last, 0),
        _ => (index % last.max(1), 0),
    }
}

/// Spreads the parts, stands the feeders side by side and fills trips in order.
fn assemble(product: Product, panel: Panel, sheet: String, unplaced: &[u32]) -> Plan {
    let line = Line::parse("line.toml", &sheet).expect("the sample sheet is sound");
    let job = domain::job::Job::new(&product, Side::Top, panel).expect("the sample job is sound");
    let mut stations: Vec<StationPlan> = Vec::new();
    for (s, sheet) in line.station.iter().enumerate() {
        let mine: Vec<u32> = (0..product.parts.len() as u32)
            .filter(|p| !unplaced.contains(p) && head_of(&line, &product.parts[*p as usize], *p as usize).0 == s)
            .collect();
        let supplies = stand(&line, &product, s, &mine);
        let passes: Vec<Pass> =
            (0..sheet.head.len() as u32).filter_map(|h| pass(&line, &product, &job, &supplies, s, h, unplaced)).collect();
        let breakdown = times(&passes);
        stations.push(StationPlan {
            station: sheet.name.clone(),
            supplies,
            alternating: passes.len() > 1,
            passes,
            time_us: breakdown.total(),
            breakdown,
        });
    }
    let left = (0..job.tasks.len() as u32).map(TaskId).filter(|t| unplaced.contains(&job.tasks[t.index()].part.0));
    let unplaced = left
        .map(|task| Unplaced {
            reference: job.name(task),
            task,
            code: codes::plan::TOO_LARGE.id.to_owned(),
            message: "11 mm high; no head of the line with jaws takes it".to_owned(),
        })
        .collect();
    let takt = stations.iter().map(|s| s.time_us).max().unwrap_or_default();
    let slowest = stations.iter().find(|s| s.time_us == takt).map(|s| s.station.clone()).unwrap_or_default();
    Plan {
        schema: SCHEMA.to_owned(),
        side: Side::Top,
        panel,
        rules: Rules::default(),
        method: Method::Search,
        seed: 7,
        work: 120_000,
        outcome: Outcome::Feasible,
        takt_us: takt,
        bound_us: Time(takt.0 * 93 / 100),
        certificate: Certificate {
            leaves: vec![domain::plan::Leaf { weights: stations.iter().map(|_| 1).collect(), ..domain::plan::Leaf::default() }],
        },
        reasons: vec![
            Reason { text: format!("{slowest} is the slowest station: it sets the takt"), worth_us: Time(0) },
            Reason { text: format!("one more head swap is paid at {slowest} than its parts need"), worth_us: Time(640_000) },
        ],
        findings: vec![
            Finding::new(codes::plan::SIZE_GUESSED, "2 parts have guessed sizes").at("parts.csv", 8).value("TRF-SURGE-9"),
            Finding::new(codes::plan::SIDE_CHOSEN, "the top side is planned"),
        ],
        unplaced,
        stations,
        product,
        line,
    }
}

/// Feeders side by side, front bank first; trays level by level.
fn stand(line: &Line, product: &Product, station: usize, parts: &[u32]) -> Vec<SupplyAt> {
    let banks = &line.station[station].bank;
    let (mut bank, mut slot, mut level) = (0usize, 2u32, 1u32);
    let mut out = Vec::new();
    for id in parts {
        let part = &product.parts[*id as usize];
        let feeder = line.feeder.iter().position(|f| match part.supply.value {
            Supply::Tape => f.tape_width.is_some_and(|w| w.0 == part.tape_width_um.value),
            Supply::Stick => f.supply == Supply::Stick,
            Supply::Tray => false,
        });
        let place = match feeder {
            None => {
                level += 1;
                SupplyPlace::Tray { tray: 0, level: level - 1 }
            }
            Some(feeder) => {
                let slots = line.feeder[feeder].slots;
                if slot + slots > banks[bank].slots + 1 {
                    bank += 1;
                    slot = 1;
                }
                assert!(bank < banks.len(), "the sample needs more slots");
                slot += slots;
                SupplyPlace::Feeder { bank: bank as u32, slot: slot - slots, feeder: feeder as u32 }
            }
        };
        out.push(SupplyAt { part: PartId(*id), place });
    }
    out
}

fn pass(
    line: &Line,
    product: &Product,
    job: &domain::job::Job<'_>,
    supplies: &[SupplyAt],
    station: usize,
    head: u32,
    unplaced: &[u32],
) -> Option<Pass> {
    let sheet = &line.station[station].head[head as usize];
    let mut tasks: Vec<TaskId> = (0..job.tasks.len() as u32)
        .map(TaskId)
        .filter(|t| {
            let part = job.tasks[t.index()].part;
            !unplaced.contains(&part.0) && head_of(line, &product.parts[part.index()], part.index()) == (station, head)
        })
        .collect();
    tasks.sort_by_key(|t| (product.parts[job.tasks[t.index()].part.index()].nozzle_class.value, job.tasks[t.index()].part.0, *t));
    let mut layouts: Vec<Vec<Option<u32>>> = Vec::new();
    let mut trips = Vec::new();
    for chunk in tasks.chunks(sheet.spindles as usize) {
        let nozzle = |t: &TaskId| {
            let class = job.part(*t).nozzle_class.value;
            line.nozzle.iter().position(|n| n.classes.contains(&class)).map(|n| n as u32)
        };
        let mut layout: Vec<Option<u32>> = chunk.iter().map(nozzle).collect();
        layout.resize(sheet.spindles as usize, None);
        let index = layouts.iter().position(|l| *l == layout).unwrap_or_else(|| {
            layouts.push(layout);
            layouts.len() - 1
        });
        let supply =
            |t: &TaskId| supplies.iter().position(|s| s.part == job.tasks[t.index()].part).expect("every part stands somewhere") as u32;
        let strokes = chunk.iter().enumerate().map(|(i, t)| Stroke(vec![Pick { spindle: i as u8, supply: supply(t) }])).collect();
        let places = chunk.iter().enumerate().map(|(i, t)| PlaceStep { spindle: i as u8, task: *t }).collect();
        trips.push(Trip { layout: index as u32, strokes, places, after: 0 });
    }
    (!trips.is_empty()).then_some(Pass { head, work: Work::Place { layouts, trips } })
}

/// Round figures per step.
fn times(passes: &[Pass]) -> Breakdown {
    let (mut trips, mut places, mut changes) = (0, 0, 0);
    for pass in passes {
        if let Work::Place { layouts, trips: t, .. } = &pass.work {
            trips += t.len() as i64;
            places += t.iter().map(|t| t.places.len() as i64).sum::<i64>();
            changes += layouts.len() as i64 - 1;
        }
    }
    Breakdown {
        transfer_us: Time(2_800_000),
        fiducials_us: Time(910_000),
        pick_travel_us: Time(95_000 * places),
        pick_strokes_us: Time(90_000 * places),
        feeder_wait_us: Time(21_000 * trips),
        sight_us: Time(60_000 * trips),
        place_travel_us: Time(81_000 * places),
        place_strokes_us: Time(100_000 * places),
        index_us: Time(4_000 * places),
        nozzle_change_us: Time(430_000 * changes),
        head_swap_us: Time(if passes.len() > 1 { 3_420_000 } else { 0 }),
        ..Breakdown::default()
    }
}

/// Part names, values and reasons that try to be markup, formulas and control codes.
pub fn hostile() -> Plan {
    let mut plan = small();
    let name = "<script>alert(\"x\")</script>&amp;|%\u{1}\n=1+1";
    plan.product.name = name.to_owned();
    plan.product.parts[0].number = name.to_owned();
    plan.product.parts[0].value = "</svg></table><b>µΩ 漢字".to_owned();
    plan.product.placements[0].reference = "C1\"><img src=x onerror=y>".to_owned();
    plan.line.station[0].name = "'chip' <1>".to_owned();
    plan.stations[0].station = "'chip' <1>".to_owned();
    plan.unplaced[0].message = "]]> <!-- http://example.org -->".to_owned();
    plan.reasons[0].text = "<style>*{display:none}</style>".to_owned();
    plan
}

/// A plan whose indices and figures point nowhere.
pub fn broken() -> Plan {
    let mut plan = small();
    let far = u32::MAX;
    let station = &mut plan.stations[0];
    station.supplies.push(SupplyAt { part: PartId(far), place: SupplyPlace::Feeder { bank: far, slot: far, feeder: far } });
    station.supplies.push(SupplyAt { part: PartId(0), place: SupplyPlace::Feeder { bank: 0, slot: far, feeder: 0 } });
    station.supplies.push(SupplyAt { part: PartId(0), place: SupplyPlace::Tray { tray: far, level: far } });
    let trip = Trip {
        layout: far,
        strokes: vec![Stroke(vec![Pick { spindle: 255, supply: far }])],
        places: vec![PlaceStep { spindle: 255, task: TaskId(far) }],
        after: 0,
    };
    station.passes.push(Pass { head: far, work: Work::Place { layouts: vec![], trips: vec![trip] } });
    station.passes.push(Pass { head: 0, work: Work::Dispense { tasks: vec![TaskId(far)] } });
    station.passes.push(Pass { head: 0, work: Work::Inspect { views: vec![Point::from_um(i64::MAX, i64::MIN)] } });
    station.time_us = Time(i64::MAX);
    station.breakdown.transfer_us = Time(i64::MAX);
    station.breakdown.sight_us = Time(i64::MAX);
    plan.stations.push(StationPlan {
        station: "nowhere".to_owned(),
        supplies: vec![],
        alternating: false,
        passes: vec![],
        time_us: Time(-5),
        breakdown: Breakdown { pick_travel_us: Time(i64::MIN), ..Breakdown::default() },
    });
    plan.line.station[0].bank[0].slots = far;
    plan.line.feeder[0].slots = far;
    plan.product.parts[1].body_x_um.value = Length(i64::MAX);
    plan.product.parts[2].body_y_um.value = Length(i64::MIN);
    plan.takt_us = Time(i64::MIN);
    plan.bound_us = Time(i64::MAX);
    plan
}
