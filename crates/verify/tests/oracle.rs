//! The clock against a second clock written from `docs/timing.md` alone.
//!
//! Hand-made plans show each feature of the page once; generated ones mix them.

mod common;
mod dice;
mod textclock;

use domain::part::{Sourced, SpeedPercent};
use domain::plan::{Breakdown, Plan, Trip, Work};
use motion::Clock;
use proptest::prelude::*;
use units::{Length, Time};

/// The clock's breakdown of every station, after comparing it with the second clock.
fn both_clocks(plan: &Plan) -> Vec<Breakdown> {
    let job = plan.job().expect("a job");
    let clock = Clock::new(&plan.line, &job);
    let timed = |s: usize| {
        let first = clock.time(s, &plan.stations[s]).expect("a program whose references exist");
        let second = textclock::time(plan, s);
        let differing = first.items().into_iter().zip(second.items()).filter(|(a, b)| a != b);
        let differing: Vec<String> = differing.map(|((name, a), (_, b))| format!("{name}: clock {}, text {}", a.0, b.0)).collect();
        assert!(differing.is_empty(), "station {s}: {differing:?}\nprogram: {:?}", plan.stations[s]);
        first
    };
    (0..plan.stations.len()).map(timed).collect()
}

#[test]
fn the_hand_made_plan() {
    let times = both_clocks(&common::plan());
    // Worked by hand: two picks of one stroke and one of another, twice; three placements, twice.
    assert_eq!(times[0].pick_strokes_us, Time::from_ms(4 * 70));
    assert_eq!(times[0].place_strokes_us, Time::from_ms(6 * 80));
    assert_eq!(times[0].sight_us, Time::from_ms(2 * 100));
    // Four trips of one part past the camera: the connector is 20 x 6 mm, 2 exposures of 16 mm; the shield one.
    assert!(times[1].sight_us > Time::from_ms(6 * 220 + 2 * 130));
    // Two parts of 24 to a tray from a stack with a change of 3 s.
    assert!(times[1].tray_change_us >= Time::from_ms(250));
}

#[test]
fn alternating_passes_count_the_slower_order() {
    let mut plan = common::plan();
    let fixed = both_clocks(&plan)[1];
    plan.stations[1].alternating = true;
    let alternating = both_clocks(&plan)[1];
    // A swap falls away, the two between the three heads stay.
    assert!(alternating.head_swap_us + Time::from_ms(1_500) < fixed.head_swap_us + Time::from_ms(1));
}

#[test]
fn a_delicate_part_slows_the_head() {
    let mut plan = common::plan();
    let before = both_clocks(&plan)[0].place_travel_us;
    plan.product.parts[1].speed = Sourced::engineer(SpeedPercent(30));
    assert!(both_clocks(&plan)[0].place_travel_us > before);
}

#[test]
fn a_long_pocket_pitch_makes_the_head_wait() {
    let mut plan = common::plan();
    assert_eq!(both_clocks(&plan)[0].feeder_wait_us, Time::ZERO);
    plan.product.parts[1].tape_pitch_um = Sourced::engineer(Length(40_000));
    assert!(both_clocks(&plan)[0].feeder_wait_us > Time::ZERO);
}

/// Time goes on while heads are swapped: a feeder picked just before and just after two swaps
/// with a slow advance waits only for what the swaps leave of it.
#[test]
fn swaps_give_feeders_time() {
    let mut plan = common::plan();
    let flexible = &mut plan.stations[1];
    let Work::Place { trips, layouts } = &mut flexible.passes[2].work else { panic!("a place pass") };
    // The single head takes U1 from the drum's feeder, right after the swap from the drum.
    layouts.push(vec![Some(1)]);
    let u1 = Trip { layout: 2, strokes: trips[0].strokes.clone(), places: trips[0].places.clone(), after: 0 };
    trips.insert(0, u1);
    trips[0].strokes[0].0[0].supply = 0;
    trips[0].places[0].task = domain::job::TaskId(3);
    let again = flexible.passes[2].clone();
    flexible.passes.push(again);
    plan.line.feeder[1].advance = units::Text(Time::from_ms(2_000));
    assert!(both_clocks(&plan)[1].feeder_wait_us > Time::ZERO);
}

/// On a board of 10 x 8 mm both assumed marks fall on its middle: no way, no settling between them.
#[test]
fn marks_of_a_small_board() {
    let mut plan = common::plan();
    (plan.product.width_um, plan.product.depth_um) = (Length(10_000), Length(8_000));
    plan.panel = domain::job::Panel::SINGLE;
    plan.stations.iter_mut().for_each(|s| s.passes.clear());
    let sheet = &plan.line.station[0];
    assert_eq!(both_clocks(&plan)[0].fiducials_us, *sheet.fiducial * 2);
}

/// The drum in two trips, the single head, the drum in two trips again; the nozzle kinds of the drum's trips.
fn three_passes(first: [u32; 2], last: [u32; 2]) -> Plan {
    let mut plan = common::plan();
    let flexible = &mut plan.stations[1];
    flexible.passes.remove(0);
    let again = flexible.passes[0].clone();
    flexible.passes.push(again);
    for (pass, kinds) in [(0, first), (2, last)] {
        let Work::Place { layouts, trips } = &mut flexible.passes[pass].work else { panic!("a place pass") };
        *layouts = kinds.map(|k| vec![Some(k); 6]).to_vec();
        trips.truncate(1);
        trips.push(trips[0].clone());
        (trips[0].layout, trips[1].layout) = (0, 1);
    }
    plan
}

