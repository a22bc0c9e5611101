//! A family at a glance: for each product the hours that its demand keeps every station busy, with what the product
//! takes and its bound. A product takes as long as its slowest station.

use crate::legend::{Entry, flow, tinted};
use crate::lookup::seconds;
use crate::palette::{self, QUIET, RULE, VERMILION};
use crate::scene::{Anchor, Node, Paint, Role, Scene};
use crate::text;
use domain::family::plan::FamilyPlan;

const WIDTH: f64 = 960.0;
const LEFT: f64 = 170.0;
const RIGHT: f64 = 150.0;
const TOP: f64 = 16.0;
const BAR: f64 = 11.0;
/// Between two products.
const GAP: f64 = 16.0;

/// The picture of a family plan.
pub fn scene(family: &FamilyPlan) -> Scene {
    let hours = |panels: u64, s: f64| panels as f64 * s / 3600.0;
    let longest = family.members.iter().map(|m| hours(m.panels, seconds(m.plan.takt_us))).fold(0.0, f64::max).max(1e-9);
    let x = |h: f64| LEFT + h / (longest * 1.02) * (WIDTH - LEFT - RIGHT);
    let rows: Vec<f64> = family.members.iter().map(|m| BAR * m.plan.stations.len().max(1) as f64).collect();
    let bottom = TOP + rows.iter().map(|r| r + GAP).sum::<f64>();
    let (legend, height) = flow(legend(family), LEFT, bottom + 34.0, WIDTH - LEFT - 10.0);
    let mut scene = Scene::new("Hours that the demand of each product takes, by station", WIDTH, bottom + 34.0 + height + 6.0);
    scene.extend(axis(longest, bottom, x));
    let mut y = TOP;
    for (m, tall) in family.members.iter().zip(&rows) {
        let name = &m.plan.product.name;
        let middle = y + tall / 2.0;
        scene.extend([Node::text(LEFT - 12.0, middle + 5.0, 13.0, text::fit(name, LEFT - 24.0, 13.0, true))
            .bold()
            .anchored(Anchor::End)
            .tip(name.as_str())]);
        for (s, station) in m.plan.stations.iter().enumerate() {
            let h = hours(m.panels, seconds(station.time_us));
            let tip = format!("{name}, {}: {h:.2} h", station.station);
            scene.extend(tinted(LEFT, y + BAR * s as f64, x(h) - LEFT, BAR - 1.0, palette::station(s), &tip));
        }
        let (takt, bound) = (hours(m.panels, seconds(m.plan.takt_us)), hours(m.panels, seconds(m.plan.bound_us)));
        for (h, colour, dashed) in [(bound, QUIET, true), (takt, VERMILION, false)] {
            let paint = Paint::stroke(colour, 1.6);
            scene.extend([Node::line((x(h), y - 3.0), (x(h), y + tall + 2.0), if dashed { paint.dashed() } else { paint })]);
        }
        let words = format!("{takt:.2} h, gap {:.1} %", 100.0 * m.plan.gap());
        scene.extend([Node::text(x(takt) + 8.0, middle + 5.0, 12.0, words).bold()]);
        y += tall + GAP;
    }
    scene.extend(legend);
    scene
}

fn legend(family: &FamilyPlan) -> Vec<Entry> {
    let mut entries: Vec<Entry> =
        family.setup.iter().enumerate().map(|(s, shared)| Entry::tint(palette::station(s), shared.station.clone())).collect();
    let line = |paint: Paint| vec![Node::line((7.0, 0.0), (7.0, 14.0), paint)];
    entries.push(Entry { swatch: line(Paint::stroke(VERMILION, 1.6)), words: "what the product takes".to_owned() });
    entries.push(Entry { swatch: line(Paint::stroke(QUIET, 1.6).dashed()), words: "its bound".to_owned() });
    entries
}

fn axis(longest: f64, bottom: f64, x: impl Fn(f64) -> f64) -> Vec<Node> {
    let raw = longest / 8.0;
    let power = 10f64.powf(raw.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0].into_iter().map(|k| k * power).find(|s| *s >= raw).unwrap_or(10.0 * power);
    let digits = if step < 1.0 { (-step.log10()).ceil() as usize } else { 0 };
    let mut nodes = Vec::new();
    for tick in 0..=(longest * 1.02 / step) as u32 {
        let value = f64::from(tick) * step;
        nodes.push(Node::line((x(value), TOP - 6.0), (x(value), bottom), Paint::stroke(RULE, 1.0)).role(Role::Rule));
        nodes.push(Node::text(x(value), bottom + 16.0, 11.0, format!("{value:.digits$}")).anchored(Anchor::Middle).quiet());
    }
    nodes.push(Node::text(LEFT - 12.0, bottom + 16.0, 11.0, "hours").anchored(Anchor::End).quiet());
    nodes
}
