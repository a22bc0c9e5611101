//! Plans that were once faster than the bound of `docs/planning.md` §3, each named after what the page forgot.
//!
//! Every sheet is worked out by hand so that the forgotten time is large against everything else.

mod common;

use common::{part, row};
use domain::job::{Panel, TaskId};
use domain::line::Line;
use domain::part::{NozzleClass, Supply};
use domain::plan::{
    Beat, Breakdown, Certificate, Leaf, Method, Outcome, Pass, Pick, PlaceStep, Plan, SCHEMA, StationPlan, Stroke, SupplyAt, SupplyPlace,
    Trip, Work,
};
use domain::product::{PartId, Product, Side};
use domain::rules::{OrderRule, Rules};
use units::{Length, Point, Time};

/// A sheet of stations; feeders for 8 mm tape and two nozzle kinds that serve alike.
fn sheet(stations: &str) -> Line {
    let head = r#"
schema = "evenline-line/1"
name = "gauge line"
feeder = [{ name = "tape 8", supply = "tape", tape_width = "8 mm", slots = 1, advance = "0 ms", stock = 9 }]
nozzle = [{ name = "a", classes = ["tiny"], stock = 9 }, { name = "b", classes = ["tiny"], stock = 9 }]
"#;
    Line::parse("line.toml", &format!("{head}{stations}")).expect("the sheet is sound")
}

/// A station whose axes are quick and whose work takes little, with these keys besides.
fn station(name: &str, keys: &str, rest: &str) -> String {
    let axis = "{ speed = \"5 m/s\", acceleration = \"100 m/s2\" }";
    format!(
        r#"
[[station]]
name = "{name}"
kind = "gantry"
max_panel = {{ x = "300 mm", y = "250 mm" }}
transfer = "1 s"
clamp = "0 s"
axes = {{ x = {axis}, y = {axis} }}
fiducial = "0 s"
{keys}
{rest}
"#
    )
}

fn head(name: &str, keys: &str) -> String {
    format!(
        r#"
[[station.head]]
name = "{name}"
{keys}
envelope = {{ min_side = "0 mm", max_short = "9 mm", max_long = "9 mm", max_height = "9 mm" }}
accuracy = "30 um"
pick = "10 ms"
place = "10 ms"
sight = {{ mode = "none" }}
nozzles = ["a", "b"]
"#
    )
}

/// One slot at (10, −50) mm.
fn bank(name: &str) -> String {
    format!(
        "[[station.bank]]\nname = \"{name}\"\nmount = \"fixed\"\nslots = 1\nfirst = {{ x = \"10 mm\", y = \"-50 mm\" }}\npitch = \"10 mm\"\n"
    )
}

const SETTLES: &str = "settle_pick = \"0 s\"\nsettle_place = \"0 s\"";
const SETTLES_LONG: &str = "settle_pick = \"1 s\"\nsettle_place = \"0 s\"";

/// A panel of boards of 10 x 10 mm with this many placements in the middle, each of a part of its own when `parts` says so.
fn plan(
    line: Line,
    columns: u32,
    placements: u32,
    parts: u32,
    rules: Rules,
    weights: &[u64],
    stations: Vec<(Vec<SupplyAt>, Vec<Pass>)>,
) -> Plan {
    let tape = |k| part(&format!("RG-{k}"), (1_000, 500, 400), Supply::Tape, 8_000, NozzleClass::Tiny);
    let product = Product {
        schema: domain::product::SCHEMA.to_owned(),
        name: "gauge".to_owned(),
        width_um: Length(10_000),
        depth_um: Length(10_000),
        size_stated: true,
        parts: (0..parts).map(tape).collect(),
        placements: (0..placements).map(|k| row(&format!("C{k}"), k % parts, (5_000, 5_000), 0)).collect(),
        fiducials: Vec::new(),
    };
    let programs = stations.into_iter().zip(&line.station).map(|((supplies, passes), s)| StationPlan {
        station: s.name.clone(),
        supplies,
        alternating: false,
        passes,
        time_us: Time::ZERO,
        breakdown: Breakdown::default(),
    });
    let stations = programs.collect();
    let mut plan = Plan {
        schema: SCHEMA.to_owned(),
        product,
        side: Side::Top,
        panel: Panel { columns, rows: 1, pitch_x_um: Length(10_000), pitch_y_um: Length(0), ..Panel::SINGLE },
        rules: Rules { order_rule: Some(OrderRule::None), ..rules },
        line,
        method: Method::Search,
        seed: 0,
        work: 0,
        outcome: Outcome::Feasible,
        takt_us: Time::ZERO,
        bound_us: Time::ZERO,
        certificate: Certificate { leaves: vec![Leaf { weights: weights.to_vec(), ..Leaf::default() }] },
        stations,
        unplaced: Vec::new(),
        reasons: Vec::new(),
        findings: Vec::new(),
    };
    common::retime(&mut plan);
    plan
}

