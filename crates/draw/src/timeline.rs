//! The passes of a station along its seconds, with the gaps where heads are changed.
//!
//! A plan states the seconds of a station as a whole, not of each pass. Who has timed the
//! passes hands the times in; without them each pass gets a share of the work by the number of
//! its steps, and the picture says so.

use crate::legend::tinted;
use crate::lookup::{head_name, seconds};
use crate::palette::{self, GREY, PURPLE, QUIET, RULE, Tint, ink_on};
use crate::scene::{Anchor, Node, Paint, Role, Scene};
use crate::text;
use domain::plan::{Pass, Plan, StationPlan, Work};
use units::Time;

const WIDTH: f64 = 960.0;
const LEFT: f64 = 8.0;
const RIGHT: f64 = 78.0;
const BAR: f64 = 34.0;

/// What a stretch of the line of time is.
#[derive(Clone, Copy, PartialEq)]
enum Kind {
    /// Panel change and marks.
    Before,
    /// Work of the pass with this number.
    Pass(usize),
    /// Changing the head.
    Swap,
}

struct Stretch {
    kind: Kind,
    words: String,
    seconds: f64,
}

/// The line of time of one station of the plan; `pass_times` are the timed passes, in order, if
/// known. `None` when the plan has no such station.
pub fn scene(plan: &Plan, station: usize, pass_times: Option<&[Time]>) -> Option<Scene> {
    let planned = plan.stations.get(station)?;
    let known = pass_times.filter(|t| t.len() == planned.passes.len());
    let stretches = stretches(plan, planned, known);
    let total: f64 = stretches.iter().map(|s| s.seconds).sum::<f64>().max(seconds(planned.time_us)).max(1e-3);
    let longest = plan.stations.iter().map(|s| seconds(s.time_us)).fold(total, f64::max);
    let x = |s: f64| LEFT + s / longest * (WIDTH - LEFT - RIGHT);
    let mut scene = Scene::new(format!("Line of time of {}", planned.station), WIDTH, 88.0);
    scene.extend(axis(longest, 42.0, &x));
    let mut from = 0.0;
    for stretch in &stretches {
        scene.extend(stretch_nodes(stretch, x(from), x(from + stretch.seconds) - x(from)));
        from += stretch.seconds;
    }
    scene.push(Node::text(x(from) + 6.0, 26.0, 12.0, format!("{:.2} s", seconds(planned.time_us))).bold());
    scene.push(Node::text(LEFT, 82.0, 10.5, note(planned, known.is_some())).quiet());
    Some(scene)
}

fn note(planned: &StationPlan, known: bool) -> String {
    let mut words = String::from(if known || planned.passes.len() < 2 {
        "Seconds per panel."
    } else {
        "Seconds per panel; the work is shared out among the passes by their number of steps, not timed pass by pass."
    });
    if planned.alternating {
        words.push_str(" Panels run the passes in alternating order.");
    }
    words
}

fn stretches(plan: &Plan, planned: &StationPlan, known: Option<&[Time]>) -> Vec<Stretch> {
    let b = &planned.breakdown;
    let (transfer, marks) = (seconds(b.transfer_us), seconds(b.fiducials_us));
    let swaps = seconds(b.head_swap_us);
    let work = (seconds(planned.time_us) - transfer - marks - swaps).max(0.0);
    let steps: Vec<f64> = planned.passes.iter().map(|p| steps(p) as f64).collect();
    let all = steps.iter().sum::<f64>().max(1.0);
    let changes = planned.passes.windows(2).filter(|w| w[0].head != w[1].head).count();
    let mut out = vec![Stretch { kind: Kind::Before, words: "panel change".to_owned(), seconds: transfer }];
    out.push(Stretch { kind: Kind::Before, words: "marks".to_owned(), seconds: marks });
    for (i, pass) in planned.passes.iter().enumerate() {
        if i > 0 && planned.passes[i - 1].head != pass.head {
            out.push(Stretch { kind: Kind::Swap, words: "swap".to_owned(), seconds: swaps / changes.max(1) as f64 });
        }
        let time = known.and_then(|k| k.get(i)).map_or(work * steps[i] / all, |t| seconds(*t));
        out.push(Stretch { kind: Kind::Pass(i), words: pass_words(plan, planned, pass), seconds: time });
    }
    // A swap that no change of head explains brings the first head back for the next panel.
    if changes == 0 && swaps > 0.0 {
        out.push(Stretch { kind: Kind::Swap, words: "swap".to_owned(), seconds: swaps });
    }
    out.retain(|s| s.seconds > 0.0);
    out
}

