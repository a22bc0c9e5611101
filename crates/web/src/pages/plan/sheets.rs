//! The sheets of a plan: as pages to print, as one PDF, as a workbook; the plan itself as a file.

use super::{Here, Look, Shown};
use crate::access::Who;
use crate::pages::boards::files::download;
use crate::room::{Room, aside};
use crate::trouble::{Answer, Refusal};
use app::documents::{self, Align, CAUTIONS, Cell, SheetPart, WhichSheet};
use axum::extract::{Path, Query, State};
use maud::{Markup, PreEscaped, html};
use std::sync::Arc;
use store::document::Kind;
use store::people::Role;

/// What there is, and what to mind.
pub async fn page(State(room): State<Room>, who: Who, Path(name): Path<String>, Query(q): Query<Look>) -> Answer<Markup> {
    let shown = Shown::load(&room, &name, q.version).await?;
    let (at, query) = (format!("{}/sheets", shown.at()), shown.query());
    let body = html! {
        @if who.may(Role::Operator) {
            p.actions {
                a.button href={ (at) "/report.pdf" (shown.fixed()) } { "All sheets (.pdf)" } " "
                a.button href={ (at) "/report.xlsx" (shown.fixed()) } { "Workbook (.xlsx)" } " "
                a.button.plain href={ (shown.at()) "/plan.json" (shown.fixed()) } { "Plan (.json)" }
            }
            div.wide { table {
                thead { tr { th { "Sheet" } th { "What it is for" } } }
                tbody { @for which in WhichSheet::ALL { tr {
                    td { a href={ (at) "/" (which.word()) (query) } { (which.title()) } }
                    td { (which.purpose()) }
                } } }
            } }
            p.quiet { "Each sheet is a page that prints by itself." }
        } @else {
            p.quiet { "Sheets are for the roles operator and above; you are signed in as " (who.role.word()) "." }
        }
        section {
            h2 { "Cautions" }
            dl.cautions { @for c in CAUTIONS { dt { (c.topic) } dd { (c.text) " " small.quiet { (c.source) } } } }
        }
    };
    Ok(shown.page(&who, Here::Sheets, &format!("Sheets of {name}"), &body))
}

/// One sheet as a page to print.
pub async fn one(State(room): State<Room>, who: Who, Path((name, which)): Path<(String, String)>, Query(q): Query<Look>) -> Answer<Markup> {
    let which = WhichSheet::of(&which).ok_or_else(|| Refusal::Missing("There is no such sheet.".to_owned()))?;
    let shown = Shown::load(&room, &name, q.version).await?;
    let plan = Arc::clone(&shown.plan);
    let sheet = aside(move || documents::sheet(&plan, which)).await?;
    let body = html! {
        p.subject { (sheet.subject) ". Plan " (shown.head.name) ", version " (shown.head.version) "." }
        p.quiet { (which.purpose()) }
        p.no-print { button.plain type="button" data-print { "Print" } }
        @for part in &sheet.parts { section.sheet { @if sheet.parts.len() > 1 { h2 { (part.title) } } (table(part)) } }
        @if which != WhichSheet::Cautions {
            p.mind { b { "Mind: " } (CAUTIONS[0].text) " " a.no-print href={ (shown.at()) "/sheets/cautions" (shown.query()) } { "All cautions" } }
        }
    };
    Ok(shown.page(&who, Here::Sheets, which.title(), &body))
}

/// A table of a sheet.
pub fn table(part: &SheetPart) -> Markup {
    let table = &part.table;
    let right = |i: usize| table.columns.get(i).is_some_and(|c| c.align == Align::Right);
    html! {
        @if table.is_empty() { p.quiet { (part.none) } } @else {
            div.wide { table {
                thead { tr { @for (i, c) in table.columns.iter().enumerate() { th.right[right(i)] scope="col" { (c.name) } } } }
                tbody { @for (r, row) in table.rows.iter().enumerate() {
                    tr.total[table.totals && r + 1 == table.rows.len()] { @for (i, cell) in row.iter().enumerate() {
                        @match cell {
                            Cell::Code(text) => td.code { @match app::pictures::code(text) {
                                Some(svg) => (PreEscaped(svg)),
                                None => { "too long for a code: " (text) }
                            } },
                            other => td.right[right(i)] { (other.words()) }
                        }
                    } }
                } }
            } }
        }
    }
}

fn failed(e: impl std::fmt::Display) -> Refusal {
    Refusal::Failed(e.to_string())
}

/// All sheets in one PDF.
pub async fn pdf(State(room): State<Room>, Path(name): Path<String>, Query(q): Query<Look>) -> Answer {
    let shown = Shown::load(&room, &name, q.version).await?;
    let plan = Arc::clone(&shown.plan);
    let bytes = aside(move || documents::printed(&plan)).await?.map_err(failed)?;
    download(&format!("{name}, version {}.pdf", shown.head.version), "application/pdf", bytes)
}

/// The workbook.
pub async fn workbook(State(room): State<Room>, Path(name): Path<String>, Query(q): Query<Look>) -> Answer {
    let shown = Shown::load(&room, &name, q.version).await?;
    let plan = Arc::clone(&shown.plan);
    let bytes = aside(move || documents::workbook(&plan)).await?.map_err(failed)?;
    let kind = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet";
    download(&format!("{name}, version {}.xlsx", shown.head.version), kind, bytes)
}

/// The plan as the command line reads it.
pub async fn document(State(room): State<Room>, Path(name): Path<String>, Query(q): Query<Look>) -> Answer {
    let (head, bytes) = room.store.read(Kind::Plan, &name, q.version).await?;
    download(&format!("{name}, version {}.json", head.version), "application/json", bytes)
}
