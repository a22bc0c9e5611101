//! Parts: one library over all boards, with the source and the certainty of every value.
//!
//! Reading order: [`library`] (how it is kept), the list here, [`one`], [`table`] (in and out), [`check`].

pub mod check;
pub mod library;
pub mod one;
pub mod table;

use crate::access::Who;
use crate::doors::Doors;
use crate::page::{self, Part as Place};
use crate::pages::boards::summary::Summary;
use crate::room::{Room, aside};
use crate::trouble::Answer;
use axum::extract::{Query, State};
use domain::library::{Entry, Stated};
use domain::part::{Certainty, Source};
use library::uses;
use maud::{Markup, html};
use serde::Deserialize;
use std::cmp::Reverse;
use std::collections::BTreeMap;
use store::document::Kind;
use store::people::Role;

/// Parts on one page.
const PAGE: usize = 100;

/// The ways in.
pub fn doors() -> Doors {
    Doors::default()
        .get("/parts", Role::Viewer, list)
        .get("/parts/check", Role::Viewer, check::page)
        .post("/parts/add", Role::Engineer, table::add)
        .post("/parts/import", Role::Engineer, table::import)
        .get("/parts/export.csv", Role::Operator, table::export_text)
        .get("/parts/export.xlsx", Role::Operator, table::export_workbook)
        .get("/parts/{*number}", Role::Viewer, one::page)
        .post("/parts/{*number}", Role::Engineer, one::save)
}

/// The last pieces of addresses that mean something else than a part of that number.
const TAKEN: [&str; 5] = ["check", "add", "import", "export.csv", "export.xlsx"];

/// The address of a part, whatever its number is.
pub fn address(number: &str) -> String {
    match number.chars().next() {
        // Another way to write the same: it does not meet the address that is taken.
        Some(first) if TAKEN.contains(&number) => format!("/parts/%{:02X}{}", first as u32, page::path(&number[1..])),
        _ => format!("/parts/{}", page::path(number)),
    }
}

/// The word of a source for people.
pub fn source(source: Source) -> &'static str {
    match source {
        Source::Default => "assumed",
        Source::Name => "from the name",
        Source::File => "designer's file",
        Source::Library => "library",
        Source::Engineer => "stated",
    }
}

/// The word of a certainty.
pub fn certainty(certainty: Certainty) -> &'static str {
    match certainty {
        Certainty::Guess => "guess",
        Certainty::Likely => "likely",
        Certainty::Certain => "certain",
    }
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct Wanted {
    q: String,
    sort: String,
    page: String,
}

/// The orders that the list can have: key in the address, and head.
const ORDERS: [(&str, &str); 4] = [("number", "Number"), ("body", "Body"), ("uses", "Used"), ("certainty", "Certainty")];

/// A part as a row of the list.
struct Row<'l> {
    number: &'l str,
    entry: &'l Entry,
    uses: usize,
    least: Option<Certainty>,
}

impl<'l> Row<'l> {
    fn value(&self, column: &str) -> Option<&'l Stated> {
        self.entry.values.get(column)?.last()
    }

    /// Longer side of its body [mm]; 0 where none is known.
    fn long_side(&self) -> f64 {
        let side = |column| self.value(column).and_then(|s| s.value.parse::<f64>().ok()).unwrap_or(0.0);
        side("body_x_mm").max(side("body_y_mm"))
    }

    fn fits(&self, words: &[String]) -> bool {
        let text = |t: &str| t.to_lowercase();
        let (number, package) = (text(self.number), text(&self.entry.package));
        words.iter().all(|w| number.contains(w) || package.contains(w) || self.entry.current().any(|(_, s)| text(&s.value).contains(w)))
    }
}

