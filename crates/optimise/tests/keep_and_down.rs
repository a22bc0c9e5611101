//! Locks to tray places, kept feeders, closed stations and outages: planned, looked at here, and accepted by the
//! independent checker. Then the same line re-planned after a failure.

mod common;

use common::{Quiet, board, chip, job, part, planned, row, work};
use domain::line::Line;
use domain::part::{NozzleClass, Sourced, Supply};
use domain::plan::{Plan, SupplyPlace};
use domain::product::Product;
use domain::rules::{Keep, Rules};
use optimise::{plan, plan_from, replan};
use units::{Length, Time};

fn line() -> Line {
    Line::parse("line.toml", include_str!("data/line.toml")).expect("the tests' sheet is sound")
}

fn rules(text: &str) -> Rules {
    Rules::parse("rules.toml", text).unwrap_or_else(|finding| panic!("{finding:?}"))
}

/// Six kinds of chip, one tall capacitor on 16 mm tape, and a logger in trays.
fn sensor() -> Product {
    let mut parts: Vec<_> = (0..6).map(|k| chip(&format!("RG-CHIP-{k}"))).collect();
    let mut can = part("RG-CAP-220U", (8_000, 8_000, 9_000), NozzleClass::Large);
    (can.tape_width_um, can.tape_pitch_um) = (Sourced::engineer(Length(16_000)), Sourced::engineer(Length(12_000)));
    let mut logger = part("RG-LOGGER", (14_000, 14_000, 1_400), NozzleClass::Wide);
    logger.supply = Sourced::engineer(Supply::Tray);
    parts.extend([can, logger]);
    let mut rows = vec![row("E1", 6, (70_000, 30_000), 0), row("U1", 7, (50_000, 45_000), 0)];
    for k in 0..36i64 {
        rows.push(row(&format!("C{}", k + 1), (k % 6) as u32, (6_000 + 6_000 * (k % 9), 6_000 + 7_000 * (k / 9)), 0));
    }
    board((90_000, 60_000), parts, rows)
}

fn accepted(plan: &Plan) {
    let verdict = verify::verify(plan);
    assert!(verdict.accepted, "{:#?}", verdict.violations);
    assert_eq!((verdict.takt_us, verdict.bound_us), (plan.takt_us, plan.bound_us));
}

fn sound(text: &str) -> Plan {
    let plan = planned(&sensor(), &line(), &rules(text), work(20_000)).plan;
    accepted(&plan);
    plan
}

fn complete(text: &str) -> Plan {
    let plan = sound(text);
    assert_eq!(plan.unplaced, [], "everything can be placed");
    plan
}

fn number(plan: &Plan, part: domain::product::PartId) -> &str {
    &plan.product.parts[part.index()].number
}

#[test]
fn a_lock_to_a_level_of_a_magazine() {
    let plan = complete("[[lock]]\npart = \"RG-LOGGER\"\nstation = \"flex-2\"\ntray = \"magazine\"\nlevel = 3\n");
    let logger = plan.stations[1].supplies.iter().find(|s| number(&plan, s.part) == "RG-LOGGER").expect("its trays");
    assert_eq!(logger.place, SupplyPlace::Tray { tray: 0, level: 3 });
}

#[test]
fn locks_of_supplies_that_stand_elsewhere_are_refused() {
    for text in [
        "[[lock]]\npart = \"RG-LOGGER\"\nstation = \"flex-2\"\nbank = \"front\"\n",
        "[[lock]]\npart = \"RG-CHIP-0\"\nstation = \"flex-2\"\ntray = \"magazine\"\n",
        "[[lock]]\npart = \"RG-LOGGER\"\ntray = \"magazine\"\n",
        "[[keep]]\npart = \"RG-CHIP-0\"\nstation = \"chip-1\"\nbank = \"front\"\nslot = 1\n[[keep]]\npart = \"RG-CHIP-1\"\nstation = \"chip-1\"\nbank = \"front\"\nslot = 1\n",
        "[[keep]]\npart = \"RG-CAP-220U\"\nstation = \"chip-1\"\nbank = \"front\"\nslot = 8\n",
        "[[keep]]\npart = \"RG-CHIP-0\"\nstation = \"chip-1\"\nbank = \"front\"\nslot = 1\n[[down]]\nstation = \"chip-1\"\nbank = \"front\"\n",
        "[[keep]]\npart = \"RG-CHIP-0\"\nstation = \"chip-1\"\n",
    ] {
        let product = sensor();
        let found = plan(&job(&product), &line(), &rules(text), work(500), &Quiet::new()).expect_err("it is refused");
        assert!(found.iter().all(|f| f.code == "plan.lock-conflict"), "{text}: {found:?}");
    }
}

