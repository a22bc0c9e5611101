//! One side of a board as it was read, seen from that side: bodies to scale, marks, and what a finding names.

use crate::body::Body;
use crate::legend::{Entry, flow};
use crate::palette::{GREY, INK, PAPER, QUIET, SKY, VERMILION, ink_on};
use crate::ruler;
use crate::scene::{Anchor, Node, Paint, Role, Scene, Shape};
use crate::text;
use domain::part::{Certainty, Mount, Part};
use domain::product::{Placement, Product, Side, Status};
use std::collections::BTreeSet;

const WIDTH: f64 = 1080.0;
const MAX_HEIGHT: f64 = 860.0;
const MARGIN: f64 = 16.0;
/// Bodies reach beyond the board by this at most [mm]; what lies farther off is listed instead.
const OVERHANG: f64 = 15.0;

/// From the board's millimetres to the picture, the bottom turned over about its vertical axis.
struct Frame {
    scale: f64,
    left: f64,
    bottom: f64,
    size: (f64, f64),
    /// How far bodies hang over the edge [mm].
    over: f64,
    is_mirrored: bool,
}

impl Frame {
    fn of(product: &Product, side: Side) -> Self {
        let size = (product.width_um.to_mm().clamp(1.0, 1e4), product.depth_um.to_mm().clamp(1.0, 1e4));
        let over = overhang(product, side, size);
        let scale = ((WIDTH - 2.0 * MARGIN) / (size.0 + 2.0 * over)).min(MAX_HEIGHT / (size.1 + 2.0 * over));
        let left = (WIDTH - size.0 * scale) / 2.0;
        Self { scale, left, bottom: MARGIN + 20.0 + (size.1 + over) * scale, over, size, is_mirrored: side == Side::Bottom }
    }

    fn place(&self, x: f64, y: f64) -> (f64, f64) {
        let x = if self.is_mirrored { self.size.0 - x } else { x };
        (self.left + x * self.scale, self.bottom - y * self.scale)
    }

    fn holds(&self, x: f64, y: f64) -> bool {
        (-OVERHANG..=self.size.0 + OVERHANG).contains(&x) && (-OVERHANG..=self.size.1 + OVERHANG).contains(&y)
    }
}

/// How far bodies hang over the edges of a board of this size [mm].
fn overhang(product: &Product, side: Side, size: (f64, f64)) -> f64 {
    let beyond = |p: &Placement| {
        let part = product.parts.get(p.part?.index())?;
        let (x, y) = (p.at.x.to_mm(), p.at.y.to_mm());
        let out = (-x).max(x - size.0).max(-y).max(y - size.1);
        (out < OVERHANG).then_some(out + part.long_side().to_mm() / 2.0)
    };
    let here = product.placements.iter().filter(|p| p.side == side && p.status != Status::Ignored);
    here.filter_map(beyond).fold(0.0, f64::max).min(OVERHANG)
}