fn steps(pass: &Pass) -> usize {
    match &pass.work {
        Work::Place { trips, .. } => trips.iter().map(|t| t.places.len() + t.strokes.len()).sum(),
        Work::Dispense { tasks } => tasks.len(),
        Work::Inspect { views } => views.len(),
        Work::Turret { beats, .. } => beats.len(),
    }
}

fn pass_words(plan: &Plan, planned: &StationPlan, pass: &Pass) -> String {
    let head = head_name(plan, planned, pass.head);
    match &pass.work {
        Work::Place { trips, .. } => {
            let places: usize = trips.iter().map(|t| t.places.len()).sum();
            format!("{head}: {places} placements, {} trips", trips.len())
        }
        Work::Dispense { tasks } => format!("{head}: adhesive under {} parts", tasks.len()),
        Work::Inspect { views } => format!("inspection: {} views", views.len()),
        Work::Turret { beats, .. } => {
            let places = beats.iter().flatten().count();
            let empty = beats.len() - places;
            let empty = if empty > 0 { format!(", {empty} beats empty") } else { String::new() };
            format!("{head}: {places} placements, beat by beat{empty}")
        }
    }
}

fn stretch_nodes(stretch: &Stretch, x: f64, w: f64) -> Vec<Node> {
    let tint = match stretch.kind {
        Kind::Before => Tint { colour: GREY, hatch: crate::hatch::Hatch::None },
        Kind::Swap => Tint { colour: PURPLE, hatch: crate::hatch::Hatch::Rising },
        Kind::Pass(i) => Tint { hatch: crate::hatch::Hatch::None, ..palette::station(i) },
    };
    let tip = format!("{}: {:.3} s", stretch.words, stretch.seconds);
    let mut nodes = tinted(x, 4.0, w, BAR, tint, &tip);
    nodes.push(Node::rect(x, 4.0, w, BAR, Paint::stroke(palette::PAPER, 1.0)).tip(tip));
    let words = text::fit(&stretch.words, w - 10.0, 10.5, false);
    // A cut word of one or two letters tells nothing; the tooltip and the list of passes do.
    if words.chars().count() > 3 || words == stretch.words {
        if tint.hatch != crate::hatch::Hatch::None {
            nodes.push(Node::rect(x + 3.0, 13.0, text::width(&words, 10.5, false) + 4.0, 16.0, Paint::fill(tint.colour)));
        }
        let ink = ink_on(tint.colour);
        nodes.push(Node::text(x + 5.0, 25.0, 10.5, words).coloured(ink));
    }
    nodes
}

/// A scale of seconds under rows that end at `y`.
pub(crate) fn axis(longest: f64, y: f64, x: &impl Fn(f64) -> f64) -> Vec<Node> {
    let power = 10f64.powf((longest / 6.0).log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0].into_iter().map(|k| k * power).find(|s| *s >= longest / 6.0).unwrap_or(longest);
    let digits = if step < 1.0 { (-step.log10()).ceil() as usize } else { 0 };
    let mut nodes = vec![Node::line((x(0.0), y), (x(longest), y), Paint::stroke(RULE, 1.0)).role(Role::Rule)];
    for tick in 0..=(longest / step) as u32 {
        let value = f64::from(tick) * step;
        nodes.push(Node::line((x(value), y), (x(value), y + 5.0), Paint::stroke(QUIET, 1.0)).role(Role::Rule));
        nodes.push(
            Node::text(x(value), y + 18.0, 10.5, format!("{value:.digits$} s"))
                .anchored(if tick == 0 { Anchor::Start } else { Anchor::Middle })
                .quiet(),
        );
    }
    nodes
}
