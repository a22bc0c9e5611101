//! Programs played in true time: whatever the plan, the steps are those seconds that the clock counts, and every part
//! is placed once, in the order of the program, on its pad.

mod common;

use app::check::{StationTiming, time};
use app::play::{BeamPlay, Doing, Play, Step, play};
use common::{Quiet, SHEETS};
use domain::job::{Job, Panel, TaskId};
use domain::line::{Line, StationKind};
use domain::part::{Mount, NozzleClass, Part, Sourced, SpeedPercent, Supply};
use domain::plan::{Pass, Plan, Work};
use domain::product::{Fiducial, PartId, Placement, Product, SCHEMA, Side, Status};
use domain::rules::Rules;
use optimise::Limits;
use std::collections::BTreeSet;
use units::{Angle, Length, Point, Time};

/// Numbers that look like chance and are the same each time.
struct Dice(u64);

impl Dice {
    fn roll(&mut self, below: i64) -> i64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) as i64) % below
    }
}

fn part(number: &str, body: (i64, i64, i64), class: NozzleClass, width: i64, percent: u8) -> Part {
    Part {
        number: number.to_owned(),
        value: String::new(),
        package: String::new(),
        mount: Sourced::engineer(Mount::Smt),
        body_x_um: Sourced::engineer(Length(body.0)),
        body_y_um: Sourced::engineer(Length(body.1)),
        height_um: Sourced::engineer(Length(body.2)),
        supply: Sourced::engineer(Supply::Tape),
        tape_width_um: Sourced::engineer(Length(width)),
        tape_pitch_um: Sourced::engineer(Length(width)),
        tray_pockets: Sourced::engineer(24),
        tray_height_um: Sourced::engineer(Length(8_000)),
        nozzle_class: Sourced::engineer(class),
        speed: Sourced::engineer(SpeedPercent(percent)),
        accuracy_um: Sourced::engineer(Length(100)),
        ball_grid: Sourced::engineer(false),
        shield: Sourced::engineer(false),
        adhesive_dots: Sourced::engineer(0),
        handling: domain::part::Handling::default(),
    }
}

/// Chips, a converter, a tall can, a coil; a logger and a modem in trays; a relay that is gripped.
fn parts(dots: u8) -> Vec<Part> {
    let tray = |mut p: Part| {
        p.supply = Sourced::engineer(Supply::Tray);
        p
    };
    let mut relay = tray(part("RG-RELAY", (15_000, 7_500, 9_000), NozzleClass::Gripper, 24_000, 100));
    relay.accuracy_um = Sourced::engineer(Length(200));
    let mut adc = part("RG-ADC-16", (5_000, 4_000, 1_200), NozzleClass::Large, 12_000, 80);
    adc.adhesive_dots = Sourced::engineer(dots);
    vec![
        part("RG-CAP-100N", (1_000, 500, 500), NozzleClass::Tiny, 8_000, 100),
        part("RG-RES-10K", (1_000, 500, 350), NozzleClass::Tiny, 8_000, 70),
        adc,
        part("RG-CAP-220U", (6_000, 6_000, 5_500), NozzleClass::Large, 12_000, 60),
        part("RG-COIL-22U", (1_600, 800, 800), NozzleClass::Small, 8_000, 100),
        tray(part("RG-LOGGER", (12_000, 12_000, 1_400), NozzleClass::Large, 24_000, 100)),
        tray(part("RG-MODEM-4", (34_000, 20_000, 3_000), NozzleClass::Wide, 44_000, 100)),
        relay,
    ]
}

