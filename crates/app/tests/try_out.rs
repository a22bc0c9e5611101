//! Changes by hand: whatever is tried on a plan of any kind of station, the price is the clock's, the checker accepts
//! the changed plan, and what cannot be is refused with its reason.

mod common;

use app::check::{check, time};
use app::try_out::{Change, Place, PlaceRef, Price, try_out};
use common::{Quiet, SHEETS};
use diag::Finding;
use domain::job::{Job, Panel};
use domain::line::Line;
use domain::part::{Mount, NozzleClass, Part, Sourced, SpeedPercent, Supply};
use domain::plan::{Plan, SupplyAt, SupplyPlace, Work};
use domain::product::{PartId, Placement, Product, SCHEMA, Side, Status};
use domain::rules::{Keep, Rules};
use optimise::Limits;
use units::{Angle, Length, Point};

/// Numbers that look like chance and are the same each time.
struct Dice(u64);

impl Dice {
    fn roll(&mut self, below: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as usize % below.max(1)
    }
}

fn part(number: &str, body: (i64, i64, i64), class: NozzleClass, width: i64) -> Part {
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
        tape_pitch_um: Sourced::engineer(Length(4_000)),
        tray_pockets: Sourced::engineer(24),
        tray_height_um: Sourced::engineer(Length(8_000)),
        nozzle_class: Sourced::engineer(class),
        speed: Sourced::engineer(SpeedPercent(100)),
        accuracy_um: Sourced::engineer(Length(100)),
        ball_grid: Sourced::engineer(false),
        shield: Sourced::engineer(false),
        adhesive_dots: Sourced::engineer(0),
        handling: domain::part::Handling::default(),
    }
}

/// Chips, a converter, a tall can, a coil, a logger in trays, and a bracket that is placed nowhere.
fn parts() -> Vec<Part> {
    let mut logger = part("RG-LOGGER", (12_000, 12_000, 1_400), NozzleClass::Large, 24_000);
    logger.supply = Sourced::engineer(Supply::Tray);
    vec![
        part("RG-CAP-100N", (1_000, 500, 500), NozzleClass::Tiny, 8_000),
        part("RG-RES-10K", (1_000, 500, 350), NozzleClass::Tiny, 8_000),
        part("RG-RES-47R", (1_000, 500, 350), NozzleClass::Tiny, 8_000),
        part("RG-ADC-16", (5_000, 4_000, 1_200), NozzleClass::Large, 12_000),
        part("RG-CAP-220U", (6_000, 6_000, 5_500), NozzleClass::Large, 12_000),
        part("RG-COIL-22U", (1_600, 800, 800), NozzleClass::Small, 8_000),
        logger,
        part("RG-BRACKET", (5_000, 5_000, 5_000), NozzleClass::Large, 12_000),
    ]
}

fn product(seed: u64, placements: usize) -> Product {
    let mut dice = Dice(seed);
    let row = |k: usize| Placement {
        reference: format!("P{k}"),
        part: Some(PartId(dice.roll(7) as u32)),
        at: Point::from_um(4_000 + 500 * dice.roll(140) as i64, 4_000 + 500 * dice.roll(100) as i64),
        rotation_mdeg: Angle(90_000 * dice.roll(4) as i64),
        side: Side::Top,
        status: Status::Fitted,
        why: String::new(),
        origin: String::new(),
    };
    let placements = (0..placements).map(row).collect();
    Product {
        schema: SCHEMA.to_owned(),
        name: "river gauge".to_owned(),
        width_um: Length(80_000),
        depth_um: Length(60_000),
        size_stated: true,
        parts: parts(),
        placements,
        fiducials: Vec::new(),
    }
}

