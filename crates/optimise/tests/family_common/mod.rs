//! Small families for the tests: two stations in a row, each with one bank.

#![allow(dead_code, reason = "each test file uses its own part of this")]

use crate::common::{Quiet, board, chip, job, row};
use domain::family::parts::share_parts;
use domain::family::plan::FamilyPlan;
use domain::line::Line;
use domain::product::Product;
use domain::rules::Rules;
use optimise::Limits;
use optimise::family::{Wanted, plan_family};

/// The parts that boards of these families are made of.
pub const NUMBERS: [&str; 5] = ["RG-CAP-100N", "RG-RES-10K", "RG-RES-1K", "RG-XTAL", "RG-CAP-1U"];

/// A line of two stations with this head and so many slots and feeders.
pub fn line(head: &str, slots: [u32; 2], feeders: u32) -> Line {
    let station = |k: usize| {
        format!(
            r#"
[[station]]
name = "gauge-{n}"
kind = "gantry"
max_panel = {{ x = "300 mm", y = "300 mm" }}
transfer = "2 s"
clamp = "300 ms"
axes = {{ x = {{ speed = "1.2 m/s", acceleration = "15 m/s2" }}, y = {{ speed = "1 m/s", acceleration = "12 m/s2" }} }}
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
pick = "{pick} ms"
place = "90 ms"
sight = {{ mode = "in-flight", time = "40 ms" }}
nozzles = ["small"]
"#,
            n = k + 1,
            slots = slots[k],
            pick = 80 + 40 * k,
        )
    };
    let sheet = format!(
        r#"
schema = "evenline-line/1"
name = "two gauges"
[[feeder]]
name = "tape 8"
supply = "tape"
tape_width = "8 mm"
slots = 1
advance = "90 ms"
stock = {feeders}
[[nozzle]]
name = "small"
classes = ["small"]
stock = 40
{}{}"#,
        station(0),
        station(1)
    );
    Line::parse("two.toml", &sheet).unwrap_or_else(|found| panic!("{found:#?}"))
}

/// Boards with `kinds` part types between them, the first ones shared by all; each has `placements` rows.
pub fn products(rng: &mut fastrand::Rng, count: usize, kinds: usize, placements: usize) -> Vec<Product> {
    let mut products: Vec<Product> = (0..count)
        .map(|p| {
            let used: Vec<usize> = (0..kinds).filter(|k| *k == 0 || rng.bool()).collect();
            let parts = used.iter().map(|k| chip(NUMBERS[*k])).collect();
            let at = |rng: &mut fastrand::Rng| (1_000 * rng.i64(3..57), 1_000 * rng.i64(3..37));
            let rows = (0..placements).map(|i| row(&format!("C{}", i + 1), rng.u32(..used.len() as u32), at(rng), 0)).collect();
            let mut product = board((60_000, 40_000), parts, rows);
            product.name = format!("gauge {}", p + 1);
            product
        })
        .collect();
    let found = share_parts(&mut products);
    assert!(found.is_empty(), "{found:#?}");
    products
}

/// Plans boards as a family.
pub fn family(products: &[Product], boards: &[u64], line: &Line, rules: &Rules, limits: Limits) -> FamilyPlan {
    let jobs: Vec<_> = products.iter().map(job).collect();
    let wanted: Vec<Wanted<'_>> = jobs.iter().zip(boards).map(|(job, boards)| Wanted { job, rules, boards: *boards }).collect();
    plan_family("gauges", &wanted, line, limits, &Quiet::new()).unwrap_or_else(|found| panic!("{found:#?}")).plan
}
