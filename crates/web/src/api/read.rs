//! Reading a designer's files into a product that is kept.

use super::types::{Document, ReadForm, ReadView, TakenFile};
use crate::access::Who;
use crate::keep::note;
use crate::pages::boards::{self, keep};
use crate::room::Room;
use crate::trouble::{Answer, Problem, Refusal};
use crate::upload::Upload;
use axum::Json;
use axum::extract::{Multipart, State};
use axum::http::StatusCode;
use store::document::check_name;

/// Reads files and keeps the product, as a new board or as the revision that follows `base`.
#[utoipa::path(post, path = "/api/read", tag = "documents",
    request_body(content = inline(ReadForm), content_type = "multipart/form-data"),
    responses((status = 201, description = "The board that was kept, with everything noticed.", body = ReadView),
        (status = 404, description = "No board to revise.", body = Problem),
        (status = 409, description = "Another version stands than `base`; nothing was changed.", body = Problem),
        (status = 413, description = "Too large.", body = Problem),
        (status = 422, description = "No board could be read; the findings say why. Nothing was kept.", body = Problem)))]
pub async fn read(State(room): State<Room>, who: Who, form: Multipart) -> Answer<(StatusCode, Json<ReadView>)> {
    let mut upload = Upload::read(form).await?;
    let wanted = Some(upload.text("name").trim().to_owned()).filter(|n| !n.is_empty());
    if let Some(name) = &wanted {
        check_name(name)?;
    }
    let base = if upload.text("base").is_empty() { None } else { Some(upload.number("base")?) };
    if base.is_some() && wanted.is_none() {
        return Err(Refusal::Wrong("A revision needs the `name` of its board.".to_owned()));
    }
    let mut inputs = boards::inputs(&mut upload).await?;
    inputs.name.clone_from(&wanted);
    let reading = keep::read(&room, inputs).await?;
    let Some(product) = &reading.result.product else { return Err(reading.result.findings.into()) };
    let name = wanted.unwrap_or_else(|| keep::kept_name(&product.name));
    let (fitted, findings) = (reading.result.fitted, reading.result.findings.clone());
    let taken = |f: &app::read::FileRole| TakenFile { name: f.name.clone(), role: f.role.clone(), rows: f.rows };
    let files = reading.result.files.iter().map(taken).collect();
    let head = keep::save(&room, &who.name, &name, reading, base, &note(upload.text("note"), "read by a program"), true).await?;
    Ok((StatusCode::CREATED, Json(ReadView { document: Document::from(&head), fitted, files, findings })))
}
