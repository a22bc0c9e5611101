//! Every rule of `docs/planning.md` §1 as a small scenario: planned, looked at here, and accepted by the
//! independent checker.
//!
//! The scenario: one side of a river gauge's telemetry board on a line of a chip station and a flexible one
//! (`data/line.toml`). What a rule demands is read from the page; nothing here is taken from the planner.

mod common;

use common::{Quiet, board, chip, job, part, planned, row, work};
use domain::line::Line;
use domain::part::{Mount, NozzleClass, Part, Sourced, SpeedPercent, Supply};
use domain::plan::{Outcome, Plan, SupplyPlace, Work};
use domain::product::Product;
use domain::rules::Rules;
use optimise::{Limits, hand, plan};
use std::collections::BTreeMap;
use units::Length;

fn line() -> Line {
    Line::parse("line.toml", include_str!("data/line.toml")).expect("the tests' sheet is sound")
}

fn rules(text: &str) -> Rules {
    Rules::parse("rules.toml", text).unwrap_or_else(|finding| panic!("{finding:?}"))
}

const CAP: u32 = 0;
const RES: u32 = 1;
const LOGGER: u32 = 2;
const CAN: u32 = 3;
const SHIELD: u32 = 4;
const ANTENNA: u32 = 5;
const CONNECTOR: u32 = 6;

fn parts() -> Vec<Part> {
    let tray = |mut p: Part| {
        p.supply = Sourced::engineer(Supply::Tray);
        p
    };
    let tape_16 = |mut p: Part| {
        (p.tape_width_um, p.tape_pitch_um) = (Sourced::engineer(Length(16_000)), Sourced::engineer(Length(12_000)));
        p
    };
    let mut parts = vec![
        chip("RG-CAP-100N"),
        chip("RG-RES-10K"),
        tray(part("RG-LOGGER", (14_000, 14_000, 1_400), NozzleClass::Wide)),
        tape_16(part("RG-CAP-220U", (8_000, 8_000, 10_000), NozzleClass::Large)),
        tray(part("RG-SHIELD", (20_000, 16_000, 3_000), NozzleClass::Wide)),
        tape_16(part("RG-ANTENNA", (10_000, 6_000, 2_000), NozzleClass::Large)),
        tray(part("RG-CON-6", (20_000, 6_000, 8_000), NozzleClass::Gripper)),
    ];
    parts[LOGGER as usize].ball_grid = Sourced::engineer(true);
    parts[LOGGER as usize].speed = Sourced::engineer(SpeedPercent(60));
    parts[SHIELD as usize].shield = Sourced::engineer(true);
    parts[ANTENNA as usize].adhesive_dots = Sourced::engineer(2);
    parts
}

/// C1 stands 0.4 mm beside the tall E1; C2 and R2 lie under the shield S1; the rest stand alone.
fn gauge() -> Product {
    let mut rows = vec![
        row("E1", CAN, (25_200, 20_000), 0),
        row("S1", SHIELD, (55_000, 42_000), 0),
        row("C1", CAP, (20_000, 20_000), 0),
        row("C2", CAP, (50_000, 40_000), 90),
        row("R2", RES, (58_000, 45_000), 0),
        row("U1", LOGGER, (55_000, 15_000), 90),
        row("A1", ANTENNA, (10_000, 50_000), 0),
        row("X1", CONNECTOR, (80_000, 30_000), 90),
    ];
    for k in 0..6i64 {
        rows.push(row(&format!("C{}", 11 + k), CAP, (8_000 + 4_000 * k, 6_000), 90 * (k % 4)));
        rows.push(row(&format!("R{}", 11 + k), RES, (12_000 + 4_000 * k, 34_000), 0));
    }
    board((90_000, 60_000), parts(), rows)
}

/// Accepted by the checker, with its own takt and bound.
fn accepted(plan: &Plan) {
    let verdict = verify::verify(plan);
    assert!(verdict.accepted, "{:#?}", verdict.violations);
    assert_eq!((verdict.takt_us, verdict.bound_us), (plan.takt_us, plan.bound_us));
    assert!(plan.bound_us <= plan.takt_us);
}

/// Plans and has it checked.
fn sound(product: &Product, line: &Line, rules: &Rules) -> Plan {
    let plan = planned(product, line, rules, work(30_000)).plan;
    accepted(&plan);
    plan
}