/// The picture of a side; `named` are the references that findings name.
pub fn scene(product: &Product, side: Side, named: &BTreeSet<String>) -> Scene {
    let frame = Frame::of(product, side);
    let part = |p: &Placement| p.part.and_then(|id| product.parts.get(id.index()));
    let here = |p: &&Placement| p.side == side && p.status != Status::Ignored;
    let (inside, outside): (Vec<&Placement>, Vec<&Placement>) =
        product.placements.iter().filter(here).partition(|p| frame.holds(p.at.x.to_mm(), p.at.y.to_mm()));
    let top = frame.bottom + frame.over * frame.scale + MARGIN;
    let (legend, height) = flow(entries(product, side, &inside, &outside, named), MARGIN, top + 26.0, WIDTH - 2.0 * MARGIN);
    let title = format!("{}, {} side, seen from the {}", product.name, side.word(), side.word());
    let mut scene = Scene::new(title.clone(), WIDTH, top + 26.0 + height + 6.0);
    scene.push(Node::text(MARGIN, 18.0, 13.0, title).bold());
    let (w, h) = (frame.size.0 * frame.scale, frame.size.1 * frame.scale);
    scene.push(Node::rect(frame.left, frame.bottom - h, w, h, Paint::fill(PAPER).outlined(QUIET, 1.4)).role(Role::Paper));
    let mut bodies: Vec<(&Placement, &Part, Body)> =
        inside.iter().filter_map(|p| Some((*p, part(p)?, body(&frame, p, part(p)?)))).collect();
    bodies.sort_by(|a, b| (b.2.size.0 * b.2.size.1).total_cmp(&(a.2.size.0 * a.2.size.1)));
    scene.extend(bodies.iter().flat_map(|(p, part, b)| body_nodes(p, part, b, named.contains(&p.reference))));
    for mark in product.fiducials.iter().filter(|f| f.side == side) {
        let (x, y) = frame.place(mark.at.x.to_mm(), mark.at.y.to_mm());
        scene.extend(ruler::mark(x, y, false, &mark.reference));
    }
    scene
        .push(Node::text(frame.left + w, top - 2.0, 11.0, format!("{} x {} mm", frame.size.0, frame.size.1)).anchored(Anchor::End).quiet());
    scene.extend(ruler::scale_bar(frame.left, frame.size.0, frame.scale, top - 6.0));
    scene.extend(legend);
    scene
}

/// A body as it lies in the picture.
fn body(frame: &Frame, placement: &Placement, part: &Part) -> Body {
    let side = |mm: f64| (mm.clamp(0.0, 1e4) * frame.scale).max(1.0);
    let turn = placement.rotation_mdeg.normalised().to_deg();
    Body {
        centre: frame.place(placement.at.x.to_mm(), placement.at.y.to_mm()),
        size: (side(part.body_x_um.value.to_mm()), side(part.body_y_um.value.to_mm())),
        // Seen from below, angles of the top view run the other way.
        turn: if frame.is_mirrored { turn } else { -turn },
        guessed: part.body_x_um.certainty == Certainty::Guess || part.body_y_um.certainty == Certainty::Guess,
    }
}

fn body_nodes(placement: &Placement, part: &Part, body: &Body, is_named: bool) -> Vec<Node> {
    let fill = match (placement.status, part.mount.value) {
        (Status::NotFitted, _) => None,
        (_, Mount::Smt) => Some(SKY),
        _ => Some(GREY),
    };
    let edge = if is_named { VERMILION } else { INK };
    let width = if is_named { 1.8 } else { 0.6 };
    let paint = fill.map_or(Paint::stroke(edge, width), |f| Paint::fill(f).outlined(edge, width));
    let size = format!("{} x {} mm", part.body_x_um.value.to_mm(), part.body_y_um.value.to_mm());
    let status = if placement.status == Status::NotFitted { ", not fitted" } else { "" };
    let tip = format!("{}: {} {}, {size}{status}", placement.reference, part.number, part.package);
    let mut nodes = vec![Node::new(Shape::Path(body.outline()), Paint { dashed: body.guessed, ..paint }).tip(tip)];
    nodes.extend(pin_one(part, body, fill.map_or(INK, ink_on)));
    let (along, across, turn) = body.label_room();
    let letters = (across * 0.7).min(11.0).min((along - 3.0) / text::width(&placement.reference, 1.0, false).max(0.5));
    if letters >= 5.0 {
        let ink = fill.map_or(INK, ink_on);
        let words = Node::text(0.0, letters * 0.36, letters, &placement.reference).anchored(Anchor::Middle).coloured(ink);
        nodes.push(Node::group(body.centre.0, body.centre.1, vec![words]).turned(turn));
    }
    // Small bodies would be overlooked.
    if is_named && body.size.0.max(body.size.1) < 12.0 {
        nodes.push(
            Node::circle(body.centre.0, body.centre.1, 9.0, Paint::stroke(VERMILION, 1.6)).role(Role::Ring).tip(&placement.reference),
        );
    }
    nodes
}

