//! Panels worked by hand from `docs/timing.md`, to the microsecond.
//!
//! The sheet and its round figures are in `common`: a way of k² mm takes 20·k ms, one of d ≥ 100 mm takes
//! d + 100 ms. The bank lies at y = −90 with slot s at x = 10·(s − 1). Every panel begins alike: transfer and
//! clamp 2 500 ms; marks 100 + (49 mm: 140, settle 20) + 100 = 360 ms; the head ends over (59, 10) at 2 860 ms.
//! An independent clock written from the page is compared elsewhere (`verify`); here the figures are people's.

mod common;

use common::{CAP, MODEM, PANEL, RES, SENSOR, XTAL, board, feeder, line, pass, program, tray, trip};
use domain::job::{Job, TaskId};
use domain::line::Line;
use domain::plan::{Breakdown, Pass, StationPlan, Work};
use domain::product::{Product, Side};
use motion::{Clock, HeadState, PickStep, Tracker};
use proptest::prelude::*;
use units::{Length, Point, Text, Time};

/// Milliseconds.
fn ms(n: i64) -> Time {
    Time::from_ms(n)
}

/// Microseconds.
fn us(n: i64) -> Time {
    Time::from_us(n)
}

/// What every panel costs.
fn fixed() -> Breakdown {
    Breakdown { transfer_us: ms(2_500), fiducials_us: ms(360), ..Breakdown::default() }
}

fn timed_on(line: &Line, product: &Product, plan: &StationPlan) -> Breakdown {
    let job = Job::new(product, Side::Top, PANEL).expect("a job");
    let clock = Clock::new(line, &job);
    clock.time(0, plan).expect("a program whose references exist")
}

fn timed(product: &Product, plan: &StationPlan) -> Breakdown {
    timed_on(&line(), product, plan)
}

/// Two spindles 20 mm apart over slots 3 and 5, which are 20 mm apart: one stroke for both.
#[test]
fn a_gang_stroke_of_an_inline_head() {
    let product = board(&[(CAP, 20, 10, 0), (RES, 56, 10, 0)]);
    let set_up = || vec![feeder(CAP, 3), feeder(RES, 5)];
    let with =
        |strokes: &[&[(u8, u32)]]| program(set_up(), vec![pass(0, &[&[Some(0), Some(0)]], vec![trip(0, strokes, &[(0, 0), (1, 1)])])]);
    let expected = Breakdown {
        // (59, 10) to (20, −90): 39 and 100 mm, the longer 200; settle 10.
        pick_travel_us: ms(210),
        pick_strokes_us: ms(50),
        sight_us: ms(30),
        // Spindle 0 over (20, 10): 100 mm 200, settle 20. Spindle 1 over (56, 10): head to (36, 10), 16 mm 80, settle 20.
        place_travel_us: ms(220 + 100),
        place_strokes_us: ms(120),
        ..fixed()
    };
    let gang = timed(&product, &with(&[&[(0, 0), (1, 1)]]));
    assert_eq!(gang, expected);
    assert_eq!(gang.total(), ms(3_590));
    // One after the other: the head stands right for both, so only the second stroke is paid.
    let apart = timed(&product, &with(&[&[(0, 0)], &[(1, 1)]]));
    assert_eq!(apart, Breakdown { pick_strokes_us: ms(100), ..expected });
}

/// The same feeder twice: it advances while the head shifts by a spindle.
#[test]
fn waiting_for_the_feeder() {
    let mut product = board(&[(CAP, 20, 10, 0), (CAP, 56, 10, 0)]);
    let layouts: [&[Option<u32>]; 1] = [&[Some(0), Some(0)]];
    let plan = program(vec![feeder(CAP, 3)], vec![pass(0, &layouts, vec![trip(0, &[&[(0, 0)], &[(1, 0)]], &[(0, 0), (1, 1)])])]);
    let expected = Breakdown {
        // Spindle 1 over slot 3: head 20 mm to the left, 2√(0.02/10) = 89.4427 ms, settle 10.
        pick_travel_us: us(210_000 + 99_443),
        pick_strokes_us: ms(100),
        // The pocket is there 200 ms after the first stroke.
        feeder_wait_us: us(200_000 - 99_443),
        sight_us: ms(30),
        // From (0, −90) to (20, 10): still 100 mm.
        place_travel_us: ms(320),
        place_strokes_us: ms(120),
        ..fixed()
    };
    assert_eq!(timed(&product, &plan), expected);
    // Pockets 12 mm apart: three advances of 4 mm (EIA-481-D: the sprocket hole pitch).
    product.parts[CAP as usize].tape_pitch_um.value = Length(12_000);
    assert_eq!(timed(&product, &plan), Breakdown { feeder_wait_us: us(600_000 - 99_443), ..expected });
}

