//! Nozzles, gang strokes and trips on two worked instances.
//!
//! W3 and W4 of the project's literature notes: instances of our own, solved there by a bound argument
//! (W3) and by exhaustive search (W4).

mod common;

use common::{board, chip, job, planned, row, work};
use domain::job::TaskId;
use domain::line::Line;
use domain::plan::{PlaceStep, Trip, Work};
use domain::product::Product;
use domain::rules::{OrderRule, Rules};
use motion::{Clock, HeadState, PickStep, SupplyRow, Tracker};
use optimise::{nozzles::deal, tour::best_order};
use units::{Length, Point, Time};

/// Trips needed with these spindles for these placements.
fn trips(counts: &[(u32, usize)], shares: &[(u32, usize)]) -> usize {
    counts.iter().zip(shares).map(|((_, n), (_, spindles))| n.div_ceil(*spindles)).max().unwrap_or(0)
}

/// W3: four spindles; ten placements with N1 (4 A, 4 B, 2 C), two with N2 (D): four trips without a change.
#[test]
fn w3_nozzles_without_a_change() {
    let counts = [(1, 10), (2, 2)];
    let shares = deal(&counts, 4, |_| 4);
    assert_eq!(shares, [(1, 3), (2, 1)]);
    assert_eq!(trips(&counts, &shares), 4);
    // With one change: two trips of four N1, then two N1 and two N2: twelve placements, three full trips.
    assert_eq!(trips(&[(1, 8)], &deal(&[(1, 8)], 4, |_| 4)) + trips(&[(1, 2), (2, 2)], &deal(&[(1, 2), (2, 2)], 4, |_| 4)), 3);
}

/// Fewest trips over every way of dealing the spindles.
fn fewest(counts: &[(u32, usize)], spindles: usize, stock: &[u32]) -> Option<usize> {
    match counts {
        [] => Some(0),
        [(_, n), rest @ ..] => (1..=spindles.min(stock[0] as usize))
            .filter_map(|h| fewest(rest, spindles - h, &stock[1..]).map(|others| others.max(n.div_ceil(h))))
            .min(),
    }
}

/// The greedy deal is best (Raduly-Baka and others, OR Spectrum 30, 2008), also when nozzles are scarce.
#[test]
fn the_deal_against_every_other() {
    let mut rng = fastrand::Rng::with_seed(3);
    for _ in 0..2_000 {
        let kinds = rng.usize(1..=4);
        let counts: Vec<(u32, usize)> = (0..kinds as u32).map(|k| (k, rng.usize(1..=40))).collect();
        let spindles = rng.usize(kinds..=12);
        let stock: Vec<u32> = (0..kinds).map(|_| rng.u32(1..=12)).collect();
        let shares = deal(&counts, spindles, |k| stock[k as usize]);
        let used: usize = shares.iter().map(|s| s.1).sum();
        assert!(used <= spindles && shares.iter().all(|(k, n)| *n >= 1 && *n <= stock[*k as usize] as usize), "{shares:?}");
        assert_eq!(Some(trips(&counts, &shares)), fewest(&counts, spindles, &stock), "{counts:?} on {spindles} spindles, stock {stock:?}");
    }
}

/// A line of one station whose ways take distance/speed: 1 m/s, reached within a microsecond.
fn line(head: &str, slots: u32) -> Line {
    let sheet = format!(
        r#"
schema = "evenline-line/1"
name = "worked instances"
[[feeder]]
name = "tape 8"
supply = "tape"
tape_width = "8 mm"
slots = 1
advance = "0 s"
stock = {slots}
[[nozzle]]
name = "n1"
classes = ["small"]
stock = 9
[[nozzle]]
name = "n2"
classes = ["medium"]
stock = 9
[[station]]
name = "gauge-1"
kind = "gantry"
max_panel = {{ x = "300 mm", y = "300 mm" }}
transfer = "0 s"
clamp = "0 s"
axes = {{ x = {{ speed = "1 m/s", acceleration = "1000000 m/s2" }}, y = {{ speed = "1 m/s", acceleration = "1000000 m/s2" }} }}
settle_pick = "0 s"
settle_place = "0 s"
fiducial = "0 s"
nozzle_rack = {{ change = "2 s", at = {{ x = "0 mm", y = "0 mm" }} }}
[[station.bank]]
name = "front"
mount = "fixed"
slots = {slots}
first = {{ x = "10 mm", y = "0 mm" }}
pitch = "10 mm"
[[station.head]]
name = "head"
{head}
turn_90 = "0 s"
envelope = {{ min_side = "0.1 mm", max_short = "20 mm", max_long = "20 mm", max_height = "20 mm" }}
accuracy = "50 um"
place = "0 s"
sight = {{ mode = "none" }}
nozzles = ["n1", "n2"]
"#
    );
    Line::parse("worked.toml", &sheet).expect("the tests' sheet is sound")
}

