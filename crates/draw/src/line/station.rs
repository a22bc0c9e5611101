//! What is in one station. Coordinates are picture units from the station's origin, Y down.

use super::head;
use crate::palette::{INK, PAPER, QUIET, SKY, YELLOW};
use crate::scene::{Anchor, Colour, Node, Paint, Role, Shape, Step};
use crate::text;
use domain::line::{Bank, BankMount, Place, Station, StationKind, TrayKind, TrayPlace};
use units::Length;

/// Depth of a bank from its pick points outwards [mm]; usual feeders are longer, most of them outside the machine.
const BANK_DEPTH: f64 = 70.0;
/// Side of a tray place [mm], about the depth of a usual tray (JEDEC matrix trays are 322.6 × 135.9 mm).
const TRAY: f64 = 132.0;
/// Half the side of the marks of cameras, racks, changers [picture units].
const MARK: f64 = 6.0;
/// Nothing farther from the origin is drawn at its place [mm].
const FAR: f64 = 4_000.0;
/// Slots drawn of one bank.
const MOST_SLOTS: u32 = 480;
const BANK_GROUND: Colour = Colour(0xdc, 0xee, 0xfa);
const TRAY_GROUND: Colour = Colour(0xfb, 0xf7, 0xc6);

/// A length in mm, within what is drawn.
pub(super) fn mm(length: Length) -> f64 {
    length.to_mm().clamp(-FAR, FAR)
}

/// The rectangle that a station's things lie in [mm].
pub(super) struct Frame {
    pub(super) left: f64,
    pub(super) right: f64,
    /// Toward the front, zero or negative.
    pub(super) bottom: f64,
    /// Away from the front.
    pub(super) top: f64,
}

impl Frame {
    pub(super) fn of(s: &Station) -> Self {
        let mut frame = Self { left: 0.0, right: 60.0, bottom: 0.0, top: 60.0 };
        frame.hold(0.0, 0.0);
        frame.hold(mm(*s.max_panel.x), mm(*s.max_panel.y));
        for b in &s.bank {
            let (x, y) = (mm(*b.first.x), mm(*b.first.y));
            let half = mm(*b.pitch) / 2.0;
            frame.hold(x - half, y);
            frame.hold((x - half + bank_width(b)).min(FAR), y + outwards(b) * BANK_DEPTH);
        }
        for t in &s.tray {
            let (x, y) = (mm(*t.at.x), mm(*t.at.y));
            frame.hold(x - TRAY / 2.0, y - TRAY / 2.0);
            frame.hold(x + TRAY / 2.0, y + TRAY / 2.0);
        }
        for (place, ..) in marks(s) {
            frame.hold(mm(*place.x), mm(*place.y));
        }
        frame
    }

    fn hold(&mut self, x: f64, y: f64) {
        self.left = self.left.min(x);
        self.right = self.right.max(x);
        self.bottom = self.bottom.min(y);
        self.top = self.top.max(y);
    }

    pub(super) fn width(&self) -> f64 {
        self.right - self.left
    }
}

/// Width of a bank over all its slots [mm].
pub(super) fn bank_width(b: &Bank) -> f64 {
    (mm(*b.pitch) * f64::from(b.slots)).clamp(0.0, FAR)
}

/// -1 for a bank in front, 1 for one behind.
fn outwards(b: &Bank) -> f64 {
    if b.first.y.0.0 <= 0 { -1.0 } else { 1.0 }
}