/// A drum turns while the head travels; what does not hide is counted.
#[test]
fn a_drum() {
    let product = board(&[(CAP, 20, 10, 90), (CAP, 36, 10, 180), (RES, 37, 10, 0)]);
    let strokes: [&[(u8, u32)]; 3] = [&[(0, 0)], &[(1, 0)], &[(2, 1)]];
    let plan = program(
        vec![feeder(CAP, 3), feeder(RES, 4)],
        vec![pass(1, &[&[Some(0), Some(0), Some(0), None]], vec![trip(0, &strokes, &[(0, 0), (1, 1), (2, 2)])])],
    );
    let expected = Breakdown {
        // To slot 3: 200 + 10. Again: no way. To slot 4: 10 mm, 63.2456 ms, + 10; the index of 40 hides in it.
        pick_travel_us: us(210_000 + 73_246),
        pick_strokes_us: ms(150),
        // Second pick at slot 3: index 40, then the rest of the 200 ms advance.
        feeder_wait_us: ms(160),
        sight_us: ms(30),
        // 100 mm 200; 16 mm 80; 1 mm 20; each + 20.
        place_travel_us: ms(220 + 100 + 40),
        place_strokes_us: ms(180),
        // At slot 3: 40. First place: two steps 80 and a quarter turn 70 hide in 200. Second: half a turn
        // 140 beyond 80. Third: a step of 40 beyond 20.
        index_us: ms(40 + 60 + 20),
        ..fixed()
    };
    let time = timed(&product, &plan);
    assert_eq!(time, expected);
    assert_eq!(time.total(), us(4_143_246));
}

/// A drum goes the shorter way round.
#[test]
fn the_shorter_way_round() {
    let product = board(&[(CAP, 20, 10, 0)]);
    let (line, job) = (line(), Job::new(&product, Side::Top, PANEL).expect("a job"));
    let clock = Clock::new(&line, &job);
    let drum = |from, to, percent| clock.station(0).index(1, from, to, percent);
    assert_eq!([drum(0, 1, 100), drum(0, 2, 100), drum(0, 3, 100), drum(3, 0, 100)], [40, 80, 40, 40].map(ms));
    // A third of the speed, rounded up: 40 ms · 100/33.
    assert_eq!(drum(0, 1, 33), us(121_213));
}

/// One part from a stack of trays past a camera that needs two looks.
#[test]
fn a_single_head_with_a_camera() {
    let product = board(&[(MODEM, 44, 10, 90)]);
    let plan = program(vec![tray(MODEM, 0, 1)], vec![pass(2, &[&[Some(1)]], vec![trip(0, &[&[(0, 0)]], &[(0, 0)])])]);
    let expected = Breakdown {
        // (59, 10) to the stack at (59, −90): 200 + 10.
        pick_travel_us: ms(210),
        pick_strokes_us: ms(150),
        // To the camera at (40, −54): 19 and 36 mm, 120; settle 20; 30 x 10 mm in fields of 16 mm: 2 looks of 80.
        sight_us: ms(120 + 20 + 160),
        // To (44, 10): 64 mm 160, the quarter turn of 70 hides; settle 20.
        place_travel_us: ms(180),
        place_strokes_us: ms(160),
        // A tray of 24 is put aside in 6 s: 250 a part.
        tray_change_us: ms(250),
        ..fixed()
    };
    let time = timed(&product, &plan);
    assert_eq!(time, expected);
    assert_eq!(time.total(), ms(4_110));
}