#[track_caller]
fn is_not_beaten(plan: &Plan) {
    let verdict = verify::verify(plan);
    assert!(verdict.accepted, "{:#?}", verdict.violations);
    assert!(verdict.bound_us <= verdict.takt_us, "{} us proven, {} us taken", verdict.bound_us.0, verdict.takt_us.0);
}

fn feeder(part: u32, bank: u32) -> SupplyAt {
    SupplyAt { part: PartId(part), place: SupplyPlace::Feeder { bank, slot: 1, feeder: 0 } }
}

/// One part after the other, each with this layout and supply.
fn one_by_one(steps: &[(u32, u32, u32)], spindles: usize) -> Work {
    let trip = |(k, (task, supply, _)): (usize, &(u32, u32, u32))| Trip {
        layout: k as u32,
        strokes: vec![Stroke(vec![Pick { spindle: 0, supply: *supply }])],
        places: vec![PlaceStep { spindle: 0, task: TaskId(*task) }],
        after: 0,
    };
    let layouts = steps.iter().map(|(_, _, kind)| {
        let mut layout = vec![None; spindles];
        layout[0] = Some(*kind);
        layout
    });
    Work::Place { layouts: layouts.collect(), trips: steps.iter().enumerate().map(trip).collect() }
}

fn looks(views: &[(i64, i64)]) -> Pass {
    Pass { head: 0, work: Work::Inspect { views: views.iter().map(|v| Point::from_um(v.0, v.1)).collect() } }
}

fn areas(areas: &[(&str, &str, &str, &str)]) -> Rules {
    let entry = |(x, y, width, depth): &(&str, &str, &str, &str)| {
        format!("[[inspect]]\nx = \"{x}\"\ny = \"{y}\"\nwidth = \"{width}\"\ndepth = \"{depth}\"\n")
    };
    Rules::parse("rules.toml", &areas.iter().map(entry).collect::<String>()).expect("sound rules")
}

fn looking(x: &str, time: &str) -> String {
    format!("{SETTLES}\ninspection = {{ field = {{ x = \"{x}\", y = \"40 mm\" }}, time = \"{time}\" }}")
}

fn looking_line(x: &str) -> Line {
    sheet(&station("one", &looking(x, "10 s"), &(bank("front") + &head("single", "kind = \"single\""))))
}

#[test]
fn one_view_sees_the_areas_of_two_boards() {
    let work = one_by_one(&[(0, 0, 0), (1, 0, 0)], 1);
    let passes = vec![looks(&[(10_000, 5_000)]), Pass { head: 0, work }];
    let rules = areas(&[("4 mm", "4 mm", "2 mm", "2 mm")]);
    is_not_beaten(&plan(looking_line("40 mm"), 2, 1, 1, rules, &[1], vec![(vec![feeder(0, 0)], passes)]));
}

#[test]
fn one_view_sees_two_areas_of_one_board() {
    let passes = vec![looks(&[(5_000, 5_000)]), Pass { head: 0, work: one_by_one(&[(0, 0, 0)], 1) }];
    let rules = areas(&[("4 mm", "4 mm", "2 mm", "2 mm"), ("1 mm", "1 mm", "3 mm", "4 mm")]);
    is_not_beaten(&plan(looking_line("40 mm"), 1, 1, 1, rules, &[1], vec![(vec![feeder(0, 0)], passes)]));
}

