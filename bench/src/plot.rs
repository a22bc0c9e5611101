//! Measured points and a fitted curve on axes of equal ratios, with the drawing crate.

use draw::Scene;
use draw::palette::{BLUE, INK, QUIET, RULE, VERMILION};
use draw::scene::{Anchor, Node, Paint, Shape, Step};

/// What is plotted.
pub struct Plot<'a> {
    /// Above it.
    pub title: &'a str,
    /// Along the horizontal axis, with the unit.
    pub x: &'a str,
    /// Along the vertical axis, with the unit.
    pub y: &'a str,
    /// Measured points.
    pub points: &'a [(f64, f64)],
    /// Words for the curve.
    pub curve_name: &'a str,
    /// The curve.
    pub curve: &'a dyn Fn(f64) -> f64,
}

const WIDTH: f64 = 640.0;
const HEIGHT: f64 = 420.0;
const LEFT: f64 = 70.0;
const RIGHT: f64 = 20.0;
const TOP: f64 = 44.0;
const BOTTOM: f64 = 56.0;

/// Marks at 1, 2 and 5 of each power of ten from `from` to `to`.
fn ticks(from: f64, to: f64) -> Vec<f64> {
    let powers = (from.log10().floor() as i32)..=(to.log10().ceil() as i32);
    powers.flat_map(|p| [1.0, 2.0, 5.0].map(|m| m * 10f64.powi(p))).filter(|t| *t >= from * 0.999 && *t <= to * 1.001).collect()
}

fn number(v: f64) -> String {
    if v >= 1.0 { format!("{v:.0}") } else { format!("{v}") }
}

/// The picture.
pub fn scene(p: &Plot<'_>) -> Scene {
    let range = |values: Vec<f64>| {
        let (least, most) = values.iter().fold((f64::INFINITY, 0.0f64), |(a, b), v| (a.min(*v), b.max(*v)));
        if least.is_finite() && least > 0.0 { (least / 1.3, most * 1.3) } else { (1.0, 10.0) }
    };
    let xs = range(p.points.iter().map(|q| q.0).collect());
    let ys = range(p.points.iter().flat_map(|q| [q.1, (p.curve)(q.0)]).filter(|v| *v > 0.0).collect());
    let at = |v: f64, (from, to): (f64, f64)| (v / from).ln() / (to / from).ln();
    let x = |v: f64| LEFT + at(v, xs) * (WIDTH - LEFT - RIGHT);
    let y = |v: f64| HEIGHT - BOTTOM - at(v, ys) * (HEIGHT - TOP - BOTTOM);
    let mut scene = Scene::new(p.title, WIDTH, HEIGHT);
    scene.push(Node::text(LEFT, 20.0, 14.0, p.title).bold());
    for t in ticks(xs.0, xs.1) {
        scene.push(Node::line((x(t), TOP), (x(t), HEIGHT - BOTTOM), Paint::stroke(RULE, 1.0)));
        scene.push(Node::text(x(t), HEIGHT - BOTTOM + 16.0, 11.0, number(t)).anchored(Anchor::Middle).coloured(INK));
    }
    for t in ticks(ys.0, ys.1) {
        scene.push(Node::line((LEFT, y(t)), (WIDTH - RIGHT, y(t)), Paint::stroke(RULE, 1.0)));
        scene.push(Node::text(LEFT - 6.0, y(t) + 4.0, 11.0, number(t)).anchored(Anchor::End).coloured(INK));
    }
    let steps = 60;
    let curve = (0..=steps).map(|k| xs.0 * (xs.1 / xs.0).powf(f64::from(k) / f64::from(steps)));
    let inside: Vec<(f64, f64)> =
        curve.map(|v| (v, (p.curve)(v))).filter(|(_, v)| *v >= ys.0 && *v <= ys.1).map(|(a, b)| (x(a), y(b))).collect();
    let path = inside.iter().enumerate().map(|(k, (a, b))| if k == 0 { Step::Move(*a, *b) } else { Step::Line(*a, *b) });
    scene.push(Node::new(Shape::Path(path.collect()), Paint::stroke(VERMILION, 1.6).dashed()));
    for (a, b) in p.points {
        scene.push(Node::circle(x(*a), y(*b), 4.0, Paint::fill(BLUE)).tip(format!("{a:.0}: {b:.2}")));
    }
    scene.push(Node::text(WIDTH - RIGHT, HEIGHT - 10.0, 11.0, p.x).anchored(Anchor::End).coloured(QUIET));
    scene.push(Node::text(LEFT, TOP - 8.0, 11.0, format!("{}; dots: measured, dashed: {}", p.y, p.curve_name)).coloured(QUIET));
    scene
}
