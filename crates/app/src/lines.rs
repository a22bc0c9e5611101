//! Lines: their picture, their figures in words, and how two of them differ.

use domain::line::{Axis, Bank, BankMount, Head, HeadKind, Line, Place, SightMode, Station, TrayPlace};
use domain::part::Supply;
use serde::Serialize;
use std::fmt::Display;
use units::Text;

/// The picture of a line, as SVG.
pub fn picture(line: &Line) -> String {
    draw::line::scene(line).to_svg()
}

/// One figure of a sheet in words.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Figure {
    /// What it is.
    pub what: &'static str,
    /// Its value, with unit.
    pub value: String,
}

/// A thing of a line with its figures and the things it holds.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Thing {
    /// What it is: `station`, `head`.
    pub kind: &'static str,
    /// Its name.
    pub name: String,
    /// Its figures.
    pub figures: Vec<Figure>,
    /// What it holds, in the order of the sheet.
    pub holds: Vec<Thing>,
}

impl Thing {
    fn new(kind: &'static str, name: &str) -> Self {
        Self { kind, name: name.to_owned(), figures: Vec::new(), holds: Vec::new() }
    }

    fn put(&mut self, what: &'static str, value: impl Display) {
        self.figures.push(Figure { what, value: value.to_string() });
    }

    fn maybe<Q: Display>(&mut self, what: &'static str, value: Option<Text<Q>>) {
        if let Some(v) = value {
            self.put(what, v.0);
        }
    }

    /// In words: `station chip-1`.
    pub fn words(&self) -> String {
        format!("{} {}", self.kind, self.name)
    }
}

/// All figures of a line.
pub fn figures(line: &Line) -> Thing {
    let mut all = Thing::new("line", &line.name);
    all.put("reach of a nozzle holder", *line.clearance.reach);
    all.put("height step that is in the way", *line.clearance.height_step);
    let steps: Vec<String> = line.clearance.steps.iter().map(|s| s.0.to_string()).collect();
    all.put("height steps", steps.join(", "));
    all.holds.extend(line.station.iter().map(station));
    all.holds.extend(line.equipment.iter().map(|e| {
        let mut thing = Thing::new("equipment", &e.name);
        thing.put("time per panel", *e.time);
        thing
    }));
    all.holds.extend(line.feeder.iter().map(|f| {
        let mut thing = Thing::new("feeder", &f.name);
        thing.put("supply", f.supply.word());
        thing.maybe("tape width", f.tape_width.filter(|_| f.supply == Supply::Tape));
        thing.maybe("widest body", f.max_body.filter(|_| f.supply == Supply::Stick));
        thing.put("slots it covers", f.slots);
        thing.put("advance", *f.advance);
        thing.put("way of one advance", *f.advance_step);
        thing.put("stock", f.stock);
        thing
    }));
    all.holds.extend(line.nozzle.iter().map(|n| {
        let mut thing = Thing::new("nozzle", &n.name);
        let classes: Vec<&str> = n.classes.iter().map(|c| c.word()).collect();
        thing.put("classes", classes.join(", "));
        thing.put("stock", n.stock);
        thing
    }));
    all.holds.extend(line.cart.iter().map(|k| {
        let mut thing = Thing::new("cart", &k.name);
        thing.put("stock", k.stock);
        thing
    }));
    all
}

fn axis(a: &Axis) -> String {
    let jerk = a.jerk.map_or(String::new(), |j| format!(", jerk {}", *j));
    format!("{}, {}{jerk}", *a.speed, *a.acceleration)
}

fn place(p: Place) -> String {
    format!("{}, {}", *p.x, *p.y)
}

fn station(s: &Station) -> Thing {
    let mut thing = Thing::new("station", &s.name);
    thing.put("kind", s.kind.word());
    thing.put("largest panel", format!("{} × {}", *s.max_panel.x, *s.max_panel.y));
    thing.put("transfer", *s.transfer);
    thing.put("clamping", *s.clamp);
    thing.put("speed along the line", axis(&s.axes.x));
    thing.put("speed across the line", axis(&s.axes.y));
    thing.put("settling over a pocket", *s.settle_pick);
    thing.put("settling over a pad", *s.settle_place);
    thing.put("one mark", *s.fiducial);
    if let Some(x) = &s.head_swap {
        let turns = if x.alternate { ", passes may alternate" } else { "" };
        thing.put("changing the head", format!("{} at {}{turns}", *x.time, place(x.at)));
    }
    if let Some(r) = &s.nozzle_rack {
        thing.put("changing a nozzle", format!("{} at {}", *r.change, place(r.at)));
    }
    if let Some(i) = &s.inspection {
        thing.put("inspecting a view", format!("{} for {} × {}", *i.time, *i.field.x, *i.field.y));
    }
    if let Some(t) = &s.turret {
        thing.put("beats from pick to place", t.gap);
        thing.put("carriage", axis(&t.carriage));
        thing.put("nozzles of one head of the drum", t.nozzles_per_head);
    }
    thing.holds.extend(s.head.iter().map(head));
    thing.holds.extend(s.bank.iter().map(bank));
    thing.holds.extend(s.tray.iter().map(tray));
    thing
}