/// Two nozzles in turn: every panel finds the last one of the panel before.
#[test]
fn nozzle_changes() {
    let product = board(&[(CAP, 20, 10, 0), (MODEM, 44, 10, 0)]);
    let trips = |second: u32| vec![trip(0, &[&[(0, 0)]], &[(0, 0)]), trip(second, &[&[(0, 1)]], &[(0, 1)])];
    let set_up = || vec![feeder(CAP, 3), tray(MODEM, 0, 1)];
    let time = timed(&product, &program(set_up(), vec![pass(2, &[&[Some(0)], &[Some(1)]], trips(1))]));
    let expected = Breakdown {
        // (59, 10) to the rack at (−44, −90): 103 mm 203, + 700. Later (20, 10) to the rack: 100 mm 200, + 700.
        nozzle_change_us: ms(903 + 900),
        // Rack to slot 3: 64 mm 160 + 10. Rack to the stack: 103 mm 203 + 10.
        pick_travel_us: ms(170 + 213),
        pick_strokes_us: ms(300),
        // Camera: from (20, −90) 36 mm 120 + 20 + 80; from (59, −90) 120 + 20 + 160.
        sight_us: ms(220 + 300),
        // 64 mm each: 160 + 20.
        place_travel_us: ms(360),
        place_strokes_us: ms(320),
        tray_change_us: ms(250),
        ..fixed()
    };
    assert_eq!(time, expected);
    assert_eq!(time.total(), ms(6_796));
    // With one nozzle for both nothing is changed.
    assert_eq!(timed(&product, &program(set_up(), vec![pass(2, &[&[Some(0)]], trips(0))])).nozzle_change_us, Time::ZERO);
}

/// A spindle that only loses its nozzle costs nothing; it is paid when it gets one again.
#[test]
fn a_nozzle_taken_off_is_free() {
    let product = board(&[(CAP, 20, 10, 0), (CAP, 56, 10, 0)]);
    let trips = vec![trip(0, &[&[(0, 0)]], &[(0, 0)]), trip(1, &[&[(0, 0)]], &[(0, 1)])];
    let time = timed(&product, &program(vec![feeder(CAP, 3)], vec![pass(0, &[&[Some(0), Some(0)], &[Some(0), None]], trips)]));
    assert_eq!(time.nozzle_change_us, ms(903));
}

/// Two heads in one panel: swapped and swapped back, or alternating.
#[test]
fn head_swaps() {
    let product = board(&[(CAP, 20, 10, 0), (MODEM, 44, 10, 0)]);
    let passes = vec![
        pass(0, &[&[Some(0), None]], vec![trip(0, &[&[(0, 0)]], &[(0, 0)])]),
        pass(2, &[&[Some(1)]], vec![trip(0, &[&[(0, 1)]], &[(0, 1)])]),
    ];
    let mut plan = program(vec![feeder(CAP, 3), tray(MODEM, 0, 1)], passes);
    let expected = Breakdown {
        // To slot 3 210; from the head changer at (0, −90) to the stack: 59 mm 153.6229, + 10.
        pick_travel_us: us(210_000 + 163_623),
        pick_strokes_us: ms(50 + 150),
        sight_us: ms(30 + 300),
        place_travel_us: ms(220 + 180),
        place_strokes_us: ms(60 + 160),
        // (20, 10) to the changer: 100 mm 200, + 3 000; closing from (44, 10): the same.
        head_swap_us: ms(3_200 + 3_200),
        tray_change_us: ms(250),
        ..fixed()
    };
    let time = timed(&product, &plan);
    assert_eq!(time, expected);
    assert_eq!(time.total(), us(11_033_623));
    // Alternating, forward: no closing swap, 7 833.623. Backward: to the stack 210, from the changer to slot 3
    // 20 mm 89.443 + 10, hence 64.180 less. The slower order counts.
    plan.alternating = true;
    assert_eq!(timed(&product, &plan), Breakdown { head_swap_us: ms(3_200), ..expected });
    plan.passes.reverse();
    assert_eq!(timed(&product, &plan).total(), us(7_833_623));
}