fn planned(sheet: &str, seed: u64, placements: usize, rules: &str) -> Plan {
    let text = SHEETS.iter().find(|s| s.0 == sheet).expect("a sheet of the examples").1;
    let (line, product) = (Line::parse(sheet, text).expect("a sound sheet"), product(seed, placements));
    let (job, rules) = (Job::new(&product, Side::Top, Panel::SINGLE).expect("a job"), Rules::parse("rules.toml", rules).expect("sound"));
    let limits = Limits { seconds: None, work: Some(4_000), seed, threads: 1 };
    optimise::plan(&job, &line, &rules, limits, &Quiet).expect("a plan").plan
}

fn feeder(k: &Keep, bank: &str, slot: u32) -> Change {
    let from = PlaceRef { bank: k.bank.clone().expect("a feeder"), slot: k.slot.expect("a feeder") };
    Change::MoveFeeder { station: k.station.clone(), part: k.part.clone(), from, bank: bank.to_owned(), slot }
}

fn part_to(part: &str, to: &str) -> Change {
    Change::MovePart { part: part.to_owned(), from: None, to: to.to_owned(), head: None, place: None }
}

/// The price is what the clock says, and the checker accepts the plan with what keeps the change.
#[track_caller]
fn holds(before: &Plan, change: &Change, price: &Price) {
    let (was, now) = (time(before).expect("timed"), time(&price.plan).expect("timed"));
    assert_eq!((price.takt_before_us, price.takt_after_us), (was.takt_us, now.takt_us), "{change:?}");
    let times: Vec<_> = price.stations.iter().map(|s| (s.before_us, s.after_us)).collect();
    let timed: Vec<_> = was.stations.iter().zip(&now.stations).map(|(b, a)| (b.time_us, a.time_us)).collect();
    assert_eq!(times, timed, "{change:?}");
    let verdict = check(&price.plan);
    assert!(verdict.accepted, "{change:?}: {:#?}", verdict.violations);
    assert_eq!(price.bound_us, verdict.bound_us);
    assert!(price.bound_us <= price.takt_after_us && !price.told.is_empty(), "{change:?}");
    let mut rules = before.rules.clone();
    price.keep_in(&mut rules);
    assert_eq!(rules, price.plan.rules);
    assert!(price.locks.len() + price.keeps.len() > 0, "{change:?}");
    let quick = app::try_out::price(before, change).expect("it was carried out");
    assert_eq!((&quick.told, &quick.stations, &quick.plan.stations), (&price.told, &price.stations, &price.plan.stations));
    assert!(quick.plan.rules == before.rules && check(&quick.plan).accepted && quick.bound_us <= price.bound_us.max(before.bound_us));
}

#[test]
fn a_feeder_that_comes_back_costs_nothing() {
    for (sheet, _) in SHEETS {
        let plan = planned(sheet, 1, 60, "");
        let stood = Keep::all_of(&plan);
        let mut moved = 0;
        for k in stood.iter().filter(|k| k.bank.is_some()) {
            let (bank, slot) = (k.bank.as_deref().expect("a bank"), k.slot.expect("a slot"));
            for to in [slot + 7, slot.saturating_sub(5), slot + 1] {
                let there = feeder(k, bank, to);
                let Ok(price) = try_out(&plan, &there) else { continue };
                holds(&plan, &there, &price);
                // The lock of the first change is let go; else it would hold the feeder.
                let base = Plan { rules: plan.rules.clone(), bound_us: plan.bound_us, certificate: plan.certificate.clone(), ..price.plan };
                let alone = Keep::all_of(&base).iter().filter(|k| !stood.contains(k)).count() == 1;
                match try_out(&base, &feeder(&Keep { slot: Some(to), ..k.clone() }, bank, slot)) {
                    // Feeders of other widths that gave way may come back beside where they stood.
                    Ok(back) if alone || Keep::all_of(&back.plan).iter().all(|k| stood.contains(k)) => {
                        assert!(back.takt_after_us <= plan.takt_us, "{sheet}, {}: {} after {}", k.part, back.takt_after_us, plan.takt_us);
                        moved += 1;
                    }
                    Ok(_) => {}
                    Err(found) => assert!(!alone, "{sheet}, {}: {found:#?}", k.part),
                }
            }
        }
        assert!(moved > 0, "{sheet}");
    }
}

