//! The turret, beat by beat: an instance solved by exhaustive search, and beats worked by hand.

mod common;

use common::{CAP, PANEL, RES, XTAL, board, feeder, program};
use domain::job::{Job, TaskId};
use domain::line::Line;
use domain::part::SpeedPercent;
use domain::plan::{Beat, Breakdown, Pass, StationPlan, Work};
use domain::product::{Product, Side};
use motion::Clock;
use units::{Acceleration, Point, Text, Time};

/// A turret of four heads; `figures` are the rest of the station, from the axes on.
fn line(figures: &str) -> Line {
    let sheet = format!(
        r#"
schema = "evenline-line/1"
name = "turret of the gauge works"

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

[[station]]
name = "bench"
kind = "turret"
max_panel = {{ x = "300 mm", y = "300 mm" }}
transfer = "2 s"
clamp = "500 ms"
{figures}
envelope = {{ min_side = "0.3 mm", max_short = "50 mm", max_long = "50 mm", max_height = "10 mm" }}
accuracy = "50 um"
nozzles = ["small"]

[[station.bank]]
name = "carriage"
mount = "fixed"
slots = 20
first = {{ x = "0 mm", y = "-90 mm" }}
pitch = "12 mm"
"#
    );
    Line::parse("turret.toml", &sheet).expect("the tests' sheet is sound")
}

/// Moves at constant speed, once the accelerations are raised beyond what a sheet may say.
const CONSTANT: &str = r#"
axes = { x = { speed = "0.25 m/s", acceleration = "1000000 m/s2" }, y = { speed = "0.25 m/s", acceleration = "1000000 m/s2" } }
settle_pick = "0 ms"
settle_place = "0 ms"
fiducial = "0 ms"
turret = { gap = 0, carriage = { speed = "0.15 m/s", acceleration = "1000000 m/s2" } }

[[station.head]]
name = "drum"
kind = "rotary"
spindles = 4
index = "100 ms"
sight = { mode = "none" }
"#;

/// As the gantry of the other tests: a way of k² mm takes 20·k ms.
const ROUND: &str = r#"
axes = { x = { speed = "1 m/s", acceleration = "10 m/s2" }, y = { speed = "1 m/s", acceleration = "10 m/s2" } }
settle_pick = "5 ms"
settle_place = "8 ms"
fiducial = "100 ms"
turret = { gap = 2, carriage = { speed = "1 m/s", acceleration = "10 m/s2" } }

[[station.head]]
name = "drum"
kind = "rotary"
spindles = 4
index = "40 ms"
turn_90 = "70 ms"
pick = "30 ms"
place = "35 ms"
sight = { mode = "in-flight", time = "20 ms" }
"#;

fn beats(steps: &[Option<(u32, u32)>]) -> Pass {
    let beat = |s: &Option<(u32, u32)>| s.map(|(supply, task)| Beat { supply, task: TaskId(task) });
    Pass { head: 0, work: Work::Turret { nozzles: vec![vec![0]; 4], beats: steps.iter().map(beat).collect() } }
}

fn timed(line: &Line, product: &Product, plan: &StationPlan) -> (Breakdown, Breakdown) {
    let job = Job::new(product, Side::Top, PANEL).expect("a job");
    let clock = Clock::new(line, &job);
    (clock.time(0, plan).expect("a program whose references exist"), clock.fixed(0))
}

/// All orders of 0 to n − 1.
fn orders(n: u32) -> Vec<Vec<u32>> {
    if n == 0 {
        return vec![Vec::new()];
    }
    let longer = |order: Vec<u32>| {
        (0..n as usize).map(move |at| {
            let mut order = order.clone();
            order.insert(at, n - 1);
            order
        })
    };
    orders(n - 1).into_iter().flat_map(longer).collect()
}

/// Seconds of the instance's five placements in this order with these slots of the three parts.
fn seconds(line: &Line, order: &[u32], slots: &[u32]) -> f64 {
    let places = [(CAP, 0, 0), (RES, 30, 0), (CAP, 30, 40), (XTAL, 0, 40), (RES, 15, 20)];
    let placements: Vec<_> = places.iter().map(|(part, x, y)| (*part, *x, *y, 0)).collect();
    let mut product = board(&placements);
    // The instance knows no delicate parts, and its table stands at the first placement.
    product.parts[XTAL as usize].speed.value = SpeedPercent(100);
    let first = places[order[0] as usize];
    product.fiducials[0].at = Point::from_um(100_000, 100_000);
    product.fiducials[1].at = Point::from_um(first.1 * 1_000, first.2 * 1_000);
    let steps: Vec<Option<(u32, u32)>> = order.iter().map(|t| Some((places[*t as usize].0, *t))).collect();
    let supplies = [CAP, RES, XTAL].iter().zip(slots).map(|(part, slot)| feeder(*part, *slot)).collect();
    let (time, fixed) = timed(line, &product, &program(supplies, vec![beats(&steps)]));
    (time.total() - fixed.total()).to_s()
}

