//! The library in and out: parts of a board, parts tables, workbooks.

use super::library;
use crate::access::Who;
use crate::page::{self, Part as Place};
use crate::pages::boards::files::{CSV, XLSX, download};
use crate::pages::boards::one::Board;
use crate::room::{Room, aside};
use crate::trouble::{Answer, Refusal};
use crate::upload::Upload;
use app::library::Changed;
use axum::Form;
use axum::extract::{Multipart, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use diag::Finding;
use maud::{Markup, html};
use serde::Deserialize;
use store::people::Role;

/// The forms below the list.
pub fn forms(who: &Who, base: i64) -> Markup {
    html! {
        @if base > 0 && who.may(Role::Operator) {
            p { "The whole library: " a href="/parts/export.csv" { "text (.csv)" } ", " a href="/parts/export.xlsx" { "workbook (.xlsx)" } }
        }
        @if who.may(Role::Engineer) {
            section {
                h2 { "Import a parts table" }
                form.stack.drop method="post" action="/parts/import" enctype="multipart/form-data" {
                    input type="hidden" name="base" value=(base);
                    label { "Table (.csv, .xlsx), one row a part, with its number" input type="file" name="table" required accept=".csv,.tsv,.txt,.xlsx,.ods"; }
                    label { "Where its values come from" input name="from" maxlength="120" placeholder="the name of the file"; }
                    label { "Why, for the history" input name="note" maxlength="200"; }
                    button { "Import" }
                    p.quiet { "Every filled cell is a statement, unless a source column beside it says otherwise. Nothing is overwritten: earlier values stay in the history." }
                }
            }
        }
    }
}

/// What a change did, with everything noticed.
fn told(who: &Who, changed: Changed, version: u32, findings: &[Finding], back: (&str, &str)) -> Response {
    let wrong = changed.values == 0 && findings.iter().any(Finding::is_error);
    let body = html! {
        p.outcome role="status" {
            @match changed.values {
                0 => { "Nothing new; the library stays at version " (version) "." }
                n => { "The library is at version " (version) " now: " (n) " values, " (changed.parts) " new parts." }
            }
        }
        (page::findings(findings))
        p { a href=(back.0) { (back.1) } " · " a href="/parts" { "All parts" } }
    };
    let status = if wrong { StatusCode::UNPROCESSABLE_ENTITY } else { StatusCode::OK };
    (status, page::page(who, Place::Parts, "Parts library", &body)).into_response()
}

/// Reads a parts table into the library.
pub async fn import(State(room): State<Room>, who: Who, form: Multipart) -> Answer {
    let mut upload = Upload::read(form).await?;
    let base = upload.number("base")?;
    let Some(file) = upload.take("table").pop() else {
        return Err(Refusal::Wrong("No table was sent. Choose one first.".to_owned()));
    };
    let from = Some(upload.text("from").trim()).filter(|f| !f.is_empty()).unwrap_or(&file.name).to_owned();
    let note: String = upload.text("note").trim().chars().take(200).collect();
    let version = library::version(&who.name, &from, &note);
    let (_, mut known) = library::load(&room).await?;
    let (known, changed, findings) = aside(move || {
        let (changed, findings) = app::library::import(&mut known, &file, version);
        (known, changed, findings)
    })
    .await?;
    let number = known.version();
    if changed.values > 0 {
        library::save(&room, &who.name, known, base, &format!("imported from {from}")).await?;
    }
    Ok(told(&who, changed, number, &findings, ("/parts", "Back to the list")))
}

/// Which board is added to the library.
#[derive(Deserialize)]
pub struct Adding {
    product: String,
    version: i64,
    base: i64,
}

/// Adds what is stated of the parts of a board.
pub async fn add(State(room): State<Room>, who: Who, Form(form): Form<Adding>) -> Answer {
    let board = Board::load(&room, &form.product, Some(form.version)).await?;
    let version = library::version(&who.name, &form.product, "");
    let (_, mut known) = library::load(&room).await?;
    let (known, changed, findings) = aside(move || {
        let (changed, findings) = app::library::add(&mut known, board.product(), version);
        (known, changed, findings)
    })
    .await?;
    let number = known.version();
    if changed.values > 0 {
        library::save(&room, &who.name, known, form.base, &format!("parts of {} version {}", form.product, form.version)).await?;
    }
    let back = format!("/boards/{}", page::path(&form.product));
    Ok(told(&who, changed, number, &findings, (&back, "Back to the board")))
}

/// The library as a text table.
pub async fn export_text(State(room): State<Room>) -> Answer {
    let (_, known) = library::load(&room).await?;
    let text = aside(move || app::library::table(&known)).await?;
    download("parts.csv", CSV, text.into_bytes())
}

/// The library as a workbook.
pub async fn export_workbook(State(room): State<Room>) -> Answer {
    let (_, known) = library::load(&room).await?;
    let bytes = aside(move || app::library::workbook(&known)).await?.map_err(|e| Refusal::Failed(e.to_string()))?;
    download("parts.xlsx", XLSX, bytes)
}