/// Everything in a station, lowest first; `belt` is where the board passes [mm].
pub(super) fn nodes(s: &Station, scale: f64, belt: f64) -> Vec<Node> {
    let mut nodes = Vec::new();
    let (w, h) = (mm(*s.max_panel.x) * scale, mm(*s.max_panel.y) * scale);
    let tip = format!("largest panel: {} × {}", *s.max_panel.x, *s.max_panel.y);
    nodes.push(Node::rect(0.0, -h, w, h, Paint::stroke(QUIET, 1.0).dashed()).role(Role::Rule).tip(tip));
    nodes.extend(s.bank.iter().flat_map(|b| bank(b, scale)));
    nodes.extend(s.tray.iter().flat_map(|t| tray(t, scale)));
    for (place, letter, tip) in marks(s) {
        nodes.push(Node::group(mm(*place.x) * scale, -mm(*place.y) * scale, mark(letter, &tip)));
    }
    match s.kind {
        StationKind::Turret => nodes.extend(turret(s, scale, belt)),
        StationKind::Gantry => nodes.extend(on_beam(s, None, 0.8 * h, w, scale)),
        StationKind::TwoBeam => {
            nodes.extend(on_beam(s, Some(1), 0.2 * h, w, scale));
            nodes.extend(on_beam(s, Some(2), 0.8 * h, w, scale));
        }
    }
    nodes
}

/// A beam at `y` above the origin with the heads it may carry beside each other.
fn on_beam(s: &Station, number: Option<u8>, y: f64, width: f64, scale: f64) -> Vec<Node> {
    let heads: Vec<_> = s.head.iter().filter(|h| number.is_none() || h.beam == number).collect();
    let width = width.max(40.0);
    let mut nodes = vec![beam(-6.0, width + 6.0, -y)];
    if let Some(n) = number {
        nodes.push(Node::text(width + 6.0, -y - 5.0, 9.0, format!("beam {n}")).anchored(Anchor::End).quiet());
    }
    let room = width / heads.len().max(1) as f64;
    for (k, h) in heads.iter().enumerate() {
        nodes.push(Node::group(room * (k as f64 + 0.5), -y, head::nodes(h, scale, room - 4.0)));
    }
    nodes
}

/// A beam from `x0` to `x1`.
pub(super) fn beam(x0: f64, x1: f64, y: f64) -> Node {
    Node::rect(x0, y - 3.0, x1 - x0, 6.0, Paint::fill(Colour(0xb9, 0xc0, 0xc7))).rounded(2.0)
}

/// The drum of a turret: its lower edge over the pick points, its upper over the belt.
fn turret(s: &Station, scale: f64, belt: f64) -> Vec<Node> {
    let Some(h) = s.head.first() else { return Vec::new() };
    let pick = s.bank.iter().map(|b| mm(*b.first.y)).fold(0.0, f64::min);
    let (x, y) = (mm(*s.max_panel.x) / 2.0 * scale, -(belt + pick) / 2.0 * scale);
    let radius = ((belt - pick) / 2.0 * scale).max(14.0);
    let mut nodes = vec![Node::group(x, y, head::drum(h, radius))];
    // The carriage moves along X, so that the wanted slot comes under the drum.
    for b in &s.bank {
        let right = (mm(*b.first.x) - mm(*b.pitch) / 2.0 + bank_width(b)) * scale;
        nodes.extend(both_ways(right - 26.0, (BANK_DEPTH - mm(*b.first.y)) * scale + 10.0, 26.0));
    }
    nodes
}

/// An arrow to both sides about `x`.
fn both_ways(x: f64, y: f64, half: f64) -> [Node; 2] {
    let head = |to: f64, back: f64| vec![Step::Move(x + to + back, y - 3.5), Step::Line(x + to, y), Step::Line(x + to + back, y + 3.5)];
    let mut steps = vec![Step::Move(x - half, y), Step::Line(x + half, y)];
    steps.extend(head(-half, 6.0));
    steps.extend(head(half, -6.0));
    // A light edge keeps it apart from the slots under it.
    [
        Node::new(Shape::Path(steps.clone()), Paint::stroke(PAPER, 4.0)),
        Node::new(Shape::Path(steps), Paint::stroke(INK, 1.6)).tip("the carriage with the feeders moves along here"),
    ]
}

