//! How a line is used in practice: "common practice, no source".
//!
//! Lines are the example sheets; panels are of the invented river gauge. What is asked is how people who run
//! such lines expect them to be used, not what this planner happens to do.

mod common;

use common::{board, chip, part, planned, row, sound, work};
use domain::line::{Line, Station};
use domain::part::{NozzleClass, Part, Sourced, Supply};
use domain::plan::{Plan, StationPlan, Work};
use domain::product::Placement;
use domain::rules::Rules;
use std::collections::BTreeSet;
use units::{Length, Time};

fn head_swap() -> Line {
    Line::parse("head-swap.toml", include_str!("../../../examples/lines/head-swap.toml")).expect("an example sheet is sound")
}

fn fixed_roles() -> Line {
    Line::parse("fixed-roles.toml", include_str!("../../../examples/lines/fixed-roles.toml")).expect("an example sheet is sound")
}

/// Four alike stations, each with every head, its trays and its stock.
fn four_flexible() -> Line {
    let mut line = head_swap();
    let like = line.station[2].clone();
    line.station = (1..=4).map(|k| Station { name: format!("swap-{k}"), ..like.clone() }).collect();
    line
}

fn rules(text: &str) -> Rules {
    Rules::parse("rules.toml", text).unwrap_or_else(|finding| panic!("{finding:?}"))
}

/// On tape of a width [mm].
fn on_tape(mut part: Part, width: i64) -> Part {
    (part.tape_width_um, part.tape_pitch_um) = (Sourced::engineer(Length(width * 1_000)), Sourced::engineer(Length(width * 500)));
    part
}

/// Chips of `types` types in rows from the lower edge.
fn chips(n: i64, types: i64) -> (Vec<Part>, Vec<Placement>) {
    let parts = (0..types).map(|k| chip(&format!("RG-C{k}"))).collect();
    let at = |k: i64| (8_000 + 4_000 * (k % 50), 8_000 + 3_000 * (k / 50));
    (parts, (0..n).map(|k| row(&format!("C{k}"), (k % types) as u32, at(k), 90 * (k % 2))).collect())
}

/// Adds `n` of a part in rows from `from_y` on.
fn add(parts: &mut Vec<Part>, rows: &mut Vec<Placement>, new: Part, letter: &str, n: i64, from_y: i64) {
    let step = new.long_side().0 + 3_000;
    let each_row = 200_000 / step;
    let id = parts.len() as u32;
    parts.push(new);
    rows.extend((0..n).map(|k| row(&format!("{letter}{k}"), id, (12_000 + step * (k % each_row), from_y + step * (k / each_row)), 0)));
}

/// Names of the heads that place parts at a station, in the order of first use.
fn heads<'l>(line: &'l Line, s: usize, station: &StationPlan) -> Vec<&'l str> {
    let mut names: Vec<&str> = Vec::new();
    for pass in station.passes.iter().filter(|p| matches!(p.work, Work::Place { .. })) {
        let name = line.station[s].head[pass.head as usize].name.as_str();
        if !names.contains(&name) {
            names.push(name);
        }
    }
    names
}

fn all_heads<'l>(line: &'l Line, plan: &Plan) -> Vec<Vec<&'l str>> {
    plan.stations.iter().enumerate().map(|(s, station)| heads(line, s, station)).collect()
}

#[test]
fn an_all_chip_panel_runs_every_flexible_station_as_a_chip_station() {
    let (parts, rows) = chips(400, 20);
    let (product, line) = (board((220_000, 120_000), parts, rows), four_flexible());
    let plan = planned(&product, &line, &Rules::default(), work(200_000)).plan;
    sound(&plan);
    assert_eq!(all_heads(&line, &plan), vec![vec!["drum"]; 4]);
}

