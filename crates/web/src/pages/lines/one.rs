//! One line: its picture, its figures, its versions.

use super::DESK;
use super::desk::{At, latest};
use crate::access::Who;
use crate::page::{self, Part};
use crate::room::{Room, aside};
use crate::trouble::Answer;
use app::lines::{Thing, figures, picture};
use axum::extract::{Path, Query, State};
use domain::line::{Head, HeadKind, Line, Station};
use maud::{Markup, html};
use store::document::Kind;

/// The page of a line.
///
/// # Errors
/// When there is none.
pub async fn page(State(room): State<Room>, who: Who, Path(name): Path<String>, Query(at): Query<At>) -> Answer<Markup> {
    let all = room.store.versions(Kind::Line, &name).await?;
    let last = latest(&all)?;
    let (head, text, line) = room.line(&name, at.version).await?;
    let (line, svg) = aside(move || {
        let svg = picture(&line);
        (line, svg)
    })
    .await?;
    let compared = |a: i64, b: i64| Some(super::compare::address(&name, Some(a), &name, Some(b)));
    let body = html! {
        (DESK.old(&head, last))
        (DESK.ways(&who, &head, last))
        @if !line.notes.is_empty() { p { (line.notes) } }
        (page::picture(&svg))
        section { h2 { "Stations" } (stations(&line)) }
        section { h2 { "All figures" } (everything(&figures(&line))) }
        section {
            h2 { "The sheet" }
            details { summary { "Text of version " (head.version) } pre { code { (text) } } }
        }
        section { h2 { "Versions" } (DESK.versions(&all, head.version, compared)) }
        @if head.version == last { section.no-print { h2 { "Remove" } (DESK.removal(&who, &head)) } }
    };
    Ok(page::page(&who, Part::Lines, &name, &body))
}

/// The stations as a table.
pub fn stations(line: &Line) -> Markup {
    html! {
        div.wide { table {
            thead { tr {
                th { "Station" } th { "Kind" } th { "Heads" } th.right { "Spindles" } th.right { "Slots" } th.right { "Tray places" }
                th.right { "Largest panel" } th.right { "Transfer and clamping" } th.right { "Speed along, across" }
            } }
            tbody { @for s in &line.station { tr {
                td { (s.name) }
                td { (s.kind.word()) }
                td { (heads(s)) }
                td.right { (s.head.iter().filter(|h| places(h)).map(|h| u32::from(h.spindles)).sum::<u32>()) }
                td.right { (s.bank.iter().map(|b| u64::from(b.slots)).sum::<u64>()) }
                td.right { (s.tray.iter().map(|t| u64::from(t.levels())).sum::<u64>()) }
                td.right { (*s.max_panel.x) " × " (*s.max_panel.y) }
                td.right { (*s.transfer) " + " (*s.clamp) }
                td.right { (*s.axes.x.speed) ", " (*s.axes.y.speed) }
            } } }
        } }
    }
}

fn places(h: &Head) -> bool {
    h.kind != HeadKind::Dispense
}

fn heads(s: &Station) -> String {
    let all: Vec<String> = s.head.iter().map(|h| format!("{} ({})", h.name, h.kind.word())).collect();
    all.join(", ")
}

/// Everything that stands on the sheet, station by station.
fn everything(all: &Thing) -> Markup {
    html! {
        (facts(all))
        @for thing in &all.holds {
            details { summary { (thing.words()) } (facts(thing)) @for inner in &thing.holds { h3 { (inner.words()) } (facts(inner)) } }
        }
    }
}

fn facts(thing: &Thing) -> Markup {
    html! { dl.facts { @for f in &thing.figures { dt { (f.what) } dd { (f.value) } } } }
}