/// All placed, none left out.
fn complete(product: &Product, rules_text: &str) -> Plan {
    let plan = sound(product, &line(), &rules(rules_text));
    assert_eq!(plan.unplaced, [], "everything can be placed");
    plan
}

/// Everything that happens on the line, in order: references placed, `dots REFERENCE`, `look`.
fn story(plan: &Plan) -> Vec<String> {
    let job = plan.job().expect("a job");
    let mut story = Vec::new();
    for pass in plan.stations.iter().flat_map(|s| &s.passes) {
        match &pass.work {
            Work::Place { .. } | Work::Turret { .. } => story.extend(pass.work.placed().map(|t| job.name(t))),
            Work::Dispense { tasks } => story.extend(tasks.iter().map(|t| format!("dots {}", job.name(*t)))),
            Work::Inspect { views } => story.extend(views.iter().map(|_| "look".to_owned())),
        }
    }
    story
}

fn when(story: &[String], what: &str) -> usize {
    story.iter().position(|s| s == what).unwrap_or_else(|| panic!("`{what}` happens: {story:?}"))
}

/// All of `first` come before all of `then`.
fn comes_before(plan: &Plan, first: &[&str], then: &[&str]) {
    let story = story(plan);
    for (a, b) in first.iter().flat_map(|a| then.iter().map(move |b| (a, b))) {
        assert!(when(&story, a) < when(&story, b), "{a} before {b}: {story:?}");
    }
}

/// Station and head that place each part.
fn places_of(plan: &Plan) -> BTreeMap<String, Vec<(String, String)>> {
    let job = plan.job().expect("a job");
    let mut all: BTreeMap<String, Vec<(String, String)>> = BTreeMap::new();
    for (s, station) in plan.stations.iter().enumerate() {
        for pass in &station.passes {
            let Work::Place { trips, .. } = &pass.work else { continue };
            let here = (station.station.clone(), plan.line.station[s].head[pass.head as usize].name.clone());
            for place in trips.iter().flat_map(|t| &t.places) {
                let list = all.entry(job.part(place.task).number.clone()).or_default();
                if !list.contains(&here) {
                    list.push(here.clone());
                }
            }
        }
    }
    all
}

#[test]
fn clearance_puts_low_parts_first_and_shields_last() {
    for rule in ["", "order_rule = \"clearance\""] {
        let plan = complete(&gauge(), rule);
        comes_before(&plan, &["C1"], &["E1"]);
        comes_before(&plan, &["C2", "R2"], &["S1"]);
        comes_before(&plan, &["dots A1"], &["A1"]);
    }
}

/// A neighbour just beyond the reach asks for nothing: the same pair 1 mm apart, either order is accepted, so
/// the checker must accept what the planner does.
#[test]
fn clearance_ends_at_the_reach() {
    let mut product = gauge();
    product.placements[0].at.x = Length(25_800);
    complete(&product, "");
}

#[test]
fn operation_order() {
    let plan = complete(&gauge(), "order_rule = \"operation\"");
    let story = story(&plan);
    assert_eq!(when(&story, "U1"), 0, "the ball-grid part on a clean board: {story:?}");
    assert_eq!(when(&story, "dots A1"), 1, "then the adhesive: {story:?}");
    comes_before(&plan, &["C1"], &["E1"]);
    comes_before(&plan, &["C2", "R2"], &["S1"]);
}

/// A ball-grid part under 10 mm is not large: it goes with the others.
#[test]
fn a_small_ball_grid_is_no_exception() {
    let mut product = gauge();
    let logger = &mut product.parts[LOGGER as usize];
    (logger.body_x_um, logger.body_y_um) = (Sourced::engineer(Length(9_500)), Sourced::engineer(Length(9_500)));
    let plan = complete(&product, "order_rule = \"operation\"");
    assert_eq!(when(&story(&plan), "dots A1"), 0, "{:?}", story(&plan));
}

