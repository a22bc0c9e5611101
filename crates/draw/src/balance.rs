//! The balance of a line: one bar per station, stacked by where the seconds go, with the
//! takt and the bound as labelled lines. Other equipment of the line gets a bar too, since it
//! may set the takt.

use crate::legend::{Entry, flow, tinted};
use crate::lookup::seconds;
use crate::palette::{self, GREY, QUIET, RULE, VERMILION, ink_on};
use crate::scene::{Anchor, Node, Paint, Role, Scene};
use crate::text;
use domain::plan::{Breakdown, Plan};

const WIDTH: f64 = 960.0;
const LEFT: f64 = 150.0;
const RIGHT: f64 = 70.0;
const TOP: f64 = 46.0;
const BAR: f64 = 30.0;
const ROW: f64 = 48.0;

/// One bar: its name and its stretches, each with the index of its cause.
struct Bar {
    name: String,
    parts: Vec<(Option<usize>, f64)>,
}

impl Bar {
    fn total(&self) -> f64 {
        self.parts.iter().map(|(_, s)| s).sum()
    }
}

/// The balance chart of a plan.
pub fn scene(plan: &Plan) -> Scene {
    let bars = bars(plan);
    let (takt, bound) = (seconds(plan.takt_us), seconds(plan.bound_us));
    let longest = bars.iter().map(Bar::total).fold(takt.max(bound), f64::max);
    let axis = Axis::up_to(longest);
    let bottom = TOP + ROW * bars.len() as f64;
    let (legend, legend_height) = flow(legend(plan), LEFT, bottom + 46.0, WIDTH - LEFT - 10.0);
    let mut scene = Scene::new("Seconds per panel of each station, by cause", WIDTH, bottom + 46.0 + legend_height + 6.0);
    scene.extend(axis.nodes(bottom));
    for (row, bar) in bars.iter().enumerate() {
        scene.extend(bar_nodes(bar, TOP + ROW * row as f64 + (ROW - BAR) / 2.0, &axis));
    }
    scene.extend(level_lines(takt, bound, bottom, &axis));
    scene.extend(legend);
    scene
}

fn bars(plan: &Plan) -> Vec<Bar> {
    let stations = plan.stations.iter().map(|s| Bar {
        name: s.station.clone(),
        parts: s.breakdown.items().iter().enumerate().map(|(i, (_, t))| (Some(i), seconds(*t))).filter(|(_, t)| *t > 0.0).collect(),
    });
    let equipment = plan.line.equipment.iter().map(|e| Bar { name: e.name.clone(), parts: vec![(None, seconds(*e.time))] });
    stations.chain(equipment).collect()
}

fn legend(plan: &Plan) -> Vec<Entry> {
    let names = Breakdown::default().items();
    let used = |i: usize| plan.stations.iter().any(|s| s.breakdown.items()[i].1.0 > 0);
    let mut entries: Vec<Entry> = (0..names.len()).filter(|i| used(*i)).map(|i| Entry::tint(palette::cause(i), names[i].0)).collect();
    if !plan.line.equipment.is_empty() {
        entries.push(Entry { swatch: equipment_box(0.0, 1.0, 14.0, 12.0), words: "other equipment".to_owned() });
    }
    entries
}

fn equipment_box(x: f64, y: f64, w: f64, h: f64) -> Vec<Node> {
    vec![Node::rect(x, y, w, h, Paint::stroke(GREY, 1.5).dashed()).rounded(2.0)]
}

fn bar_nodes(bar: &Bar, y: f64, axis: &Axis) -> Vec<Node> {
    let names = Breakdown::default().items();
    let mut nodes = vec![
        Node::text(LEFT - 12.0, y + 20.0, 13.0, text::fit(&bar.name, LEFT - 24.0, 13.0, true)).bold().anchored(Anchor::End).tip(&*bar.name),
    ];
    let mut from = 0.0;
    for (cause, length) in &bar.parts {
        let (x, w) = (axis.x(from), axis.x(from + length) - axis.x(from));
        match cause {
            Some(i) => nodes.extend(stretch(x, y, w, *i, &format!("{}, {}: {length:.3} s", bar.name, names[*i].0), *length)),
            None => nodes.extend(equipment_box(x, y, w, BAR)),
        }
        from += length;
    }
    nodes.push(Node::text(axis.x(from) + 8.0, y + 20.0, 12.0, format!("{from:.2} s")).bold());
    nodes
}

