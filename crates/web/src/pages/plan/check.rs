//! What takes longer than a page may: the independent check of a plan, and what one more of something would be worth. The script
//! fetches both into the plan's page (`bare`); without it they are pages of their own.

use super::{Here, Shown, exact};
use crate::access::Who;
use crate::page;
use crate::room::{Room, aside};
use crate::trouble::{Answer, Refusal};
use app::plan::{Progress, Watch};
use axum::extract::{Path, Query, State};
use maud::{Markup, html};
use serde::Deserialize;
use std::sync::Arc;
use std::time::Instant;

/// Which version is asked for, and in which form.
#[derive(Deserialize)]
pub struct Asked {
    version: Option<i64>,
    /// Whether only the part itself is wanted, not a page around it.
    bare: Option<u8>,
}

async fn shown(room: &Room, name: &str, asked: &Asked) -> Answer<Shown> {
    Shown::load(room, name, asked.version).await
}

/// What the checker says.
pub async fn verdict(State(room): State<Room>, who: Who, Path(name): Path<String>, Query(q): Query<Asked>) -> Answer<Markup> {
    let shown = shown(&room, &name, &q).await?;
    let plan = Arc::clone(&shown.plan);
    let verdict = aside(move || app::check::check(&plan)).await?;
    let part = html! {
        @if verdict.accepted {
            p.told { b { "Accepted." } " The checker, which shares no code with the planner, has computed every rule and every second anew." }
        } @else {
            p.refused { b { "Refused." } " The checker does not accept this plan; do not run it." }
        }
        dl.figures {
            div { dt { "takt, computed anew" } dd { (exact(verdict.takt_us.0)) } }
            div { dt { "bound, computed anew" } dd { (exact(verdict.bound_us.0)) } }
            div { dt { "claims that do not hold" } dd.warn[!verdict.accepted] { (verdict.violations.len()) } }
        }
        @if !verdict.violations.is_empty() {
            ul.findings { @for v in &verdict.violations {
                li.error { span.mark { "error" } span { (page::words(&v.detail)) } span.place { code { (v.code) } } }
            } }
        }
    };
    Ok(whole_or_bare(&shown, &who, &q, "Check of", part))
}

/// What holds the plan back, and what a change would be worth.
pub async fn explained(State(room): State<Room>, who: Who, Path(name): Path<String>, Query(q): Query<Asked>) -> Answer<Markup> {
    let shown = shown(&room, &name, &q).await?;
    let plan = Arc::clone(&shown.plan);
    let told = aside(move || app::explain::explain(&plan, None, &Patient(Instant::now())));
    let told = room.held.worth.of(&shown.head, async { Ok::<_, Refusal>(told.await??) }).await?;
    let part = html! {
        @if told.worth.is_empty() { p.quiet { "Nothing can be said of a plan that the checker refuses, or that has nothing to gain." } } @else {
            div.wide { table {
                thead { tr { th { "What one more, or one rule less, would be worth" } th.right { "By the balance" } th.right { "At most" } } }
                tbody { @for w in &told.worth { tr {
                    td { (page::words(&w.text)) }
                    td.right { @if let Some(t) = w.estimate_us { (exact(t.0)) } @else { "only planning tells" } }
                    td.right { @if let Some(t) = w.at_most_us { (exact(t.0)) } @else { "–" } }
                } } }
            } }
            p.quiet { "Seconds of takt per panel. They come from the balance of the line; planning with the change made tells exactly." }
        }
    };
    Ok(whole_or_bare(&shown, &who, &q, "Worth of changes to", part))
}

fn whole_or_bare(shown: &Shown, who: &Who, asked: &Asked, title: &str, part: Markup) -> Markup {
    if asked.bare == Some(1) {
        return part;
    }
    let body = html! { (part) p { a href={ (shown.at()) (shown.query()) } { "Back to the plan" } } };
    shown.page(who, Here::Overview, &format!("{title} {}", shown.head.name), &body)
}

/// Somebody who waits.
struct Patient(Instant);

impl Watch for Patient {
    fn seconds(&self) -> f64 {
        self.0.elapsed().as_secs_f64()
    }

    fn stopped(&self) -> bool {
        false
    }

    fn progress(&self, _: &Progress) {}
}