/// A field of an odd number of micrometres sees half of one further to both sides.
#[test]
fn one_view_of_an_odd_field_sees_a_micrometre_more() {
    let passes = vec![looks(&[(5_000, 5_000)]), Pass { head: 0, work: one_by_one(&[(0, 0, 0)], 1) }];
    let rules = areas(&[("4 mm", "4 mm", "2 mm", "2 mm")]);
    is_not_beaten(&plan(looking_line("1.999 mm"), 1, 1, 1, rules, &[1], vec![(vec![feeder(0, 0)], passes)]));
}

/// 25 mm are two views of 15 mm or three of 10 mm, but also one of each.
#[test]
fn two_stations_share_the_views_of_an_area() {
    let parts = bank("front") + &head("single", "kind = \"single\"");
    let line = sheet(&(station("one", &looking("10 mm", "10 s"), &parts) + &station("two", &looking("15 mm", "10 s"), &parts)));
    let rules = areas(&[("0 mm", "0 mm", "25 mm", "2 mm")]);
    let first = vec![looks(&[(5_000, 5_000)])];
    let second = vec![looks(&[(17_500, 5_000)]), Pass { head: 0, work: one_by_one(&[(0, 0, 0)], 1) }];
    is_not_beaten(&plan(line, 1, 1, 1, rules, &[2, 3], vec![(Vec::new(), first), (vec![feeder(0, 0)], second)]));
}

/// Whoever comes from the rack stands over the pocket already, and settles no more.
#[test]
fn the_rack_stands_at_a_pick_point() {
    let keys = format!("{SETTLES_LONG}\nnozzle_rack = {{ change = \"0 s\", at = {{ x = \"10 mm\", y = \"-50 mm\" }} }}");
    let line = sheet(&station("one", &keys, &(bank("front") + &head("single", "kind = \"single\""))));
    let work = one_by_one(&[(0, 0, 0), (1, 0, 1)], 1);
    is_not_beaten(&plan(line, 1, 2, 1, Rules::default(), &[1], vec![(vec![feeder(0, 0)], vec![Pass { head: 0, work }])]));
}

/// So does whoever comes from the head changer, as often as heads are changed.
#[test]
fn the_head_changer_stands_at_a_pick_point() {
    let keys = format!("{SETTLES_LONG}\nhead_swap = {{ time = \"0 s\", at = {{ x = \"10 mm\", y = \"-50 mm\" }} }}");
    let heads = head("single", "kind = \"single\"") + &head("other", "kind = \"single\"");
    let line = sheet(&station("one", &keys, &(bank("front") + &heads)));
    let pass = |head, steps| Pass { head, work: one_by_one(steps, 1) };
    let passes = vec![pass(0, &[(0, 0, 0)]), pass(1, &[(1, 0, 0)]), pass(0, &[(2, 0, 0)]), pass(1, &[(3, 0, 0)])];
    is_not_beaten(&plan(line, 1, 4, 1, Rules::default(), &[1], vec![(vec![feeder(0, 0)], passes)]));
}

/// A useless look at the pocket lets the head settle as over a view.
#[test]
fn a_view_lies_at_a_pick_point() {
    let keys = format!("{SETTLES_LONG}\ninspection = {{ field = {{ x = \"40 mm\", y = \"40 mm\" }}, time = \"0 s\" }}");
    let line = sheet(&station("one", &keys, &(bank("front") + &head("single", "kind = \"single\""))));
    let pass = |task| Pass { head: 0, work: one_by_one(&[(task, 0, 0)], 1) };
    let look = looks(&[(10_000, -50_000)]);
    let passes = vec![look.clone(), pass(0), look.clone(), pass(1)];
    is_not_beaten(&plan(line, 1, 2, 1, Rules::default(), &[1], vec![(vec![feeder(0, 0)], passes)]));
}