fn bank(b: &Bank, scale: f64) -> Vec<Node> {
    let out = outwards(b);
    let pitch = mm(*b.pitch) * scale;
    let x = mm(*b.first.x) * scale - pitch / 2.0;
    let (w, h) = (bank_width(b) * scale, BANK_DEPTH * scale);
    let line = -mm(*b.first.y) * scale;
    let top = if out < 0.0 { line } else { line - h };
    let mount = match (b.mount, &b.cart) {
        (BankMount::Cart, Some(kind)) if kind.starts_with("cart") => format!("on {kind}"),
        (BankMount::Cart, Some(kind)) => format!("on cart {kind}"),
        (BankMount::Cart, None) => "on a cart".to_owned(),
        (BankMount::Fixed, _) => "fixed".to_owned(),
    };
    let beam = b.beam.map_or(String::new(), |n| format!(", beam {n}"));
    let tip = format!("bank {}: {} slots of {}, {mount}{beam}", b.name, b.slots, *b.pitch);
    let mut nodes = wheels(b.mount, x, top, w, h, out);
    nodes.push(Node::rect(x, top, w, h, Paint::fill(BANK_GROUND).outlined(SKY, 1.2)).rounded(2.0).tip(tip));
    if pitch >= 1.6 {
        let between = (1..b.slots.min(MOST_SLOTS)).map(|n| x + f64::from(n) * pitch).take_while(|at| *at < x + w);
        let ticks: Vec<Step> = between.flat_map(|at| [Step::Move(at, top), Step::Line(at, top + h)]).collect();
        nodes.push(Node::new(Shape::Path(ticks), Paint::stroke(SKY, 0.6)));
    }
    let number = |n: u32| {
        Node::text(x + (f64::from(n) - 0.5) * pitch, top + h / 2.0 + 3.0, 8.0, n.to_string()).anchored(Anchor::Middle).coloured(INK)
    };
    nodes.push(Node::text(x + 1.5, top + h / 2.0 + 3.0, 8.0, "1").coloured(INK));
    // Every tenth, where there is room before the last.
    let step = if pitch * 10.0 >= 24.0 { 10 } else { 50 };
    nodes.extend(
        (1..).map(|k| k * step).take_while(|n| f64::from(b.slots.min(MOST_SLOTS)) - f64::from(*n) >= 24.0 / pitch.max(0.1)).map(number),
    );
    if b.slots > 1 && b.slots <= MOST_SLOTS && w > 24.0 {
        nodes.push(Node::text(x + w - 1.5, top + h / 2.0 + 3.0, 8.0, b.slots.to_string()).anchored(Anchor::End).coloured(INK));
    }
    let words = format!("{}{beam}: {} slots, {mount}", b.name, b.slots);
    let words = text::fit(&words, w.max(90.0), 10.0, false);
    // Always below: behind a rear bank there may be trays.
    nodes.push(Node::text(x, top + h + 14.0, 10.0, words).quiet());
    nodes
}

/// Wheels at the outer corners of a cart.
fn wheels(mount: BankMount, x: f64, top: f64, w: f64, h: f64, out: f64) -> Vec<Node> {
    if mount != BankMount::Cart {
        return Vec::new();
    }
    let y = if out < 0.0 { top + h } else { top };
    [x + 7.0, x + w - 7.0].into_iter().map(|at| Node::circle(at, y, 4.0, Paint::fill(INK)).role(Role::Ink)).collect()
}

