//! The panel as it lies in the machine, side to be placed up: bodies to scale in the colour
//! and hatch of their station, pass or order, what no station places, the marks and a scale bar.

mod colouring;

pub use colouring::Colouring;

use crate::body::Body;
use crate::legend::{Entry, flow, hatch_ink, tinted};
use crate::lookup;
use crate::palette::{self, INK, PAPER, QUIET, RULE, Tint, VERMILION, ink_on};
use crate::ruler;
use crate::scene::{Anchor, Node, Paint, Role, Scene, Shape};
use crate::text;
use colouring::Look;
use domain::job::{Job, TaskId};
use domain::plan::Plan;
use std::collections::BTreeMap;

const WIDTH: f64 = 960.0;
const MAX_HEIGHT: f64 = 720.0;
const MARGIN: f64 = 14.0;

/// From the panel's millimetres to the picture.
struct Frame {
    scale: f64,
    left: f64,
    bottom: f64,
    size: (f64, f64),
}

impl Frame {
    fn of(job: &Job<'_>) -> Self {
        let size = (job.size.x.to_mm().max(1.0), job.size.y.to_mm().max(1.0));
        let scale = ((WIDTH - 2.0 * MARGIN) / size.0).min(MAX_HEIGHT / size.1);
        Self { scale, left: (WIDTH - size.0 * scale) / 2.0, bottom: MARGIN + size.1 * scale, size }
    }

    fn place(&self, x: f64, y: f64) -> (f64, f64) {
        (self.left + x * self.scale, self.bottom - y * self.scale)
    }

    fn holds(&self, x: f64, y: f64) -> bool {
        (-1.0..=self.size.0 + 1.0).contains(&x) && (-1.0..=self.size.1 + 1.0).contains(&y)
    }
}

/// The board picture of a plan, coloured by station; a sentence instead when the inputs are not sound.
pub fn scene(plan: &Plan) -> Scene {
    scene_by(plan, Colouring::Station)
}

/// The board picture of a plan in these colours; a sentence instead when the inputs are not sound.
pub fn scene_by(plan: &Plan, colouring: Colouring) -> Scene {
    match lookup::job(plan) {
        Ok(job) => panel(plan, &job, colouring),
        Err(why) => {
            let mut scene = Scene::new("The panel cannot be drawn", WIDTH, 40.0);
            scene.push(Node::text(MARGIN, 24.0, 13.0, format!("The panel cannot be drawn: {why}.")));
            scene
        }
    }
}

fn panel(plan: &Plan, job: &Job<'_>, colouring: Colouring) -> Scene {
    let frame = Frame::of(job);
    let colours = colouring::colours(plan, job, colouring);
    let (inside, outside): (Vec<TaskId>, Vec<TaskId>) = (0..job.tasks.len() as u32).map(TaskId).partition(|t| {
        let at = job.tasks[t.index()].at;
        frame.holds(at.x.to_mm(), at.y.to_mm())
    });
    let top = frame.bottom + MARGIN;
    let mut entries = legend(plan, job, colours.legend, colours.looks.len());
    if !outside.is_empty() {
        entries.push(Entry { swatch: Vec::new(), words: outside_words(job, &outside) });
    }
    let (legend, height) = flow(entries, MARGIN, top + 30.0, WIDTH - 2.0 * MARGIN);
    let mut scene = Scene::new(format!("Panel of {}, {} side", plan.product.name, job.side.word()), WIDTH, top + 30.0 + height + 4.0);
    scene.extend(outlines(plan, job, &frame));
    scene.extend(bodies(plan, job, &frame, &colours.looks, &inside));
    scene.extend(marks(job, &frame));
    scene.extend(scale_bar(&frame, top + 6.0));
    scene.extend(legend);
    scene
}

