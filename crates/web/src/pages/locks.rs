//! Order rules and locks: the engineer's hand on plans, as files of their own.

use super::lines::desk::{At, Desk, Removal, latest};
use crate::access::Who;
use crate::doors::Doors;
use crate::keep::LocksSummary;
use crate::page::{self, Part};
use crate::room::Room;
use crate::trouble::Answer;
use crate::upload::Upload;
use axum::Form;
use axum::extract::{Multipart, Path, Query, State};
use axum::response::Response;
use domain::rules::{Lock, Rules};
use maud::{Markup, html};
use serde::Deserialize;
use store::document::{Head, Kind};
use store::people::Role;

/// Locks files.
pub const DESK: Desk = Desk { kind: Kind::Locks, home: "/locks", sheet: "locks file", help, differs: |_, _, _| None };

/// Files to begin with: a word for addresses, what it is, and the text.
const STARTS: [(&str, &str, &str); 3] = [
    ("locks", "Orders, locks and a part kept away from a station", include_str!("../../../../examples/locks/river-logger.toml")),
    ("inspection", "An area looked at before anything is placed on it", include_str!("../../../../examples/locks/weir-radio.toml")),
    ("failure", "A bank out of order, feeders that stay", include_str!("../../../../examples/locks/river-logger-repair.toml")),
];

/// The ways in.
pub fn doors() -> Doors {
    Doors::default()
        .get("/locks", Role::Viewer, list)
        .post("/locks", Role::Engineer, add)
        .get("/locks/new", Role::Engineer, new)
        .get("/locks/{name}", Role::Viewer, one)
        .post("/locks/{name}", Role::Engineer, save)
        .get("/locks/{name}/edit", Role::Engineer, edit)
        .get("/locks/{name}/sheet.toml", Role::Operator, download)
        .post("/locks/{name}/remove", Role::Engineer, remove)
}

async fn list(State(room): State<Room>, who: Who) -> Answer<Markup> {
    let all = room.store.list(Kind::Locks).await?;
    let body = html! {
        p.actions {
            @if who.may(Role::Engineer) { a.button href="/locks/new" { "Write a locks file" } " " }
            a.button.plain href="/lines" { "Lines" }
        }
        p { "A locks file says what a plan must keep to beyond what the machines force: the order of work, where a part or its feeder "
            "stands, what stays where it is, what is out of order." }
        @if all.is_empty() { p.quiet { "None is kept yet." } } @else { (table(&all)) }
    };
    Ok(page::page(&who, Part::Lines, "Order rules and locks", &body))
}

fn table(all: &[Head]) -> Markup {
    html! {
        div.wide { table data-sort {
            thead { tr {
                th { "Name" } th { "Order rule" } th.right { "Orders" } th.right { "Inspections" } th.right { "Locks" } th.right { "Kept away" }
                th.right { "Kept in place" } th.right { "Out of order" } th { "Last change" }
            } }
            tbody { @for head in all { tr {
                td { a href=(DESK.address(&head.name)) { (head.name) } }
                @match LocksSummary::kept(head) {
                    Some(s) => {
                        td { (s.order_rule) }
                        @for n in [s.orders, s.inspections, s.locks, s.forbidden, s.kept, s.down] { td.right { (n) } }
                    }
                    None => td colspan="7" { "–" }
                }
                td data-value=(head.at) { (page::when(head.at)) " by " (head.author) ", version " (head.version) }
            } } }
        } }
    }
}

#[derive(Deserialize)]
struct Start {
    #[serde(default)]
    from: String,
}

async fn new(who: Who, Query(start): Query<Start>) -> Markup {
    let chosen = STARTS.iter().find(|s| s.0 == start.from);
    let before = html! {
        section {
            h2 { "Begin with" }
            ul.starts { @for (key, words, _) in &STARTS {
                li { a href={ "/locks/new?from=" (key) } aria-current=[(*key == start.from).then_some("true")] { (words) } }
            } }
        }
    };
    DESK.begin(&who, chosen.map_or("", |s| s.0), chosen.map_or("", |s| s.2), &before)
}

