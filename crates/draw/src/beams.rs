//! Two beams that share the board along the seconds: a row for each, with what it does on the board, off it,
//! and waiting for the other.

use crate::hatch::Hatch;
use crate::legend::{Entry, flow, tinted};
use crate::lookup::{self, seconds};
use crate::palette::{self, BLUE, GREY, Tint, VERMILION, YELLOW, ink_on};
use crate::scene::{Anchor, Node, Paint, Scene};
use crate::text;
use crate::timeline::axis;
use domain::plan::Plan;
use units::Time;

const WIDTH: f64 = 960.0;
const LEFT: f64 = 120.0;
const RIGHT: f64 = 78.0;
const BAR: f64 = 26.0;
const ROW: f64 = 34.0;

/// What a beam does for a while.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BeamWork {
    /// Picks parts and has them measured, off the board.
    Fetching,
    /// Waits until the other beam has left the board.
    Waiting,
    /// Comes in, places, and leaves again.
    OnBoard,
}

impl BeamWork {
    const ALL: [Self; 3] = [Self::OnBoard, Self::Fetching, Self::Waiting];

    fn words(self) -> &'static str {
        match self {
            Self::Fetching => "fetching parts",
            Self::Waiting => "waiting for the other beam",
            Self::OnBoard => "on the board",
        }
    }

    fn tint(self) -> Tint {
        match self {
            Self::Fetching => Tint { colour: YELLOW, hatch: Hatch::None },
            Self::Waiting => Tint { colour: VERMILION, hatch: Hatch::Rising },
            Self::OnBoard => Tint { colour: BLUE, hatch: Hatch::None },
        }
    }
}

/// A stretch of a panel in the life of one beam.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BeamStretch {
    /// Beam, 1 or 2.
    pub beam: u8,
    /// What it does.
    pub work: BeamWork,
    /// From when [µs since the panel change began].
    pub from: Time,
    /// To when.
    pub to: Time,
}

/// The beams of one station of the plan; `None` when the plan has no such station.
pub fn scene(plan: &Plan, station: usize, stretches: &[BeamStretch]) -> Option<Scene> {
    let planned = plan.stations.get(station)?;
    let fixed = seconds(planned.breakdown.transfer_us) + seconds(planned.breakdown.fiducials_us);
    let end = stretches.iter().map(|s| seconds(s.to)).fold(seconds(planned.time_us), f64::max);
    let longest = plan.stations.iter().map(|s| seconds(s.time_us)).fold(end, f64::max).max(1e-3);
    let x = |s: f64| LEFT + s / longest * (WIDTH - LEFT - RIGHT);
    let bottom = 2.0 * ROW + 4.0;
    let mut entries = vec![Entry::tint(BEFORE, "panel change and marks")];
    entries.extend(BeamWork::ALL.iter().map(|w| Entry::tint(w.tint(), w.words())));
    let (legend, height) = flow(entries, LEFT, bottom + 26.0, WIDTH - LEFT - 10.0);
    let mut scene = Scene::new(format!("Beams of {} along the seconds", planned.station), WIDTH, bottom + 32.0 + height);
    scene.extend(axis(longest, bottom, &x));
    for beam in [1u8, 2] {
        let y = 4.0 + ROW * f64::from(beam - 1);
        scene.push(Node::text(LEFT - 10.0, y + 17.0, 12.0, words(plan, station, beam)).bold().anchored(Anchor::End));
        scene.extend(stretch(BEFORE, (x(0.0), x(fixed)), y, &format!("panel change and marks: {fixed:.3} s"), ""));
        for s in stretches.iter().filter(|s| s.beam == beam) {
            let (from, to) = (seconds(s.from), seconds(s.to));
            let tip = format!("beam {beam}, {}: {from:.3} s to {to:.3} s", s.work.words());
            scene.extend(stretch(s.work.tint(), (x(from), x(to)), y, &tip, &format!("{:.2}", to - from)));
        }
    }
    scene.push(Node::text(x(seconds(planned.time_us)) + 6.0, 4.0 + ROW, 12.0, format!("{:.2} s", seconds(planned.time_us))).bold());
    scene.extend(legend);
    Some(scene)
}

const BEFORE: Tint = Tint { colour: GREY, hatch: Hatch::None };

/// `1: front drum`.
fn words(plan: &Plan, station: usize, beam: u8) -> String {
    let sheet = lookup::station(plan, &plan.stations[station]);
    let head = sheet.and_then(|s| s.head.iter().find(|h| h.beam == Some(beam)));
    let words = head.map_or_else(|| format!("beam {beam}"), |h| format!("{beam}: {}", h.name));
    text::fit(&words, LEFT - 14.0, 12.0, true)
}

fn stretch(tint: Tint, (from, to): (f64, f64), y: f64, tip: &str, words: &str) -> Vec<Node> {
    let mut nodes = tinted(from, y, to - from, BAR, tint, tip);
    nodes.push(Node::rect(from, y, to - from, BAR, Paint::stroke(palette::PAPER, 0.6)).tip(tip));
    let wide = text::width(words, 10.5, false);
    if !words.is_empty() && wide + 8.0 < to - from {
        let middle = (from + to) / 2.0;
        if tint.hatch != Hatch::None {
            nodes.push(Node::rect(middle - wide / 2.0 - 2.0, y + 6.0, wide + 4.0, 14.0, Paint::fill(tint.colour)));
        }
        nodes.push(Node::text(middle, y + 17.0, 10.5, words).anchored(Anchor::Middle).coloured(ink_on(tint.colour)).tip(tip));
    }
    nodes
}
