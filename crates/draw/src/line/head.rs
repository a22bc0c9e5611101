//! Heads: each kind has its own colour and shape.

use crate::palette::{BLUE, GREEN, INK, ORANGE, PAPER, PURPLE, WHITE};
use crate::scene::{Anchor, Colour, Node, Paint, Role, Shape, Step};
use crate::text;
use domain::line::{Head, HeadKind};

/// Across a drum [mm], where no sheet says it.
const DRUM: f64 = 80.0;
/// Depth of other heads [mm].
const DEPTH: f64 = 40.0;

/// What the legend calls a kind.
pub(super) fn words(kind: HeadKind) -> &'static str {
    match kind {
        HeadKind::Inline => "inline head, its spindles in a row",
        HeadKind::Rotary => "rotary head, its spindles on a drum",
        HeadKind::Single => "head with one spindle",
        HeadKind::Dispense => "adhesive head",
    }
}

fn colour(kind: HeadKind) -> Colour {
    match kind {
        HeadKind::Inline => BLUE,
        HeadKind::Rotary => ORANGE,
        HeadKind::Single => PURPLE,
        HeadKind::Dispense => GREEN,
    }
}

/// What is told of a head when pointed at.
fn tip(h: &Head) -> String {
    let spindles = match h.kind {
        HeadKind::Inline => h.pitch.map_or(format!("{} spindles", h.spindles), |p| format!("{} spindles every {}", h.spindles, *p)),
        HeadKind::Rotary => format!("{} spindles", h.spindles),
        HeadKind::Single | HeadKind::Dispense => "one spindle".to_owned(),
    };
    let pace = match h.kind {
        HeadKind::Dispense => h.dot.map_or(String::new(), |t| format!(", {} a dot", *t)),
        _ => format!(", pick {}, place {}", *h.pick, *h.place),
    };
    format!("head {}: {}, {spindles}{pace}", h.name, h.kind.word())
}

/// A head about the middle of its beam, within `room` of width, its name below.
pub(super) fn nodes(h: &Head, scale: f64, room: f64) -> Vec<Node> {
    let mut nodes = match h.kind {
        HeadKind::Rotary => drum(h, (DRUM / 2.0 * scale).clamp(9.0, (room / 2.0).max(9.0))),
        HeadKind::Inline => inline(h, scale, room),
        HeadKind::Single => single(&tip(h), (DEPTH / 2.0 * scale).clamp(7.0, 12.0)),
        HeadKind::Dispense => drop_shape(&tip(h), (DEPTH / 2.0 * scale).clamp(7.0, 12.0)),
    };
    let below = if h.kind == HeadKind::Rotary { (DRUM / 2.0 * scale).max(9.0) } else { (DEPTH / 2.0 * scale).clamp(7.0, 12.0) };
    let name = text::fit(&h.name, room.max(24.0), 9.0, false);
    nodes.push(Node::text(0.0, below + 11.0, 9.0, name).anchored(Anchor::Middle).tip(tip(h)));
    nodes
}

/// A drum of this radius with its spindles on the rim.
pub(super) fn drum(h: &Head, radius: f64) -> Vec<Node> {
    let n = f64::from(h.spindles.max(1));
    let rim = radius * 0.8;
    let dot = (rim * std::f64::consts::PI / n * 0.7).clamp(1.0, 5.0);
    let large = radius > 30.0;
    // A large drum lies over the board and the feeders: they stay visible through it.
    let ground = if large { Paint::stroke(ORANGE, 3.0) } else { Paint::fill(ORANGE).outlined(INK, 0.9) };
    let mut nodes = vec![Node::circle(0.0, 0.0, radius, ground).tip(tip(h))];
    for k in 0..h.spindles {
        let (sin, cos) = (std::f64::consts::TAU * f64::from(k) / n).sin_cos();
        let r = if large { radius } else { rim };
        nodes.push(Node::circle(r * sin, -r * cos, dot, Paint::fill(PAPER).outlined(INK, 0.8)).tip(tip(h)));
    }
    if large {
        nodes.push(
            Node::text(0.0, 3.0, 10.0, text::fit(&h.name, 2.0 * radius - 20.0, 10.0, true)).anchored(Anchor::Middle).bold().tip(tip(h)),
        );
    }
    nodes
}

fn inline(h: &Head, scale: f64, room: f64) -> Vec<Node> {
    let n = f64::from(h.spindles.max(1));
    let asked = h.pitch.map_or(0.0, |p| p.to_mm().clamp(0.0, 500.0)) * scale;
    // To scale where there is room.
    let pitch = asked.min((room - 8.0).max(4.0) / n);
    let half = (pitch * n / 2.0).max(5.0);
    let deep = (DEPTH / 2.0 * scale).clamp(7.0, 12.0);
    let mut nodes = vec![Node::rect(-half, -deep, 2.0 * half, 2.0 * deep, Paint::fill(BLUE).outlined(INK, 0.9)).rounded(2.0).tip(tip(h))];
    let radius = (pitch * 0.36).clamp(0.8, 4.0);
    for k in 0..h.spindles {
        let x = (f64::from(k) - (n - 1.0) / 2.0) * pitch;
        nodes.push(Node::circle(x, 0.0, radius, Paint::fill(WHITE)).tip(tip(h)));
    }
    nodes
}

fn single(tip: &str, half: f64) -> Vec<Node> {
    vec![
        Node::rect(-half, -half, 2.0 * half, 2.0 * half, Paint::fill(PURPLE).outlined(INK, 0.9)).rounded(2.0).tip(tip),
        Node::circle(0.0, 0.0, half * 0.45, Paint::fill(WHITE)).tip(tip),
    ]
}

/// An adhesive head: a rhombus with a dot.
fn drop_shape(tip: &str, half: f64) -> Vec<Node> {
    let steps = vec![Step::Move(0.0, -half), Step::Line(half, 0.0), Step::Line(0.0, half), Step::Line(-half, 0.0), Step::Close];
    vec![
        Node::new(Shape::Path(steps), Paint::fill(GREEN).outlined(INK, 0.9)).tip(tip),
        Node::circle(0.0, 0.0, half * 0.25, Paint::fill(WHITE)).tip(tip),
    ]
}

/// How a kind looks in the legend.
pub(super) fn swatch(kind: HeadKind) -> Vec<Node> {
    let box_of = |paint: Paint| Node::rect(0.0, 1.0, 14.0, 12.0, paint).rounded(2.0);
    let plain = Paint::fill(colour(kind)).outlined(INK, 0.9);
    match kind {
        HeadKind::Inline => {
            let mut nodes = vec![box_of(plain)];
            nodes.extend([3.0, 7.0, 11.0].map(|x| Node::circle(x, 7.0, 1.5, Paint::fill(WHITE))));
            nodes
        }
        HeadKind::Rotary => {
            let mut nodes = vec![Node::circle(7.0, 7.0, 7.0, plain)];
            nodes.extend(
                [(7.0, 2.8), (11.2, 7.0), (7.0, 11.2), (2.8, 7.0)]
                    .map(|(x, y)| Node::circle(x, y, 1.3, Paint::fill(PAPER).outlined(INK, 0.5))),
            );
            nodes
        }
        HeadKind::Single => vec![Node::group(7.0, 7.0, single("", 6.5))],
        HeadKind::Dispense => vec![Node::group(7.0, 7.0, drop_shape("", 7.0)).role(Role::Plain)],
    }
}