#[test]
fn low_before_tall() {
    let plan = complete(&gauge(), "order_rule = \"low-before-tall\"");
    let job = plan.job().expect("a job");
    // Steps of the sheet: up to 2.5 mm, up to 6 mm, above.
    let step = |name: &str| {
        let task = (0..job.tasks.len() as u32).map(domain::job::TaskId).find(|t| job.name(*t) == name).expect("a task");
        [2_500, 6_000].iter().filter(|limit| job.part(task).height_um.value.0 > **limit).count()
    };
    let steps: Vec<usize> = story(&plan).iter().filter(|s| !s.starts_with("dots")).map(|s| step(s)).collect();
    assert!(steps.is_sorted(), "{steps:?}: {:?}", story(&plan));
    comes_before(&plan, &["C2", "R2"], &["S1"]);
}

#[test]
fn no_order_still_sets_dots_first() {
    comes_before(&complete(&gauge(), "order_rule = \"none\""), &["dots A1"], &["A1"]);
}

#[test]
fn the_engineers_orders() {
    let plan = complete(&gauge(), "[[order]]\nfirst = [\"R*\"]\nthen = [\"C1\", \"X1\"]\n[[order]]\nfirst = [\"X1\"]\nthen = [\"U1\"]\n");
    let resistors = ["R2", "R11", "R12", "R13", "R14", "R15", "R16"];
    comes_before(&plan, &resistors, &["C1", "X1"]);
    comes_before(&plan, &["X1"], &["U1"]);
}

#[test]
fn an_area_is_looked_at_first() {
    let text = "[[inspect]]\nname = \"under the logger\"\nx = \"46 mm\"\ny = \"6 mm\"\nwidth = \"18 mm\"\ndepth = \"18 mm\"\n";
    let plan = complete(&gauge(), text);
    comes_before(&plan, &["look"], &["U1"]);
    // A field of 20 x 20 mm covers it in one view; a wider area needs two.
    assert_eq!(story(&plan).iter().filter(|s| *s == "look").count(), 1);
    let wide = complete(&gauge(), &text.replace("width = \"18 mm\"", "width = \"21 mm\""));
    assert_eq!(story(&wide).iter().filter(|s| *s == "look").count(), 2);
}

#[test]
fn orders_hold_in_every_image_of_a_panel() {
    let product = gauge();
    let panel =
        domain::job::Panel { columns: 2, rows: 2, pitch_x_um: Length(95_000), pitch_y_um: Length(65_000), ..domain::job::Panel::SINGLE };
    let job = domain::job::Job::new(&product, domain::product::Side::Top, panel).expect("a job");
    for text in ["", "order_rule = \"operation\"", "[[order]]\nfirst = [\"C1\"]\nthen = [\"R11\"]\n"] {
        let plan = plan(&job, &line(), &rules(text), work(20_000), &Quiet::new()).expect("it can be planned").plan;
        accepted(&plan);
        assert_eq!((plan.placed(), plan.unplaced.len()), (80, 0), "{text}");
    }
}

/// Rails, turned boards, marks of the panel and of bad boards: what the geometry forces holds on turned boards too.
#[test]
fn panels_with_all_that_belongs_to_them() {
    let product = gauge();
    let at = |x: i64, y: i64| units::Point::from_um(x, y);
    for turned in domain::job::Turned::ALL {
        let panel = domain::job::Panel {
            columns: 2,
            rows: 2,
            pitch_x_um: Length(95_000),
            pitch_y_um: Length(65_000),
            rail_x_um: Length(5_000),
            rail_y_um: Length(7_000),
            turned: *turned,
            marks: Some(at(4_000, 3_500)),
            bad_mark: Some(at(2_000, 3_000)),
        };
        let job = domain::job::Job::new(&product, domain::product::Side::Top, panel).expect("a job");
        assert_eq!((job.size.x - product.width_um, job.size.y - product.depth_um), (Length(105_000), Length(79_000)));
        assert_eq!(job.fiducials.len(), 3 + 4);
        for text in ["", "[[order]]\nfirst = [\"C1\"]\nthen = [\"R11\"]\n"] {
            let plan = plan(&job, &line(), &rules(text), work(20_000), &Quiet::new()).expect("it can be planned").plan;
            accepted(&plan);
            assert_eq!((plan.placed(), plan.unplaced.len()), (80, 0), "{text}");
        }
        let looks = rules("[[inspect]]\nx = \"1 mm\"\ny = \"1 mm\"\nwidth = \"5 mm\"\ndepth = \"5 mm\"\n");
        let looked = plan(&job, &line(), &looks, work(500), &Quiet::new());
        let refused = looked.is_err_and(|f| f.iter().all(|f| f.code == "plan.panel"));
        assert_eq!(refused, *turned != domain::job::Turned::None, "{turned}");
    }
}

