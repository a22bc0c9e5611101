//! The planner against exhaustive search on tiny jobs: one station, one head of two or three spindles,
//! three to five placements of two or three parts, three or four slots, in every other job (to four placements) a feeder more than there
//! are parts.
//!
//! The search here goes through every set-up, every dealing of tasks to trips and spindles, every order of
//! picks and places, and times each with `motion`, which alone knows what time is. It shares nothing else
//! with the planner. No outside figures are needed: the optimum is found here.

mod common;

use common::{board, chip, job, planned, row, work};
use domain::job::{Job, TaskId};
use domain::line::{HeadKind, Line};
use domain::part::{Sourced, SpeedPercent};
use domain::plan::{Outcome, PlaceStep, SupplyAt, SupplyPlace};
use domain::product::{PartId, Product};
use domain::rules::{OrderRule, Rules};
use motion::{Clock, HeadState, PickStep, SupplyRow, Tracker};
use units::{Length, Point, Time};

/// A random tiny job and its line.
struct Tiny {
    line: Line,
    product: Product,
}

impl Tiny {
    /// With so many feeders more than there are parts.
    fn new(further: u32, rng: &mut fastrand::Rng) -> Self {
        let kinds = rng.u32(2..=3);
        let feeders = kinds + further;
        let slots = rng.u32(3..=4).max(feeders);
        let spindles = rng.u32(2..=3);
        // Spindles one or two slots apart, so that gang strokes exist.
        let head = if rng.bool() {
            format!("kind = \"inline\"\nspindles = {spindles}\npitch = \"{} mm\"", 10 * rng.u32(1..=2))
        } else {
            format!("kind = \"rotary\"\nspindles = {spindles}\nindex = \"{} ms\"", rng.u32(20..=90))
        };
        let sight = [
            "mode = \"in-flight\", time = \"40 ms\"",
            "mode = \"camera\", time = \"60 ms\", field = \"20 mm\", at = { x = \"25 mm\", y = \"-30 mm\" }",
        ];
        let sheet = format!(
            r#"
schema = "evenline-line/1"
name = "tiny"
[[feeder]]
name = "tape 8"
supply = "tape"
tape_width = "8 mm"
slots = 1
advance = "{advance} ms"
stock = {feeders}
[[nozzle]]
name = "small"
classes = ["small"]
stock = 9
[[station]]
name = "gauge-1"
kind = "gantry"
max_panel = {{ x = "300 mm", y = "300 mm" }}
transfer = "2 s"
clamp = "300 ms"
axes = {{ x = {{ speed = "1.2 m/s", acceleration = "15 m/s2" }}, y = {{ speed = "1 m/s", acceleration = "12 m/s2", jerk = "900 m/s3" }} }}
settle_pick = "10 ms"
settle_place = "20 ms"
fiducial = "150 ms"
[[station.bank]]
name = "front"
mount = "fixed"
slots = {slots}
first = {{ x = "0 mm", y = "-60 mm" }}
pitch = "10 mm"
[[station.head]]
name = "head"
{head}
turn_90 = "50 ms"
envelope = {{ min_side = "0.1 mm", max_short = "20 mm", max_long = "20 mm", max_height = "20 mm" }}
accuracy = "50 um"
pick = "80 ms"
place = "90 ms"
sight = {{ {sight} }}
nozzles = ["small"]
"#,
            advance = rng.u32(20..=250),
            sight = sight[rng.usize(..2)],
        );
        let line = Line::parse("tiny.toml", &sheet).expect("the tests' sheet is sound");
        let mut parts: Vec<_> = ["RG-CAP-100N", "RG-RES-10K", "RG-XTAL"][..kinds as usize].iter().map(|n| chip(n)).collect();
        for part in &mut parts {
            part.speed = Sourced::engineer(SpeedPercent([100, 100, 60][rng.usize(..3)]));
        }
        let at = |rng: &mut fastrand::Rng| (rng.i64(5_000..75_000), rng.i64(5_000..75_000));
        // Every part at least once, so that each needs its slot.
        let rows = (0..rng.u32(3..=5 - further))
            .map(|k| row(&format!("P{}", k + 1), if k < kinds { k } else { rng.u32(..kinds) }, at(rng), rng.i64(0..4) * 90));
        let rows = rows.collect();
        Self { line, product: board((80_000, 80_000), parts, rows) }
    }
}

/// Where a program stands after some trips.
#[derive(Clone)]
struct Stand {
    head: HeadState,
    tracker: Tracker,
    now: Time,
}

