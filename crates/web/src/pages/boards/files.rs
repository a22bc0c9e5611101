//! Downloads of a board: its document, the designer's files, its parts as a table, its pictures.

use super::one::Board;
use crate::doors::Doors;
use crate::page;
use crate::room::{Room, aside};
use crate::trouble::{Answer, Refusal};
use app::documents;
use axum::extract::{Path, Query, State};
use axum::http::{HeaderValue, header};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use store::document::Kind;
use store::people::Role;

/// The type of workbooks.
pub const XLSX: &str = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet";
/// The type of text tables.
pub const CSV: &str = "text/csv; charset=utf-8";

/// The ways in.
pub fn doors() -> Doors {
    Doors::default()
        .get("/boards/{name}/product.json", Role::Operator, product)
        .get("/boards/{name}/originals.zip", Role::Operator, originals)
        .get("/boards/{name}/parts.csv", Role::Operator, parts_text)
        .get("/boards/{name}/parts.xlsx", Role::Operator, parts_workbook)
        .get("/boards/{name}/top.svg", Role::Viewer, |r, p, q| picture(r, p, q, "top.svg"))
        .get("/boards/{name}/bottom.svg", Role::Viewer, |r, p, q| picture(r, p, q, "bottom.svg"))
}

#[derive(Deserialize)]
struct Which {
    version: Option<i64>,
}

/// A file to be kept by the browser under this name.
///
/// # Errors
/// Never for names of the store; they become plain letters in the header.
pub fn download(name: &str, kind: &'static str, bytes: Vec<u8>) -> Answer {
    let disposition = format!("attachment; filename*=UTF-8''{}", page::path(name));
    let disposition = HeaderValue::from_str(&disposition).map_err(|e| Refusal::Failed(e.to_string()))?;
    Ok(([(header::CONTENT_TYPE, HeaderValue::from_static(kind)), (header::CONTENT_DISPOSITION, disposition)], bytes).into_response())
}

async fn product(State(room): State<Room>, Path(name): Path<String>, Query(q): Query<Which>) -> Answer {
    let (_, bytes) = room.store.read(Kind::Product, &name, q.version).await?;
    download(&format!("{name}.json"), "application/json", bytes)
}

async fn originals(State(room): State<Room>, Path(name): Path<String>, Query(q): Query<Which>) -> Answer {
    let board = Board::load(&room, &name, q.version).await?;
    let Some(version) = board.summary.originals else {
        return Err(Refusal::Missing("This board was kept without the files it was read from.".to_owned()));
    };
    let (_, bytes) = room.store.read(Kind::Files, &name, Some(version)).await?;
    download(&format!("{name}.zip"), "application/zip", bytes)
}

async fn parts_text(State(room): State<Room>, Path(name): Path<String>, Query(q): Query<Which>) -> Answer {
    let board = Board::load(&room, &name, q.version).await?;
    download(&format!("{name} parts.csv"), CSV, documents::write_parts(board.product()).into_bytes())
}

async fn parts_workbook(State(room): State<Room>, Path(name): Path<String>, Query(q): Query<Which>) -> Answer {
    let board = Board::load(&room, &name, q.version).await?;
    let bytes = aside(move || documents::write_parts_workbook(board.product())).await?.map_err(|e| Refusal::Failed(e.to_string()))?;
    download(&format!("{name} parts.xlsx"), XLSX, bytes)
}

async fn picture(State(room): State<Room>, Path(name): Path<String>, Query(q): Query<Which>, file: &'static str) -> Answer<Response> {
    let board = Board::load(&room, &name, q.version).await?;
    let pictures = board.pictures(&room).await?;
    let found = pictures.iter().find(|(f, _)| f == file);
    let svg = found.ok_or_else(|| Refusal::Missing("This side has no parts.".to_owned()))?.1.clone();
    Ok(([(header::CONTENT_TYPE, HeaderValue::from_static("image/svg+xml"))], svg).into_response())
}
