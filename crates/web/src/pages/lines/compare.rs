//! Two lines, or two versions of one, beside each other.

use super::{DESK, one};
use crate::access::Who;
use crate::page::{self, Part};
use crate::room::{Room, aside};
use crate::trouble::Answer;
use app::lines::{Difference, differences, picture};
use axum::extract::{Query, State};
use maud::{Markup, html};
use serde::Deserialize;
use store::document::{Head, Kind};

/// Which two.
#[derive(Debug, Deserialize)]
pub struct Pair {
    /// Name of the first.
    a: String,
    /// Name of the second.
    b: String,
    /// Version of the first; the latest if not given.
    av: Option<i64>,
    /// Version of the second; the latest if not given.
    bv: Option<i64>,
}

/// Address of a comparison.
pub fn address(a: &str, av: Option<i64>, b: &str, bv: Option<i64>) -> String {
    let version = |key: &str, v: Option<i64>| v.map_or(String::new(), |n| format!("&{key}={n}"));
    format!("{}/compare?a={}&b={}{}{}", DESK.home, page::path(a), page::path(b), version("av", av), version("bv", bv))
}

/// The choice of two lines.
pub fn choice(lines: &[Head], a: &str, b: &str) -> Markup {
    let second = if b.is_empty() { lines.get(1).map_or("", |l| l.name.as_str()) } else { b };
    let select = |label: &str, key: &str, chosen: &str| {
        html! { label { (label) select name=(key) { @for l in lines { option value=(l.name) selected[l.name == chosen] { (l.name) } } } } }
    };
    html! {
        form.row method="get" action={ (DESK.home) "/compare" } { (select("First", "a", a)) (select("Second", "b", second)) button { "Compare" } }
    }
}

/// The page of a comparison.
///
/// # Errors
/// When one of the two is not there.
pub async fn page(State(room): State<Room>, who: Who, Query(pair): Query<Pair>) -> Answer<Markup> {
    let (first, _, a) = room.line(&pair.a, pair.av).await?;
    let (second, _, b) = room.line(&pair.b, pair.bv).await?;
    let lines = room.store.list(Kind::Line).await?;
    let (a, b, svg, told) = aside(move || {
        let svg = (picture(&a), picture(&b));
        let told = differences(&a, &b);
        (a, b, svg, told)
    })
    .await?;
    let names = (label(&first), label(&second));
    let body = html! {
        p.outcome { (counted(told.len())) }
        @if !told.is_empty() { (table(&told, &names.0, &names.1)) }
        @for (head, name, line, svg) in [(&first, &names.0, &a, &svg.0), (&second, &names.1, &b, &svg.1)] {
            section {
                h2 { a href={ (DESK.address(&head.name)) "?version=" (head.version) } { (name) } }
                (page::picture(svg))
                (one::stations(line))
            }
        }
        @if lines.len() > 1 { section.no-print { h2 { "Compare others" } (choice(&lines, &pair.a, &pair.b)) } }
    };
    Ok(page::page(&who, Part::Lines, &format!("{} and {}", names.0, names.1), &body))
}

fn label(head: &Head) -> String {
    format!("{}, version {}", head.name, head.version)
}

fn counted(n: usize) -> String {
    match n {
        0 => "The two sheets say the same.".to_owned(),
        1 => "One thing differs.".to_owned(),
        n => format!("{n} things differ."),
    }
}

fn table(told: &[Difference], first: &str, second: &str) -> Markup {
    let side = |v: &Option<String>| html! { @match v { Some(v) => (v), None => span.quiet { "–" } } };
    html! {
        div.wide { table data-sort {
            thead { tr { th { "Where" } th { "What" } th { (first) } th { (second) } } }
            tbody { @for d in told { tr {
                td { @if d.place.is_empty() { "the line" } @else { (d.place) } }
                td { @if d.what.is_empty() { "only in one of the two" } @else { (d.what) } }
                td { (side(&d.from)) }
                td { (side(&d.to)) }
            } } }
        } }
    }
}

/// What differs between two texts that are both sound sheets.
pub fn texts(name: &str, theirs: &str, yours: &str) -> Option<Markup> {
    let read = |text: &str| app::documents::read_line(name, text).ok();
    let told = differences(&read(theirs)?, &read(yours)?);
    Some(html! { p { (counted(told.len())) } @if !told.is_empty() { (table(&told, "the other's", "yours")) } })
}