fn tray(t: &TrayPlace, scale: f64) -> Vec<Node> {
    let (x, y, side) = (mm(*t.at.x) * scale, -mm(*t.at.y) * scale, TRAY * scale);
    let more = match t.kind {
        TrayKind::Fixed => "one tray".to_owned(),
        TrayKind::Stack => "stack".to_owned(),
        TrayKind::Magazine => format!("{} levels", t.levels()),
    };
    let beam = t.beam.map_or(String::new(), |n| format!(", beam {n}"));
    let height = t.stack_height.map_or(String::new(), |h| format!(", {} high at most", *h));
    let tip = format!("tray place {}: {}, {more}{height}, change {}{beam}", t.name, t.kind.word(), *t.change);
    let paint = Paint::fill(TRAY_GROUND).outlined(INK, 0.9);
    let mut nodes = Vec::new();
    let back = match t.kind {
        TrayKind::Fixed => 0,
        TrayKind::Stack => 1,
        TrayKind::Magazine => 2,
    };
    for k in (1..=back).rev() {
        let d = 2.4 * f64::from(k);
        nodes.push(Node::rect(x - side / 2.0 + d, y - side / 2.0 - d, side, side, paint).rounded(2.0));
    }
    nodes.push(Node::rect(x - side / 2.0, y - side / 2.0, side, side, paint).rounded(2.0).tip(tip));
    let label = |dy: f64, size: f64, words: &str, bold: bool| {
        let node = Node::text(x, y + dy, size, text::fit(words, side - 4.0, size, bold)).anchored(Anchor::Middle).coloured(INK);
        if bold { node.bold() } else { node }
    };
    nodes.push(label(-1.0, 9.0, &t.name, true));
    nodes.push(label(10.0, 8.0, &more, false));
    nodes
}

/// Cameras, the nozzle rack and the head changer: place, letter, words. A camera that several heads use is one.
fn marks(s: &Station) -> Vec<(Place, &'static str, String)> {
    let mut all: Vec<(Place, &'static str, String)> = Vec::new();
    for h in &s.head {
        let Some((at, sight)) = h.sight.as_ref().and_then(|x| Some((x.at?, x))) else { continue };
        if !all.iter().any(|(p, ..)| *p == at) {
            let field = sight.field.map_or(String::new(), |f| format!(", sees {} × {}", *f, *f));
            all.push((at, "C", format!("camera{field}, {} an exposure", *sight.time)));
        }
    }
    all.extend(s.nozzle_rack.iter().map(|r| (r.at, "N", format!("nozzle rack: {} for one spindle", *r.change))));
    all.extend(s.head_swap.iter().map(|x| (x.at, "H", format!("head changer: {}", *x.time))));
    all
}

fn mark(letter: &str, tip: &str) -> Vec<Node> {
    vec![
        Node::rect(-MARK, -MARK, 2.0 * MARK, 2.0 * MARK, Paint::fill(PAPER).outlined(INK, 1.2)).rounded(3.0).tip(tip),
        Node::text(0.0, 3.4, 9.5, letter).anchored(Anchor::Middle).bold().coloured(INK).tip(tip),
    ]
}

pub(super) fn mark_swatch(letter: &str) -> Vec<Node> {
    vec![Node::group(7.0, 7.0, mark(letter, ""))]
}

pub(super) fn bank_swatch(mount: BankMount) -> Vec<Node> {
    let mut nodes = if mount == BankMount::Cart { wheels(mount, -2.0, 1.0, 18.0, 10.0, -1.0) } else { Vec::new() };
    nodes.push(Node::rect(0.0, 1.0, 14.0, 10.0, Paint::fill(BANK_GROUND).outlined(SKY, 1.2)));
    nodes.push(Node::line((4.7, 1.0), (4.7, 11.0), Paint::stroke(SKY, 0.8)));
    nodes.push(Node::line((9.3, 1.0), (9.3, 11.0), Paint::stroke(SKY, 0.8)));
    nodes
}

pub(super) fn tray_swatch() -> Vec<Node> {
    vec![
        Node::rect(3.0, 0.0, 11.0, 11.0, Paint::fill(YELLOW).outlined(INK, 0.9)).rounded(2.0),
        Node::rect(1.0, 2.0, 11.0, 11.0, Paint::fill(TRAY_GROUND).outlined(INK, 0.9)).rounded(2.0),
    ]
}