#[test]
fn large_parts_make_the_third_or_a_later_station_change_its_role() {
    let (mut parts, mut rows) = chips(600, 24);
    let medium = on_tape(part("RG-MEDIUM", (7_000, 7_000, 3_000), NozzleClass::Large), 16);
    let mut large = part("RG-LARGE", (20_000, 20_000, 9_000), NozzleClass::Wide);
    large.supply = Sourced::engineer(Supply::Tray);
    add(&mut parts, &mut rows, medium, "U", 30, 60_000);
    add(&mut parts, &mut rows, large, "X", 30, 100_000);
    let (product, line) = (board((240_000, 260_000), parts, rows), four_flexible());
    let plan = planned(&product, &line, &rules("order_rule = \"low-before-tall\""), work(600_000)).plan;
    sound(&plan);
    let used = all_heads(&line, &plan);
    let changes: Vec<usize> = (0..4).filter(|s| used[*s].len() > 1).collect();
    assert!(changes.iter().any(|s| *s >= 2), "no later station changes its role: {used:?}");
    assert!(!changes.contains(&0), "the first station places the low parts alone: {used:?}");
    let role: BTreeSet<&str> = used[3].iter().copied().collect();
    assert!(role.contains("single"), "the tall parts come last: {used:?}");
}

#[test]
fn three_flexible_stations_beat_fixed_roles_where_the_last_fixed_station_is_the_bottleneck() {
    let mut cases = 0;
    for large in [20, 28, 40] {
        let (mut parts, mut rows) = chips(240, 12);
        // Too broad for any drum: on the fixed-role line only the last station takes it.
        let mut body = part("RG-LARGE", (30_000, 30_000, 5_000), NozzleClass::Wide);
        body.supply = Sourced::engineer(Supply::Tray);
        add(&mut parts, &mut rows, body, "X", large, 50_000);
        let product = board((240_000, 260_000), parts, rows);
        let none = Rules::default();
        let fixed = planned(&product, &fixed_roles(), &none, work(250_000)).plan;
        sound(&fixed);
        let others = fixed.stations[..2].iter().map(|s| s.time_us).max().expect("two stations before the last");
        // By more than a head swap: else the flexible line may pay more for changing than it gains.
        if fixed.stations[2].time_us - others <= Time(3_200_000) {
            continue;
        }
        cases += 1;
        let flexible = planned(&product, &head_swap(), &none, work(250_000)).plan;
        sound(&flexible);
        assert!(flexible.takt_us < fixed.takt_us, "{large} large parts: {} against {}", flexible.takt_us.to_s(), fixed.takt_us.to_s());
    }
    assert!(cases >= 2, "the last fixed station was the bottleneck in {cases} cases only");
}

#[test]
fn large_ball_grids_first_then_adhesive_lengthen_the_takt_by_no_more_than_the_added_work() {
    let panel = |dots: u8| {
        let (mut parts, mut rows) = chips(300, 15);
        let mut grid = part("RG-GRID", (15_000, 15_000, 1_500), NozzleClass::Wide);
        (grid.supply, grid.ball_grid) = (Sourced::engineer(Supply::Tray), Sourced::engineer(true));
        let mut heavy = on_tape(part("RG-HEAVY", (8_000, 8_000, 3_000), NozzleClass::Large), 16);
        heavy.adhesive_dots = Sourced::engineer(dots);
        add(&mut parts, &mut rows, grid, "U", 4, 40_000);
        add(&mut parts, &mut rows, heavy, "L", 6, 70_000);
        board((220_000, 110_000), parts, rows)
    };
    let line = head_swap();
    let (plain, glued) = (panel(0), panel(2));
    let before = planned(&plain, &line, &rules("order_rule = \"none\""), work(400_000)).plan;
    let text = "order_rule = \"operation\"\n[[inspect]]\nname = \"under the ball grids\"\nx = \"2 mm\"\ny = \"30 mm\"\nwidth = \"80 mm\"\ndepth = \"20 mm\"\n";
    let after = planned(&glued, &line, &rules(text), work(400_000)).plan;
    sound(&before);
    sound(&after);
    // Added work: looking, dots, and the swaps they and the order of operations need.
    let sum = |plan: &Plan, f: fn(&StationPlan) -> Time| plan.stations.iter().map(f).sum::<Time>();
    let added = sum(&after, |s| s.breakdown.dispense_us + s.breakdown.inspection_us + s.breakdown.head_swap_us)
        - sum(&before, |s| s.breakdown.head_swap_us);
    assert!(sum(&after, |s| s.breakdown.dispense_us) > Time::ZERO && sum(&after, |s| s.breakdown.inspection_us) > Time::ZERO);
    assert!(
        after.takt_us <= before.takt_us + added,
        "{} against {} and {} added",
        after.takt_us.to_s(),
        before.takt_us.to_s(),
        added.to_s()
    );
}