/// Nozzles that a head is changed to at the rack in a panel, for layouts of six alike nozzles.
fn changed(plan: &Plan) -> i64 {
    let rack = plan.line.station[1].nozzle_rack.as_ref().expect("a rack");
    both_clocks(plan)[1].nozzle_change_us.0 / rack.change.0.0
}

/// A pass finds the nozzles that the pass before with its head left, the first pass those of the panel before.
#[test]
fn a_head_keeps_its_nozzles_from_pass_to_pass() {
    let kept = three_passes([0, 1], [1, 0]);
    assert!((12..18).contains(&changed(&kept)), "within each pass only: {}", changed(&kept));
    let back = three_passes([0, 1], [0, 1]);
    assert!((24..30).contains(&changed(&back)), "within each pass and before it: {}", changed(&back));
}

/// With alternating passes the panel before ended with the pass that this one begins with.
#[test]
fn alternating_passes_find_what_the_other_order_left() {
    let mut plan = three_passes([0, 0], [1, 1]);
    plan.stations[1].alternating = true;
    // The second of the drum's passes changes all six, in either order; the first finds its own nozzles.
    assert!((6..12).contains(&changed(&plan)), "{}", changed(&plan));
    plan.stations[1].alternating = false;
    assert!((12..18).contains(&changed(&plan)), "{}", changed(&plan));
}

/// A magazine presents what the panel before used last, which depends on its order of passes.
#[test]
fn magazines_present_what_the_panel_before_used() {
    let mut plan = common::plan();
    let slow = Time::from_ms(60_000);
    plan.line.station[1].tray[1].change = units::Text(slow);
    let flexible = &mut plan.stations[1];
    let mut third_level = flexible.supplies[2].clone();
    third_level.place = domain::plan::SupplyPlace::Tray { tray: 1, level: 3 };
    flexible.supplies.push(third_level);
    flexible.passes.drain(..2);
    let Work::Place { trips, .. } = &mut flexible.passes[0].work else { panic!("a place pass") };
    trips.drain(..3);
    let mut second = flexible.passes[0].clone();
    let Work::Place { trips, .. } = &mut second.work else { panic!("a place pass") };
    trips[0].strokes[0].0[0].supply = 3;
    flexible.passes.push(second);
    // From level 3 to 2 at the start, behind the transfer; and to 3 again, behind a placement.
    let twice = both_clocks(&plan)[1].tray_change_us;
    assert!(slow < twice && twice < slow * 2);
    plan.stations[1].alternating = true;
    let once = both_clocks(&plan)[1].tray_change_us;
    assert!(Time::ZERO < once && once < slow);
}

#[test]
fn real_marks_are_looked_at() {
    let mut plan = common::plan();
    for (reference, x, y) in [("F1", 3_000, 3_000), ("F2", 57_000, 37_000), ("F3", 3_000, 37_000)] {
        let at = units::Point::from_um(x, y);
        plan.product.fiducials.push(domain::product::Fiducial { reference: reference.to_owned(), at, side: domain::product::Side::Top });
    }
    let three = both_clocks(&plan)[0].fiducials_us;
    plan.product.fiducials.pop();
    assert!(both_clocks(&plan)[0].fiducials_us < three);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 3_000, failure_persistence: None, ..ProptestConfig::default() })]
    #[test]
    fn generated_plans(rolls in prop::collection::vec(any::<u32>(), 300)) {
        both_clocks(&dice::plan(&rolls));
    }

    /// Two beams, played out twice: grants one after the other, and events in the order of time.
    #[test]
    fn generated_plans_of_two_beams(rolls in prop::collection::vec(any::<u32>(), 400)) {
        let plan = dice::kinds::two_beams(&rolls);
        both_clocks(&plan);
        let job = plan.job().expect("a job");
        let played = Clock::new(&plan.line, &job).two_beams(0, &plan.stations[0]).expect("a program whose references exist");
        let order: Vec<usize> = played.order.iter().map(|t| t.index()).collect();
        prop_assert_eq!(order, textclock::play(&plan, 0).1);
        // Nobody is on the board twice at once, and what a beam does follows on without a gap.
        let mut on_board: Vec<_> = played.stretches.iter().filter(|s| s.doing == motion::Doing::OnBoard).collect();
        on_board.sort_by_key(|s| (s.from, s.to));
        prop_assert!(on_board.windows(2).all(|w| w[0].to <= w[1].from), "{:?}", on_board);
        for beam in [1, 2] {
            let mine: Vec<_> = played.stretches.iter().filter(|s| s.beam == beam).collect();
            prop_assert!(mine.windows(2).all(|w| w[0].to == w[1].from), "{:?}", mine);
        }
    }

    #[test]
    fn generated_plans_of_turrets(rolls in prop::collection::vec(any::<u32>(), 400)) {
        both_clocks(&dice::kinds::turret(&rolls));
    }
}