/// Instance W5 of the project's survey of the literature (`literature.md` §5, solved there by exhaustive
/// search; model of E. Duman and I. Or's turret papers): listed order 0.64 s, best order 0.58 s, best
/// order and slots 0.54 s with A2 B1 C3 and the order 1, 2, 5, 3, 4. Table 0.004 s/mm, carriage 0.08 s a slot.
#[test]
fn an_instance_with_known_optima() {
    let mut line = line(CONSTANT);
    line.feeder[0].advance = Text(Time::ZERO);
    // So fast that the ramps, under a nanosecond, are lost in the rounding; no sheet says such a thing.
    let (station, ramp) = (&mut line.station[0], Text(Acceleration(1_000_000_000_000_000)));
    (station.axes.x.acceleration, station.axes.y.acceleration) = (ramp, ramp);
    station.turret.as_mut().expect("a turret").carriage.acceleration = ramp;
    assert_eq!(seconds(&line, &[0, 1, 2, 3, 4], &[1, 2, 3]), 0.64);
    assert_eq!(seconds(&line, &[0, 1, 4, 2, 3], &[2, 1, 3]), 0.54);
    let best = |slots: &[u32]| orders(5).iter().map(|o| seconds(&line, o, slots)).fold(f64::INFINITY, f64::min);
    assert_eq!(best(&[1, 2, 3]), 0.58);
    let free = orders(3).into_iter().map(|o| best(&o.iter().map(|s| s + 1).collect::<Vec<_>>()));
    assert_eq!(free.fold(f64::INFINITY, f64::min), 0.54);
}

/// Two parts of one feeder, then one of another; the last turned by 90°. Times after the fixed part, in ms:
/// beat 0 turns to 40, picks to 70. Beat 1 turns to 110, waits for the feeder (70 + 200) to 270, picks to 300.
/// Beat 2 turns to 340; the table came at 88 (16 mm, settle 8); the carriage (36 mm: 120, settle 5) at 425;
/// strokes to 460. Beat 3 turns the part by 90° to 530; the table (9 mm: 60 + 8) came at 528; place to 565.
/// Beat 4 turns to 605; the table (4 mm: 40 + 8) comes at 613; place to 648.
#[test]
fn beats_worked_by_hand() {
    let product = board(&[(CAP, 43, 10, 0), (CAP, 34, 10, 90), (RES, 34, 14, 0)]);
    let plan = program(vec![feeder(CAP, 1), feeder(RES, 4)], vec![beats(&[Some((0, 0)), Some((0, 1)), Some((1, 2))])]);
    let ms = Time::from_ms;
    let (time, fixed) = timed(&line(ROUND), &product, &plan);
    let expected = Breakdown {
        index_us: ms(230),
        feeder_wait_us: ms(160),
        pick_travel_us: ms(85),
        place_travel_us: ms(8),
        pick_strokes_us: ms(60),
        place_strokes_us: ms(105),
        ..fixed
    };
    assert_eq!(time, expected);
    assert_eq!(time.total() - fixed.total(), ms(648));
}

/// A crystal that allows a quarter of the speed turns the drum in 160 ms as long as it is aboard.
#[test]
fn the_most_delicate_part_aboard_slows_the_drum() {
    let product = board(&[(XTAL, 59, 10, 0), (CAP, 59, 10, 0)]);
    let index = |steps: &[Option<(u32, u32)>]| {
        let plan = program(vec![feeder(XTAL, 1), feeder(CAP, 1)], vec![beats(steps)]);
        timed(&line(ROUND), &product, &plan).0.index_us
    };
    assert_eq!(index(&[Some((0, 0)), Some((1, 1))]), Time::from_ms(40 + 160 + 160 + 40));
    // A beat that picks nothing: the crystal is set down before the capacitor's last two turns.
    assert_eq!(index(&[Some((0, 0)), None, Some((1, 1))]), Time::from_ms(40 + 160 + 160 + 40 + 40));
}
