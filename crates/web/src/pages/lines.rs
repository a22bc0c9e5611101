//! Lines: their sheets as pictures and figures, editing them, comparing two.
//!
//! Reading order: [`desk`] (sheets of text in general), the list here, [`one`], [`compare`].

pub mod compare;
pub mod desk;
pub mod one;

use crate::access::Who;
use crate::doors::Doors;
use crate::keep::LineSummary;
use crate::page::{self, Part};
use crate::room::Room;
use crate::trouble::Answer;
use crate::upload::Upload;
use axum::Form;
use axum::extract::{Multipart, Path, Query, State};
use axum::response::Response;
use desk::{At, Desk, Removal};
use maud::{Markup, html};
use serde::Deserialize;
use store::document::{Head, Kind};
use store::people::Role;

/// Line sheets.
pub const DESK: Desk = Desk { kind: Kind::Line, home: "/lines", sheet: "line sheet", help, differs: compare::texts };

/// Sheets to begin with: a word for addresses, what it is, and the text.
const STARTS: [(&str, &str, &str); 7] = [
    ("one-station", "One gantry station that builds a whole panel", include_str!("../../../../examples/lines/one-station.toml")),
    ("fixed-roles", "Two chip stations and a flexible one", include_str!("../../../../examples/lines/fixed-roles.toml")),
    ("head-swap", "Stations that swap their heads in mid-panel", include_str!("../../../../examples/lines/head-swap.toml")),
    ("gang-pick", "Stations whose heads pick several parts in one stroke", include_str!("../../../../examples/lines/gang-pick.toml")),
    ("two-beam", "Stations with two beams that share the board", include_str!("../../../../examples/lines/two-beam.toml")),
    ("turret", "Turrets with a moving carriage of feeders", include_str!("../../../../examples/lines/turret.toml")),
    ("mixed", "Turrets for chips and a flexible station at the end", include_str!("../../../../examples/lines/mixed.toml")),
];

/// The ways in.
pub fn doors() -> Doors {
    Doors::default()
        .get("/lines", Role::Viewer, list)
        .post("/lines", Role::Engineer, add)
        .get("/lines/new", Role::Engineer, new)
        .get("/lines/compare", Role::Viewer, compare::page)
        .get("/lines/{name}", Role::Viewer, one::page)
        .post("/lines/{name}", Role::Engineer, save)
        .get("/lines/{name}/edit", Role::Engineer, edit)
        .get("/lines/{name}/sheet.toml", Role::Operator, download)
        .post("/lines/{name}/remove", Role::Engineer, remove)
}

async fn list(State(room): State<Room>, who: Who) -> Answer<Markup> {
    let lines = room.store.list(Kind::Line).await?;
    let body = html! {
        p.actions {
            @if who.may(Role::Engineer) { a.button href="/lines/new" { "Describe a line" } " " }
            a.button.plain href="/locks" { "Order rules and locks" }
        }
        @if lines.is_empty() { p.quiet { "No line is known yet. A line is described once, by a sheet of text." } } @else {
            (table(&lines))
            @if lines.len() > 1 { section { h2 { "Compare two lines" } (compare::choice(&lines, "", "")) } }
        }
    };
    Ok(page::page(&who, Part::Lines, "Lines", &body))
}

fn table(lines: &[Head]) -> Markup {
    html! {
        div.wide { table data-sort {
            thead { tr { th { "Line" } th.right { "Stations" } th.right { "Heads" } th.right { "Slots" } th.right { "Tray places" } th { "Last change" } } }
            tbody { @for line in lines { tr {
                td { a href=(DESK.address(&line.name)) { (line.name) } }
                @match LineSummary::kept(line) {
                    Some(s) => {
                        td.right { (s.stations) }
                        td.right { (s.heads + s.dispensers) }
                        td.right { (s.slots) }
                        td.right { (s.trays) }
                    }
                    None => td colspan="4" { "–" }
                }
                td data-value=(line.at) { (page::when(line.at)) " by " (line.author) ", version " (line.version) }
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
                li { a href={ "/lines/new?from=" (key) } aria-current=[(*key == start.from).then_some("true")] { (words) } }
            } }
            p.quiet { "These are invented lines of a maker of river gauges, for a start: change every figure to what you measure at yours." }
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

fn help() -> Markup {
    html! {
        p { "Every quantity is a text with its unit: " code { "\"16 mm\"" } ", " code { "\"85 ms\"" } ", " code { "\"1.8 m/s\"" } ", "
            code { "\"28 m/s2\"" } ". A number without a unit is refused, and so is a key that is not known." }
        p { "The frame of a station begins at the corner of the panel that lies at the stop, nearest to you. X runs along the line to the right, "
            "Y away from you: a bank in front has a negative Y, a bank behind one larger than the deepest panel." }
        details { summary { "Every key" } pre { (include_str!("../../../../docs/line-sheet.md")) } }
    }
}