#[test]
fn strokes_split_where_feeders_part() {
    let plan = planned("gang-pick", 3, 60, "");
    let strokes = |plan: &Plan| -> usize {
        let trips = plan
            .stations
            .iter()
            .flat_map(|s| &s.passes)
            .filter_map(|p| if let Work::Place { trips, .. } = &p.work { Some(trips) } else { None });
        trips.flatten().map(|t| t.strokes.len()).sum()
    };
    let all = Keep::all_of(&plan);
    let apart = all.iter().filter(|k| k.bank.is_some()).filter_map(|k| try_out(&plan, &feeder(k, k.bank.as_deref()?, 59)).ok());
    let most = apart.map(|p| strokes(&p.plan)).max().expect("some feeder can stand at the end of its bank");
    assert!(most > strokes(&plan), "{most} strokes with a feeder apart, {} before", strokes(&plan));
}

#[test]
fn feeders_change_places() {
    let plan = planned("fixed-roles", 2, 60, "");
    let all = Keep::all_of(&plan);
    let chips = |k: &&Keep| k.feeder.as_deref() == Some("tape 8");
    let a = all.iter().find(chips).expect("a chip");
    let b = all.iter().filter(chips).find(|b| b.station == a.station && b.part != a.part).expect("another chip at the station");
    let change = feeder(a, b.bank.as_deref().expect("a bank"), b.slot.expect("a slot"));
    let price = try_out(&plan, &change).expect("they are as wide as each other");
    holds(&plan, &change, &price);
    for k in [a, b] {
        assert!(price.told.iter().any(|t| t.contains(&format!("the feeder of {} moves from {}", k.part, k.place()))), "{:?}", price.told);
    }
}

#[test]
fn a_part_that_moves_changes_both_stations() {
    for (sheet, part, to) in
        [("fixed-roles", "RG-CAP-100N", "chip-2"), ("turret", "RG-RES-10K", "turret-1"), ("two-beam", "RG-COIL-22U", "pair-3")]
    {
        let plan = planned(sheet, 5, 60, "");
        let froms: Vec<String> = Keep::all_of(&plan).into_iter().filter(|k| k.part == part).map(|k| k.station).collect();
        let to = if froms.iter().all(|f| f == to) {
            plan.line.station.iter().find(|s| s.name != to).expect("another").name.as_str()
        } else {
            to
        };
        let change = part_to(part, to);
        let price = try_out(&plan, &change).unwrap_or_else(|f| panic!("{sheet}: {f:#?}"));
        holds(&plan, &change, &price);
        let changed: Vec<&str> = price.stations.iter().filter(|s| s.before_us != s.after_us).map(|s| s.name.as_str()).collect();
        assert!(changed.contains(&to) && froms.iter().any(|f| changed.contains(&f.as_str())), "{sheet}: {changed:?} of {froms:?} to {to}");
        assert_eq!(price.locks[0].station.as_deref(), Some(to));
        // What keeps the change keeps it when planning on.
        let job = plan.job().expect("a job");
        let limits = Limits { seconds: None, work: Some(2_000), seed: 1, threads: 1 };
        let on = optimise::plan_from(&job, &plan.line, &price.plan.rules, Some(&price.plan), limits, &Quiet).expect("a plan").plan;
        assert!(check(&on).accepted && on.takt_us <= price.takt_after_us, "{sheet}: {} after {}", on.takt_us, price.takt_after_us);
        assert!(Keep::all_of(&on).iter().all(|k| k.part != part || k.station == to), "{sheet}");
    }
}