#[test]
fn a_lock_to_station_and_head() {
    let plan = complete(
        &gauge(),
        "[[lock]]\npart = \"RG-RES-10K\"\nstation = \"flex-2\"\nhead = \"drum\"\n[[lock]]\npart = \"RG-CAP-100N\"\nstation = \"chip-1\"\n",
    );
    let places = places_of(&plan);
    assert_eq!(places["RG-RES-10K"], [("flex-2".to_owned(), "drum".to_owned())]);
    assert_eq!(places["RG-CAP-100N"], [("chip-1".to_owned(), "row".to_owned())]);
}

#[test]
fn a_lock_to_bank_and_slot() {
    for (bank, slot) in [("front", 7), ("rear", 5)] {
        let plan =
            complete(&gauge(), &format!("[[lock]]\npart = \"RG-CAP-220U\"\nstation = \"flex-2\"\nbank = \"{bank}\"\nslot = {slot}\n"));
        let cans: Vec<&SupplyPlace> =
            plan.stations.iter().flat_map(|s| &s.supplies).filter(|s| s.part.0 == CAN).map(|s| &s.place).collect();
        assert_eq!(cans, [&SupplyPlace::Feeder { bank: u32::from(bank == "rear"), slot, feeder: 1 }]);
    }
    let plan = complete(&gauge(), "[[lock]]\npart = \"RG-CAP-220U\"\nstation = \"flex-2\"\nbank = \"rear\"\n");
    let place = &plan.stations[1].supplies.iter().find(|s| s.part.0 == CAN).expect("its feeder").place;
    assert!(matches!(place, SupplyPlace::Feeder { bank: 1, .. }), "{place:?}");
}

#[test]
fn a_part_kept_away() {
    let plan = complete(
        &gauge(),
        "[[forbid]]\npart = \"RG-RES-10K\"\nstation = \"chip-1\"\n[[forbid]]\npart = \"RG-CAP-220U\"\nstation = \"flex-2\"\nhead = \"drum\"\n",
    );
    assert_eq!(places_of(&plan)["RG-RES-10K"], [("flex-2".to_owned(), "drum".to_owned())]);
    assert_eq!(places_of(&plan)["RG-CAP-220U"], [("flex-2".to_owned(), "single".to_owned())]);
}

/// References left out and the code of each.
fn left_out(plan: &Plan) -> Vec<(&str, &str)> {
    plan.unplaced.iter().map(|u| (u.reference.as_str(), u.code.as_str())).collect()
}

/// The plan of a changed product or line; what is left out has a reason, the rest is planned and sound.
fn changed(product: impl Fn(&mut Product), sheet: impl Fn(&mut Line), rules_text: &str) -> Plan {
    let (mut p, mut l) = (gauge(), line());
    product(&mut p);
    sheet(&mut l);
    let plan = sound(&p, &l, &rules(rules_text));
    assert_eq!(plan.placed() + plan.unplaced.len(), p.placements.len(), "nothing is lost");
    assert!(plan.unplaced.iter().all(|u| !u.message.is_empty()));
    plan
}

#[test]
fn parts_that_no_head_can_take() {
    let with = |change: &dyn Fn(&mut Part)| changed(|p| change(&mut p.parts[CONNECTOR as usize]), |_| (), "");
    let code = |change: &dyn Fn(&mut Part)| {
        let plan = with(change);
        assert_eq!(left_out(&plan).iter().map(|u| u.0).collect::<Vec<_>>(), ["X1"]);
        plan.unplaced[0].code.clone()
    };
    assert_eq!(code(&|c| c.body_x_um.value = Length(61_000)), "plan.part-too-large");
    assert_eq!(code(&|c| c.height_um.value = Length(26_000)), "plan.part-too-large");
    assert_eq!(code(&|c| c.body_y_um.value = Length(200)), "plan.part-too-small");
    assert_eq!(code(&|c| c.accuracy_um.value = Length(20)), "plan.accuracy");
    assert_eq!(code(&|c| c.mount.value = Mount::ThroughHole), "plan.through-hole");
    assert_eq!(code(&|c| c.mount.value = Mount::Hand), "plan.by-hand");
    let tape = |c: &mut Part| (c.supply.value, c.tape_width_um.value) = (Supply::Tape, Length(72_000));
    assert_eq!(code(&tape), "plan.no-feeder");
    assert_eq!(code(&|c| c.supply.value = Supply::Stick), "plan.no-feeder");
    assert_eq!(code(&|c| c.nozzle_class.value = NozzleClass::Micro), "plan.no-nozzle");
}