fn product(dice: &mut Dice, placements: usize, dots: u8) -> Product {
    let parts = parts(dots);
    let row = |k: usize, dice: &mut Dice| Placement {
        reference: format!("P{k}"),
        part: Some(PartId(dice.roll(parts.len() as i64) as u32)),
        at: Point::from_um(4_000 + 500 * dice.roll(140), 4_000 + 500 * dice.roll(100)),
        rotation_mdeg: Angle(90_000 * dice.roll(4)),
        side: Side::Top,
        status: Status::Fitted,
        why: String::new(),
        origin: String::new(),
    };
    let placements = (0..placements).map(|k| row(k, dice)).collect();
    let mark =
        |(reference, x, y): (&str, i64, i64)| Fiducial { reference: reference.to_owned(), at: Point::from_um(x, y), side: Side::Top };
    let fiducials = [("F1", 5_000, 5_000), ("F2", 75_000, 55_000), ("F3", 5_000, 55_000)].map(mark).to_vec();
    let (width_um, depth_um) = (Length(80_000), Length(60_000));
    Product {
        schema: SCHEMA.to_owned(),
        name: "river gauge".to_owned(),
        width_um,
        depth_um,
        size_stated: true,
        parts,
        placements,
        fiducials,
    }
}

/// Plans of a sheet: random boards by search and by hand, with dots and views where the line can do them.
fn plans(name: &str, sheet: &str) -> Vec<Plan> {
    let line = Line::parse(name, sheet).expect("the sheet is sound");
    let glues = line.station.iter().flat_map(|s| &s.head).any(|h| h.dot.is_some());
    let looks = line.station.iter().any(|s| s.inspection.is_some());
    let mut plans = Vec::new();
    for seed in 0..4 {
        let mut dice = Dice(seed);
        let product = product(&mut dice, [3, 12, 30, 45][seed as usize], u8::from(glues) * 2);
        let panel = if seed % 2 == 0 {
            Panel::SINGLE
        } else {
            Panel { columns: 2, pitch_x_um: Length(85_000), rail_y_um: Length(5_000), ..Panel::SINGLE }
        };
        let view = "[[inspect]]\nname = \"middle\"\nx = \"20 mm\"\ny = \"20 mm\"\nwidth = \"40 mm\"\ndepth = \"20 mm\"\n";
        let rules = Rules::parse("rules.toml", if looks && seed > 0 { view } else { "" }).expect("the rules are sound");
        let job = Job::new(&product, Side::Top, panel).expect("a job");
        let limits = Limits { seconds: None, work: Some(3_000), seed, threads: 1 };
        plans.extend(optimise::plan(&job, &line, &rules, limits, &Quiet).ok().map(|p| p.plan));
        plans.extend(optimise::hand::by_hand(&job, &line, &rules, &Quiet).ok());
    }
    // Whatever the planner thought best: also with passes that alternate, and with the order of passes turned about.
    let mut more = plans.clone();
    for plan in &mut more {
        for (station, sheet) in plan.stations.iter_mut().zip(&plan.line.station) {
            station.alternating = !station.alternating && sheet.head_swap.as_ref().is_some_and(|s| s.alternate);
            station.passes.reverse();
        }
    }
    plans.extend(more);
    plans
}

fn sums(beam: &BeamPlay) -> [Time; 15] {
    let mut sums = [Time::ZERO; 15];
    beam.steps.iter().for_each(|s| sums[s.doing as usize] += s.until_us - s.from_us);
    sums
}

/// The steps of a beam that do something to a part: reference and place.
fn deeds(beam: &BeamPlay, doing: Doing) -> Vec<(String, Point)> {
    let deed = |s: &Step| Some((s.reference.clone()?, Point { x: s.x_um?, y: s.y_um? }));
    beam.steps.iter().filter(|s| s.doing == doing).filter_map(deed).collect()
}

fn named<'a>(job: &Job<'_>, passes: impl Iterator<Item = &'a Pass>, of: impl Fn(&Pass) -> Vec<TaskId>) -> Vec<(String, Point)> {
    passes.flat_map(of).map(|t| (job.name(t), job.tasks[t.index()].at)).collect()
}

fn placed(pass: &Pass) -> Vec<TaskId> {
    pass.work.placed().collect()
}

fn dotted(pass: &Pass) -> Vec<TaskId> {
    if let Work::Dispense { tasks } = &pass.work { tasks.clone() } else { Vec::new() }
}

