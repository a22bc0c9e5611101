//! What a plan comes to: figures, balance, what holds it back, what it leaves out, the board, findings, versions.

use super::{Here, Shown, exact, named, picture};
use crate::access::Who;
use crate::page;
use crate::pages::plan_row::{gap, seconds};
use crate::room::Room;
use crate::trouble::Answer;
use app::pictures::Colouring;
use axum::Form;
use axum::extract::{Path, Query, State};
use axum::response::{IntoResponse, Redirect};
use domain::plan::Plan;
use maud::{Markup, html};
use serde::Deserialize;
use std::collections::BTreeMap;
use store::document::{Head, Kind};
use store::people::Role;

/// Causes told of a station in a list.
const CAUSES: usize = 3;

/// Which version is asked for, and in which colours its board.
#[derive(Deserialize)]
pub struct Coloured {
    version: Option<i64>,
    colour: Option<String>,
}

/// The page of a plan.
pub async fn page(State(room): State<Room>, who: Who, Path(name): Path<String>, Query(q): Query<Coloured>) -> Answer<Markup> {
    let colouring = super::pictures::colouring(q.colour.as_deref())?;
    let shown = Shown::load(&room, &name, q.version).await?;
    let versions = room.store.versions(Kind::Plan, &name).await?;
    let plan = &*shown.plan;
    let (at, fixed) = (shown.at(), shown.fixed());
    let body = html! {
        p.outcome { (app::documents::outcome_words(plan)) }
        (figures(plan))
        (actions(&shown, &who))
        section #balance {
            h2 { "Where the seconds go" }
            (picture(&format!("{at}/balance.svg{fixed}"), "Seconds per panel of each station, by cause"))
            (stations(&shown))
        }
        section #back {
            h2 { "What holds it back" }
            @if plan.reasons.is_empty() { p.quiet { "The plan names nothing that holds it back." } } @else {
                ul { @for r in &plan.reasons { li { (page::words(&r.text)) @if r.worth_us.0 > 0 { " (at most " (exact(r.worth_us.0)) ")" } } } }
            }
            (later(&format!("{at}/explain{fixed}"), "What one more of something would be worth"))
        }
        (left_out(plan))
        (board(&shown, colouring))
        @if !plan.findings.is_empty() { section #findings { h2 { "Findings" } (page::findings(&plan.findings)) } }
        section #check {
            h2 { "Check" }
            p { "An independent checker can compute every rule and every second of this plan anew, and its bound." }
            (later(&format!("{at}/check{fixed}"), "Check this plan"))
        }
        section {
            h2 { "How it was made" }
            p { (app::documents::method_words(plan)) "." }
            p.quiet { "Product " (plan.product.name) ", " (plan.side.word()) " side, on line " (plan.line.name) "." @if !shown.head.note.is_empty() { " " (shown.head.note) "." } }
        }
        (version_list(&at, &versions, &shown))
        @if who.may(Role::Engineer) && shown.is_latest() { (removal(&shown)) }
    };
    Ok(shown.page(&who, Here::Overview, &name, &body))
}

fn figures(plan: &Plan) -> Markup {
    let per_hour = |boards: u32| {
        if plan.takt_us.0 > 0 { format!("{:.0}", 3.6e9 / plan.takt_us.0 as f64 * f64::from(boards)) } else { "–".to_owned() }
    };
    let (placed, left) = (plan.placed(), plan.unplaced.len());
    html! {
        dl.figures {
            div { dt { "takt" } dd { (seconds(plan.takt_us.0)) small { "per panel" } } }
            div { dt { "bound" } dd { (seconds(plan.bound_us.0)) small { "no plan is faster" } } }
            div { dt { "gap" } dd { (gap(plan.takt_us.0, plan.bound_us.0)) small { "above the bound" } } }
            div { dt { "panels" } dd { (per_hour(1)) small { "per hour without stops" } } }
            @if plan.panel.images() > 1 { div { dt { "boards" } dd { (per_hour(plan.panel.images())) small { "per hour without stops" } } } }
            div { dt { "placed" } dd { (placed) small { "of " (placed + left) } } }
            div.warn[left > 0] { dt { "left out" } dd { (left) } }
        }
    }
}

fn actions(shown: &Shown, who: &Who) -> Markup {
    let (at, query) = (shown.at(), shown.query());
    html! {
        p.actions {
            @if who.may(Role::Engineer) {
                a.button href={ "/plans/new?from=" (page::path(&shown.named())) } { "Plan on from here" } " "
            }
            a.button.plain href={ (at) "/sheets" (query) } { "Sheets" } " "
            a.button.plain href={ "/plans/compare?a=" (page::path(&shown.named())) } { "Compare" } " "
            @if who.may(Role::Operator) { a.button.plain href={ (at) "/plan.json" (shown.fixed()) } { "Download (.json)" } }
        }
    }
}

/// Something that is fetched when it is opened; a page of its own without the script.
fn later(address: &str, words: &str) -> Markup {
    html! {
        details data-later={ (address) "&bare=1" } {
            summary { (words) }
            p { a href=(address) { "Open it as a page" } }
        }
    }
}