/// Exhaustive search for the shortest program.
struct Search<'a> {
    clock: &'a Clock<'a>,
    job: &'a Job<'a>,
    spindles: u8,
    inline: bool,
    /// Least time of a trip beyond its strokes and placements, of a stroke and of a placement.
    least: [Time; 3],
    supplies: Vec<SupplyRow>,
    /// Part of each supply.
    parts: Vec<PartId>,
    /// The shortest time found.
    best: Time,
}

impl Search<'_> {
    /// No way to do the tasks of `left` is shorter than this.
    fn at_least(&self, left: u32) -> Time {
        let left = left.count_ones();
        let (n, trips) = (i64::from(left), i64::from(left.div_ceil(u32::from(self.spindles))));
        self.least[0] * trips + self.least[1] * if self.inline { trips } else { n } + self.least[2] * n
    }

    /// Goes on with every trip that could follow.
    fn trips(&mut self, stand: &Stand, left: u32) {
        if left == 0 {
            self.best = self.best.min(stand.now);
        }
        for load in 1..=left {
            if load & !left == 0 && load.count_ones() <= u32::from(self.spindles) {
                self.picks(stand, left, load, &mut Vec::new());
            }
        }
    }

    /// Every order of picking the tasks of `load`, with every free spindle and every supply of its part for each.
    fn picks(&mut self, stand: &Stand, left: u32, load: u32, picked: &mut Vec<(u8, usize, u32)>) {
        if picked.len() as u32 == load.count_ones() {
            self.places(stand, left, load, picked, &mut Vec::new());
            return;
        }
        for t in (0..self.job.tasks.len()).filter(|t| load >> t & 1 == 1) {
            for s in (0..self.spindles).filter(|s| !picked.iter().any(|(spindle, task, _)| spindle == s || *task == t)).collect::<Vec<_>>()
            {
                for supply in (0..self.parts.len()).filter(|k| self.parts[*k] == self.job.tasks[t].part).collect::<Vec<_>>() {
                    picked.push((s, t, supply as u32));
                    self.picks(stand, left, load, picked);
                    picked.pop();
                }
            }
        }
    }

    /// Every order of placing them.
    fn places(&mut self, stand: &Stand, left: u32, load: u32, picked: &[(u8, usize, u32)], placed: &mut Vec<PlaceStep>) {
        if placed.len() == picked.len() {
            self.next(stand, left & !load, picked, placed);
            return;
        }
        for (spindle, task) in picked.iter().map(|(s, t, _)| (*s, TaskId(*t as u32))) {
            if !placed.iter().any(|p| p.spindle == spindle) {
                placed.push(PlaceStep { spindle, task });
                self.places(stand, left, load, picked, placed);
                placed.pop();
            }
        }
    }

    /// Times the trip and searches on, unless it cannot be the shortest any more.
    fn next(&mut self, stand: &Stand, left: u32, picked: &[(u8, usize, u32)], placed: &[PlaceStep]) {
        let picks = self.strokes(picked);
        let mut after = stand.clone();
        self.clock.station(0).trip(
            0,
            &picks,
            placed,
            &self.supplies,
            self.clock.tasks(),
            &mut after.head,
            &mut after.tracker,
            &mut after.now,
        );
        if after.now + self.at_least(left) < self.best {
            self.trips(&after, left);
        }
    }

    /// Picks that follow each other with the head in one place make one stroke of an inline head; splitting it
    /// would only add strokes.
    fn strokes(&self, picked: &[(u8, usize, u32)]) -> Vec<PickStep> {
        let stand = |(s, _, supply): (u8, usize, u32)| self.clock.station(0).reference(0, s, self.supplies[supply as usize].at);
        let opens = |k: usize| !self.inline || k == 0 || stand(picked[k - 1]) != stand(picked[k]);
        picked
            .iter()
            .enumerate()
            .map(|(k, (spindle, _, supply))| PickStep { spindle: *spindle, supply: *supply, opens: opens(k) })
            .collect()
    }
}