async fn list(State(room): State<Room>, who: Who, Query(wanted): Query<Wanted>) -> Answer<Markup> {
    let (head, known) = library::load(&room).await?;
    let boards = room.store.list(Kind::Product).await?;
    let body = aside(move || {
        let uses = uses(boards.iter().filter_map(|b| Some((b.name.as_str(), Summary::kept(b)?))));
        let words: Vec<String> = wanted.q.split_whitespace().map(str::to_lowercase).collect();
        let row = |(number, entry): (&'_ String, &'_ Entry)| (number.clone(), entry.clone());
        let all: Vec<(String, Entry)> = known.parts.iter().map(row).collect();
        let mut rows: Vec<Row<'_>> = all
            .iter()
            .map(|(number, entry)| Row {
                number,
                entry,
                uses: uses.get(number).map_or(0, |u| u.values().sum()),
                least: entry.current().map(|(_, s)| s.certainty).min(),
            })
            .filter(|r| r.fits(&words))
            .collect();
        // The library is in the order of numbers, which equals keep.
        match wanted.sort.as_str() {
            "body" => rows.sort_by(|a, b| b.long_side().total_cmp(&a.long_side())),
            "uses" => rows.sort_by_key(|r| Reverse(r.uses)),
            "certainty" => rows.sort_by_key(|r| r.least),
            _ => {}
        }
        let pages = rows.len().div_ceil(PAGE).max(1);
        let page = wanted.page.parse().unwrap_or(1).clamp(1, pages);
        let shown = &rows[(page - 1) * PAGE..rows.len().min(page * PAGE)];
        html! {
            @if known.parts.is_empty() {
                p.quiet { "The library knows no part yet. Open a board and add its parts, or import a parts table." }
            } @else {
                (search(&wanted))
                p.quiet { (rows.len()) " of " (known.parts.len()) " parts; the library is at version " (known.version()) "." }
                (table(shown, &wanted))
                (turn(&wanted, page, pages))
            }
        }
    })
    .await?;
    let base = head.map_or(0, |h| h.version);
    let body = html! {
        (body)
        (table::forms(&who, base))
    };
    Ok(page::page(&who, Place::Parts, "Parts", &body))
}

fn search(wanted: &Wanted) -> Markup {
    html! {
        form.search.row method="get" action="/parts" role="search" {
            input type="search" name="q" value=(wanted.q) aria-label="Number, package or value" placeholder="Number, package or value";
            label { "Order by" select name="sort" {
                @for (key, head) in ORDERS { option value=(key) selected[wanted.sort == key] { (head.to_lowercase()) } }
            } }
            button { "Search" }
        }
    }
}

fn query(wanted: &Wanted, sort: &str, page: usize) -> String {
    format!("/parts?q={}&sort={}&page={page}", page::path(&wanted.q), page::path(sort))
}

fn table(rows: &[Row<'_>], wanted: &Wanted) -> Markup {
    let head = |key: &str| {
        let (_, word) = ORDERS.into_iter().find(|o| o.0 == key).unwrap_or_default();
        html! { a href=(query(wanted, key, 1)) aria-current=[(wanted.sort == key).then_some("true")] { (word) } }
    };
    html! {
        div.wide { table.parts {
            thead { tr {
                th { (head("number")) } th { "Package" } th { (head("body")) " [mm]" } th { "Height [mm]" } th { "Mount" } th { "Supply" } th { "Nozzle" }
                th { "More" } th { (head("certainty")) } th.right { (head("uses")) }
            } }
            tbody { @for r in rows { tr {
                td { a href=(address(r.number)) { (r.number) } }
                td { (r.entry.package) }
                td { (shown(r.value("body_x_mm"))) @if r.value("body_y_mm").is_some() { " × " (shown(r.value("body_y_mm"))) } }
                td { (shown(r.value("height_mm"))) }
                td { (shown(r.value("mount"))) }
                td { (shown(r.value("supply"))) }
                td { (shown(r.value("nozzle_class"))) }
                td { (more(r.entry)) }
                td { @if let Some(c) = r.least { (certainty(c)) } }
                td.right { (r.uses) }
            } } }
        } }
    }
}

/// A value with where it came from and how sure it is.
pub fn shown(stated: Option<&Stated>) -> Markup {
    html! {
        @if let Some(s) = stated {
            span.sourced.guess[s.certainty == Certainty::Guess] { (s.value) " " small.quiet { (source(s.source)) ", " (certainty(s.certainty)) } }
        }
    }
}

/// Columns beyond those of the list.
fn more(entry: &Entry) -> Markup {
    const LISTED: [&str; 6] = ["body_x_mm", "body_y_mm", "height_mm", "mount", "supply", "nozzle_class"];
    let rest: BTreeMap<&str, &Stated> = entry.current().filter(|(c, _)| !LISTED.contains(c)).collect();
    html! {
        @for (column, stated) in rest { (column.replace('_', " ")) ": " (shown(Some(stated))) " " }
    }
}

fn turn(wanted: &Wanted, page: usize, pages: usize) -> Markup {
    html! {
        @if pages > 1 {
            nav.pages aria-label="Pages" {
                @if page > 1 { a rel="prev" href=(query(wanted, &wanted.sort, page - 1)) { "Before" } " " }
                "Page " (page) " of " (pages)
                @if page < pages { " " a rel="next" href=(query(wanted, &wanted.sort, page + 1)) { "Next" } }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::address;

    #[test]
    fn a_part_has_an_address_whatever_its_number() {
        assert_eq!(address("R-10k 5%/0402"), "/parts/R-10k%205%25%2F0402");
        assert_eq!(address("check"), "/parts/%63heck");
    }
}