/// Two banks that lie over each other: from feeder to feeder the head does not move, nor does a feeder advance.
#[test]
fn two_feeders_have_one_pick_point() {
    let drum = head("drum", "kind = \"rotary\"\nspindles = 2\nindex = \"1 ms\"");
    let mut line = sheet(&station("one", SETTLES_LONG, &(bank("front") + &bank("again") + &drum)));
    line.feeder[0].advance = units::Text(Time::from_ms(900));
    let pick = |spindle, supply| Stroke(vec![Pick { spindle, supply }]);
    let places = [0, 1].map(|k| PlaceStep { spindle: k, task: TaskId(k.into()) }).to_vec();
    let trip = Trip { layout: 0, strokes: vec![pick(0, 0), pick(1, 1)], places, after: 0 };
    let work = Work::Place { layouts: vec![vec![Some(0), Some(0)]], trips: vec![trip] };
    let supplies = vec![feeder(0, 0), feeder(1, 1)];
    is_not_beaten(&plan(line, 1, 2, 2, Rules::default(), &[1], vec![(supplies, vec![Pass { head: 0, work }])]));
}

/// A beam that leaves its pad for the camera, on a trip of nothing, holds no board on that way.
#[test]
fn a_trip_of_nothing_leaves_the_board() {
    let beam = |number: u8, y: &str| {
        let camera = format!("sight = {{ mode = \"camera\", time = \"0 s\", at = {{ x = \"10 mm\", y = \"{y}\" }}, field = \"9 mm\" }}");
        let head = head(&format!("single {number}"), &format!("kind = \"single\"\nbeam = {number}"));
        let bank = bank(&format!("bank {number}")).replace("-50 mm", y).replace("mount", &format!("beam = {number}\nmount"));
        bank + &head.replace("sight = { mode = \"none\" }", &camera).replace("10 ms", "0 s")
    };
    let two = station("one", SETTLES, &(beam(1, "-950 mm") + &beam(2, "950 mm"))).replace("gantry", "two-beam");
    let pass = |head, first, then, supply| {
        let mut work = one_by_one(&[(first, supply, 0), (then, supply, 0)], 1);
        if let Work::Place { trips, .. } = &mut work {
            trips.insert(1, Trip { layout: 0, strokes: Vec::new(), places: Vec::new(), after: 0 });
            trips[2].layout = 1;
        }
        Pass { head, work }
    };
    let passes = vec![pass(0, 0, 1, 0), pass(1, 2, 3, 1)];
    for weights in [[0, 0, 1], [1, 0, 1], [1, 1, 1]] {
        let supplies = vec![feeder(0, 0), feeder(0, 1)];
        is_not_beaten(&plan(sheet(&two), 1, 4, 1, Rules::default(), &weights, vec![(supplies, passes.clone())]));
    }
}

/// While the table is long on its way, a beat that only picks costs nothing; the placing beat then has no pick.
#[test]
fn picks_hide_behind_the_table() {
    let drum = head("drum", "kind = \"rotary\"\nspindles = 3\nindex = \"1 ms\"").replace("pick = \"10 ms\"", "pick = \"1 s\"");
    let turret = "turret = { gap = 2, carriage = { speed = \"5 m/s\", acceleration = \"100 m/s2\" } }";
    let keys = format!("settle_pick = \"0 s\"\nsettle_place = \"3 s\"\n{turret}");
    let line = sheet(&station("one", &keys, &(bank("carriage") + &drum)).replace("gantry", "turret"));
    let beat = |task| Some(Beat { supply: 0, task: TaskId(task) });
    let work = Work::Turret { nozzles: vec![vec![0]; 3], beats: vec![beat(0), None, None, beat(1), None, None, beat(2)] };
    let mut plan = plan(line, 1, 3, 1, Rules::default(), &[1], vec![(vec![feeder(0, 0)], vec![Pass { head: 0, work }])]);
    plan.product.placements.iter_mut().zip([1_000, 5_000, 9_000]).for_each(|(p, x)| p.at.x = Length(x));
    common::retime(&mut plan);
    is_not_beaten(&plan);
}