/// The only head for adhesive stands behind the station that a lock binds the part to: left out, never placed without its dots.
#[test]
fn a_part_is_not_placed_without_its_dots() {
    let lock = "[[lock]]\npart = \"RG-CAP-100N\"\nstation = \"chip-1\"\n";
    let plan = changed(|p| p.parts[0].adhesive_dots = Sourced::engineer(1), |_| (), lock);
    let caps = plan.product.placements.iter().filter(|p| p.part.is_some_and(|x| x.0 == 0)).count();
    assert_eq!(left_out(&plan).len(), caps, "{:?}", left_out(&plan));
    assert!(left_out(&plan).iter().all(|u| u.1 == "plan.order"), "{:?}", left_out(&plan));
}

#[test]
fn a_line_that_lacks_something() {
    let no_jaws = changed(|_| (), |l| l.station[1].head[2].nozzles.retain(|n| n != "jaws"), "");
    assert_eq!(left_out(&no_jaws), [("X1", "plan.no-nozzle")]);
    let no_glue = changed(|_| (), |l| drop(l.station[1].head.remove(0)), "");
    assert_eq!(left_out(&no_glue), [("A1", "plan.no-adhesive")]);
    let off_board = changed(|p| p.placements[7].at.x = Length(-100_000), |_| (), "");
    assert_eq!(left_out(&off_board), [("X1", "plan.off-board")]);
    let small = changed(|_| (), |l| l.station[1].max_panel.x.0 = Length(60_000), "");
    assert!(small.unplaced.iter().any(|u| u.code == "plan.board-too-large"), "{:?}", left_out(&small));
}

/// A look at an area is asked for and no station can look: no plan can keep the rule.
#[test]
fn an_inspection_that_no_station_can_do() {
    let (product, mut line) = (gauge(), line());
    line.station[0].inspection = None;
    let text = "[[inspect]]\nx = \"46 mm\"\ny = \"6 mm\"\nwidth = \"18 mm\"\ndepth = \"18 mm\"\n";
    match plan(&job(&product), &line, &rules(text), work(20_000), &Quiet::new()) {
        Err(findings) => assert!(findings.iter().any(|f| f.code == "plan.no-inspection"), "{findings:?}"),
        Ok(done) => {
            accepted(&done.plan);
            let told = done.plan.findings.iter().map(|f| f.code.as_str()).chain(done.plan.unplaced.iter().map(|u| u.code.as_str()));
            assert!(told.into_iter().any(|c| c == "plan.no-inspection"), "{:?} {:?}", done.plan.findings, done.plan.unplaced);
        }
    }
}

#[test]
fn more_feeders_than_slots() {
    // Eight slots of chips at chip-1 shrink to one, ten and six at flex-2 to two and none: the can and the antenna
    // take two slots each, the chips one each.
    let plan = changed(
        |_| (),
        |l| {
            l.station[0].bank[0].slots = 1;
            l.station[1].bank.truncate(1);
            l.station[1].bank[0].slots = 3;
        },
        "",
    );
    assert!(!plan.unplaced.is_empty());
    assert!(plan.unplaced.iter().all(|u| u.code == "plan.no-slot"), "{:?}", left_out(&plan));
    // One of the two 16 mm parts has room; the other, a single placement, is what is left out.
    assert_eq!(plan.unplaced.len(), 1, "{:?}", left_out(&plan));
}

#[test]
fn feeders_out_of_stock() {
    let plan = changed(|_| (), |l| l.feeder[1].stock = 1, "");
    assert_eq!(plan.unplaced.len(), 1, "{:?}", left_out(&plan));
    assert!(["plan.no-stock", "plan.no-slot"].contains(&plan.unplaced[0].code.as_str()), "{:?}", left_out(&plan));
}