/// The shortest time of any program that takes no more than `known`; more than `known` if there is none.
fn exhaustive(tiny: &Tiny, known: Time) -> Time {
    let (job, station) = (job(&tiny.product), &tiny.line.station[0]);
    let clock = Clock::new(&tiny.line, &job);
    let head = &station.head[0];
    let sight = head.sight.as_ref().map_or(Time::ZERO, |s| *s.time);
    // Every trip goes from a pad or a mark to the bank and back, at least along Y.
    let lowest = job.tasks.iter().map(|t| t.at.y).min().unwrap_or_default();
    let way = clock.station(0).travel(Point { x: Length(0), y: lowest }, Point { x: Length(0), y: *station.bank[0].first.y }, 100);
    let (settle_pick, settle_place) = clock.station(0).settles();
    let trip = sight + way * 2 + settle_pick + settle_place;
    let tasks = job.tasks.len();
    let parts = tiny.product.parts.len();
    let mut best = known + Time(1);
    for set_up in set_ups(station.bank[0].slots, parts, tiny.line.feeder[0].stock as usize) {
        let at = |(part, slot): (PartId, u32)| SupplyAt { part, place: SupplyPlace::Feeder { bank: 0, slot, feeder: 0 } };
        let supplies = set_up.iter().map(|s| clock.supply_row(0, &at(*s)).expect("a feeder")).collect();
        let mut search = Search {
            clock: &clock,
            job: &job,
            spindles: head.spindles,
            inline: head.kind == HeadKind::Inline,
            least: [trip, *head.pick, *head.place],
            supplies,
            parts: set_up.iter().map(|s| s.0).collect(),
            best,
        };
        let at = job.fiducials[job.fiducials.len() - 1];
        let tracker = Tracker::new(set_up.len(), Vec::new());
        let stand = Stand { head: HeadState { at, drum: 0 }, tracker, now: clock.fixed(0).total() };
        search.trips(&stand, (1 << tasks) - 1);
        best = search.best;
    }
    best
}

/// Every way to give each part a slot of its own, and what is left of the feeders to any part: part and slot of each.
fn set_ups(slots: u32, parts: usize, feeders: usize) -> Vec<Vec<(PartId, u32)>> {
    let mut all = vec![Vec::new()];
    for k in 0..feeders {
        let longer = |s: &Vec<(PartId, u32)>| {
            let may = if k < parts { k..k + 1 } else { 0..parts };
            let free = (1..=slots).filter(|n| !s.iter().any(|(_, slot)| slot == n)).collect::<Vec<_>>();
            let each = may.flat_map(|part| free.iter().map(move |n| (PartId(part as u32), *n)));
            each.map(|new| [&s[..], &[new]].concat()).collect::<Vec<_>>()
        };
        all = all.iter().flat_map(longer).collect();
    }
    all
}

#[test]
fn the_planner_finds_the_optimum_of_tiny_lines() {
    let mut rng = fastrand::Rng::with_seed(235);
    let rules = Rules { order_rule: Some(OrderRule::None), ..Rules::default() };
    let (cases, mut reached, mut several) = (40, 0, 0);
    for case in 0..cases {
        let tiny = Tiny::new(case % 2, &mut rng);
        let plan = planned(&tiny.product, &tiny.line, &rules, work(200_000)).plan;
        assert_eq!(plan.placed(), tiny.product.placements.len(), "case {case}: everything is placed");
        let optimum = exhaustive(&tiny, plan.takt_us);
        assert!(plan.takt_us >= optimum, "case {case}: planned {} µs, but no program takes less than {} µs", plan.takt_us.0, optimum.0);
        assert!(plan.bound_us <= optimum, "case {case}: bound {} µs above the optimum {} µs", plan.bound_us.0, optimum.0);
        assert!(plan.outcome != Outcome::ProvenOptimal || plan.takt_us == optimum, "case {case}");
        several += usize::from(plan.stations[0].supplies.len() > tiny.product.parts.len());
        if plan.takt_us == optimum {
            reached += 1;
        } else {
            let (head, n) = (&tiny.line.station[0].head[0], tiny.product.placements.len());
            println!(
                "case {case} ({} of {}, {n} placements, {} supplies): planned {}, optimum {}",
                head.kind,
                head.spindles,
                plan.stations[0].supplies.len(),
                plan.takt_us,
                optimum
            );
        }
    }
    println!("the planner reached the optimum of {reached} of {cases} tiny lines");
    assert!(reached * 10 >= cases * 9, "{reached} of {cases}");
    assert!(several > 0, "no part is ever given a further feeder");
}

/// Slots do matter: the search is exhaustive over them too.
#[test]
fn set_ups_are_all_there() {
    let slots = |all: Vec<Vec<(PartId, u32)>>| all.iter().map(|s| s.iter().map(|x| x.1).collect()).collect::<Vec<Vec<u32>>>();
    assert_eq!(set_ups(4, 3, 3).len(), 24);
    assert_eq!(slots(set_ups(3, 2, 2)), [[1, 2], [1, 3], [2, 1], [2, 3], [3, 1], [3, 2]]);
    // The third feeder goes to either part.
    assert_eq!(set_ups(3, 2, 3).len(), 12);
}