/// Two levels of a magazine: the change runs while the head does other things.
#[test]
fn a_magazine_change_hides_behind_placing() {
    let product = board(&[(SENSOR, 40, 10, 0), (MODEM, 40, 10, 0)]);
    let trips = vec![trip(0, &[&[(0, 0)]], &[(0, 0)]), trip(0, &[&[(0, 1)]], &[(0, 1)])];
    let plan = program(vec![tray(SENSOR, 1, 1), tray(MODEM, 1, 2)], vec![pass(2, &[&[Some(1)]], trips)]);
    let expected = Breakdown {
        // Twice to the tower at (95, −90): 100 mm 200 + 10.
        pick_travel_us: ms(420),
        pick_strokes_us: ms(300),
        // Tower to camera: 55 mm 148.324; settle 20; one look of 80 at the sensor, two at the modem.
        sight_us: us(148_324 + 100_000 + 148_324 + 180_000),
        place_travel_us: ms(360),
        place_strokes_us: ms(320),
        // Level 2 is presented when the panel comes; level 1 is there after 3 000, the head arrives at 3 070.
        // That stroke ends at 3 220, so level 2 is back at 6 220; the head is there at 3 220 + 248.324 + 180 + 160 + 210.
        tray_change_us: us(6_220_000 - 4_018_324),
        ..fixed()
    };
    let time = timed(&product, &plan);
    assert_eq!(time, expected);
    assert_eq!(time.total(), us(7_038_324));
    // A tower that needs 700 ms is back at 3 920: nothing shows.
    let mut quick = line();
    quick.station[0].tray[1].change = Text(ms(700));
    assert_eq!(timed_on(&quick, &product, &plan), Breakdown { tray_change_us: Time::ZERO, ..expected });
}

/// The crystal allows a quarter of the speed: while it hangs on the head, everything is slow.
#[test]
fn the_most_delicate_part_rules() {
    let product = board(&[(CAP, 20, 10, 0), (XTAL, 56, 10, 90)]);
    let with = |slot: u32, strokes: &[&[(u8, u32)]], places: &[(u8, u32)]| {
        program(vec![feeder(CAP, slot), feeder(XTAL, 5)], vec![pass(0, &[&[Some(0), Some(0)]], vec![trip(0, strokes, places)])])
    };
    let last = Breakdown {
        pick_travel_us: ms(210),
        pick_strokes_us: ms(50),
        sight_us: ms(30),
        // Capacitor first, both aboard: 100 mm at 0.25 m/s and 2.5 m/s²: 400 + 100; settle 20. Then 16 mm 160; settle 20.
        place_travel_us: ms(520 + 180),
        place_strokes_us: ms(120),
        // The crystal's quarter turn takes 70/0.25 = 280, 120 beyond the way.
        index_us: ms(120),
        ..fixed()
    };
    assert_eq!(timed(&product, &with(3, &[&[(0, 0), (1, 1)]], &[(0, 0), (1, 1)])), last);
    // Crystal first: its turn hides in 500, and the capacitor then goes at full speed, 80 + 20.
    let first = Breakdown { place_travel_us: ms(520 + 100), index_us: Time::ZERO, ..last };
    assert_eq!(timed(&product, &with(3, &[&[(0, 0), (1, 1)]], &[(1, 1), (0, 0)])), first);
    // Picked one by one, crystal first: the 10 mm to slot 4 are slow, 2√(0.01/2.5) = 126.4911, + 10.
    let slow_pick = Breakdown { pick_travel_us: us(210_000 + 136_492), pick_strokes_us: ms(100), ..first };
    assert_eq!(timed(&product, &with(4, &[&[(1, 1)], &[(0, 0)]], &[(1, 1), (0, 0)])), slow_pick);
    // Capacitor first: the head is still free of it, 63.2456 + 10.
    // (Its way to slot 4 is 100 mm along Y as before.)
    let quick_pick = Breakdown { pick_travel_us: us(210_000 + 73_246), ..slow_pick };
    assert_eq!(timed(&product, &with(4, &[&[(0, 0)], &[(1, 1)]], &[(1, 1), (0, 0)])), quick_pick);
}

