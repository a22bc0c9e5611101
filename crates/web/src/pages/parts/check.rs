//! What to measure first: the guesses on which the next plan of a board depends most.

use crate::access::Who;
use crate::page::{self, Part as Place};
use crate::pages::boards::one::Board;
use crate::room::{Room, aside};
use crate::trouble::Answer;
use app::read::ToMeasure;
use axum::extract::{Query, State};
use maud::{Markup, html};
use serde::Deserialize;
use store::document::Kind;
use store::people::Role;

/// Which board is asked about.
#[derive(Deserialize)]
pub struct Wanted {
    product: Option<String>,
}

/// The parts to measure first, and how much of all doubt they settle.
pub async fn page(State(room): State<Room>, who: Who, Query(wanted): Query<Wanted>) -> Answer<Markup> {
    let boards = room.store.list(Kind::Product).await?;
    let product = wanted.product.filter(|p| !p.is_empty());
    let found = match &product {
        None => None,
        Some(name) => {
            let board = Board::load(&room, name, None).await?;
            Some(aside(move || app::read::to_measure(board.product())).await?)
        }
    };
    let body = html! {
        form.search.row method="get" action="/parts/check" {
            label { "Board " select name="product" {
                @for b in &boards { option selected[product.as_ref() == Some(&b.name)] { (b.name) } }
            } }
            button { "Show" }
        }
        @if let (Some(name), Some(found)) = (&product, &found) { (list(&who, name, found)) }
    };
    Ok(page::page(&who, Place::Parts, "What to measure first", &body))
}

fn list(who: &Who, product: &str, found: &[ToMeasure]) -> Markup {
    let all: usize = found.iter().map(|m| m.weight).sum();
    let mut settled = 0;
    html! {
        @if found.is_empty() {
            p.outcome { "No guess of a size would change what the line needs." }
        } @else {
            p { "Each guess is tried 30 % smaller and 40 % larger; what the line would then need differently counts once a placement." }
            @if who.may(Role::Engineer) { p { a.button href={ "/boards/" (page::path(product)) "/settle" } { "State values" } } }
            div.wide { table {
                thead { tr { th { "Part" } th { "Package" } th.right { "Placements" } th { "Guessed" } th { "Decides" } th.right { "Settles" } } }
                tbody { @for m in found {
                    @let share = { settled += m.weight; 100 * settled / all.max(1) };
                    tr {
                        td { a href=(super::address(&m.number)) { (m.number) } }
                        td { (m.package) }
                        td.right { (m.placements) }
                        td { (m.guessed.join(", ")) }
                        td { (m.decides.join(", ")) }
                        td.right { (share) " %" }
                    }
                } }
            } }
            p.quiet { "Settles: how much of all that depends on guesses is settled when this part and those above it are measured." }
        }
    }
}