/// Steps follow each other from 0 to the period; every place where something moves is told; picks name their slot.
fn check_steps(beam: &BeamPlay, period: Time, kind: StationKind) {
    let mut now = Time::ZERO;
    for s in &beam.steps {
        assert_eq!(s.from_us, now, "{s:?}");
        let deed = matches!(s.doing, Doing::Pick | Doing::Place | Doing::Dot);
        assert!(s.until_us > s.from_us || (deed && s.until_us == s.from_us), "{s:?}");
        now = s.until_us;
        let moves = matches!(s.doing, Doing::ToPick | Doing::Pick | Doing::ToPlace | Doing::Place | Doing::Dot | Doing::Look);
        let drum_picks = kind == StationKind::Turret && matches!(s.doing, Doing::ToPick | Doing::Pick);
        assert!(!moves || s.x_um.is_some() || drum_picks, "{s:?}");
        assert_eq!(s.x_um.is_some(), s.y_um.is_some(), "{s:?}");
        assert_eq!(s.beat.is_some(), kind == StationKind::Turret && s.from_us >= beam.steps[0].until_us && s.doing != Doing::Mark, "{s:?}");
        if matches!(s.doing, Doing::Pick | Doing::FeederWait) {
            assert!(s.slot.is_some() && s.part.is_some(), "{s:?}");
        }
        assert!(s.doing != Doing::Place || s.part.is_some(), "{s:?}");
    }
    assert_eq!(now, period);
}

fn check_station(plan: &Plan, job: &Job<'_>, index: usize, timed: &StationTiming) -> Play {
    let (planned, kind) = (&plan.stations[index], plan.line.station[index].kind);
    let played = play(plan, index).expect("the plan is sound");
    assert_eq!((played.period_us, &played.station), (timed.time_us, &planned.station));
    assert_eq!(played.beams.len(), if kind == StationKind::TwoBeam { 2 } else { 1 });
    assert_eq!(played.back.len(), usize::from(planned.alternating && kind != StationKind::TwoBeam));
    let all = || played.beams.iter().chain(&played.back);
    all().for_each(|beam| check_steps(beam, played.period_us, kind));
    assert!(all().any(|beam| sums(beam) == timed.breakdown.items().map(|(_, t)| t)), "{:?}", timed.breakdown);
    let waits = |beam: &BeamPlay| sums(beam)[Doing::Wait as usize];
    if kind == StationKind::TwoBeam {
        for (k, beam) in played.beams.iter().enumerate() {
            let own = |p: &&Pass| plan.line.station[index].head[p.head as usize].beam.map(usize::from) == Some(k + 1);
            assert_eq!(deeds(beam, Doing::Place), named(job, planned.passes.iter().filter(own), placed));
        }
        let order = motion::Clock::new(&plan.line, job).two_beams(index, planned).expect("two beams").order;
        let mut placed: Vec<(Time, String)> = Vec::new();
        for step in played.beams.iter().flat_map(|b| &b.steps).filter(|s| s.doing == Doing::Place) {
            placed.push((step.until_us, step.reference.clone().expect("a place step names its task")));
        }
        placed.sort_by_key(|(t, _)| *t);
        assert_eq!(placed.into_iter().map(|(_, n)| n).collect::<Vec<_>>(), order.into_iter().map(|t| job.name(t)).collect::<Vec<_>>());
    } else {
        assert_eq!(deeds(&played.beams[0], Doing::Place), named(job, planned.passes.iter(), placed));
        assert_eq!(deeds(&played.beams[0], Doing::Dot), named(job, planned.passes.iter(), dotted));
        for back in &played.back {
            assert_eq!(deeds(back, Doing::Place), named(job, planned.passes.iter().rev(), placed));
        }
        // One beam never waits for another, only, done early in the quicker order, for the end of the time.
        assert!(all().any(|b| waits(b) == Time::ZERO));
    }
    for beam in all() {
        let told =
            |doing: Doing| beam.steps.iter().filter(|s| s.doing == doing).filter_map(|s| s.reference.clone()).collect::<BTreeSet<_>>();
        let count = |doing: Doing| beam.steps.iter().filter(|s| s.doing == doing).count();
        assert_eq!((told(Doing::Pick), count(Doing::Pick)), (told(Doing::Place), count(Doing::Place)));
    }
    played
}