/// W3's job: A x 4, B x 4, C x 2 with N1, D x 2 with N2.
fn w3() -> Product {
    let mut parts: Vec<_> = ["RG-A", "RG-B", "RG-C", "RG-D"].map(chip).to_vec();
    parts[3].nozzle_class.value = domain::part::NozzleClass::Medium;
    let kinds = [0, 0, 0, 0, 1, 1, 1, 1, 2, 2, 3, 3];
    let rows =
        kinds.iter().enumerate().map(|(k, part)| row(&format!("P{}", k + 1), *part, (10_000 + 9_000 * k as i64, 30_000), 0)).collect();
    board((140_000, 60_000), parts, rows)
}

/// W3: four spindles two slots apart. A stroke of all four is possible exactly where their feeders stand two
/// slots apart; one feeder a type cannot do with fewer than four strokes, since A is placed four times.
#[test]
fn w3_gang_strokes_align() {
    let product = w3();
    let (line, job) = (line("kind = \"inline\"\nspindles = 4\npitch = \"20 mm\"\npick = \"1 s\"", 11), job(&product));
    let clock = Clock::new(&line, &job);
    let slot = |s: i64| Point::from_um(10_000 * s, 0);
    let head_at = |spindle: u8, s: i64| clock.station(0).reference(0, spindle, slot(s));
    // A5 B7 C9 D11: spindle h over slot 5 + 2h.
    assert!((0..4u8).all(|h| head_at(h, 5 + 2 * i64::from(h)) == head_at(0, 5)));
    // A1 B3 A5 B7 with two feeders each: a second stroke at slot 1 serves A, B, A, B; strokes ABCD, ABCD, ABAB are all.
    assert!((0..4u8).all(|h| head_at(h, 1 + 2 * i64::from(h)) == head_at(0, 1)));
    assert!(head_at(1, 6) != head_at(0, 5), "neighbouring slots do not align");
}

/// W3 with the slots A1 B3 A5 B7 C9 D11 and one nozzle change: three trips of one stroke each on the clock. Fewer strokes cannot
/// pick twelve parts with four spindles.
#[test]
fn w3_three_trips_of_one_stroke_with_these_slots() {
    let product = w3();
    let (line, job) = (line("kind = \"inline\"\nspindles = 4\npitch = \"20 mm\"\npick = \"1 s\"", 11), job(&product));
    let clock = Clock::new(&line, &job);
    let slots = [1, 3, 5, 7, 9, 11];
    let supplies = slots.map(|s| SupplyRow { at: Point::from_um(10_000 * s, 0), advance: Time::ZERO, magazine: None });
    // Supplies 0 to 5: A, B, A, B, C, D. Tasks 0 to 3 are A, 4 to 7 B, 8 and 9 C, 10 and 11 D. The last spindle has N2, then N1.
    let trips: [[(u32, u32); 4]; 3] =
        [[(2, 0), (3, 4), (4, 8), (5, 10)], [(2, 1), (3, 5), (4, 9), (5, 11)], [(0, 2), (1, 6), (2, 3), (3, 7)]];
    let mut done: Vec<u32> = trips.iter().flatten().map(|c| c.1).collect();
    done.sort_unstable();
    assert_eq!(done, (0..12).collect::<Vec<u32>>());
    let of_supply = ["RG-A", "RG-B", "RG-A", "RG-B", "RG-C", "RG-D"];
    assert!(trips.iter().flatten().all(|(s, t)| job.part(TaskId(*t)).number == of_supply[*s as usize]));
    let mut state = HeadState { at: Point::default(), drum: 0 };
    let (mut tracker, mut now, mut strokes) = (Tracker::new(6, Vec::new()), Time::ZERO, Time::ZERO);
    for trip in trips {
        // All four want the same place of the head: one stroke.
        let wanted = |spindle: usize, supply: u32| clock.station(0).reference(0, spindle as u8, supplies[supply as usize].at);
        assert!(trip.iter().enumerate().all(|(k, c)| wanted(k, c.0) == wanted(0, trip[0].0)));
        let picks: Vec<PickStep> = (0u8..).zip(trip).map(|(k, c)| PickStep { spindle: k, supply: c.0, opens: k == 0 }).collect();
        let places: Vec<PlaceStep> = (0u8..).zip(trip).map(|(k, c)| PlaceStep { spindle: k, task: TaskId(c.1) }).collect();
        strokes += clock.station(0).trip(0, &picks, &places, &supplies, clock.tasks(), &mut state, &mut tracker, &mut now).strokes;
    }
    assert_eq!(strokes, Time(3_000_000));
}