fn outside_words(job: &Job<'_>, outside: &[TaskId]) -> String {
    let names: Vec<String> = outside.iter().take(8).map(|t| lookup::task_name(job, *t)).collect();
    let more = if outside.len() > 8 { ", …" } else { "" };
    format!("{} outside the panel, not drawn: {}{more}", outside.len(), names.join(", "))
}

/// The carrier, and each board in it.
fn outlines(plan: &Plan, job: &Job<'_>, frame: &Frame) -> Vec<Node> {
    let (w, h) = (frame.size.0 * frame.scale, frame.size.1 * frame.scale);
    let ground = Node::rect(frame.left, frame.bottom - h, w, h, Paint::fill(PAPER).outlined(QUIET, 1.4)).rounded(2.0).role(Role::Paper);
    let mut nodes = vec![ground];
    let board = (plan.product.width_um.to_mm() * frame.scale, plan.product.depth_um.to_mm() * frame.scale);
    for image in 0..job.panel.images() {
        if job.panel.images() == 1 && job.panel.corner(0) == units::Point::default() {
            break;
        }
        let corner = job.panel.corner(image);
        let (x, y) = frame.place(corner.x.to_mm(), corner.y.to_mm());
        let outline = Paint::stroke(RULE, 1.0);
        nodes.push(Node::rect(x, y - board.1, board.0, board.1, outline).role(Role::Rule).tip(format!("board {}", image + 1)));
        if board.1 > 60.0 && job.panel.images() > 1 {
            let name = format!("@{}{}", image + 1, if job.panel.is_turned(image) { ", turned by 180°" } else { "" });
            nodes.push(Node::text(x + 5.0, y - board.1 + 13.0, 10.0, name).quiet());
        }
    }
    nodes
}

fn bodies(plan: &Plan, job: &Job<'_>, frame: &Frame, looks: &BTreeMap<TaskId, Look>, tasks: &[TaskId]) -> Vec<Node> {
    // Large bodies first, so that what lies under a shield or beside a tall part stays visible.
    let mut drawn: Vec<(TaskId, Body)> = tasks
        .iter()
        .filter_map(|id| {
            let task = &job.tasks[id.index()];
            Some((*id, Body::new(task, lookup::part(plan, task.part)?, frame.scale, |x, y| frame.place(x, y))))
        })
        .collect();
    drawn.sort_by(|a, b| (b.1.size.0 * b.1.size.1).total_cmp(&(a.1.size.0 * a.1.size.1)));
    drawn.iter().flat_map(|(id, body)| body_nodes(plan, job, *id, body, looks.get(id))).collect()
}

fn body_nodes(plan: &Plan, job: &Job<'_>, id: TaskId, body: &Body, look: Option<&Look>) -> Vec<Node> {
    let name = lookup::task_name(job, id);
    let number = lookup::part_number(plan, job.tasks[id.index()].part);
    let by = look.map_or("not placed", |l| l.by.as_str());
    let tip = format!("{name}: {number}, {by}");
    let tint = look.map_or(palette::UNPLACED, |l| l.tint);
    let mut nodes = vec![Node::new(Shape::Path(body.outline()), body_paint(body, tint, look.is_some())).tip(tip)];
    nodes.extend(hatched(body, tint, look.is_some()));
    nodes.extend(label(body, job.reference(id), tint, look.is_some()));
    nodes
}

/// Bodies narrower than this [picture units] are shown by their colour alone, which lines would drown.
const LINED: f64 = 4.0;

fn is_lined(body: &Body) -> bool {
    body.size.0.min(body.size.1) >= LINED
}

fn body_paint(body: &Body, tint: Tint, placed: bool) -> Paint {
    match (placed, is_lined(body)) {
        (true, true) => Paint { dashed: body.guessed, ..Paint::fill(tint.colour).outlined(INK, 0.6) },
        (true, false) => Paint::fill(tint.colour),
        (false, _) => Paint { dashed: body.guessed, ..Paint::stroke(VERMILION, 0.8) },
    }
}