#[test]
fn a_kept_feeder_stands_whether_it_is_used_or_not() {
    // Forbidden at the station where it is kept, the feeder is only in the way.
    let text = "[[keep]]\npart = \"RG-CHIP-3\"\nstation = \"chip-1\"\nbank = \"front\"\nslot = 5\n[[forbid]]\npart = \"RG-CHIP-3\"\nstation = \"chip-1\"\n";
    let plan = complete(text);
    let kept = plan.stations[0].supplies.iter().find(|s| number(&plan, s.part) == "RG-CHIP-3").expect("it stands");
    assert!(matches!(kept.place, SupplyPlace::Feeder { bank: 0, slot: 5, .. }), "{kept:?}");
}

#[test]
fn a_closed_station_gets_no_more_than_allowed() {
    let keep = "[[keep]]\npart = \"RG-CHIP-0\"\nstation = \"chip-1\"\nbank = \"front\"\nslot = 2\n";
    let plan = complete(&format!("{keep}[[closed]]\nstation = \"chip-1\"\n"));
    assert_eq!(plan.stations[0].supplies.len(), 1, "nothing but what is kept");
    let plan = complete(&format!("{keep}[[closed]]\nstation = \"chip-1\"\nadd = 2\n"));
    assert!(plan.stations[0].supplies.len() <= 3, "two more");
}

#[test]
fn what_is_down_is_not_used() {
    let plan = complete("[[down]]\nstation = \"chip-1\"\nbank = \"front\"\nfrom = 2\nto = 7\n");
    for s in &plan.stations[0].supplies {
        assert!(matches!(s.place, SupplyPlace::Feeder { slot: 1 | 8, .. }), "{s:?}");
    }
    let plan = complete("[[down]]\nstation = \"flex-2\"\nhead = \"drum\"\n");
    assert!(plan.stations[1].passes.iter().all(|x| x.head != 1));
    // The chip station takes neither the tall part nor the one in trays.
    let plan = sound("[[down]]\nstation = \"flex-2\"\n");
    let left: Vec<(&str, &str)> = plan.unplaced.iter().map(|u| (u.reference.as_str(), u.code.as_str())).collect();
    assert_eq!(left, [("E1", "plan.down"), ("U1", "plan.down")]);
    assert!(plan.stations[1].supplies.is_empty() && plan.stations[1].passes.is_empty());
    assert!(plan.stations[1].time_us > Time::ZERO, "a panel still passes it");
    let plan = sound("[[down]]\nstation = \"flex-2\"\ntray = \"magazine\"\n");
    assert_eq!(plan.unplaced.iter().map(|u| u.code.as_str()).collect::<Vec<_>>(), ["plan.down"]);
    let plan = sound("[[down]]\nnozzle = \"large\"\n");
    assert!(plan.unplaced.iter().all(|u| u.code == "plan.down") && plan.unplaced.len() == 2, "{:?}", plan.unplaced);
    // Twelve feeders, six kinds of chip: with six feeders down each kind stands once.
    let plan = complete("[[down]]\nfeeder = \"tape 8\"\ncount = 6\n");
    let feeders = plan.stations.iter().flat_map(|s| &s.supplies).filter(|s| matches!(s.place, SupplyPlace::Feeder { feeder: 0, .. }));
    assert_eq!(feeders.count(), 6);
}