fn head(h: &Head) -> Thing {
    let mut thing = Thing::new("head", &h.name);
    thing.put("kind", h.kind.word());
    if let Some(n) = h.beam {
        thing.put("beam", n);
    }
    if h.kind == HeadKind::Dispense {
        thing.maybe("one dot", h.dot);
        return thing;
    }
    thing.put("spindles", h.spindles);
    thing.maybe("pitch of the spindles", h.pitch);
    thing.maybe("turning to the next spindle", h.index);
    thing.put("pick stroke", *h.pick);
    thing.put("place stroke", *h.place);
    thing.put("turning a part by 90°", *h.turn_90);
    if let Some(e) = &h.envelope {
        thing.put("parts", format!("{} to {} × {}, {} high", *e.min_side, *e.max_short, *e.max_long, *e.max_height));
    }
    thing.maybe("accuracy", h.accuracy);
    if let Some(s) = &h.sight {
        let (at, field) =
            (s.at.map_or(String::new(), |p| format!(" at {}", place(p))), s.field.map_or(String::new(), |f| format!(", field {}", *f)));
        thing.put(
            "sight",
            if s.mode == SightMode::None { s.mode.word().to_owned() } else { format!("{}, {}{at}{field}", s.mode.word(), *s.time) },
        );
    }
    thing.put("nozzles", h.nozzles.join(", "));
    thing
}

fn bank(b: &Bank) -> Thing {
    let mut thing = Thing::new("bank", &b.name);
    let cart = b.cart.as_deref().filter(|_| b.mount == BankMount::Cart).map_or(String::new(), |c| format!(", {c}"));
    thing.put("mount", format!("{}{cart}", b.mount.word()));
    if let Some(n) = b.beam {
        thing.put("beam", n);
    }
    thing.put("slots", b.slots);
    thing.put("pitch of the slots", *b.pitch);
    thing.put("pick point of slot 1", place(b.first));
    thing
}

fn tray(t: &TrayPlace) -> Thing {
    let mut thing = Thing::new("tray place", &t.name);
    thing.put("kind", t.kind.word());
    if let Some(n) = t.beam {
        thing.put("beam", n);
    }
    thing.put("middle", place(t.at));
    thing.put("change", *t.change);
    thing.maybe("height of the stack", t.stack_height);
    if let Some(n) = t.levels {
        thing.put("levels", n);
    }
    thing
}

/// Something that differs between two lines.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Difference {
    /// Where: `station chip-1, head drum`; empty for the line itself.
    pub place: String,
    /// What: `pick stroke`; empty when only one line has the whole thing.
    pub what: String,
    /// In the first line; `None` where it has none.
    pub from: Option<String>,
    /// In the second line; `None` where it has none.
    pub to: Option<String>,
}

/// How two lines differ, in the order of the first. Things are matched by name; those without a namesake by their order.
pub fn differences(from: &Line, to: &Line) -> Vec<Difference> {
    let mut found = Vec::new();
    compare(&figures(from), &figures(to), "", &mut found);
    found
}