async fn add(State(room): State<Room>, who: Who, form: Multipart) -> Answer {
    DESK.add(&room, &who, Upload::read(form).await?).await
}

async fn edit(State(room): State<Room>, who: Who, Path(name): Path<String>) -> Answer<Markup> {
    DESK.edit(&room, &who, &name).await
}

async fn save(State(room): State<Room>, who: Who, Path(name): Path<String>, form: Multipart) -> Answer {
    DESK.save(&room, &who, &name, Upload::read(form).await?).await
}

async fn download(State(room): State<Room>, Path(name): Path<String>, Query(at): Query<At>) -> Answer<Response> {
    DESK.download(&room, &name, &at).await
}

async fn remove(State(room): State<Room>, who: Who, Path(name): Path<String>, Form(removal): Form<Removal>) -> Answer {
    DESK.remove(&room, &who, &name, removal.base).await
}

async fn one(State(room): State<Room>, who: Who, Path(name): Path<String>, Query(at): Query<At>) -> Answer<Markup> {
    let all = room.store.versions(Kind::Locks, &name).await?;
    let last = latest(&all)?;
    let (head, text, rules) = room.locks(&name, at.version).await?;
    let body = html! {
        (DESK.old(&head, last))
        (DESK.ways(&who, &head, last))
        section { h2 { "What it says" } (told(&rules)) }
        section { h2 { "The file" } pre { code { (text) } } }
        section { h2 { "Versions" } (DESK.versions(&all, head.version, |_, _| None)) }
        @if head.version == last { section.no-print { h2 { "Remove" } (DESK.removal(&who, &head)) } }
    };
    Ok(page::page(&who, Part::Lines, &name, &body))
}

/// The rules in sentences.
fn told(rules: &Rules) -> Markup {
    html! {
        ul {
            li { "Order of work: " (rules.order_rule().word()) "." }
            @if let Some(n) = rules.feeders_per_part { li { "Feeders of one part at a station: at most " (n) "." } }
            @for o in &rules.order { li { (o.first.join(", ")) " before " (o.then.join(", ")) "." } }
            @for i in &rules.inspect {
                li { "Inspect " @if !i.name.is_empty() { q { (i.name) } ", " } (*i.width) " × " (*i.depth) " at " (*i.x) ", " (*i.y) "." }
            }
            @for l in &rules.lock { li { (l.part) " " (locked(l)) "." } }
            @for f in &rules.forbid { li { (f.part) " not at " (f.station) @if let Some(h) = &f.head { ", head " (h) } "." } }
            @for k in &rules.keep { li { (k.part) " stays at " (k.place()) "." } }
            @for c in &rules.closed { li { (c.station) " is closed: at most " (c.add) " more than what is kept there may be set up." } }
            @for d in &rules.down { li { "Out of order: " (d) "." } }
        }
    }
}

fn locked(l: &Lock) -> String {
    let named = |what: &str, v: Option<&String>| v.map(|v| format!("{what} {v}"));
    let numbered = |what: &str, v: Option<u32>| v.map(|v| format!("{what} {v}"));
    let all = [
        named("at", l.station.as_ref()),
        named("by head", l.head.as_ref()),
        named("from bank", l.bank.as_ref()),
        numbered("slot", l.slot),
        named("from tray place", l.tray.as_ref()),
        numbered("level", l.level),
    ];
    let words: Vec<String> = all.into_iter().flatten().collect();
    if words.is_empty() { "is named without a place".to_owned() } else { words.join(", ") }
}

fn help() -> Markup {
    html! { details open { summary { "Every key" } pre { (include_str!("../../../../docs/planning.md").split("## 3.").next().unwrap_or_default()) } } }
}