fn stations(shown: &Shown) -> Markup {
    let (plan, at, query) = (&shown.plan, shown.at(), shown.query());
    let most = |s: &domain::plan::StationPlan| {
        let mut items: Vec<_> = s.breakdown.items().into_iter().filter(|(_, t)| t.0 > 0).collect();
        items.sort_by_key(|(_, t)| std::cmp::Reverse(t.0));
        items.iter().take(CAUSES).map(|(name, t)| format!("{name} {:.2} s", t.to_s())).collect::<Vec<_>>().join(", ")
    };
    html! {
        div.wide { table {
            thead { tr { th { "Station" } th.right { "Per panel" } th.right { "Of the takt" } th.right { "Placed" } th.right { "Supplies" } th { "Most of it" } th { "Program" } } }
            tbody { @for (n, s) in plan.stations.iter().enumerate() { tr {
                td { a href={ (at) "/stations/" (n + 1) (query) } { (s.station) } }
                td.right { (exact(s.time_us.0)) }
                td.right { @if plan.takt_us.0 > 0 { (format!("{:.0} %", 100.0 * s.time_us.0 as f64 / plan.takt_us.0 as f64)) } }
                td.right { (s.passes.iter().map(|p| p.work.placed().count()).sum::<usize>()) }
                td.right { (s.supplies.len()) }
                td { (most(s)) }
                td { a href={ (at) "/stations/" (n + 1) "/play" (query) } { "Play" } }
            } } }
        } }
    }
}

/// Placements that no station does, those of one reason together.
fn left_out(plan: &Plan) -> Markup {
    let mut groups: BTreeMap<(&str, &str), Vec<&str>> = BTreeMap::new();
    for u in &plan.unplaced {
        groups.entry((&u.code, &u.message)).or_default().push(&u.reference);
    }
    let cure = |code: &str| diag::codes::find(code).map_or("", |c| c.cure);
    html! {
        @if !groups.is_empty() {
            section #left-out {
                h2 { "Left out" }
                div.wide { table {
                    thead { tr { th { "Placements" } th.right { "How many" } th { "Why" } th { "What to do" } th { "Code" } } }
                    tbody { @for ((code, message), references) in &groups { tr {
                        td { (references.join(", ")) }
                        td.right { (references.len()) }
                        td { (page::words(message)) }
                        td { (page::words(cure(code))) }
                        td { code { (code) } }
                    } } }
                } }
            }
        }
    }
}

fn board(shown: &Shown, colouring: Colouring) -> Markup {
    let (at, version) = (shown.at(), shown.head.version);
    let page_of = |c: Colouring| match shown.is_latest() {
        true => format!("{at}?colour={}#board", c.word()),
        false => format!("{at}?version={version}&colour={}#board", c.word()),
    };
    let src = format!("{at}/board.svg?version={version}&colour={}", colouring.word());
    html! {
        section #board {
            h2 { "Board" }
            nav.tabs aria-label="What the colours tell" { @for c in Colouring::ALL {
                a href=(page_of(c)) aria-current=[(c == colouring).then_some("page")] { "by " (c.word()) }
            } }
            (picture(&src, &format!("The panel, coloured by {}", colouring.word())))
            p.quiet { a href=(src) { "The picture alone" } }
        }
    }
}

fn version_list(at: &str, versions: &[Head], shown: &Shown) -> Markup {
    html! {
        section #versions {
            h2 { "Versions" }
            form method="get" action="/plans/compare" {
                div.wide { table {
                    thead { tr { th { "Version" } th { "Saved" } th { "What" } th { "From" } th { "To" } } }
                    tbody { @for (i, v) in versions.iter().enumerate() { tr {
                        td {
                            @if v.removed { (v.version) ", removed" } @else {
                                a href={ (at) "?version=" (v.version) } aria-current=[(v.version == shown.head.version).then_some("true")] { (v.version) }
                            }
                        }
                        td { (page::when(v.at)) " by " (v.author) }
                        td { (v.note) }
                        @if v.removed { td {} td {} } @else {
                            td { input type="radio" name="a" value=(named(v)) checked[i == 1] aria-label={ "compare from version " (v.version) }; }
                            td { input type="radio" name="b" value=(named(v)) checked[i == 0] aria-label={ "compare to version " (v.version) }; }
                        }
                    } } }
                } }
                @if versions.iter().filter(|v| !v.removed).count() > 1 { button { "Compare" } }
            }
        }
    }
}

fn removal(shown: &Shown) -> Markup {
    html! {
        section {
            details {
                summary { "Remove this plan" }
                form.stack method="post" action={ (shown.at()) "/remove" } {
                    input type="hidden" name="base" value=(shown.head.version);
                    p { "Its versions stay in the store; the name becomes free." }
                    button.danger { "Remove " (shown.head.name) }
                }
            }
        }
    }
}

/// The version that is to be the last.
#[derive(Deserialize)]
pub struct Removal {
    base: i64,
}

/// Removes a plan.
pub async fn remove(State(room): State<Room>, who: Who, Path(name): Path<String>, Form(form): Form<Removal>) -> Answer {
    room.store.remove(Kind::Plan, &name, form.base, &who.name).await?;
    Ok(Redirect::to("/plans").into_response())
}
