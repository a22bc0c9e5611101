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
const NEWEST: i64 = 8;

/// The way in.
pub fn doors() -> Doors {
    Doors::default().get("/", Role::Viewer, overview)
}

async fn overview(State(room): State<Room>, who: Who) -> Answer<Markup> {
    let counts = (room.store.count(Kind::Product).await?, room.store.count(Kind::Line).await?, room.store.count(Kind::Plan).await?);
    let newest = room.store.newest(Kind::Plan, NEWEST).await?;
    let open: Vec<_> = room.store.jobs(50).await?.into_iter().filter(|j| !j.state.is_over()).collect();
    let body = html! {
        ol.steps {
            li.done[counts.0 > 0] { a href="/boards" { "Boards" } ": " (counted(counts.0, "board is", "boards are")) " known." }
            li.done[counts.1 > 0] { a href="/lines" { "Lines" } ": " (counted(counts.1, "line is", "lines are")) " known." }
            li.done[counts.2 > 0] { a href="/plans" { "Plans" } ": " (counted(counts.2, "plan is", "plans are")) " kept." }
        }
        @if !open.is_empty() {
            section { h2 { "At work" } (jobs::table(&open)) }
        }
        section {
            h2 { "Newest plans" }
            @if newest.is_empty() {
                p.quiet { "None yet. Read a board, describe a line, then plan." }
            } @else {
                div.wide { table data-sort {
                    (plan_row::head())
                    tbody { @for plan in &newest { (plan_row::row(plan)) } }
                } }
            }
        }
    };
    Ok(page::page(&who, Part::Overview, "Overview", &body))
}

fn counted(n: i64, one: &str, many: &str) -> String {
    if n == 1 { format!("1 {one}") } else { format!("{n} {many}") }
}