#[test]
fn a_part_goes_to_the_place_asked_for() {
    let plan = planned("fixed-roles", 4, 60, "");
    let part = "RG-RES-47R";
    let stands = Keep::all_of(&plan);
    let here = stands.iter().find(|k| k.part == part).expect("it stands somewhere");
    let to = if here.station == "chip-2" { "chip-1" } else { "chip-2" };
    let is_free = |slot: &u32| {
        let mut beside = stands.iter().filter(|k| k.station == to && k.bank.as_deref() == Some("rear"));
        beside.all(|k| k.slot.is_some_and(|s| s + 8 < *slot || *slot < s))
    };
    let slot = (1..=60).find(is_free).expect("a free slot");
    let place = Some(Place::Bank { bank: "rear".to_owned(), slot });
    let change = Change::MovePart { part: part.to_owned(), from: None, to: to.to_owned(), head: None, place };
    let price = try_out(&plan, &change).unwrap_or_else(|f| panic!("{f:#?}"));
    holds(&plan, &change, &price);
    let stands = Keep::all_of(&price.plan).into_iter().find(|k| k.part == part && k.station == to).expect("it stands there");
    assert_eq!((stands.bank.as_deref(), stands.slot), (Some("rear"), Some(slot)));
}

#[track_caller]
fn refused(plan: &Plan, change: &Change, code: &str) -> Finding {
    let found = try_out(plan, change).map(|p| p.told).expect_err("it cannot be");
    let finding = found.iter().find(|f| f.code == code).unwrap_or_else(|| panic!("{code} is not among {found:#?}"));
    assert!(!finding.value.is_empty() && !finding.hint.is_empty(), "{finding:#?}");
    finding.clone()
}

#[test]
fn what_names_nothing_is_refused() {
    let plan = planned("fixed-roles", 6, 40, "");
    let k = Keep::all_of(&plan).into_iter().find(|k| k.bank.is_some()).expect("a feeder");
    let bank = k.bank.clone().expect("a bank");
    refused(&plan, &feeder(&Keep { station: "chip-9".to_owned(), ..k.clone() }, &bank, 3), "change.unknown");
    refused(&plan, &feeder(&Keep { part: "RG-NONE".to_owned(), ..k.clone() }, &bank, 3), "change.unknown");
    refused(&plan, &feeder(&Keep { slot: Some(999), ..k.clone() }, &bank, 3), "change.unknown");
    refused(&plan, &feeder(&k, "cellar", 3), "change.unknown");
    refused(&plan, &feeder(&k, &bank, 0), "change.slot");
    refused(&plan, &feeder(&k, &bank, u32::MAX), "change.slot");
    refused(&plan, &feeder(&k, &bank, k.slot.expect("a slot")), "change.nothing");
    refused(&plan, &part_to("RG-NONE", "chip-1"), "change.unknown");
    refused(&plan, &part_to("RG-CAP-100N", "chip-9"), "change.unknown");
    refused(&plan, &part_to("RG-BRACKET", "flex-3"), "change.unknown");
    let head = |head: &str| Change::MovePart {
        part: "RG-CAP-100N".to_owned(),
        from: None,
        to: "chip-1".to_owned(),
        head: Some(head.to_owned()),
        place: None,
    };
    refused(&plan, &head("claw"), "change.unknown");
}

