//! Two plans side by side, in words: what was different going in, what came out, what has to be carried.

use super::{Shown, assets, change_of, exact, named, picture};
use crate::access::Who;
use crate::page::{self, Part};
use crate::room::{Room, aside};
use crate::trouble::{Answer, Refusal};
use app::diff::{Doing, InputChange, PlanDiff, StationChange};
use axum::extract::{Query, State};
use maud::{Markup, html};
use std::sync::Arc;
use store::document::Kind;
use units::Time;

/// Inputs and parts listed before the rest is only counted.
const LISTED: usize = 60;

/// The page: `a` and `b` name plans as `NAME@VERSION`, or `pick` twice as lists have it.
pub async fn page(State(room): State<Room>, who: Who, Query(asked): Query<Vec<(String, String)>>) -> Answer<Markup> {
    let find = |key: &str| asked.iter().find(|(k, v)| k == key && !v.is_empty()).map(|(_, v)| v.clone());
    let picked: Vec<&String> = asked.iter().filter(|(k, _)| k == "pick").map(|(_, v)| v).collect();
    if picked.len() > 2 {
        return Err(Refusal::Wrong(format!("Two plans are compared at a time; {} were ticked.", picked.len())));
    }
    let a = find("a").or_else(|| picked.first().map(|p| (*p).clone()));
    let b = find("b").or_else(|| picked.get(1).map(|p| (*p).clone()));
    let (Some(a), Some(b)) = (&a, &b) else { return choose(&room, &who, a.as_deref(), b.as_deref()).await };
    let (a, b) = (load(&room, a).await?, load(&room, b).await?);
    let (from, to) = (Arc::clone(&a.plan), Arc::clone(&b.plan));
    let diff = aside(move || app::diff::diff(&from, &to)).await??;
    let body = html! {
        (assets())
        p.outcome { (verdict(&diff)) }
        div.twins {
            @for (shown, word) in [(&a, "From"), (&b, "To")] { section {
                h2 { (word) " " a href={ (shown.at()) (shown.fixed()) } { (shown.head.name) ", version " (shown.head.version) } }
                p.quiet { (page::when(shown.head.at)) " by " (shown.head.author) @if !shown.head.note.is_empty() { ": " (shown.head.note) } }
                (picture(&format!("{}/balance.svg{}", shown.at(), shown.fixed()), &format!("Balance of {}, version {}", shown.head.name, shown.head.version)))
            } }
        }
        (figures(&diff))
        (stations(&diff))
        (parts(&diff))
        (moves(&diff))
        (inputs(&diff))
        (chooser(&room, Some(&a.named()), Some(&b.named())).await?)
    };
    Ok(page::page(&who, Part::Plans, "Two plans side by side", &body))
}

/// A plan by its name in addresses; without a version the latest.
async fn load(room: &Room, text: &str) -> Answer<Shown> {
    let (name, version) = match text.rsplit_once('@').map(|(name, v)| (name, v.parse::<i64>())) {
        Some((name, Ok(version))) => (name, Some(version)),
        _ => (text, None),
    };
    Shown::load(room, name, version).await
}

async fn choose(room: &Room, who: &Who, a: Option<&str>, b: Option<&str>) -> Answer<Markup> {
    let body =
        html! { (assets()) p { "Choose two plans; other versions are offered on the page of each plan." } (chooser(room, a, b).await?) };
    Ok(page::page(who, Part::Plans, "Compare two plans", &body))
}

async fn chooser(room: &Room, a: Option<&str>, b: Option<&str>) -> Answer<Markup> {
    let all: Vec<String> = room.store.list(Kind::Plan).await?.iter().map(named).collect();
    let options = |chosen: Option<&str>| {
        html! {
            @if let Some(c) = chosen.filter(|c| !all.iter().any(|n| n == c)) { option value=(c) selected { (c) } }
            @for n in &all { option value=(n) selected[chosen == Some(n.as_str())] { (n) } }
        }
    };
    Ok(html! {
        section.no-print {
            h2 { "Other plans" }
            form.row method="get" action="/plans/compare" {
                label { "From" select name="a" { (options(a)) } }
                label { "To" select name="b" { (options(b)) } }
                button { "Compare" }
            }
        }
    })
}

fn is_same(d: &PlanDiff) -> bool {
    let p = &d.placements;
    let same_station = |s: &StationChange| s.from_us == s.to_us && s.times.is_empty() && s.placed.0 == s.placed.1 && s.trips.0 == s.trips.1;
    d.from.takt_us == d.to.takt_us
        && d.from.bound_us == d.to.bound_us
        && d.from.unplaced == d.to.unplaced
        && d.inputs.is_empty()
        && [&p.added, &p.removed, &p.moved, &p.other_part].into_iter().all(Vec::is_empty)
        && d.stations.iter().all(same_station)
        && d.parts.is_empty()
        && d.moves.moved == 0
        && d.moves.steps.is_empty()
        && d.moves.idle.is_empty()
}

fn verdict(d: &PlanDiff) -> String {
    if is_same(d) {
        return "There is no difference between the two.".to_owned();
    }
    let takt = match (d.to.takt_us - d.from.takt_us).0 {
        0 => format!("The takt is {} in both", exact(d.to.takt_us.0)),
        us if us < 0 => format!("The second is faster by {}", exact(-us)),
        us => format!("The second is slower by {}", exact(us)),
    };
    let moved = match d.moves.moved {
        0 => "no feeder or tray is moved".to_owned(),
        1 => "1 feeder or tray is moved".to_owned(),
        n => format!("{n} feeders or trays are moved"),
    };
    format!("{takt}; {moved}.")
}