/// One stretch of a bar, with its seconds where they fit.
fn stretch(x: f64, y: f64, w: f64, cause: usize, tip: &str, length: f64) -> Vec<Node> {
    let tint = palette::cause(cause);
    let mut nodes = tinted(x, y, w, BAR, tint, tip);
    nodes.push(Node::rect(x, y, w, BAR, Paint::stroke(palette::PAPER, 0.8)).role(Role::Plain).tip(tip));
    let words = format!("{length:.2}");
    let wide = text::width(&words, 10.5, false);
    if wide + 8.0 < w {
        // A plain patch keeps the figure legible over the hatch.
        let middle = x + w / 2.0;
        if tint.hatch != crate::hatch::Hatch::None {
            nodes.push(Node::rect(middle - wide / 2.0 - 2.0, y + 8.0, wide + 4.0, 14.0, Paint::fill(tint.colour)));
        }
        nodes.push(Node::text(middle, y + 19.0, 10.5, words).anchored(Anchor::Middle).coloured(ink_on(tint.colour)).tip(tip));
    }
    nodes
}

/// Takt and bound as lines over the bars, labelled on two levels so that they never overlap.
fn level_lines(takt: f64, bound: f64, bottom: f64, axis: &Axis) -> Vec<Node> {
    let mut nodes = Vec::new();
    for (value, name, colour, y, dashed) in [(bound, "bound", QUIET, 34.0, true), (takt, "takt", VERMILION, 16.0, false)] {
        if value <= 0.0 {
            continue;
        }
        let x = axis.x(value);
        let paint = Paint::stroke(colour, 1.6);
        nodes.push(Node::line((x, y - 10.0), (x, bottom), if dashed { paint.dashed() } else { paint }));
        let words = format!("{name} {value:.2} s");
        let label = Node::text(x - 6.0, y, 12.0, words).anchored(Anchor::End).bold();
        nodes.push(if dashed { label.quiet() } else { label.coloured(colour) });
    }
    nodes
}

/// A scale from 0 with round steps.
struct Axis {
    step: f64,
    end: f64,
}

impl Axis {
    fn up_to(longest: f64) -> Self {
        let longest = if longest > 0.0 { longest } else { 1.0 };
        let raw = longest / 8.0;
        let power = 10f64.powf(raw.log10().floor());
        let step = [1.0, 2.0, 5.0, 10.0].into_iter().map(|k| k * power).find(|s| *s >= raw).unwrap_or(10.0 * power);
        Self { step, end: longest * 1.02 }
    }

    fn x(&self, seconds: f64) -> f64 {
        LEFT + seconds / self.end * (WIDTH - LEFT - RIGHT)
    }

    fn nodes(&self, bottom: f64) -> Vec<Node> {
        let mut nodes = Vec::new();
        for tick in 0..=(self.end / self.step) as u32 {
            let value = f64::from(tick) * self.step;
            let x = self.x(value);
            nodes.push(Node::line((x, TOP), (x, bottom), Paint::stroke(RULE, 1.0)).role(Role::Rule));
            let digits = if self.step < 1.0 { (-self.step.log10()).ceil() as usize } else { 0 };
            nodes.push(Node::text(x, bottom + 17.0, 11.0, format!("{value:.digits$}")).anchored(Anchor::Middle).quiet());
        }
        nodes.push(Node::text(LEFT - 12.0, bottom + 17.0, 11.0, "seconds per panel").anchored(Anchor::End).quiet());
        nodes
    }
}