fn trips_of(plan: &domain::plan::Plan) -> Vec<Trip> {
    let passes = plan.stations.iter().flat_map(|s| &s.passes);
    passes.flat_map(|p| if let Work::Place { trips, .. } = &p.work { trips.clone() } else { Vec::new() }).collect()
}

/// The planner on W3 with one feeder a type, strokes dear (1 s) and a nozzle change dearer (2 s a nozzle): it cannot
/// do with fewer strokes than four, nor fewer trips than three, and it finds the four strokes.
#[test]
fn w3_planned() {
    let product = w3();
    let mut line = line("kind = \"inline\"\nspindles = 4\npitch = \"20 mm\"\npick = \"1 s\"", 11);
    line.feeder[0].stock = 4;
    let rules = Rules { order_rule: Some(OrderRule::None), ..Rules::default() };
    let plan = planned(&product, &line, &rules, work(400_000)).plan;
    assert_eq!(plan.placed(), 12);
    let trips = trips_of(&plan);
    let strokes: usize = trips.iter().map(|t| t.strokes.len()).sum();
    println!("W3 planned: {} trips, {strokes} strokes, takt {}", trips.len(), plan.takt_us);
    assert!(trips.len() >= 3, "{} trips", trips.len());
    // A change of 2 s a spindle, paid back and forth, pays for no stroke of 1 s: four trips of one stroke each.
    assert_eq!(strokes, 4);
}

/// W4: places [mm] and types R 0, C 1, Q 2.
const W4: [(u32, i64, i64); 6] = [(0, 5, 30), (0, 35, 40), (1, 20, 25), (1, 45, 35), (2, 10, 45), (2, 40, 55)];

/// Ways take a millisecond for each millimetre, and the ramp's microsecond and the rounding's.
const PER_MM: i64 = 1_000;
/// Twelve ways a cycle.
const TOLERANCE: i64 = 12 * 2;

/// W4 on a clock.
struct Cycle<'a> {
    clock: &'a Clock<'a>,
    /// Pick point of each type.
    slots: [Point; 3],
}

/// One trip's cheapest walk: picks in order, places in order.
type Walk = (Vec<usize>, Vec<usize>, i64);

