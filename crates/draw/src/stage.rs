//! A station seen from above with the panel it works on: banks, trays, cameras, racks, and the bodies it places. A moving picture
//! of its program is played over it, so the frame is handed out with the picture.

use crate::body::Body;
use crate::lookup;
use crate::palette::{self, INK, PAPER, QUIET, RULE, SKY, Tint, ink_on};
use crate::ruler;
use crate::scene::{Anchor, Node, Paint, Role, Scene, Shape};
use crate::text;
use domain::job::{Job, TaskId};
use domain::line::Station;
use domain::plan::{Plan, StationPlan, SupplyPlace, pick_point};

const WIDTH: f64 = 960.0;
const MAX_HEIGHT: f64 = 760.0;
const MARGIN: f64 = 18.0;
/// How far from the panel's corner anything is drawn [mm]; what a typing error on the sheet puts beyond is left out.
const FAR: f64 = 3_000.0;
/// Half the depth of a bank [mm], half the side of a tray place and of other places: pictures need a size where sheets state none.
const BANK: f64 = 14.0;
const TRAY: f64 = 30.0;
const SPOT: f64 = 9.0;

/// The picture, and how the panel's frame lies in it: X right from `left`, Y up from `bottom`.
#[derive(Clone, Debug)]
pub struct Stage {
    /// The picture.
    pub scene: Scene,
    /// Picture units per mm.
    pub scale: f64,
    /// Where the panel's lower left corner lies, from the left.
    pub left: f64,
    /// Where it lies, from the top.
    pub bottom: f64,
    /// Width and depth of the panel [mm].
    pub panel: (f64, f64),
}

