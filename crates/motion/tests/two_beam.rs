//! Two beams worked by hand.

mod common;

use common::{CAP, PANEL, RES, board, pass, program, trip};
use domain::job::{Job, TaskId};
use domain::line::Line;
use domain::plan::{Breakdown, SupplyAt, SupplyPlace};
use domain::product::{PartId, Side};
use motion::{Clock, Doing};
use units::Time;

/// One spindle a beam, 100 mm from each bank to its pads; a way of 100 mm takes 200 ms.
const LINE: &str = r#"
schema = "evenline-line/1"
name = "pair of the gauge works"

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
kind = "two-beam"
max_panel = { x = "300 mm", y = "300 mm" }
transfer = "2 s"
clamp = "500 ms"
axes = { x = { speed = "1 m/s", acceleration = "10 m/s2" }, y = { speed = "1 m/s", acceleration = "10 m/s2" } }
settle_pick = "10 ms"
settle_place = "20 ms"
fiducial = "100 ms"

[[station.head]]
name = "front"
kind = "single"
beam = 1
envelope = { min_side = "0.3 mm", max_short = "50 mm", max_long = "50 mm", max_height = "10 mm" }
accuracy = "50 um"
pick = "50 ms"
place = "60 ms"
sight = { mode = "in-flight", time = "30 ms" }
nozzles = ["small"]

[[station.head]]
name = "rear"
kind = "single"
beam = 2
envelope = { min_side = "0.3 mm", max_short = "50 mm", max_long = "50 mm", max_height = "10 mm" }
accuracy = "50 um"
pick = "50 ms"
place = "60 ms"
sight = { mode = "in-flight", time = "30 ms" }
nozzles = ["small"]

[[station.bank]]
name = "front"
beam = 1
mount = "fixed"
slots = 2
first = { x = "0 mm", y = "-90 mm" }
pitch = "59 mm"

[[station.bank]]
name = "rear"
beam = 2
mount = "fixed"
slots = 2
first = { x = "0 mm", y = "210 mm" }
pitch = "59 mm"
"#;

/// A feeder on slot 2 of a bank.
fn feeder(part: u32, bank: u32) -> SupplyAt {
    SupplyAt { part: PartId(part), place: SupplyPlace::Feeder { bank, slot: 2, feeder: 0 } }
}

/// Two parts for each beam. Beam 1 begins over the last mark at (59, 10) and holds the board, beam 2 over its
/// pocket. In ms after marks, with a placement of 200 + 20 + 60 and a way out of 200 + 10:
/// beam 1 leaves the board at 210 and asks at 290; beam 2 asks at 80, is let in at 210, places to 490, leaves at 700,
/// asks at 780; beam 1 is let in at 700, places to 980, leaves at 1190, asks at 1270; beam 2 is let in at 1190, has
/// placed its last at 1470 and is home at 1680; then beam 1 is let in and ends at 1960.
#[test]
fn one_places_while_the_other_fetches() {
    let line = Line::parse("pair.toml", LINE).expect("the tests' sheet is sound");
    let product = board(&[(CAP, 59, 10, 0), (RES, 59, 110, 0), (CAP, 59, 10, 0), (RES, 59, 110, 0)]);
    let job = Job::new(&product, Side::Top, PANEL).expect("a job");
    let one = |supply, task| trip(0, &[&[(0, supply)]], &[(0, task)]);
    let passes = vec![pass(0, &[&[Some(0)]], vec![one(0, 0), one(0, 2)]), pass(1, &[&[Some(0)]], vec![one(1, 1), one(1, 3)])];
    let plan = program(vec![feeder(CAP, 0), feeder(RES, 1)], passes);
    let clock = Clock::new(&line, &job);
    let played = clock.two_beams(0, &plan).expect("references exist");
    let (ms, fixed) = (Time::from_ms, clock.fixed(0));
    let expected = Breakdown {
        pick_travel_us: ms(420),
        pick_strokes_us: ms(100),
        sight_us: ms(60),
        place_travel_us: ms(440),
        place_strokes_us: ms(120),
        beam_wait_us: ms(410 + 410),
        ..fixed
    };
    assert_eq!(played.breakdown, expected);
    assert_eq!(played.breakdown.total() - fixed.total(), ms(1_960));
    assert_eq!(clock.time(0, &plan), Ok(expected));
    assert_eq!(played.order, [1, 0, 3, 2].map(TaskId));
    let waits: Vec<_> = played.stretches.iter().filter(|s| s.doing == Doing::Waiting).map(|s| (s.beam, s.to - s.from)).collect();
    assert_eq!(waits, [(1, ms(410)), (1, ms(410)), (2, ms(130)), (2, ms(410))]);
}

/// A beam without work leaves the board to the other, which then waits for nobody.
#[test]
fn one_beam_alone_never_waits() {
    let line = Line::parse("pair.toml", LINE).expect("the tests' sheet is sound");
    let product = board(&[(RES, 59, 10, 0), (RES, 59, 10, 0)]);
    let job = Job::new(&product, Side::Top, PANEL).expect("a job");
    let one = |task| trip(0, &[&[(0, 0)]], &[(0, task)]);
    let plan = program(vec![feeder(RES, 1)], vec![pass(1, &[&[Some(0)]], vec![one(0), one(1)])]);
    let clock = Clock::new(&line, &job);
    let time = clock.time(0, &plan).expect("references exist");
    assert_eq!(time.beam_wait_us, Time::ZERO);
    // From the last mark at (59, 10) 200 mm to the pocket: 300 + 10, and back 300 + 20, twice.
    assert_eq!(time.pick_travel_us + time.place_travel_us, Time::from_ms(2 * (310 + 320)));
}
