//! The tray places of a station, side by side, each with its levels.

use crate::lookup;
use crate::palette::{GREEN, INK, QUIET, RULE};
use crate::scene::{Colour, Node, Paint, Role, Scene};
use crate::text;
use domain::line::TrayPlace;
use domain::plan::{Plan, StationPlan, SupplyPlace};

const WIDTH: f64 = 960.0;
const SIDE: f64 = 8.0;
const COLUMNS: usize = 3;
const LEVEL: f64 = 24.0;
/// Levels drawn at most of one place (own choice); the set-up list names every tray.
const MOST_LEVELS: u32 = 60;

/// Ground of a tray: a light green that dark ink reads well on.
const GROUND: Colour = Colour(0xd9, 0xf0, 0xe8);

/// The tray places of one station of the plan; `None` when it has none.
pub fn scene(plan: &Plan, station: usize) -> Option<Scene> {
    let planned = plan.stations.get(station)?;
    let places = &lookup::station(plan, planned)?.tray;
    if places.is_empty() {
        return None;
    }
    let column = (WIDTH - 2.0 * SIDE) / COLUMNS as f64;
    let (mut top, mut nodes) = (0.0, Vec::new());
    for (row, chunk) in places.chunks(COLUMNS).enumerate() {
        let drawn: Vec<(Vec<Node>, f64)> =
            chunk.iter().enumerate().map(|(i, p)| place_nodes(plan, planned, p, row * COLUMNS + i, column - 16.0)).collect();
        let tallest = drawn.iter().map(|(_, h)| *h).fold(0.0, f64::max);
        nodes.extend(drawn.into_iter().enumerate().map(|(i, (n, _))| Node::group(SIDE + column * i as f64, top, n)));
        top += tallest + 12.0;
    }
    let mut scene = Scene::new(format!("Tray places of {}", planned.station), WIDTH, top);
    scene.nodes = nodes;
    Some(scene)
}

/// One place: its name and kind, then a strip for each level.
fn place_nodes(plan: &Plan, planned: &StationPlan, place: &TrayPlace, index: usize, width: f64) -> (Vec<Node>, f64) {
    let levels = place.levels();
    let shown = levels.clamp(1, MOST_LEVELS);
    let name = text::fit(&place.name, width - 130.0, 13.0, true);
    let wide = text::width(&name, 13.0, true);
    let words = if shown < levels { format!("{}, {shown} of {levels} levels drawn", place.kind) } else { place.kind.to_string() };
    let mut nodes = vec![Node::text(0.0, 16.0, 13.0, name).bold(), Node::text(wide + 10.0, 16.0, 11.0, words).quiet()];
    for level in 1..=shown {
        let y = 26.0 + LEVEL * f64::from(level - 1);
        let on = planned
            .supplies
            .iter()
            .find(|s| matches!(s.place, SupplyPlace::Tray { tray, level: l } if tray as usize == index && l == level));
        let number = on.map(|s| lookup::part_number(plan, s.part));
        let paint = if on.is_some() { Paint::fill(GROUND).outlined(GREEN, 1.0) } else { Paint::stroke(RULE, 1.0) };
        let role = if on.is_some() { Role::Plain } else { Role::Rule };
        nodes.push(Node::text(0.0, y + 15.0, 10.0, level.to_string()).quiet());
        nodes.push(Node::rect(22.0, y, width - 22.0, LEVEL - 4.0, paint).rounded(2.0).role(role).tip(number.clone().unwrap_or_default()));
        if let Some(number) = number {
            let value = on.and_then(|s| lookup::part(plan, s.part)).map(|p| p.value.clone()).unwrap_or_default();
            let number = text::fit(&number, (width - 40.0) * 0.62, 10.5, true);
            let after = 30.0 + text::width(&number, 10.5, true) + 8.0;
            nodes.push(Node::text(30.0, y + 14.0, 10.5, number).bold().coloured(INK));
            nodes.push(Node::text(after, y + 14.0, 9.5, text::fit(&value, width - after - 6.0, 9.5, false)).coloured(QUIET));
        }
    }
    (nodes, 26.0 + LEVEL * f64::from(shown))
}