/// A dot near pin one, where it is known and the body is large enough for it.
fn pin_one(part: &Part, body: &Body, ink: crate::scene::Colour) -> Option<Node> {
    let at = part.handling.pin_one.value?;
    let (long, short) = (body.size.0.max(body.size.1), body.size.0.min(body.size.1));
    if short < LEAST_FOR_PIN_ONE {
        return None;
    }
    let scale = long / part.long_side().to_mm().max(0.001);
    let radius = (short * 0.06).clamp(1.2, 3.5);
    // Pins may lie outside the body: the dot stays inside its edge.
    let inside = |along: f64, side: f64| along.clamp(-(side / 2.0 - 2.0 * radius), side / 2.0 - 2.0 * radius);
    let (x, y) = (inside(at.x.to_mm() * scale, body.size.0), inside(-at.y.to_mm() * scale, body.size.1));
    let (sin, cos) = body.turn.to_radians().sin_cos();
    let dot = Node::circle(body.centre.0 + x * cos - y * sin, body.centre.1 + x * sin + y * cos, radius, Paint::fill(ink));
    Some(dot.role(Role::Ring).tip(format!("pin 1 of {}", part.package)))
}

/// Bodies narrower than this have no room for a dot.
const LEAST_FOR_PIN_ONE: f64 = 14.0;

fn entries(product: &Product, side: Side, inside: &[&Placement], outside: &[&Placement], named: &BTreeSet<String>) -> Vec<Entry> {
    let mount = |p: &Placement| p.part.and_then(|id| product.parts.get(id.index())).map(|part| part.mount.value);
    let all = || inside.iter().chain(outside);
    let smt = all().filter(|p| p.status == Status::Fitted && mount(p) == Some(Mount::Smt)).count();
    let other = all().filter(|p| p.status == Status::Fitted && mount(p) != Some(Mount::Smt)).count();
    let not = all().filter(|p| p.status == Status::NotFitted).count();
    let swatch = |paint: Paint| vec![Node::rect(0.5, 1.5, 13.0, 11.0, paint).role(Role::Ring)];
    let mut entries = vec![Entry { swatch: swatch(Paint::fill(SKY).outlined(INK, 0.6)), words: format!("surface mount ({smt})") }];
    let mut add = |swatch: Vec<Node>, words: String| entries.push(Entry { swatch, words });
    if other > 0 {
        add(swatch(Paint::fill(GREY).outlined(INK, 0.6)), format!("through-hole or by hand ({other})"));
    }
    if not > 0 {
        add(swatch(Paint::stroke(INK, 0.6)), format!("not fitted ({not})"));
    }
    let marked = all().filter(|p| named.contains(&p.reference)).count();
    if marked > 0 {
        add(swatch(Paint::stroke(VERMILION, 1.8)), format!("a warning names it ({marked})"));
    }
    let pinned = all().any(|p| p.part.and_then(|id| product.parts.get(id.index())).is_some_and(|x| x.handling.pin_one.value.is_some()));
    if pinned {
        add(vec![Node::circle(7.0, 7.0, 2.5, Paint::fill(INK)).role(Role::Ring)], "pin 1, on bodies large enough".to_owned());
    }
    add(swatch(Paint::stroke(INK, 0.9).dashed()), "dashed: size is a guess".to_owned());
    if product.fiducials.iter().any(|f| f.side == side) {
        add(ruler::mark(7.0, 7.0, false, ""), "mark (fiducial)".to_owned());
    }
    if !outside.is_empty() {
        let names: Vec<&str> = outside.iter().take(12).map(|p| p.reference.as_str()).collect();
        let more = if outside.len() > 12 { ", …" } else { "" };
        add(Vec::new(), format!("{} far off the board, not drawn: {}{more}", outside.len(), names.join(", ")));
    }
    entries
}