/// The engineer's order asks for work at the first station after work at the last.
#[test]
fn an_order_against_the_line() {
    let plan =
        changed(|_| (), |_| (), "[[order]]\nfirst = [\"X1\"]\nthen = [\"R*\"]\n[[forbid]]\npart = \"RG-RES-10K\"\nstation = \"flex-2\"\n");
    assert!(!plan.unplaced.is_empty() && plan.unplaced.iter().all(|u| u.code == "plan.order"), "{:?}", left_out(&plan));
}

/// Codes of the findings that forbid any plan.
fn refused(rules_text: &str) -> Vec<String> {
    let product = gauge();
    let findings = plan(&job(&product), &line(), &rules(rules_text), work(1_000), &Quiet::new()).expect_err("it is refused");
    assert!(findings.iter().all(|f| !f.message.is_empty()));
    // The hand method refuses the same.
    let by_hand = hand::by_hand(&job(&product), &line(), &rules(rules_text), &Quiet::new()).expect_err("it is refused");
    assert_eq!(findings, by_hand);
    findings.into_iter().map(|f| f.code).collect()
}

#[test]
fn contradictions_are_refused() {
    let lock = |part: &str, rest: &str| format!("[[lock]]\npart = \"{part}\"\n{rest}\n");
    let same_slot = "station = \"flex-2\"\nbank = \"front\"\nslot = 3";
    assert_eq!(refused(&(lock("RG-CAP-220U", same_slot) + &lock("RG-ANTENNA", same_slot))), ["plan.lock-conflict"]);
    let twice = lock("RG-RES-10K", "station = \"chip-1\"") + &lock("RG-RES-10K", "station = \"flex-2\"");
    assert_eq!(refused(&twice), ["plan.lock-conflict"]);
    let forbidden = lock("RG-RES-10K", "station = \"chip-1\"") + "[[forbid]]\npart = \"RG-RES-10K\"\nstation = \"chip-1\"\n";
    assert_eq!(refused(&forbidden), ["plan.lock-conflict"]);
    assert_eq!(
        refused("[[order]]\nfirst = [\"C1\"]\nthen = [\"R11\"]\n[[order]]\nfirst = [\"R11\"]\nthen = [\"C1\"]\n"),
        ["plan.order-cycle"]
    );
    assert_eq!(refused("[[order]]\nfirst = [\"C*\"]\nthen = [\"C11\"]\n"), ["plan.order-cycle"]);
    // The ranks put the logger first, the engineer last.
    assert_eq!(refused("order_rule = \"operation\"\n[[order]]\nfirst = [\"C1\"]\nthen = [\"U1\"]\n"), ["plan.order-cycle"]);
}

#[test]
fn unknown_names_are_refused() {
    for text in [
        "[[lock]]\npart = \"RG-NO-SUCH\"\nstation = \"chip-1\"\n",
        "[[lock]]\npart = \"RG-RES-10K\"\nstation = \"chip-9\"\n",
        "[[lock]]\npart = \"RG-RES-10K\"\nstation = \"chip-1\"\nhead = \"drum\"\n",
        "[[lock]]\npart = \"RG-RES-10K\"\nstation = \"chip-1\"\nbank = \"rear\"\n",
        "[[lock]]\npart = \"RG-RES-10K\"\nstation = \"chip-1\"\nbank = \"front\"\nslot = 9\n",
        "[[forbid]]\npart = \"RG-NO-SUCH\"\nstation = \"chip-1\"\n",
        "[[forbid]]\npart = \"RG-RES-10K\"\nstation = \"chip-9\"\n",
        "[[forbid]]\npart = \"RG-RES-10K\"\nstation = \"chip-1\"\nhead = \"drum\"\n",
    ] {
        assert_eq!(refused(text), ["plan.lock-unknown"], "{text}");
    }
}

/// A lock asks what the head cannot do: the part is named with the reason, the rest is planned.
#[test]
fn a_lock_that_no_head_can_keep() {
    let plan = changed(|_| (), |_| (), "[[lock]]\npart = \"RG-LOGGER\"\nstation = \"chip-1\"\n");
    assert_eq!(left_out(&plan), [("U1", "plan.lock-conflict")]);
}

