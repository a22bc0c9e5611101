//! A line from its sheet: stations in the order of work, each seen from above in its own frame, to one scale.
//!
//! The front of the machines is below, as on the sheet: X to the right, Y away from the front. What the sheet gives no size for
//! (heads, tray places, the depth of banks) is drawn as large as is usual; what it does give is to scale.

mod head;
mod station;

use crate::legend::{self, Entry};
use crate::palette::{GREEN, PAPER, QUIET, RULE};
use crate::ruler;
use crate::scene::{Anchor, Node, Paint, Role, Scene, Shape, Step};
use crate::text;
use domain::line::{BankMount, HeadKind, Line, Station, StationKind};
use station::Frame;

const WIDTH: f64 = 1200.0;
const SIDE: f64 = 14.0;
/// Between stations.
const GAP: f64 = 30.0;
/// Above the machines, for their names.
const CAPTION: f64 = 40.0;
/// Between what a machine holds and its edge; labels of banks stand there.
const PAD: f64 = 22.0;
/// Stations drawn at most (own choice, so that a typing error on a sheet does not fill a page).
const MOST: usize = 40;
/// Picture units per mm: not smaller, so that slots can be told apart; not larger, so that one station is no poster.
const SCALES: (f64, f64) = (0.26, 0.62);

/// The picture of a line.
pub fn scene(line: &Line) -> Scene {
    let shown = &line.station[..line.station.len().min(MOST)];
    let frames: Vec<Frame> = shown.iter().map(Frame::of).collect();
    let scale = scale(&frames);
    let mut scene = Scene::new(format!("Line {}, seen from above", line.name), WIDTH, 8.0);
    let mut first = 0;
    while first < shown.len() {
        let next = first + fitting(&frames[first..], scale);
        let row = Row { scale, stations: &shown[first..next], frames: &frames[first..next], first, last: next == line.station.len() };
        let top = scene.height + 8.0;
        scene.height = row.draw(&mut scene, top);
        first = next;
    }
    if shown.len() < line.station.len() {
        let words = format!("the first {} of {} stations are drawn", shown.len(), line.station.len());
        scene.push(Node::text(SIDE, scene.height + 14.0, 11.0, words).quiet());
        scene.height += 22.0;
    }
    scene.extend(ruler::scale_bar(SIDE, 1200.0, scale, scene.height + 14.0));
    scene.push(
        Node::text(WIDTH - SIDE, scene.height + 18.0, 11.0, "front of the line below; seen from above").anchored(Anchor::End).quiet(),
    );
    scene.height += 32.0;
    if !line.equipment.is_empty() {
        let all: Vec<String> = line.equipment.iter().map(|e| format!("{} {}", e.name, *e.time)).collect();
        let words = format!("Beside the stations: {}", all.join(", "));
        scene.push(Node::text(SIDE, scene.height + 8.0, 11.0, text::fit(&words, WIDTH - 2.0 * SIDE, 11.0, false)).quiet().tip(words));
        scene.height += 22.0;
    }
    let (nodes, height) = legend::flow(entries(shown), SIDE, scene.height, WIDTH - 2.0 * SIDE);
    scene.extend(nodes);
    scene.height += height + 6.0;
    scene
}

/// The scale at which all stations stand in one row, within reason.
fn scale(frames: &[Frame]) -> f64 {
    let all: f64 = frames.iter().map(Frame::width).sum();
    let gaps = frames.len() as f64 * (GAP + 2.0 * PAD) + 2.0 * SIDE;
    let widest = frames.iter().map(Frame::width).fold(1.0, f64::max);
    let one = (WIDTH - 2.0 * SIDE - GAP - 2.0 * PAD) / widest;
    ((WIDTH - gaps) / all.max(1.0)).clamp(SCALES.0, SCALES.1).min(one)
}

/// How many of the stations fit into one row, one at least.
fn fitting(frames: &[Frame], scale: f64) -> usize {
    let mut used = 2.0 * SIDE;
    let fit = frames.iter().take_while(|f| {
        used += f.width() * scale + 2.0 * PAD + GAP;
        used <= WIDTH + 1.0
    });
    fit.count().max(1)
}

/// Stations beside each other.
struct Row<'a> {
    scale: f64,
    stations: &'a [Station],
    frames: &'a [Frame],
    /// Index of the first of them.
    first: usize,
    /// Whether the line ends here.
    last: bool,
}