#[test]
fn dots_and_views() {
    let product = board(&[(CAP, 23, 10, 0), (RES, 39, 10, 0)]);
    let views = [(43, 10), (43, 10)].map(|(x, y)| Point::from_um(x * 1_000, y * 1_000)).to_vec();
    let passes =
        vec![Pass { head: 3, work: Work::Dispense { tasks: vec![TaskId(0), TaskId(1)] } }, Pass { head: 3, work: Work::Inspect { views } }];
    // Dots: 36 mm 120 + 20 + two of 75; 16 mm 80 + 20 + 150. Views: 4 mm 40 + 20 + 150; the same again 150.
    let expected = Breakdown { dispense_us: ms(290 + 250), inspection_us: ms(210 + 150), ..fixed() };
    assert_eq!(timed(&product, &program(Vec::new(), passes)), expected);
}

/// A random pass of one head: trips of random fill, strokes one part each, from feeders at random slots.
/// Spindles, tasks, supplies and orders of a random program.
type Drawn = (u32, Vec<(u32, i64, i64, i64)>, Vec<u32>, Vec<u8>);

fn any_program() -> impl Strategy<Value = Drawn> {
    let placements = prop::collection::vec((0u32..3, 0i64..120, 0i64..120, 0i64..360), 1..12);
    (0u32..3, placements, prop::sample::subsequence((1..=20).collect::<Vec<u32>>(), 3), prop::collection::vec(1u8..=4, 12))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 500, failure_persistence: None, ..ProptestConfig::default() })]

    /// The breakdown sums to the clock that runs along with the trips, no item is negative, and strokes
    /// are counted exactly.
    #[test]
    fn the_breakdown_is_the_whole((head, placements, slots, fills) in any_program()) {
        let product = board(&placements);
        let (line, job) = (line(), Job::new(&product, Side::Top, PANEL).expect("a job"));
        let spindles = line.station[0].head[head as usize].spindles;
        let mut trips = Vec::new();
        let mut next = 0u32;
        for fill in fills {
            let n = fill.min(spindles).min((placements.len() as u32 - next) as u8);
            let picks: Vec<[(u8, u32); 1]> = (0..n).map(|s| [(s, placements[(next + u32::from(s)) as usize].0)]).collect();
            let strokes: Vec<&[(u8, u32)]> = picks.iter().map(|p| &p[..]).collect();
            let places: Vec<(u8, u32)> = (0..n).rev().map(|s| (s, next + u32::from(s))).collect();
            if n > 0 {
                trips.push(trip(0, &strokes, &places));
            }
            next += u32::from(n);
        }
        let supplies: Vec<_> = (0..3).map(|part| feeder(part, slots[part as usize])).collect();
        let layout = vec![Some(0); usize::from(spindles)];
        let plan = program(supplies, vec![pass(head, &[&layout], trips.clone())]);
        let clock = Clock::new(&line, &job);
        let whole = clock.time(0, &plan).expect("references exist");

        let rows: Vec<_> = plan.supplies.iter().map(|s| clock.supply_row(0, s).expect("a feeder")).collect();
        let mut state = HeadState { at: Point::from_um(59_000, 10_000), drum: 0 };
        let (mut tracker, mut now) = (Tracker::new(rows.len(), vec![0; 2]), clock.fixed(0).total());
        for t in &trips {
            let picks: Vec<PickStep> = t.strokes.iter().map(|s| PickStep { spindle: s.0[0].spindle, supply: s.0[0].supply, opens: true }).collect();
            let before = now;
            let time = clock.station(0).trip(head as usize, &picks, &t.places, &rows, clock.tasks(), &mut state, &mut tracker, &mut now);
            prop_assert_eq!(now - before, time.total());
        }
        prop_assert_eq!(whole.total(), now);
        prop_assert!(whole.items().iter().all(|(_, t)| *t >= Time::ZERO), "{:?}", whole);
        let placed: i64 = trips.iter().map(|t| t.places.len() as i64).sum();
        let (pick, place) = clock.station(0).strokes(head as usize);
        prop_assert_eq!((whole.pick_strokes_us, whole.place_strokes_us), (pick * placed, place * placed));
    }
}