/// Two feeders locked so that they overlap: 16 mm feeders cover two slots.
#[test]
fn locked_feeders_that_overlap() {
    let text = "[[lock]]\npart = \"RG-CAP-220U\"\nstation = \"flex-2\"\nbank = \"front\"\nslot = 3\n[[lock]]\npart = \"RG-ANTENNA\"\nstation = \"flex-2\"\nbank = \"front\"\nslot = 4\n";
    let product = gauge();
    match plan(&job(&product), &line(), &rules(text), work(20_000), &Quiet::new()) {
        Err(findings) => assert!(findings.iter().all(|f| f.code == "plan.lock-conflict"), "{findings:?}"),
        Ok(done) => {
            accepted(&done.plan);
            assert!(!done.plan.unplaced.is_empty(), "both cannot stand");
        }
    }
}

#[test]
fn nothing_can_be_placed() {
    let mut product = gauge();
    product.parts.iter_mut().for_each(|p| p.mount.value = Mount::Hand);
    let plan = planned(&product, &line(), &Rules::default(), work(1_000)).plan;
    assert_eq!(plan.outcome, Outcome::Infeasible);
    assert_eq!(plan.unplaced.len(), product.placements.len());
    let verdict = verify::verify(&plan);
    assert!(verdict.accepted, "{:#?}", verdict.violations);
}

/// The plan as it is written to a file.
fn bytes(product: &Product, rules: &Rules, limits: Limits) -> String {
    format!("{:#?}", planned(product, &line(), rules, limits).plan)
}

#[test]
fn threads_do_not_change_the_plan() {
    for text in ["", "order_rule = \"operation\""] {
        let (product, rules) = (gauge(), rules(text));
        let one = bytes(&product, &rules, Limits { threads: 1, ..work(40_000) });
        let again = bytes(&product, &rules, Limits { threads: 1, ..work(40_000) });
        let two = bytes(&product, &rules, Limits { threads: 2, ..work(40_000) });
        assert_eq!(one, again);
        assert_eq!(one, two);
    }
}

#[test]
fn an_interrupt_leaves_a_valid_plan() {
    let product = gauge();
    for text in ["", "order_rule = \"operation\"", "order_rule = \"low-before-tall\""] {
        let done = plan(&job(&product), &line(), &rules(text), work(1_000_000), &Quiet::stopped()).expect("it can be planned");
        assert!(done.stopped);
        assert_eq!(done.plan.work, 0, "nothing is tried after the interrupt");
        assert_eq!(done.plan.placed(), product.placements.len());
        accepted(&done.plan);
    }
}

/// The baseline keeps every rule too, and the search is no worse.
#[test]
fn the_hand_method_keeps_the_rules() {
    let product = gauge();
    for text in ["", "order_rule = \"operation\"", "order_rule = \"low-before-tall\"", "order_rule = \"none\""] {
        let by_hand = hand::by_hand(&job(&product), &line(), &rules(text), &Quiet::new()).expect("it can be planned");
        accepted(&by_hand);
        let searched = sound(&product, &line(), &rules(text));
        assert!(searched.takt_us <= by_hand.takt_us, "{text}: {} against {}", searched.takt_us, by_hand.takt_us);
    }
}

/// Chips and connectors in turn: each head is needed again and again, and none can finish before the other has begun.
#[test]
fn heads_take_turns_where_orders_ask_for_it() {
    let rows = ["C1", "J1", "C2", "J2"]
        .iter()
        .enumerate()
        .map(|(k, r)| row(r, if r.starts_with('C') { CAP } else { CONNECTOR }, (10_000 + 20_000 * k as i64, 20_000), 0));
    let product = board((100_000, 60_000), parts(), rows.collect());
    let one = Line::parse("one-station", include_str!("../../../examples/lines/one-station.toml")).expect("the example is sound");
    let chain = |a: &str, b: &str| format!("[[order]]\nfirst = [\"{a}\"]\nthen = [\"{b}\"]\n");
    let order = rules(&[chain("C1", "J1"), chain("J1", "C2"), chain("C2", "J2")].concat());
    let plan = planned(&product, &one, &order, work(5_000)).plan;
    assert!(plan.unplaced.is_empty(), "{:#?}", plan.unplaced);
    assert_eq!(plan.stations[0].passes.len(), 4, "{:#?}", plan.stations[0].passes);
    assert!(verify::verify(&plan).accepted);
}