impl Cycle<'_> {
    /// Cheapest trip of three tasks that starts at a task of the trip before and ends at the given one of its own.
    fn trip(&self, tasks: [usize; 3], from: usize, end: usize) -> Walk {
        let place = |t: usize| self.clock.tasks()[t].at;
        let pick = |t: usize| self.slots[W4[t].0 as usize];
        // Stops 0 to 2 are the picks, 3 to 5 the places; no place before all picks, no other place last.
        let at = |stop: usize| if stop < 3 { pick(tasks[stop]) } else { place(tasks[stop - 3]) };
        let allowed = |stop: usize, left: u32| stop < 3 || (left & 0b111 == 0 && (tasks[stop - 3] != end || left.count_ones() == 1));
        let way = |a: Point, b: Point| self.clock.station(0).travel(a, b, 100).0;
        let (order, cost) = best_order(
            6,
            |j, left| allowed(j, left).then(|| way(place(from), at(j))),
            |i, j, left| allowed(j, left).then(|| way(at(i), at(j))),
            |_| 0,
        )
        .expect("some order is allowed");
        let of = |stop: &usize| tasks[stop % 3];
        (order[..3].iter().map(of).collect(), order[3..].iter().map(of).collect(), cost)
    }

    /// Cheapest closed cycle of two trips of three, over all ways to part the tasks and to end the trips.
    fn best(&self) -> (i64, [Walk; 2]) {
        let mut best: Option<(i64, [Walk; 2])> = None;
        // The trip with task 0 is chosen; the other follows.
        for (b, c) in (1..6).flat_map(|b| (b + 1..6).map(move |c| (b, c))) {
            let one = [0, b, c];
            let rest: Vec<usize> = (1..6).filter(|t| !one.contains(t)).collect();
            let two = [rest[0], rest[1], rest[2]];
            for (e, f) in one.into_iter().flat_map(|e| two.map(|f| (e, f))) {
                let walks = [self.trip(one, f, e), self.trip(two, e, f)];
                let cost = walks[0].2 + walks[1].2;
                if best.as_ref().is_none_or(|b| cost < b.0) {
                    best = Some((cost, walks));
                }
            }
        }
        best.expect("ten ways to part the tasks")
    }

    /// The same cycle as a program, timed trip by trip.
    fn timed(&self, walks: &[Walk; 2]) -> i64 {
        let supplies = self.slots.map(|at| SupplyRow { at, advance: Time::ZERO, magazine: None });
        let last = walks[1].1[2];
        let mut state = HeadState { at: self.clock.tasks()[last].at, drum: 0 };
        let (mut tracker, mut now, mut total) = (Tracker::new(3, Vec::new()), Time::ZERO, 0);
        for (picks, places, _) in walks {
            let spindle = |t: &usize| picks.iter().position(|p| p == t).expect("placed what was picked") as u8;
            let picks: Vec<PickStep> = picks.iter().map(|t| PickStep { spindle: spindle(t), supply: W4[*t].0, opens: true }).collect();
            let places: Vec<PlaceStep> = places.iter().map(|t| PlaceStep { spindle: spindle(t), task: TaskId(*t as u32) }).collect();
            let t = self.clock.station(0).trip(0, &picks, &places, &supplies, self.clock.tasks(), &mut state, &mut tracker, &mut now);
            total += (t.pick_travel + t.place_travel).0;
        }
        total
    }
}

#[test]
fn w4_cycles() {
    let parts = ["RG-R", "RG-C", "RG-Q"].map(chip).to_vec();
    let rows = W4.iter().enumerate().map(|(k, (part, x, y))| row(&format!("P{}", k + 1), *part, (x * 1_000, y * 1_000), 0)).collect();
    let product = board((60_000, 60_000), parts, rows);
    let (line, job) = (line("kind = \"rotary\"\nspindles = 3\nindex = \"1 us\"\npick = \"0 s\"", 4), job(&product));
    let clock = Clock::new(&line, &job);
    let cycle = |r: i64, c: i64, q: i64| Cycle { clock: &clock, slots: [r, c, q].map(|s| Point { x: Length(10_000 * s), y: Length(0) }) };
    let is = |time: i64, mm: i64| (mm * PER_MM..=mm * PER_MM + TOLERANCE).contains(&time);

    let (fixed, walks) = cycle(1, 2, 3).best();
    assert!(is(fixed, 240), "R1 C2 Q3: {fixed} µs");
    assert!(is(cycle(1, 2, 3).timed(&walks), 240), "the trips' clock agrees");

    let arrangements =
        (1..=4).flat_map(|r| (1..=4).flat_map(move |c| (1..=4).map(move |q| (r, c, q)))).filter(|(r, c, q)| r != c && c != q && r != q);
    let mut all: Vec<(i64, (i64, i64, i64))> = arrangements.map(|(r, c, q)| (cycle(r, c, q).best().0, (r, c, q))).collect();
    all.sort_unstable();
    assert_eq!(all.len(), 24);
    assert!(is(all[0].0, 235) && is(all[23].0, 260), "best {:?}, worst {:?}", all[0], all[23]);
    let named = all.iter().find(|a| a.1 == (2, 1, 3)).expect("one of all");
    assert!(is(named.0, 235), "R2 C1 Q3: {named:?}");
    let (_, walks) = cycle(2, 1, 3).best();
    assert!(is(cycle(2, 1, 3).timed(&walks), 235), "the trips' clock agrees");
    // The published order: pick a, e, f, place a, e, f; pick b, c, d, place c, b, d.
    let published = [(vec![0, 4, 5], vec![0, 4, 5], 0), (vec![1, 2, 3], vec![2, 1, 3], 0)];
    assert!(is(cycle(2, 1, 3).timed(&published), 235), "the published order takes {} µs", cycle(2, 1, 3).timed(&published));
    // Radial bound: every trip goes out and back, 2·(55 + 35).
    assert!(all[0].0 >= 180 * PER_MM);
}
