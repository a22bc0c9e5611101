//! Plans: the list, and the way to a new one.

pub mod order;

use crate::access::Who;
use crate::doors::Doors;
use crate::page::{self, Part};
use crate::pages::{jobs, plan, plan_row};
use crate::room::Room;
use crate::trouble::Answer;
use crate::work::Summary;
use axum::extract::{Query, State};
use maud::{Markup, html};
use serde::Deserialize;
use std::collections::BTreeSet;
use store::document::{Head, Kind};
use store::people::Role;

/// Jobs looked at for those that are not over.
const JOBS: i64 = 50;

/// Plans on one page of the list.
const PAGE: usize = 100;

/// The ways in.
pub fn doors() -> Doors {
    Doors::default()
        .get("/plans", Role::Viewer, list)
        .post("/plans", Role::Engineer, order::order)
        .get("/plans/new", Role::Engineer, order::page)
        .with(plan::doors())
}

/// What the list is narrowed to.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct Narrow {
    product: String,
    line: String,
    /// Which page of the list, counted from 0.
    page: usize,
}

impl Narrow {
    fn fits(&self, summary: Option<&Summary>) -> bool {
        let fits = |wanted: &str, has: fn(&Summary) -> &str| wanted.is_empty() || summary.is_some_and(|s| has(s) == wanted);
        fits(&self.product, |s| &s.product) && fits(&self.line, |s| &s.line)
    }
}

async fn list(State(room): State<Room>, who: Who, Query(narrow): Query<Narrow>) -> Answer<Markup> {
    let all: Vec<(Head, Option<Summary>)> = room.store.list(Kind::Plan).await?.into_iter().map(with_summary).collect();
    let shown: Vec<&Head> = all.iter().filter(|(_, s)| narrow.fits(s.as_ref())).map(|(h, _)| h).collect();
    let open: Vec<_> = room.store.jobs(JOBS).await?.into_iter().filter(|j| !j.state.is_over()).collect();
    let body = html! {
        (plan::assets())
        p.actions {
            @if who.may(Role::Engineer) { a.button href="/plans/new" { "Order a plan" } " " }
            a.button.plain href="/jobs" { "Jobs" }
        }
        @if !open.is_empty() { section { h2 { "At work" } (jobs::table(&open)) } }
        section {
            @if all.is_empty() {
                p.quiet { "No plan is kept yet. Read a board, describe a line, then order one." }
            } @else {
                (filter(&all, &narrow))
                (table(shown.iter().skip(narrow.page.saturating_mul(PAGE)).take(PAGE).copied()))
                (pages(shown.len(), &narrow))
            }
        }
    };
    Ok(page::page(&who, Part::Plans, "Plans", &body))
}

fn with_summary(head: Head) -> (Head, Option<Summary>) {
    let summary = serde_json::from_str(&head.summary).ok();
    (head, summary)
}

fn filter(all: &[(Head, Option<Summary>)], narrow: &Narrow) -> Markup {
    let names = |of: fn(&Summary) -> &str| all.iter().filter_map(|(_, s)| s.as_ref()).map(of).collect::<BTreeSet<&str>>();
    let choice = |label: &str, name: &str, all: BTreeSet<&str>, chosen: &str| {
        html! { label { (label) select name=(name) {
            option value="" { "all" }
            @for n in all { option value=(n) selected[n == chosen] { (n) } }
        } } }
    };
    html! {
        form.row method="get" action="/plans" {
            (choice("Product", "product", names(|s| &s.product), &narrow.product))
            (choice("Line", "line", names(|s| &s.line), &narrow.line))
            button.plain { "Show" }
            @if !narrow.product.is_empty() || !narrow.line.is_empty() { a href="/plans" { "Show all" } }
        }
    }
}

/// Ways to the other pages of the list, where there are some.
fn pages(count: usize, narrow: &Narrow) -> Markup {
    let last = count.saturating_sub(1) / PAGE;
    let to = |n: usize| format!("/plans?product={}&line={}&page={n}", page::path(&narrow.product), page::path(&narrow.line));
    html! {
        @if last > 0 {
            nav.pages aria-label="Pages of the list" {
                @for n in 0..=last {
                    a href=(to(n)) aria-current=[(n == narrow.page).then_some("page")] { (n * PAGE + 1) "–" ((n * PAGE + PAGE).min(count)) } " "
                }
            }
        }
    }
}

fn table<'h>(shown: impl Iterator<Item = &'h Head>) -> Markup {
    let shown: Vec<&Head> = shown.collect();
    html! {
        @if shown.is_empty() { p.quiet { "None of the plans is for this product and line." } } @else {
            form method="get" action="/plans/compare" {
                div.wide { table data-sort {
                    thead { tr { th { span.unseen { "Compare" } } (plan_row::heads()) } }
                    tbody { @for head in &shown { tr {
                        td { input type="checkbox" name="pick" value=(plan::named(head)) aria-label={ "compare " (head.name) }; }
                        (plan_row::cells(head))
                    } } }
                } }
                @if shown.len() > 1 { button.plain { "Compare the two ticked" } }
            }
        }
    }
}