impl Row<'_> {
    /// Draws the row from `top` on; answers where it ends.
    fn draw(&self, scene: &mut Scene, top: f64) -> f64 {
        let most = |of: &dyn Fn(&Frame) -> f64| self.frames.iter().map(of).fold(0.0, f64::max);
        let (behind, before) = (most(&|f| f.top) * self.scale, most(&|f| -f.bottom) * self.scale);
        let height = behind + before + 2.0 * PAD;
        let zero = top + CAPTION + PAD + behind;
        // The belt runs through the middle of the smallest panel, so that it passes under every one.
        let depth = self.stations.iter().map(|s| station::mm(*s.max_panel.y)).fold(f64::INFINITY, f64::min);
        let belt_mm = depth / 2.0;
        let belt = zero - belt_mm * self.scale;
        let mut left = SIDE + GAP / 2.0;
        let end = left + self.frames.iter().map(|f| f.width() * self.scale + 2.0 * PAD + GAP).sum::<f64>() - GAP / 2.0;
        let mut machines = Vec::new();
        for (k, (s, f)) in self.stations.iter().zip(self.frames).enumerate() {
            let width = f.width() * self.scale + 2.0 * PAD;
            machines.push(
                Node::rect(left, top + CAPTION, width, height, Paint::fill(PAPER).outlined(RULE, 1.2)).rounded(8.0).role(Role::Paper),
            );
            // The role recolours the inside only; the outline is one of its own.
            machines.push(Node::rect(left, top + CAPTION, width, height, Paint::stroke(RULE, 1.2)).rounded(8.0).role(Role::Rule));
            scene.extend(caption(s, self.first + k + 1, left, top, width));
            left += width + GAP;
        }
        scene.extend(machines);
        scene.extend(path(SIDE, end, belt));
        if !self.last {
            scene.push(Node::text(end, belt - 8.0, 10.0, "goes on below").anchored(Anchor::End).quiet());
        }
        left = SIDE + GAP / 2.0;
        for (s, f) in self.stations.iter().zip(self.frames) {
            let origin = (left + PAD - f.left * self.scale, zero);
            scene.push(Node::group(origin.0, origin.1, station::nodes(s, self.scale, belt_mm)));
            left += f.width() * self.scale + 2.0 * PAD + GAP;
        }
        top + CAPTION + height + 14.0
    }
}

fn caption(s: &Station, number: usize, left: f64, top: f64, width: f64) -> [Node; 2] {
    let name = text::fit(&format!("{number}  {}", s.name), width, 13.0, true);
    let words = format!("{}, panel to {} × {}", s.kind.word(), *s.max_panel.x, *s.max_panel.y);
    [
        Node::text(left, top + 14.0, 13.0, name).bold().tip(format!("station {number}: {}", s.name)),
        Node::text(left, top + 30.0, 10.5, text::fit(&words, width, 10.5, false)).quiet().tip(words),
    ]
}

/// The way of the board, with arrow heads between the stations.
fn path(from: f64, to: f64, y: f64) -> Vec<Node> {
    let line = Node::line((from, y), (to - 8.0, y), Paint::stroke(GREEN, 2.4)).tip("the way of the board");
    let tip = vec![Step::Move(to - 12.0, y - 5.0), Step::Line(to, y), Step::Line(to - 12.0, y + 5.0), Step::Close];
    vec![line, Node::new(Shape::Path(tip), Paint::fill(GREEN))]
}

