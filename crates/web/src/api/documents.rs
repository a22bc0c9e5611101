//! Documents and their versions.

use super::types::{Clash, Document, DocumentKind, Version};
use crate::access::Who;
use crate::keep;
use crate::room::Room;
use crate::trouble::{Answer, Problem, Refusal};
use axum::Json;
use axum::body::Bytes;
use axum::extract::{Path, Query, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use store::Trouble;
use store::document::Kind;
use utoipa::IntoParams;

fn kind(word: &str) -> Answer<Kind> {
    Kind::of(word).ok_or_else(|| {
        Refusal::Missing("There is no such kind of document; the kinds are product, files, library, line, locks, plan.".to_owned())
    })
}

/// Documents of a kind, newest change first.
#[utoipa::path(get, path = "/api/{kind}", tag = "documents",
    params(("kind" = inline(DocumentKind), Path)),
    responses((status = 200, description = "All that are not removed.", body = Vec<Document>), (status = 404, description = "No such kind.", body = Problem)))]
pub async fn list(State(room): State<Room>, Path(word): Path<String>) -> Answer<Json<Vec<Document>>> {
    let all = room.store.list(kind(&word)?).await?;
    Ok(Json(all.iter().map(Document::from).collect()))
}

/// Versions of a document, newest first.
#[utoipa::path(get, path = "/api/{kind}/{name}/versions", tag = "documents",
    params(("kind" = inline(DocumentKind), Path), ("name" = String, Path, min_length = 1, max_length = 120)),
    responses((status = 200, description = "All versions.", body = Vec<Document>), (status = 404, description = "No such document.", body = Problem)))]
pub async fn versions(State(room): State<Room>, Path((word, name)): Path<(String, String)>) -> Answer<Json<Vec<Document>>> {
    let kind = kind(&word)?;
    super::name(&name)?;
    let all = room.store.versions(kind, &name).await?;
    if all.is_empty() {
        return Err(Trouble::Missing.into());
    }
    Ok(Json(all.iter().map(Document::from).collect()))
}

/// What a document says, as it is kept. The header `ETag` is its version, for `If-Match`.
#[utoipa::path(get, path = "/api/{kind}/{name}", tag = "documents",
    params(("kind" = inline(DocumentKind), Path), ("name" = String, Path, min_length = 1, max_length = 120), Version),
    responses(
        (status = 200, description = "The body.", headers(("ETag" = String, description = "Number of the version, in quotes.")),
            content((crate::api::describe::Stored = "application/json"), (String = "application/toml"), (Vec<u8> = "application/zip"))),
        (status = 404, description = "No such document or version.", body = Problem)))]
pub async fn read(State(room): State<Room>, Path((word, name)): Path<(String, String)>, Query(q): Query<Version>) -> Answer {
    let kind = kind(&word)?;
    super::name(&name)?;
    let (head, body) = room.store.read(kind, &name, q.version).await?;
    let form = match kind.ending() {
        "json" => "application/json",
        "zip" => "application/zip",
        _ => "application/toml",
    };
    let file = format!("attachment; filename*=UTF-8''{}.{}", crate::page::path(&head.name), kind.ending());
    let headers =
        [(header::CONTENT_TYPE, form.to_owned()), (header::ETAG, format!("\"{}\"", head.version)), (header::CONTENT_DISPOSITION, file)];
    Ok((headers, body).into_response())
}

/// The version that `If-Match` names; `None` for a new document.
fn base(headers: &HeaderMap) -> Answer<Option<i64>> {
    let wrong =
        || Refusal::Wrong("`If-Match` is the number of the version that the change is made from, or 0 for a new document.".to_owned());
    let Some(value) = headers.get(header::IF_MATCH) else { return Ok(None) };
    let text = value.to_str().map_err(|_| wrong())?;
    let number: i64 = text.trim().trim_matches('"').parse().map_err(|_| wrong())?;
    if number < 0 { Err(wrong()) } else { Ok((number > 0).then_some(number)) }
}

