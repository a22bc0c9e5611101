//! Boards: reading what the designer sent, what was concluded from it, settling doubts, panels, versions.
//!
//! Reading order: [`summary`] (what is kept beside a product), [`keep`] (reading and keeping), then the pages: the list here,
//! [`one`], [`settle`], [`panel`], [`compare`], [`files`].

pub mod compare;
pub mod files;
pub mod keep;
pub mod one;
pub mod panel;
pub mod settle;
pub mod sketch;
pub mod summary;

use crate::access::Who;
use crate::doors::Doors;
use crate::page::{self, Part};
use crate::room::{Room, aside};
use crate::trouble::{Answer, Refusal};
use crate::upload::{self, Upload};
use axum::extract::{Multipart, Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use keep::{Inputs, Reading};
use maud::{Markup, html};
use store::document::{Head, Kind, check_name};
use store::people::Role;
use summary::{Summary, Taken};

/// Longest mapping file [bytes].
pub const MOST_MAPPING: usize = 1 << 20;

/// The ways in.
pub fn doors() -> Doors {
    Doors::default()
        .get("/boards", Role::Viewer, list)
        .post("/boards", Role::Engineer, add)
        .get("/boards/{name}", Role::Viewer, one::page)
        .post("/boards/{name}/revise", Role::Engineer, revise)
        .post("/boards/{name}/remove", Role::Engineer, one::remove)
        .get("/boards/{name}/settle", Role::Engineer, settle::form)
        .post("/boards/{name}/settle", Role::Engineer, settle::save)
        .get("/boards/{name}/panel", Role::Viewer, panel::page)
        .get("/boards/{name}/compare", Role::Viewer, compare::page)
        .with(files::doors())
}

async fn list(State(room): State<Room>, who: Who) -> Answer<Markup> {
    let boards = room.store.list(Kind::Product).await?;
    let body = html! {
        @if boards.is_empty() { p.quiet { "No board is known yet." } } @else { (table(&boards)) }
        @if who.may(Role::Engineer) { section { h2 { "Read a board" } (form("/boards", None, "")) } }
    };
    Ok(page::page(&who, Part::Boards, "Boards", &body))
}

fn table(boards: &[Head]) -> Markup {
    html! {
        div.wide { table {
            thead { tr {
                th { "Board" } th.right { "Size" } th.right { "Parts" } th.right { "Fitted" } th.right { "Top" } th.right { "Bottom" }
                th { "Doubts" } th { "Last change" }
            } }
            tbody { @for board in boards { tr {
                td { a href={ "/boards/" (page::path(&board.name)) } { (board.name) } }
                @match Summary::kept(board) {
                    Some(s) => {
                        td.right { (s.size()) }
                        td.right { (s.parts) }
                        td.right { (s.fitted) }
                        td.right { (s.fitted_top) }
                        td.right { (s.fitted_bottom) }
                        td.warn[s.doubts() > 0] { (doubts(&s)) }
                    }
                    None => td colspan="6" { "–" }
                }
                td { (page::when(board.at)) " by " (board.author) ", version " (board.version) }
            } } }
        } }
    }
}

/// How many errors and warnings there are, in words.
pub fn doubts(s: &Summary) -> String {
    let told = |n: usize, word: &str| match n {
        0 => None,
        1 => Some(format!("1 {word}")),
        n => Some(format!("{n} {word}s")),
    };
    let all: Vec<String> = [told(s.errors, "error"), told(s.warnings, "warning")].into_iter().flatten().collect();
    if all.is_empty() { "none".to_owned() } else { all.join(", ") }
}

/// The form that takes a designer's files; `base` is the version that a new revision follows.
pub fn form(action: &str, base: Option<i64>, name: &str) -> Markup {
    html! {
        form.stack.drop method="post" action=(action) enctype="multipart/form-data" {
            @if let Some(base) = base { input type="hidden" name="base" value=(base); }
            label { "Files of the designer: placement lists, bill of materials, IPC-2581, Gerber component layers, spreadsheets, or an archive (.zip) of them"
                input type="file" name="files" multiple required; }
            @if base.is_none() {
                label { "Name of the board, if not that of its files" input name="name" value=(name) maxlength="120"; }
            }
            label { "Mapping file of the customer (.toml), if there is one" input type="file" name="mapping" accept=".toml,text/plain"; }
            label { "Parts table (.csv, .xlsx), if there is one" input type="file" name="table" accept=".csv,.tsv,.txt,.xlsx,.ods"; }
            @if base.is_some() { label { "What is new, for the list of versions" input name="note" maxlength="200"; } }
            button { "Read" }
            p.quiet { "At most " (crate::serve::MOST_UPLOAD >> 20) " MiB at once. What is concluded, and from what, is told afterwards; nothing needs a column or a unit named." }
        }
    }
}

/// What each file was taken for.
pub fn roles(files: &[Taken]) -> Markup {
    html! {
        div.wide { table {
            thead { tr { th { "File" } th { "Taken for" } th.right { "Rows" } } }
            tbody { @for f in files { tr { td { (f.name) } td { (f.role) } td.right { (f.rows) } } } }
        } }
    }
}

/// The example of a mapping file, folded.
pub fn mapping_help() -> Markup {
    html! {
        details {
            summary { "What a mapping file can say" }
            pre { code { (include_str!("../../../../docs/mapping-example.toml")) } }
        }
    }
}

/// What an upload brings to be read.
///
/// # Errors
/// When no file was sent, or the mapping is no text.
pub async fn inputs(upload: &mut Upload) -> Answer<Inputs> {
    let sent = upload.take("files");
    if sent.is_empty() {
        return Err(Refusal::Wrong("No file was sent. Choose the files of the designer first.".to_owned()));
    }
    let (files, noticed) = aside(move || upload::unpack(sent)).await?;
    let mapping = match upload.take("mapping").pop() {
        None => String::new(),
        Some(file) => mapping_text(file.bytes)?,
    };
    Ok(Inputs { files, noticed, name: None, mapping, table: upload.take("table").pop() })
}

/// A mapping file as text.
///
/// # Errors
/// When it is long or no UTF-8.
fn mapping_text(bytes: Vec<u8>) -> Answer<String> {
    if bytes.len() > MOST_MAPPING {
        return Err(Refusal::Wrong(format!("The mapping file is larger than {} KiB.", MOST_MAPPING >> 10)));
    }
    String::from_utf8(bytes).map_err(|_| Refusal::Wrong("The mapping file is no text in UTF-8.".to_owned()))
}

async fn add(State(room): State<Room>, who: Who, form: Multipart) -> Answer {
    let mut upload = Upload::read(form).await?;
    let name = upload.text("name").trim().to_owned();
    if !name.is_empty() {
        check_name(&name)?;
    }
    let mut inputs = inputs(&mut upload).await?;
    inputs.name = Some(name.clone()).filter(|n| !n.is_empty());
    let note = note_of(&inputs, "");
    let reading = keep::read(&room, inputs).await?;
    let Some(product) = &reading.result.product else { return Ok(nothing(&who, &reading, "/boards", None, &name)) };
    let name = if name.is_empty() { keep::kept_name(&product.name) } else { name };
    let head = keep::save(&room, &who.name, &name, reading, None, &note, true).await?;
    Ok(Redirect::to(&format!("/boards/{}", page::path(&head.name))).into_response())
}

async fn revise(State(room): State<Room>, who: Who, Path(name): Path<String>, form: Multipart) -> Answer {
    let mut upload = Upload::read(form).await?;
    let base = upload.number("base")?;
    let before = room.store.read(Kind::Product, &name, Some(base)).await?.0;
    let mut inputs = inputs(&mut upload).await?;
    // The designer's habits do not change from one revision to the next: without another mapping the one in use holds on.
    if inputs.mapping.is_empty() {
        inputs.mapping = Summary::kept(&before).map(|s| s.mapping).unwrap_or_default();
    }
    if inputs.table.is_none() {
        inputs.table = keep::as_table(&keep::statements(&room.product(&name, Some(base)).await?.1));
    }
    inputs.name = Some(name.clone());
    let note = note_of(&inputs, upload.text("note"));
    let reading = keep::read(&room, inputs).await?;
    if reading.result.product.is_none() {
        return Ok(nothing(&who, &reading, &format!("/boards/{}/revise", page::path(&name)), Some(base), &name));
    }
    let head = keep::save(&room, &who.name, &name, reading, Some(base), &note, true).await?;
    let seen = format!("/boards/{}/compare?from={base}&to={}", page::path(&head.name), head.version);
    Ok(Redirect::to(&seen).into_response())
}

/// What was changed, in words: what the person says, or the names of the files.
fn note_of(inputs: &Inputs, said: &str) -> String {
    let said = said.trim();
    if !said.is_empty() {
        return said.chars().take(200).collect();
    }
    let names: Vec<&str> = inputs.files.iter().take(4).map(|f| f.name.as_str()).collect();
    let more = inputs.files.len().saturating_sub(names.len());
    let rest = if more > 0 { format!(" and {more} more") } else { String::new() };
    format!("read from {}{rest}", names.join(", ")).chars().take(300).collect()
}

/// A reading that gave no product: what it noticed, and the form again.
fn nothing(who: &Who, reading: &Reading, action: &str, base: Option<i64>, name: &str) -> Response {
    let body = html! {
        p.outcome role="alert" { "No board could be read from these files; nothing was kept." }
        (page::findings(&reading.summary.findings))
        @if !reading.summary.files.is_empty() { section { h2 { "What the files were taken for" } (roles(&reading.summary.files)) } }
        section {
            h2 { "Try again" }
            p { "Send other files, or the same ones with a mapping file that says what is what." }
            (form(action, base, name))
            (mapping_help())
        }
    };
    (StatusCode::UNPROCESSABLE_ENTITY, page::page(who, Part::Boards, "No board was found", &body)).into_response()
}