fn hatched(body: &Body, tint: Tint, placed: bool) -> Option<Node> {
    let lines = if is_lined(body) || !placed { body.hatch(tint.hatch, if placed { 9.0 } else { 6.0 }) } else { Vec::new() };
    let (ink, width) = if placed { (hatch_ink(tint), 0.5) } else { (VERMILION, 0.8) };
    (!lines.is_empty()).then(|| Node::new(Shape::Path(lines), Paint::stroke(ink, width)))
}

/// The reference on the body, where it fits at a legible size, on a patch of the body's colour.
fn label(body: &Body, reference: &str, tint: Tint, placed: bool) -> Vec<Node> {
    let (along, across, turn) = body.label_room();
    let size = (across * 0.72).min(11.0).min((along - 3.0) / text::width(reference, 1.0, false).max(0.5));
    if size < 5.0 {
        return Vec::new();
    }
    let wide = text::width(reference, size, false) + 2.0;
    let (patch, ink) = if placed { (tint.colour, ink_on(tint.colour)) } else { (PAPER, VERMILION) };
    let words = Node::text(0.0, size * 0.36, size, reference).anchored(Anchor::Middle).coloured(ink);
    let role = if placed { Role::Plain } else { Role::Paper };
    let ground = Node::rect(-wide / 2.0, -size * 0.55, wide, size * 1.1, Paint::fill(patch)).role(role);
    let nodes = if tint.hatch == crate::hatch::Hatch::None { vec![words] } else { vec![ground, words] };
    vec![Node::group(body.centre.0, body.centre.1, nodes).turned(turn)]
}

fn marks(job: &Job<'_>, frame: &Frame) -> Vec<Node> {
    let words = if job.fiducials_assumed { "mark, assumed" } else { "mark" };
    job.fiducials
        .iter()
        .flat_map(|at| {
            let (x, y) = frame.place(at.x.to_mm(), at.y.to_mm());
            ruler::mark(x, y, job.fiducials_assumed, words)
        })
        .collect()
}

/// What the looks mean, then what every board picture may show beside them.
fn legend(plan: &Plan, job: &Job<'_>, mut entries: Vec<Entry>, placed: usize) -> Vec<Entry> {
    if placed < job.tasks.len() {
        let mut swatch = tinted(0.0, 1.0, 14.0, 12.0, Tint { colour: PAPER, ..palette::UNPLACED }, "");
        swatch.truncate(1);
        let lines = crate::hatch::lines(palette::UNPLACED.hatch, 0.0, 1.0, 14.0, 12.0, 5.0);
        swatch.push(Node::new(Shape::Path(lines), Paint::stroke(VERMILION, 0.9)));
        entries.push(Entry { swatch, words: format!("not placed ({})", job.tasks.len() - placed) });
    }
    let words = if job.fiducials_assumed { "mark (fiducial), assumed" } else { "mark (fiducial)" };
    entries.push(Entry { swatch: ruler::mark(7.0, 7.0, job.fiducials_assumed, ""), words: words.to_owned() });
    if plan.product.parts.iter().any(|p| p.body_x_um.certainty == domain::part::Certainty::Guess) {
        let swatch = vec![Node::rect(0.5, 1.5, 13.0, 11.0, Paint::stroke(INK, 0.9).dashed()).role(Role::Ring)];
        entries.push(Entry { swatch, words: "dashed: size is a guess".to_owned() });
    }
    entries
}

/// The bar, and the size of the panel.
fn scale_bar(frame: &Frame, y: f64) -> Vec<Node> {
    let mut nodes = ruler::scale_bar(frame.left, frame.size.0, frame.scale, y);
    let size = format!("panel {} x {} mm", frame.size.0, frame.size.1);
    nodes.push(Node::text(frame.left + frame.size.0 * frame.scale, y + 4.0, 11.0, size).anchored(Anchor::End).quiet());
    nodes
}
