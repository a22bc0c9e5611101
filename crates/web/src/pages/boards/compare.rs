//! Two versions of a board, or two boards, side by side.

use super::one::Board;
use crate::access::Who;
use crate::page::{self, Part};
use crate::room::{Room, aside};
use crate::trouble::Answer;
use app::revision::{Change, What};
use axum::extract::{Path, Query, State};
use maud::{Markup, html};
use serde::Deserialize;

/// What is compared.
#[derive(Deserialize)]
pub struct Pair {
    from: Option<i64>,
    to: Option<i64>,
    /// Another board to compare with; its latest version, unless `to` says one.
    with: Option<String>,
}

/// What changed from one to the other.
pub async fn page(State(room): State<Room>, who: Who, Path(name): Path<String>, Query(pair): Query<Pair>) -> Answer<Markup> {
    let old = Board::load(&room, &name, pair.from).await?;
    let new = Board::load(&room, pair.with.as_deref().unwrap_or(&name), pair.to).await?;
    let (before, after) = (old.product().clone(), new.product().clone());
    let changes = aside(move || app::revision::changes(&before, &after)).await?;
    let side = |b: &Board| {
        html! {
            td { a href={ "/boards/" (page::path(&b.head.name)) "?version=" (b.head.version) } { (b.head.name) ", version " (b.head.version) } }
            td { (page::when(b.head.at)) " by " (b.head.author) }
            td { (b.head.note) }
            td.right { (b.summary.fitted) } td.right { (b.summary.parts) } td { (super::doubts(&b.summary)) }
        }
    };
    let body = html! {
        div.wide { table {
            thead { tr { th { "" } th { "Version" } th { "Saved" } th { "What" } th.right { "Fitted" } th.right { "Parts" } th { "Doubts" } } }
            tbody { tr { th { "From" } (side(&old)) } tr { th { "To" } (side(&new)) } }
        } }
        h2 { "What changed" }
        @if changes.is_empty() { p { "Both place the same parts at the same places." } } @else { (table(&changes)) }
    };
    Ok(page::page(&who, Part::Boards, &format!("{name}: compare"), &body))
}

fn table(changes: &[Change]) -> Markup {
    let mm = |um: i64| um as f64 / 1e3;
    let degrees = |mdeg: i64| mdeg as f64 / 1e3;
    let words = |what: &What| match what {
        What::Added { part } => ("added", part.clone()),
        What::Removed { part } => ("removed", part.clone()),
        What::Moved { x_um, y_um } => ("moved", format!("by {}, {} mm", mm(*x_um), mm(*y_um))),
        What::Turned { from, to } => ("turned", format!("{}° → {}°", degrees(*from), degrees(*to))),
        What::OtherSide { now } => ("on the other side", now.clone()),
        What::OtherPart { from, to } => ("another part", format!("{from} → {to}")),
        What::Fitted { now: true } => ("fitted now", String::new()),
        What::Fitted { now: false } => ("no longer fitted", String::new()),
    };
    html! {
        p { (changes.len()) " changes; a shift of the whole board does not count." }
        div.wide { table {
            thead { tr { th { "Reference" } th { "Change" } th { "" } } }
            tbody { @for c in changes {
                @let (kind, detail) = words(&c.what);
                tr { td { (c.reference) } td { (kind) } td { (detail) } }
            } }
        } }
    }
}