#[test]
fn what_no_head_takes_or_no_place_holds_is_refused() {
    let plan = planned("fixed-roles", 6, 40, "");
    refused(&plan, &part_to("RG-LOGGER", "chip-1"), "change.head");
    let to = |place: Place| Change::MovePart {
        part: "RG-CAP-100N".to_owned(),
        from: None,
        to: "flex-3".to_owned(),
        head: None,
        place: Some(place),
    };
    let bank = plan.line.station[2].bank[0].name.clone();
    refused(&plan, &to(Place::Bank { bank: bank.clone(), slot: 0 }), "change.slot");
    refused(&plan, &to(Place::Bank { bank: bank.clone(), slot: 4_000_000_000 }), "change.slot");
    if let Some(tray) = plan.line.station[2].tray.first() {
        refused(&plan, &to(Place::Tray { tray: tray.name.clone(), level: 1 }), "change.supply");
    }
    let stands = Keep::all_of(&plan).into_iter().find(|k| k.station == "flex-3" && k.bank.is_some() && k.part != "RG-CAP-100N");
    if let Some(k) = stands {
        let place = Place::Bank { bank: k.bank.expect("a bank"), slot: k.slot.expect("a slot") };
        let found = refused(&plan, &to(place), "change.in-the-way");
        assert!(found.message.contains(&k.part), "{found}");
    }
    // A wide feeder cannot come to the slot of a narrow one at the end of the bank that has a neighbour.
    let mut tight = planned("fixed-roles", 8, 40, "");
    let wide = Keep::all_of(&tight).into_iter().find(|k| k.feeder.as_deref() == Some("tape 12")).expect("a wide feeder");
    let s = tight.line.station_named(&wide.station).expect("a station");
    let kind = tight.line.feeder.iter().position(|f| f.name == "tape 8").expect("the kind") as u32;
    let bank = tight.line.station[s].bank.iter().position(|b| Some(&b.name) == wide.bank.as_ref()).expect("the bank") as u32;
    let last = tight.line.station[s].bank[bank as usize].slots;
    for slot in [last - 1, last] {
        let place = SupplyPlace::Feeder { bank, slot, feeder: kind };
        tight.stations[s].supplies.push(SupplyAt { part: PartId(7), place });
    }
    let narrow = Keep { part: "RG-BRACKET".to_owned(), slot: Some(last), ..wide.clone() };
    let found = refused(&tight, &feeder(&narrow, wide.bank.as_deref().expect("a bank"), wide.slot.expect("a slot")), "change.in-the-way");
    assert!(found.message.contains(&wide.part), "{found}");
}

#[test]
fn what_the_rules_say_stands() {
    let free = planned("fixed-roles", 6, 40, "");
    let k = Keep::all_of(&free).into_iter().find(|k| k.bank.is_some()).expect("a feeder");
    let bank = k.bank.clone().expect("a bank");
    let with = |rules: &str| Plan { rules: Rules::parse("rules.toml", rules).expect("sound"), ..free.clone() };
    let entry = format!("part = \"{}\"\nstation = \"{}\"\nbank = \"{bank}\"\nslot = {}\n", k.part, k.station, k.slot.expect("a slot"));
    let to = (1..40).find(|n| !Keep::all_of(&free).iter().any(|x| x.station == k.station && x.slot.is_some_and(|s| s.abs_diff(*n) < 4)));
    let to = to.expect("a free slot");
    refused(&with(&format!("[[keep]]\n{entry}")), &feeder(&k, &bank, to), "change.rules");
    refused(&with(&format!("[[lock]]\n{entry}")), &feeder(&k, &bank, to), "change.rules");
    let down = format!("[[down]]\nstation = \"{}\"\nbank = \"{bank}\"\nfrom = {to}\n", k.station);
    refused(&with(&down), &feeder(&k, &bank, to), "change.down");
    let other = if k.station == "flex-3" { "chip-1" } else { "flex-3" };
    refused(&with(&format!("[[forbid]]\npart = \"{}\"\nstation = \"{other}\"\n", k.part)), &part_to(&k.part, other), "change.rules");
    refused(&with(&format!("[[lock]]\n{entry}")), &part_to(&k.part, other), "change.rules");
    let station_down = format!("[[down]]\nstation = \"{other}\"\n");
    refused(&with(&station_down), &part_to(&k.part, other), "change.down");
}

