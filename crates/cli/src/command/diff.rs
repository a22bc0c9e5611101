//! `evenline diff`.

use crate::args::DiffArgs;
use crate::{End, files, say};
use app::diff::{Doing, InputChange, PlanDiff, StationChange};
use std::fmt::Write;
use units::Time;

/// Inputs and parts listed before the rest is only counted.
const LISTED: usize = 40;

pub fn run(a: &DiffArgs) -> Result<End, End> {
    let (from, to) = (files::plan(&a.from)?, files::plan(&a.to)?);
    let diff = app::diff::diff(&from, &to).map_err(|f| say::refuse(&f, End::Input))?;
    if a.json {
        return say::print_json(&diff);
    }
    say::print(&text(&diff))
}

fn text(d: &PlanDiff) -> String {
    let mut t = String::new();
    let _ = writeln!(t, "takt {}{}", change(d.from.takt_us, d.to.takt_us), slowest(d));
    let _ = writeln!(t, "bound {}", change(d.from.bound_us, d.to.bound_us));
    if (d.from.placed, &d.from.unplaced) != (d.to.placed, &d.to.unplaced) {
        let _ = writeln!(t, "placed {} -> {}, not placed {} -> {}", d.from.placed, d.to.placed, d.from.unplaced.len(), d.to.unplaced.len());
    }
    inputs(d, &mut t);
    for s in &d.stations {
        let _ = writeln!(t, "{}", station(s));
    }
    for p in d.parts.iter().take(LISTED) {
        let _ = writeln!(t, "{}: {} -> {}", p.part, doing(&p.from), doing(&p.to));
    }
    rest(d.parts.len(), "parts placed elsewhere", &mut t);
    t += &steps(&d.moves);
    t
}

/// The steps from one set-up to another, as a list.
pub fn steps(m: &domain::moves::Moves) -> String {
    let mut t = match m.moved {
        0 => "no feeder or tray is moved\n".to_owned(),
        1 => "1 feeder or tray is moved\n".to_owned(),
        n => format!("{n} feeders or trays are moved\n"),
    };
    for s in &m.steps {
        let _ = writeln!(t, "  {s}");
    }
    for k in &m.idle {
        let _ = writeln!(t, "  {} at {} is not needed and may stay", k.part, k.place());
    }
    t
}

fn slowest(d: &PlanDiff) -> String {
    if d.from.slowest == d.to.slowest || d.from.slowest.is_empty() || d.to.slowest.is_empty() {
        return String::new();
    }
    format!("; slowest {} -> {}", d.from.slowest.join(", "), d.to.slowest.join(", "))
}

fn change(from: Time, to: Time) -> String {
    format!("{:.3} s -> {:.3} s ({:+.3} s)", from.to_s(), to.to_s(), (to - from).to_s())
}

fn inputs(d: &PlanDiff, t: &mut String) {
    for i in d.inputs.iter().take(LISTED) {
        let _ = writeln!(t, "input {}", input(i));
    }
    rest(d.inputs.len(), "inputs that differ", t);
    let p = &d.placements;
    for (what, names) in [("new", &p.added), ("gone", &p.removed), ("moved or turned", &p.moved), ("with another part", &p.other_part)] {
        if !names.is_empty() {
            let shown: Vec<&str> = names.iter().take(LISTED).map(String::as_str).collect();
            let more = names.len() - shown.len();
            let rest = if more > 0 { format!(" and {more} more") } else { String::new() };
            let _ = writeln!(t, "placements {what}: {}{rest}", shown.join(" "));
        }
    }
}

fn rest(n: usize, what: &str, t: &mut String) {
    if n > LISTED {
        let _ = writeln!(t, "and {} more {what}; --json lists them all", n - LISTED);
    }
}

fn input(i: &InputChange) -> String {
    let word = |v: &serde_json::Value| v.as_str().map_or_else(|| v.to_string(), str::to_owned);
    match (&i.from, &i.to) {
        (serde_json::Value::Null, to) => format!("{}: new: {}", i.key, word(to)),
        (from, serde_json::Value::Null) => format!("{}: gone: {}", i.key, word(from)),
        (from, to) => format!("{}: {} -> {}", i.key, word(from), word(to)),
    }
}

fn station(s: &StationChange) -> String {
    if s.from_us == s.to_us && s.times.is_empty() {
        return format!("{:<16} {:.3} s as before", s.name, s.to_us.to_s());
    }
    let times: Vec<String> = s.times.iter().take(4).map(|c| format!("{} {:+.2} s", c.what, (c.to_us - c.from_us).to_s())).collect();
    let count = |n: (usize, usize), what: &str| if n.0 == n.1 { format!("{} {what}", n.0) } else { format!("{} -> {} {what}", n.0, n.1) };
    format!(
        "{:<16} {}: {}; {}, {}",
        s.name,
        change(s.from_us, s.to_us),
        times.join(", "),
        count(s.placed, "placements"),
        count(s.trips, "trips")
    )
}

fn doing(all: &[Doing]) -> String {
    if all.is_empty() {
        return "nowhere".to_owned();
    }
    let one = |d: &Doing| format!("{} by {} of {}", d.placements, d.head, d.station);
    all.iter().map(one).collect::<Vec<_>>().join(" and ")
}