#[test]
fn names_that_do_not_exist_are_refused() {
    for text in [
        "[[down]]\nstation = \"chip-9\"\n",
        "[[down]]\nstation = \"chip-1\"\nhead = \"drum\"\n",
        "[[down]]\nstation = \"chip-1\"\nbank = \"front\"\nfrom = 7\nto = 9\n",
        "[[down]]\nnozzle = \"huge\"\n",
        "[[keep]]\npart = \"RG-NONE\"\nstation = \"chip-1\"\nbank = \"front\"\nslot = 1\n",
        "[[closed]]\nstation = \"chip-9\"\n",
        "[[lock]]\npart = \"RG-LOGGER\"\nstation = \"flex-2\"\ntray = \"magazine\"\nlevel = 5\n",
    ] {
        let product = sensor();
        let found = plan(&job(&product), &line(), &rules(text), work(500), &Quiet::new()).expect_err("it is refused");
        assert_eq!(found.iter().map(|f| f.code.as_str()).collect::<Vec<_>>(), ["plan.lock-unknown"], "{text}");
    }
}

/// With no work left to do, what comes out is what went in.
#[test]
fn a_plan_is_taken_over_to_the_microsecond() {
    let product = sensor();
    // Long enough that the round which is made in any case finds nothing more.
    let old = planned(&product, &line(), &Rules::default(), work(400_000)).plan;
    let again = plan_from(&job(&product), &line(), &Rules::default(), Some(&old), work(0), &Quiet::new()).expect("a plan").plan;
    accepted(&again);
    assert!(again.takt_us <= old.takt_us, "{} after {}", again.takt_us, old.takt_us);
    assert_eq!(Keep::all_of(&again).len(), Keep::all_of(&old).len());
}

#[test]
fn an_older_revision_is_a_start() {
    let old = complete("");
    let mut product = sensor();
    product.placements.retain(|p| p.reference != "C3" && p.reference != "C10");
    product.placements.push(row("C50", 2, (80_000, 50_000), 0));
    product.parts.push(chip("RG-NEW"));
    product.placements.push(row("C51", 8, (80_000, 10_000), 0));
    let new = plan_from(&job(&product), &line(), &Rules::default(), Some(&old), work(0), &Quiet::new()).expect("a plan").plan;
    accepted(&new);
    assert_eq!(new.unplaced, []);
    assert_eq!(new.placed(), old.placed());
}

fn replanned(old: &Plan, down: &str, price: Time) -> optimise::Replanned {
    let done = replan(&old.job().expect("a job"), &old.line, &rules(down), old, price, work(20_000), &Quiet::new()).expect("a plan");
    accepted(&done.planned.plan);
    assert!(done.least_moved <= done.moved);
    done
}

#[test]
fn a_high_price_moves_only_what_must_be_moved() {
    let old = complete("");
    let down = "[[down]]\nstation = \"chip-1\"\nhead = \"row\"\n";
    let dear = replanned(&old, down, Time(60_000_000));
    assert_eq!(dear.planned.plan.unplaced, []);
    assert_eq!(dear.moved, dear.least_moved, "nothing moves without need");
    assert!(dear.planned.plan.stations[0].passes.is_empty());
    // At its own price each is the cheaper one.
    let free = replanned(&old, down, Time::ZERO);
    let cost = |r: &optimise::Replanned| r.planned.plan.takt_us + Time(60_000_000) * i64::from(r.moved);
    assert!(cost(&dear) <= cost(&free), "{} against {}", cost(&dear), cost(&free));
}

#[test]
fn nothing_down_and_dear_moves_change_no_set_up() {
    let old = complete("");
    let same = replanned(&old, "", Time(60_000_000));
    assert_eq!((same.moved, same.least_moved), (0, 0));
    assert!(same.planned.plan.takt_us <= old.takt_us);
}

/// One dead slot costs one feeder.
#[test]
fn a_dead_slot_moves_one_feeder() {
    let old = complete("");
    let slot = match old.stations[0].supplies[0].place {
        SupplyPlace::Feeder { slot, .. } => slot,
        SupplyPlace::Tray { .. } => panic!("the chip station has no trays"),
    };
    let done = replanned(&old, &format!("[[down]]\nstation = \"chip-1\"\nbank = \"front\"\nfrom = {slot}\n"), Time(60_000_000));
    assert!(done.moved <= 1, "{} feeders are moved", done.moved);
}
