//! Several feeders of one part at a station: where they pay, and what keeps them away.
//!
//! That a feeder advances after every pick, by the pitch of its tape, and that a second one is picked from meanwhile: common practice,
//! no source. The figures are worked out by hand from the sheet.

mod common;

use common::{Quiet, board, chip, job, planned, row, sound, work};
use domain::line::Line;
use domain::part::Sourced;
use domain::plan::{Plan, SupplyPlace};
use domain::product::Product;
use domain::rules::Rules;
use units::{Length, Time};

/// The first chip station of the example sheet, alone, with so many feeders.
fn one_station(feeders: u32) -> Line {
    let mut line =
        Line::parse("fixed-roles.toml", include_str!("../../../examples/lines/fixed-roles.toml")).expect("an example sheet is sound");
    line.station.truncate(1);
    line.equipment.clear();
    line.feeder.iter_mut().for_each(|f| f.stock = feeders);
    line
}

/// Two trips of twelve capacitors 12 mm apart in their tape, near each other on the board.
fn capacitors() -> Product {
    let mut part = chip("RG-C12-100N");
    part.tape_pitch_um = Sourced::engineer(Length(12_000));
    let rows = (0..24).map(|k| row(&format!("C{k}"), 0, (150_000 + 4_000 * (k % 12), 20_000 + 4_000 * (k / 12)), 0)).collect();
    board((300_000, 60_000), vec![part], rows)
}

fn rules(text: &str) -> Rules {
    Rules::parse("rules.toml", text).unwrap_or_else(|finding| panic!("{finding:?}"))
}

fn feeders(plan: &Plan) -> usize {
    plan.stations.iter().map(|s| s.supplies.len()).sum()
}

#[test]
fn a_second_feeder_is_picked_from_while_the_first_advances() {
    let product = capacitors();
    let one = planned(&product, &one_station(1), &Rules::default(), work(100_000)).plan;
    let several = planned(&product, &one_station(9), &Rules::default(), work(100_000)).plan;
    sound(&one);
    sound(&several);
    assert_eq!(feeders(&one), 1);
    assert!(feeders(&several) > 1);
    // One feeder: three steps of 60 ms after a pick, 55 ms of them while the drum turns, eleven times a trip. Two: none waits, for
    // between two picks from one the drum turns twice and picks once (55 + 75 + 55 ms); but each step stops once more (12 ms).
    let wait = Time::from_us(2 * 11 * (180_000 - 55_000));
    assert!(one.takt_us - several.takt_us >= wait - Time::from_us(2 * 11 * 12_000), "{} and {}", one.takt_us, several.takt_us);
}

#[test]
fn no_feeder_more_than_the_takt_needs() {
    // The printer takes longer than the station does with one feeder.
    let mut line = one_station(9);
    line.equipment = Line::parse("fixed-roles.toml", include_str!("../../../examples/lines/fixed-roles.toml")).expect("a sheet").equipment;
    line.equipment[0].time = units::Text(Time::from_us(30_000_000));
    let plan = planned(&capacitors(), &line, &Rules::default(), work(100_000)).plan;
    sound(&plan);
    assert_eq!((plan.takt_us, feeders(&plan)), (Time::from_us(30_000_000), 1));
}

#[test]
fn rules_say_how_many() {
    let (product, line) = (capacitors(), one_station(9));
    let one = rules("feeders_per_part = 1\n");
    let plan = planned(&product, &line, &one, work(100_000)).plan;
    sound(&plan);
    assert_eq!(feeders(&plan), 1);
    // A lock that says where the part stands binds all its supplies.
    let lock = rules("[[lock]]\npart = \"RG-C12-100N\"\nstation = \"chip-1\"\nbank = \"front\"\nslot = 20\n");
    let plan = planned(&product, &line, &lock, work(100_000)).plan;
    sound(&plan);
    assert_eq!(feeders(&plan), 1);
}

#[test]
fn a_plan_with_more_than_the_rules_allow_is_refused_and_not_gone_on_with() {
    let (product, line) = (capacitors(), one_station(9));
    let old = planned(&product, &line, &Rules::default(), work(100_000)).plan;
    let mut wrong = old.clone();
    wrong.rules = rules("feeders_per_part = 1\n");
    let codes: Vec<String> = verify::verify(&wrong).violations.into_iter().map(|v| v.code).collect();
    assert_eq!(codes, ["verify.feeders-per-part"]);
    let new = optimise::plan_from(&job(&product), &line, &wrong.rules, Some(&old), work(20_000), &Quiet::new()).expect("a plan").plan;
    sound(&new);
    assert_eq!(feeders(&new), 1);
    // What the engineer keeps is let be.
    for supply in &old.stations[0].supplies {
        let SupplyPlace::Feeder { bank, slot, .. } = supply.place else { panic!("a tape") };
        let bank = &line.station[0].bank[bank as usize].name;
        wrong
            .rules
            .keep
            .extend(rules(&format!("[[keep]]\npart = \"RG-C12-100N\"\nstation = \"chip-1\"\nbank = \"{bank}\"\nslot = {slot}\n")).keep);
    }
    let verdict = verify::verify(&wrong);
    assert!(verdict.violations.iter().all(|v| v.code != "verify.feeders-per-part"), "{:#?}", verdict.violations);
}