fn compare(a: &Thing, b: &Thing, place: &str, found: &mut Vec<Difference>) {
    let mut add = |what: &str, from: Option<&String>, to: Option<&String>| {
        if from != to {
            found.push(Difference { place: place.to_owned(), what: what.to_owned(), from: from.cloned(), to: to.cloned() });
        }
    };
    add("name", Some(&a.name), Some(&b.name));
    let value = |t: &Thing, what: &str| t.figures.iter().position(|f| f.what == what);
    for f in &a.figures {
        add(f.what, Some(&f.value), value(b, f.what).map(|i| &b.figures[i].value));
    }
    for f in b.figures.iter().filter(|f| value(a, f.what).is_none()) {
        add(f.what, None, Some(&f.value));
    }
    let below = |name: String| if place.is_empty() { name } else { format!("{place}, {name}") };
    for (x, y) in pairs(&a.holds, &b.holds) {
        match (x, y) {
            (Some(x), Some(y)) => compare(x, y, &below(x.words()), found),
            (Some(x), None) => found.push(Difference { place: below(x.words()), what: String::new(), from: Some(brief(x)), to: None }),
            (None, Some(y)) => found.push(Difference { place: below(y.words()), what: String::new(), from: None, to: Some(brief(y)) }),
            (None, None) => {}
        }
    }
    // The order of work is the order of the stations that both have.
    let order = |t: &Thing, other: &Thing| -> Vec<String> {
        let both = |h: &&Thing| h.kind == "station" && other.holds.iter().any(|o| o.kind == h.kind && o.name == h.name);
        t.holds.iter().filter(both).map(|h| h.name.clone()).collect()
    };
    let (was, is) = (order(a, b), order(b, a));
    if was != is {
        found.push(Difference {
            place: place.to_owned(),
            what: "order of the stations".to_owned(),
            from: Some(was.join(", ")),
            to: Some(is.join(", ")),
        });
    }
}

/// What a thing is in a few words, where the other line has none like it.
fn brief(thing: &Thing) -> String {
    let first: Vec<&str> = thing.figures.iter().take(3).map(|f| f.value.as_str()).collect();
    if first.is_empty() { "there".to_owned() } else { first.join("; ") }
}

/// Things of the same kind, by name first, then the rest in order.
fn pairs<'t>(a: &'t [Thing], b: &'t [Thing]) -> Vec<(Option<&'t Thing>, Option<&'t Thing>)> {
    let alike = |x: &Thing, y: &Thing| x.kind == y.kind && x.name == y.name;
    let mut rest: Vec<&Thing> = b.iter().filter(|y| !a.iter().any(|x| alike(x, y))).collect();
    let mut all: Vec<_> = a.iter().map(|x| (Some(x), b.iter().find(|y| alike(x, y)))).collect();
    for (x, y) in &mut all {
        if let (Some(x), None) = (&x, &y)
            && let Some(i) = rest.iter().position(|r| r.kind == x.kind)
        {
            *y = Some(rest.remove(i));
        }
    }
    all.extend(rest.into_iter().map(|y| (None, Some(y))));
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

    #[test]
    fn a_line_does_not_differ_from_itself() {
        for name in ["mixed", "head-swap", "two-beam", "turret"] {
            assert_eq!(differences(&example(name), &example(name)), []);
        }
    }

    #[test]
    fn one_figure_is_told_with_its_place() {
        let (a, mut b) = (example("mixed"), example("mixed"));
        b.station[2].head[0].pick = units::Text(units::Time(99_000));
        let told = differences(&a, &b);
        assert_eq!(told.len(), 1, "{told:?}");
        assert_eq!((told[0].place.as_str(), told[0].what.as_str()), ("station flex-3, head broad drum", "pick stroke"));
        assert_eq!((told[0].from.as_deref(), told[0].to.as_deref()), (Some("0.11 s"), Some("0.099 s")));
    }

    #[test]
    fn another_name_is_no_other_thing() {
        let (a, mut b) = (example("mixed"), example("mixed"));
        b.station[0].name = "first".to_owned();
        let told = differences(&a, &b);
        assert_eq!(told.len(), 1, "{told:?}");
        assert_eq!((told[0].place.as_str(), told[0].what.as_str()), ("station turret-1", "name"));
    }

    #[test]
    fn what_only_one_line_has_is_told_from_either_side() {
        let (a, mut b) = (example("mixed"), example("mixed"));
        b.station.remove(1);
        let like = b.station[1].bank[0].clone();
        b.station[1].bank.push(domain::line::Bank { name: "rear".to_owned(), ..like });
        let told = differences(&a, &b);
        assert!(told.iter().any(|d| d.place == "station turret-2" && d.to.is_none()), "{told:?}");
        assert!(told.iter().any(|d| d.place == "station flex-3, bank rear" && d.from.is_none()), "{told:?}");
        assert_eq!(differences(&b, &a).len(), told.len());
    }

    #[test]
    fn another_order_of_work_is_told() {
        let (a, mut b) = (example("mixed"), example("mixed"));
        b.station.swap(0, 2);
        let told = differences(&a, &b);
        assert!(told.iter().any(|d| d.what == "order of the stations"), "{told:?}");
    }
}