fn figures(d: &PlanDiff) -> Markup {
    let row = |what: &str, a: Time, b: Time| html! { tr { td { (what) } td.right { (exact(a.0)) } td.right { (exact(b.0)) } td.right { (change_of((b - a).0)) } } };
    let count = |what: &str, a: usize, b: usize| html! { tr { td { (what) } td.right { (a) } td.right { (b) } td.right { @if a == b { "as before" } @else { (format!("{:+}", b as i64 - a as i64)) } } } };
    let slowest = |s: &[String]| if s.is_empty() { "other equipment".to_owned() } else { s.join(", ") };
    html! {
        section {
            h2 { "What came out" }
            div.wide { table {
                thead { tr { th { "" } th.right { "From" } th.right { "To" } th.right { "Change" } } }
                tbody {
                    (row("takt", d.from.takt_us, d.to.takt_us))
                    (row("bound", d.from.bound_us, d.to.bound_us))
                    (count("placed", d.from.placed, d.to.placed))
                    (count("left out", d.from.unplaced.len(), d.to.unplaced.len()))
                    tr { td { "slowest" } td.right { (slowest(&d.from.slowest)) } td.right { (slowest(&d.to.slowest)) } td {} }
                }
            } }
        }
    }
}

fn stations(d: &PlanDiff) -> Markup {
    let pair = |n: (usize, usize)| if n.0 == n.1 { n.0.to_string() } else { format!("{} → {}", n.0, n.1) };
    let why = |s: &StationChange| {
        s.times.iter().take(4).map(|c| format!("{} {}", c.what, change_of((c.to_us - c.from_us).0))).collect::<Vec<_>>().join(", ")
    };
    html! {
        section {
            h2 { "Stations" }
            div.wide { table {
                thead { tr { th { "Station" } th.right { "From" } th.right { "To" } th.right { "Change" } th.right { "Placed" } th.right { "Trips" } th { "What changed most" } } }
                tbody { @for s in &d.stations { tr {
                    td { (s.name) }
                    td.right { (exact(s.from_us.0)) } td.right { (exact(s.to_us.0)) } td.right { (change_of((s.to_us - s.from_us).0)) }
                    td.right { (pair(s.placed)) } td.right { (pair(s.trips)) }
                    td { (why(s)) }
                } } }
            } }
        }
    }
}

fn doing(all: &[Doing]) -> String {
    if all.is_empty() {
        return "nowhere".to_owned();
    }
    all.iter().map(|d| format!("{} by {} of {}", d.placements, d.head, d.station)).collect::<Vec<_>>().join(" and ")
}

fn parts(d: &PlanDiff) -> Markup {
    html! {
        section {
            h2 { "Parts placed elsewhere" }
            @if d.parts.is_empty() { p.quiet { "Every part is placed where it was, by the same head." } } @else {
                div.wide { table {
                    thead { tr { th { "Part" } th { "From" } th { "To" } } }
                    tbody { @for p in d.parts.iter().take(LISTED) { tr { td { (p.part) } td { (doing(&p.from)) } td { (doing(&p.to)) } } } }
                } }
                (rest(d.parts.len(), "parts placed elsewhere"))
            }
        }
    }
}

fn moves(d: &PlanDiff) -> Markup {
    html! {
        section {
            h2 { "What is carried from the first set-up to the second" }
            @if d.moves.steps.is_empty() && d.moves.idle.is_empty() { p.quiet { "Nothing: every feeder and tray stands where it stood." } }
            @if !d.moves.steps.is_empty() {
                p { "In this order each place is free when something comes to it." }
                ol.carry { @for s in &d.moves.steps { li { (s) } } }
            }
            @if !d.moves.idle.is_empty() {
                p { "Not needed any more, but in nobody's way:" }
                ul { @for k in &d.moves.idle { li { (k.part) " at " (k.place()) } } }
            }
        }
    }
}

fn inputs(d: &PlanDiff) -> Markup {
    let word = |v: &serde_json::Value| v.as_str().map_or_else(|| v.to_string(), str::to_owned);
    let told = |i: &InputChange| match (&i.from, &i.to) {
        (serde_json::Value::Null, to) => ("–".to_owned(), word(to)),
        (from, serde_json::Value::Null) => (word(from), "–".to_owned()),
        (from, to) => (word(from), word(to)),
    };
    let p = &d.placements;
    let lists = [("new", &p.added), ("gone", &p.removed), ("moved or turned", &p.moved), ("with another part", &p.other_part)];
    html! {
        section {
            h2 { "What was different going in" }
            @if d.inputs.is_empty() && lists.iter().all(|(_, l)| l.is_empty()) { p.quiet { "Nothing: product, panel, rules and line are the same." } }
            @if !d.inputs.is_empty() {
                div.wide { table {
                    thead { tr { th { "Input" } th { "From" } th { "To" } } }
                    tbody { @for i in d.inputs.iter().take(LISTED) { @let (from, to) = told(i); tr { td { code { (i.key) } } td { (from) } td { (to) } } } }
                } }
                (rest(d.inputs.len(), "inputs that differ"))
            }
            @for (what, names) in lists { @if !names.is_empty() {
                p { "Placements " (what) ": " (names.iter().take(LISTED).map(String::as_str).collect::<Vec<_>>().join(" ")) (rest(names.len(), "")) }
            } }
        }
    }
}

fn rest(n: usize, what: &str) -> Markup {
    html! { @if n > LISTED { span.quiet { " and " (n - LISTED) " more " (what) } } }
}