fn entries(stations: &[Station]) -> Vec<Entry> {
    let entry = |swatch: Vec<Node>, words: &str| Entry { swatch, words: words.to_owned() };
    let any = |test: &dyn Fn(&Station) -> bool| stations.iter().any(test);
    let mut all = vec![
        entry(path(0.0, 14.0, 7.0), "way of the board"),
        entry(vec![Node::rect(1.0, 2.0, 12.0, 10.0, Paint::stroke(QUIET, 1.0).dashed()).role(Role::Rule)], "largest panel"),
    ];
    for kind in HeadKind::ALL.iter().filter(|k| any(&|s| s.kind != StationKind::Turret && s.head.iter().any(|h| h.kind == **k))) {
        all.push(entry(head::swatch(*kind), head::words(*kind)));
    }
    if any(&|s| s.kind == StationKind::Turret) {
        all.push(entry(
            head::swatch(HeadKind::Rotary),
            "drum of a turret: it picks where it is lowest here, and places where it is highest",
        ));
    }
    if any(&|s| s.kind != StationKind::Turret) {
        all.push(entry(vec![station::beam(0.0, 14.0, 7.0)], "beam that carries a head"));
    }
    for (mount, words) in [(BankMount::Fixed, "bank of slots, fixed"), (BankMount::Cart, "bank of slots on a cart")] {
        if any(&|s| s.bank.iter().any(|b| b.mount == mount)) {
            all.push(entry(station::bank_swatch(mount), words));
        }
    }
    if any(&|s| !s.tray.is_empty()) {
        all.push(entry(station::tray_swatch(), "tray place (the sheet gives its middle)"));
    }
    if any(&|s| s.head.iter().any(|h| h.sight.as_ref().is_some_and(|x| x.at.is_some()))) {
        all.push(entry(station::mark_swatch("C"), "camera"));
    }
    if any(&|s| s.nozzle_rack.is_some()) {
        all.push(entry(station::mark_swatch("N"), "nozzle rack"));
    }
    if any(&|s| s.head_swap.is_some()) {
        all.push(entry(station::mark_swatch("H"), "head changer"));
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    fn example(name: &str) -> Line {
        let path = format!("{}/../../examples/lines/{name}.toml", env!("CARGO_MANIFEST_DIR"));
        let text = std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{path}: {e}"));
        Line::parse(name, &text).expect("a sound sheet")
    }

    const ALL: [&str; 7] = ["fixed-roles", "gang-pick", "head-swap", "mixed", "one-station", "turret", "two-beam"];

    #[test]
    fn everything_on_a_sheet_is_drawn_with_its_name() {
        for name in ALL {
            let line = example(name);
            let svg = scene(&line).to_svg();
            for s in &line.station {
                assert!(
                    svg.contains(&crate::svg::escape(&format!(": {}</title>", s.name)).replace("&lt;/title&gt;", "</title>")),
                    "{name}: {}",
                    s.name
                );
                let banks = s.bank.iter().map(|b| format!("bank {}: {} slots", b.name, b.slots));
                let trays = s.tray.iter().map(|t| format!("tray place {}: {}", t.name, t.kind.word()));
                let heads = s.head.iter().map(|h| format!("head {}: {}", h.name, h.kind.word()));
                for tip in banks.chain(trays).chain(heads) {
                    assert!(svg.contains(&tip), "{name}, {}: {tip}", s.name);
                }
            }
        }
    }

    #[test]
    fn slots_are_to_scale() {
        // Two banks of the same pitch differ in width as in slots.
        let mut line = example("one-station");
        let bank = line.station[0].bank[0].clone();
        line.station[0].bank = vec![domain::line::Bank { name: "a".into(), slots: 10, ..bank.clone() }];
        let ten = station::bank_width(&line.station[0].bank[0]);
        let twenty = station::bank_width(&domain::line::Bank { slots: 20, ..bank });
        assert!((twenty - 2.0 * ten).abs() < 1e-9 && ten > 0.0);
    }

    #[test]
    fn odd_figures_are_drawn_all_the_same() {
        let mut line = example("mixed");
        line.station[2].bank[0].first.x = units::Text(units::Length(i64::MAX));
        line.station[2].max_panel.y = units::Text(units::Length(i64::MIN));
        line.station[1].bank[0].slots = u32::MAX;
        line.station[0].head.clear();
        line.name = "<script>".into();
        let many = std::iter::repeat_n(line.station[2].clone(), 100);
        line.station.extend(many);
        let svg = scene(&line).to_svg();
        assert!(svg.len() < 4_000_000 && !svg.contains("<script") && !svg.contains("NaN") && !svg.contains("inf"), "{}", svg.len());
    }

    #[test]
    fn a_long_line_is_broken_into_rows_in_the_order_of_work() {
        let mut line = example("head-swap");
        let one = line.station[0].clone();
        line.station = (1..=9).map(|n| Station { name: format!("place {n}"), ..one.clone() }).collect();
        let svg = scene(&line).to_svg();
        assert!(svg.contains("goes on below"));
        let at = |n: usize| svg.find(&format!("station {n}: place {n}")).expect("drawn");
        assert!((1..9).all(|n| at(n) < at(n + 1)));
    }
}
