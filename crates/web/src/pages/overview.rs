//! What goes on: jobs at work, the newest plans, what is still missing for a first one.

use crate::access::Who;
use crate::doors::Doors;
use crate::page::{self, Part};
use crate::pages::{jobs, plan_row};
use crate::room::Room;
use crate::trouble::Answer;
use axum::extract::State;
use maud::{Markup, html};
use store::document::Kind;
use store::people::Role;

/// Plans shown.
const NEWEST: usize = 8;

/// The way in.
pub fn doors() -> Doors {
    Doors::default().get("/", Role::Viewer, overview)
}

async fn overview(State(room): State<Room>, who: Who) -> Answer<Markup> {
    let (products, lines) = (room.store.list(Kind::Product).await?, room.store.list(Kind::Line).await?);
    let plans = room.store.list(Kind::Plan).await?;
    let open: Vec<_> = room.store.jobs(50).await?.into_iter().filter(|j| !j.state.is_over()).collect();
    let body = html! {
        ol.steps {
            li.done[!products.is_empty()] { a href="/boards" { "Boards" } ": " (counted(products.len(), "board is", "boards are")) " known." }
            li.done[!lines.is_empty()] { a href="/lines" { "Lines" } ": " (counted(lines.len(), "line is", "lines are")) " known." }
            li.done[!plans.is_empty()] { a href="/plans" { "Plans" } ": " (counted(plans.len(), "plan is", "plans are")) " kept." }
        }
        @if !open.is_empty() {
            section { h2 { "At work" } (jobs::table(&open)) }
        }
        section {
            h2 { "Newest plans" }
            @if plans.is_empty() {
                p.quiet { "None yet. Read a board, describe a line, then plan." }
            } @else {
                div.wide { table data-sort {
                    (plan_row::head())
                    tbody { @for plan in plans.iter().take(NEWEST) { (plan_row::row(plan)) } }
                } }
            }
        }
    };
    Ok(page::page(&who, Part::Overview, "Overview", &body))
}

fn counted(n: usize, one: &str, many: &str) -> String {
    if n == 1 { format!("1 {one}") } else { format!("{n} {many}") }
}