#[test]
fn the_steps_are_the_seconds_of_the_clock() {
    let (mut seen, mut kinds, mut both_ways, mut shifted, mut pairs) = (BTreeSet::new(), BTreeSet::new(), 0, 0, 0);
    for (name, sheet) in SHEETS {
        let plans = plans(name, sheet);
        assert!(plans.len() >= 8, "{name}: {} plans", plans.len());
        for plan in &plans {
            let (job, timing) = (plan.job().expect("a job"), time(plan).expect("the plan is sound"));
            for (index, timed) in timing.stations.iter().enumerate() {
                let played = check_station(plan, &job, index, timed);
                let steps = || played.beams.iter().chain(&played.back).flat_map(|b| &b.steps);
                seen.extend(steps().map(|s| s.doing.words()));
                kinds.insert(format!("{:?}", plan.line.station[index].kind));
                both_ways += played.back.len();
                shifted += steps().filter(|s| s.shift_um > Length::ZERO).count();
                pairs += steps().filter(|s| s.doing == Doing::Pick && s.from_us == s.until_us && s.beat.is_none()).count();
            }
        }
    }
    assert_eq!(seen.len(), 15, "{seen:?}");
    assert_eq!(kinds.len(), 3, "{kinds:?}");
    assert!(both_ways > 0 && shifted > 0 && pairs > 0, "{both_ways} alternating, {shifted} beside the reference, {pairs} in pairs");
}

/// An inline head keeps its reference point over a stroke that takes several parts, and goes where the pad wants it.
#[test]
fn a_row_of_spindles_moves_as_one() {
    let plans = plans("gang-pick", SHEETS[1].1);
    let mut strokes = 0;
    for plan in &plans {
        let head = &plan.line.station[0].head[0];
        let pitch = *head.pitch.expect("a row of spindles");
        let played = play(plan, 0).expect("the plan is sound");
        let mut stands: Option<(Length, Length)> = None;
        for s in &played.beams[0].steps {
            let (Some(x), Some(y), Some(spindle)) = (s.x_um, s.y_um, s.spindle) else { continue };
            assert_eq!(s.shift_um, pitch * i64::from(spindle));
            let here = (x - s.shift_um, y);
            if s.doing == Doing::Pick && s.from_us == s.until_us {
                assert_eq!(stands, Some(here));
                strokes += 1;
            }
            stands = Some(here);
        }
    }
    assert!(strokes > 0);
}

#[test]
fn words_and_json() {
    let plan = plans("one-station", SHEETS[4].1).swap_remove(4);
    let played = play(&plan, 0).expect("the plan is sound");
    let json = serde_json::to_value(&played).expect("the writer does not fail");
    let steps = json["beams"][0]["steps"].as_array().expect("steps");
    assert_eq!(json["period_us"], played.period_us.0);
    assert_eq!(steps[0]["doing"], "transfer");
    assert_eq!((&steps[0]["x_um"], &steps[0]["y_um"]), (&5_000.into(), &5_000.into()), "over the first mark");
    assert!(steps[0].get("reference").is_none() && steps[0].get("shift_um").is_none());
    let pick = steps.iter().find(|s| s["doing"] == "pick").expect("a pick");
    assert!(pick["slot"].is_string() && pick["part"].as_str().is_some_and(|p| p.starts_with("RG-")), "{pick}");
    assert!(steps.iter().any(|s| s["slot"].as_str().is_some_and(|s| s.starts_with("front ") || s.starts_with("rear "))));
    let doing = ["to-pick", "to-place", "place", "turn", "mark", "head-swap"];
    assert!(doing.iter().all(|d| steps.iter().any(|s| s["doing"] == *d)));
    assert!(steps.iter().any(|s| s["doing"] == "head-swap" && s["head"].is_string()));
}

#[test]
fn what_does_not_exist_is_told() {
    let mut plan = plans("one-station", SHEETS[4].1).swap_remove(0);
    assert_eq!(play(&plan, 7).expect_err("one station").code, "use.arguments");
    plan.stations[0].passes[0].head = 9;
    assert_eq!(play(&plan, 0).expect_err("no tenth head").code, "plan.syntax");
    plan.stations.push(plan.stations[0].clone());
    assert_eq!(play(&plan, 1).expect_err("no second station on the sheet").code, "plan.syntax");
}