#[test]
fn stock_and_order_are_kept() {
    let mut plan = planned("fixed-roles", 6, 40, "");
    // Every feeder of the tape is set up, and some of the part stays where it is.
    let used = |plan: &Plan| Keep::all_of(plan).iter().filter(|k| k.feeder.as_deref() == Some("tape 8")).count() as u32;
    let kind = plan.line.feeder.iter().position(|f| f.name == "tape 8").expect("the kind");
    let all = Keep::all_of(&plan);
    let split = all.iter().find(|k| all.iter().filter(|o| o.part == k.part).count() > 1 && k.feeder.as_deref() == Some("tape 8")).cloned();
    plan.line.feeder[kind].stock = used(&plan);
    if let Some(k) = split {
        let at: Vec<&str> = all.iter().filter(|o| o.part == k.part).map(|o| o.station.as_str()).collect();
        if let Some(to) = plan.line.station.iter().map(|s| s.name.clone()).find(|s| !at.contains(&s.as_str())) {
            let change = Change::MovePart { part: k.part, from: Some(k.station), to, head: None, place: None };
            assert!(try_out(&plan, &change).is_ok(), "the feeder itself moves");
        }
    }
    // With a feeder that is kept where it stands, another one is needed.
    let k = all.iter().find(|k| k.feeder.as_deref() == Some("tape 8")).expect("a chip");
    plan.rules.keep.push(k.clone());
    let other = plan.line.station.iter().find(|s| !all.iter().any(|o| o.part == k.part && o.station == s.name)).expect("another station");
    refused(
        &plan,
        &Change::MovePart { part: k.part.clone(), from: Some(k.station.clone()), to: other.name.clone(), head: None, place: None },
        "change.stock",
    );
    // The logger is placed at the last station only, and comes first.
    let board = product(6, 40);
    let of = |part: u32| board.placements.iter().filter(move |p| p.part == Some(PartId(part))).map(|p| format!("\"{}\"", p.reference));
    let rules = format!("[[order]]\nfirst = [{}]\nthen = [{}]\n", of(6).next().expect("a logger"), of(1).collect::<Vec<_>>().join(", "));
    refused(&planned("fixed-roles", 6, 40, &rules), &part_to("RG-RES-10K", "chip-1"), "change.order");
}

#[test]
fn random_changes_hold_or_are_refused() {
    let codes: Vec<&str> = diag::codes::change::ALL.iter().map(|c| c.id).collect();
    let (mut done, mut not) = (0, 0);
    for (sheet, _) in SHEETS {
        for (seed, rules) in
            [(11, ""), (12, "order_rule = \"low-before-tall\""), (13, "[[order]]\nfirst = [\"P1\", \"P2\"]\nthen = [\"P3\"]\n")]
        {
            let plan = planned(sheet, seed, 45, rules);
            let mut dice = Dice(seed);
            for _ in 0..14 {
                let all = Keep::all_of(&plan);
                let (k, to) = (&all[dice.roll(all.len())], &plan.line.station[dice.roll(plan.line.station.len())]);
                let from = &plan.line.station[plan.line.station_named(&k.station).expect("a station")];
                let change = match dice.roll(3) {
                    0 if k.bank.is_some() && !from.bank.is_empty() => {
                        let bank = &from.bank[dice.roll(from.bank.len())];
                        feeder(k, &bank.name, 1 + dice.roll(bank.slots as usize + 1) as u32)
                    }
                    1 if !to.bank.is_empty() => {
                        let bank = &to.bank[dice.roll(to.bank.len())];
                        let place = Place::Bank { bank: bank.name.clone(), slot: 1 + dice.roll(bank.slots as usize) as u32 };
                        Change::MovePart { part: k.part.clone(), from: None, to: to.name.clone(), head: None, place: Some(place) }
                    }
                    _ => Change::MovePart {
                        part: k.part.clone(),
                        from: (dice.roll(2) == 0).then(|| k.station.clone()),
                        to: to.name.clone(),
                        head: (dice.roll(3) == 0).then(|| to.head[dice.roll(to.head.len())].name.clone()),
                        place: None,
                    },
                };
                match try_out(&plan, &change) {
                    Ok(price) => {
                        holds(&plan, &change, &price);
                        done += 1;
                    }
                    Err(found) => {
                        assert!(
                            !found.is_empty() && found.iter().all(|f| codes.contains(&f.code.as_str())),
                            "{sheet}, {change:?}: {found:#?}"
                        );
                        assert!(found.iter().all(|f| f.code != "change.program"), "{sheet}, {change:?}: {found:#?}");
                        not += 1;
                    }
                }
            }
        }
    }
    assert!(done > 100 && not > 20, "{done} done, {not} refused");
}