/// The version that stands, told with the refusal.
async fn clash(room: &Room, kind: Kind, name: &str) -> Answer {
    let now = room.store.versions(kind, name).await?;
    let latest = now.first().ok_or(Trouble::Missing)?;
    let trouble = Trouble::Conflict { latest: latest.version, author: latest.author.clone(), at: latest.at };
    let told = Clash { status: 409, title: Refusal::from(trouble).sentence(), findings: Vec::new(), latest: latest.into() };
    Ok((StatusCode::CONFLICT, Json(told)).into_response())
}

/// What a change says of itself.
#[derive(Debug, Default, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct Note {
    /// What is new, for the list of versions.
    #[serde(default)]
    #[param(max_length = 200, required = false)]
    note: String,
}

/// Keeps a document as a new one or as the next version, checked as the pages check it. Within a product, its name is made that of the
/// address.
#[utoipa::path(put, path = "/api/{kind}/{name}", tag = "documents",
    params(("kind" = inline(DocumentKind), Path), ("name" = String, Path, min_length = 1, max_length = 120), Note,
        ("If-Match" = Option<String>, Header, description = "Number of the version that the change is made from; 0 or absent for a new document.", pattern = "^(\"[0-9]{1,9}\"|[0-9]{1,9})$")),
    request_body(description = "The document.", content((crate::api::describe::Stored = "application/json"), (String = "text/plain"))),
    responses(
        (status = 200, description = "Kept as the next version.", body = Document),
        (status = 201, description = "Kept as a new document.", body = Document),
        (status = 404, description = "No such kind, or no document to change.", body = Problem),
        (status = 409, description = "Another version stands than `If-Match` names; nothing was changed.", body = Clash),
        (status = 413, description = "Too large.", body = Problem),
        (status = 422, description = "Not a document of this kind; the findings say what is wrong.", body = Problem)))]
pub async fn save(
    State(room): State<Room>,
    who: Who,
    Path((word, name)): Path<(String, String)>,
    Query(q): Query<Note>,
    headers: HeaderMap,
    body: Bytes,
) -> Answer {
    let (kind, base) = (kind(&word)?, base(&headers)?);
    store::document::check_name(&name)?;
    // A new document of a name in use is a change from a version that was not seen.
    if base.is_none() && room.store.head(kind, &name).await.is_ok() {
        return clash(&room, kind, &name).await;
    }
    let note = keep::note(&q.note, "by a program");
    match keep::keep(&room, &who, kind, &name, body.to_vec(), base, &note).await {
        Ok(head) => {
            let status = if base.is_none() { StatusCode::CREATED } else { StatusCode::OK };
            Ok((status, Json(Document::from(&head))).into_response())
        }
        Err(Refusal::Conflict(_)) => clash(&room, kind, &name).await,
        Err(other) => Err(other),
    }
}

/// Says that a document is gone. Its versions stay.
#[utoipa::path(delete, path = "/api/{kind}/{name}", tag = "documents",
    params(("kind" = inline(DocumentKind), Path), ("name" = String, Path, min_length = 1, max_length = 120),
        ("If-Match" = String, Header, description = "Number of the version that was seen.", pattern = "^(\"[1-9][0-9]{0,8}\"|[1-9][0-9]{0,8})$")),
    responses(
        (status = 200, description = "The version that says so.", body = Document),
        (status = 404, description = "No such document.", body = Problem),
        (status = 409, description = "Another version stands than `If-Match` names; nothing was changed.", body = Clash),
        (status = 422, description = "`If-Match` is missing or no number.", body = Problem)))]
pub async fn remove(
    State(room): State<Room>,
    who: Who,
    Path((word, name)): Path<(String, String)>,
    headers: HeaderMap,
) -> Answer<Response> {
    let (kind, base) = (kind(&word)?, base(&headers)?);
    let base = base.ok_or_else(|| Refusal::Wrong("`If-Match` is wanted: the number of the version that was seen.".to_owned()))?;
    super::name(&name)?;
    match room.store.remove(kind, &name, base, &who.name).await {
        Ok(head) => Ok(Json(Document::from(&head)).into_response()),
        Err(Trouble::Conflict { .. }) => clash(&room, kind, &name).await,
        Err(other) => Err(other.into()),
    }
}