/// What lies somewhere around the panel [mm]: its extent and what it is.
struct Thing {
    from: (f64, f64),
    to: (f64, f64),
    words: String,
    kind: Kind,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Kind {
    Bank,
    Feeder,
    Tray,
    Spot,
}

impl Stage {
    fn place(&self, x: f64, y: f64) -> (f64, f64) {
        (self.left + x * self.scale, self.bottom - y * self.scale)
    }
}

/// The stage of a station of the plan, counted from 0; `None` when there is no such station or the inputs are not sound.
///
/// Every body that this station places has a tooltip that begins with its reference and a colon, `C12: `.
pub fn stage(plan: &Plan, station: usize) -> Option<Stage> {
    let planned = plan.stations.get(station)?;
    let sheet = lookup::station(plan, planned)?;
    let job = lookup::job(plan).ok()?;
    let things = things(plan, planned, station, sheet);
    let size = (job.size.x.to_mm().max(1.0), job.size.y.to_mm().max(1.0));
    let (mut low, mut high) = ((0.0f64, 0.0f64), size);
    for t in &things {
        low = (low.0.min(t.from.0), low.1.min(t.from.1));
        high = (high.0.max(t.to.0), high.1.max(t.to.1));
    }
    let (wide, deep) = (high.0 - low.0, high.1 - low.1);
    let scale = ((WIDTH - 2.0 * MARGIN) / wide).min(MAX_HEIGHT / deep);
    let left = (WIDTH - wide * scale) / 2.0 - low.0 * scale;
    let scene = Scene::new(format!("Station {} from above", planned.station), WIDTH, deep * scale + 2.0 * MARGIN);
    let mut stage = Stage { scene, scale, left, bottom: MARGIN + high.1 * scale, panel: size };
    let mut nodes = panel(&stage, &job, size);
    nodes.extend(things.iter().flat_map(|t| thing(&stage, t)));
    nodes.extend(bodies(&stage, plan, &job, station));
    for at in &job.fiducials {
        let (x, y) = stage.place(at.x.to_mm(), at.y.to_mm());
        nodes.extend(ruler::mark(x, y, job.fiducials_assumed, "mark"));
    }
    stage.scene.extend(nodes);
    Some(stage)
}

fn things(plan: &Plan, planned: &StationPlan, station: usize, sheet: &Station) -> Vec<Thing> {
    let mut all = Vec::new();
    let mut square = |at: units::Point, half: f64, words: String, kind: Kind| {
        let (x, y) = (at.x.to_mm(), at.y.to_mm());
        all.push(Thing { from: (x - half, y - half), to: (x + half, y + half), words, kind });
    };
    for tray in &sheet.tray {
        square(tray.at.point(), TRAY, tray.name.clone(), Kind::Tray);
    }
    let mut cameras: Vec<units::Point> = Vec::new();
    for at in sheet.head.iter().filter_map(|h| h.sight.as_ref()?.at).map(domain::line::Place::point) {
        if !cameras.contains(&at) {
            cameras.push(at);
            square(at, SPOT, "camera".to_owned(), Kind::Spot);
        }
    }
    if let Some(rack) = &sheet.nozzle_rack {
        square(rack.at.point(), SPOT, "nozzle rack".to_owned(), Kind::Spot);
    }
    if let Some(swap) = &sheet.head_swap {
        square(swap.at.point(), SPOT, "head changer".to_owned(), Kind::Spot);
    }
    for bank in &sheet.bank {
        let (x, y, pitch) = (bank.first.x.to_mm(), bank.first.y.to_mm(), bank.pitch.to_mm());
        let last = x + pitch * (f64::from(bank.slots) - 1.0);
        let (from, to) = (x.min(last) - pitch.abs() / 2.0, x.max(last) + pitch.abs() / 2.0);
        all.push(Thing { from: (from, y - BANK), to: (to, y + BANK), words: bank.name.clone(), kind: Kind::Bank });
    }
    for supply in &planned.supplies {
        let SupplyPlace::Feeder { bank, feeder, .. } = supply.place else { continue };
        let (Some(at), Some(on)) = (pick_point(&plan.line, station, &supply.place), sheet.bank.get(bank as usize)) else { continue };
        let half = on.pitch.to_mm().abs() * plan.line.feeder.get(feeder as usize).map_or(1.0, |f| f64::from(f.slots)) / 2.0 * 0.86;
        let (x, y) = (at.x.to_mm(), at.y.to_mm());
        let words = lookup::part_number(plan, supply.part);
        all.push(Thing { from: (x - half, y - BANK * 0.8), to: (x + half, y + BANK * 0.8), words, kind: Kind::Feeder });
    }
    let near = |p: (f64, f64)| p.0.is_finite() && p.1.is_finite() && p.0.abs() < FAR && p.1.abs() < FAR;
    all.retain(|t| near(t.from) && near(t.to));
    all
}

fn panel(stage: &Stage, job: &Job<'_>, size: (f64, f64)) -> Vec<Node> {
    let (x, y) = stage.place(0.0, size.1);
    let paint = Paint::fill(PAPER).outlined(QUIET, 1.4);
    let mut nodes = vec![Node::rect(x, y, size.0 * stage.scale, size.1 * stage.scale, paint).rounded(2.0).role(Role::Paper)];
    let board = (job.product.width_um.to_mm(), job.product.depth_um.to_mm());
    for image in 0..if job.panel.images() > 1 { job.panel.images() } else { 0 } {
        let corner = job.panel.corner(image);
        let (x, y) = stage.place(corner.x.to_mm(), corner.y.to_mm() + board.1);
        nodes.push(Node::rect(x, y, board.0 * stage.scale, board.1 * stage.scale, Paint::stroke(RULE, 1.0)).role(Role::Rule));
    }
    nodes
}

fn thing(stage: &Stage, t: &Thing) -> Vec<Node> {
    let ((x0, y1), (x1, y0)) = (stage.place(t.from.0, t.from.1), stage.place(t.to.0, t.to.1));
    let (w, h) = (x1 - x0, y1 - y0);
    let name = |nodes: &mut Vec<Node>| {
        let words = text::fit(&t.words, w.max(70.0), 10.0, false);
        // Above what lies high in the picture there may be no room.
        let y = if y0 > 16.0 { y0 - 4.0 } else { y1 + 11.0 };
        nodes.push(Node::text((x0 + x1) / 2.0, y, 10.0, words).anchored(Anchor::Middle).quiet());
    };
    match t.kind {
        Kind::Bank => {
            let mut nodes = vec![Node::rect(x0, y0, w, h, Paint::stroke(RULE, 1.2)).rounded(2.0).role(Role::Rule)];
            name(&mut nodes);
            nodes
        }
        Kind::Feeder => vec![Node::rect(x0, y0, w, h, Paint::fill(SKY)).rounded(1.0).tip(&*t.words)],
        Kind::Tray | Kind::Spot => {
            let paint = Paint { dashed: t.kind == Kind::Spot, ..Paint::stroke(INK, 1.0) };
            let mut nodes = vec![Node::rect(x0, y0, w, h, paint).rounded(2.0).role(Role::Ring).tip(&*t.words)];
            name(&mut nodes);
            nodes
        }
    }
}

/// What earlier stations have placed in grey, what this one places in its colour.
fn bodies(stage: &Stage, plan: &Plan, job: &Job<'_>, station: usize) -> Vec<Node> {
    let mut drawn: Vec<(TaskId, usize, Body)> = lookup::placed_by(plan)
        .into_iter()
        .filter(|(id, by)| *by <= station && id.index() < job.tasks.len())
        .filter_map(|(id, by)| {
            let task = &job.tasks[id.index()];
            Some((id, by, Body::new(task, lookup::part(plan, task.part)?, stage.scale, |x, y| stage.place(x, y))))
        })
        .collect();
    // Large bodies first, so that what lies beside or under them stays visible.
    drawn.sort_by(|a, b| (b.2.size.0 * b.2.size.1).total_cmp(&(a.2.size.0 * a.2.size.1)));
    let Tint { colour, .. } = palette::station(station);
    let edge = ink_on(colour);
    let node = |(id, by, body): (TaskId, usize, Body)| {
        let number = lookup::part_number(plan, job.tasks[id.index()].part);
        let name = lookup::task_name(job, id);
        if by == station {
            Node::new(Shape::Path(body.outline()), Paint::fill(colour).outlined(edge, 0.4)).tip(format!("{name}: {number}"))
        } else {
            Node::new(Shape::Path(body.outline()), Paint::fill(RULE)).tip(format!("placed before, {name}, {number}"))
        }
    };
    drawn.into_iter().map(node).collect()
}
