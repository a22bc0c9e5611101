//! Pictures of a plan at addresses of their own, so that its page need not wait for them.

use super::{Look, Shown};
use crate::room::{Room, aside};
use crate::trouble::{Answer, Refusal};
use app::pictures::{self, Colouring};
use axum::extract::{Path, Query, State};
use axum::http::header;
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use std::sync::Arc;

/// A picture of a version does not change; kept for a while by the browser of whoever may see it.
const KEPT: &str = "private, max-age=600";

/// Which version is asked for, and in which colours.
#[derive(Deserialize)]
pub struct Coloured {
    version: Option<i64>,
    colour: Option<String>,
}

/// The panel in its colours.
pub async fn board(State(room): State<Room>, Path(name): Path<String>, Query(q): Query<Coloured>) -> Answer {
    let colouring = colouring(q.colour.as_deref())?;
    let shown = Shown::load(&room, &name, q.version).await?;
    let plan = Arc::clone(&shown.plan);
    Ok(answer(aside(move || pictures::board(&plan, colouring)).await?))
}

/// The balance of the line.
pub async fn balance(State(room): State<Room>, Path(name): Path<String>, Query(q): Query<Look>) -> Answer {
    let shown = Shown::load(&room, &name, q.version).await?;
    let plan = Arc::clone(&shown.plan);
    Ok(answer(aside(move || pictures::balance(&plan)).await?))
}

/// The colouring of a word; by station if none is given.
///
/// # Errors
/// For another word.
pub fn colouring(word: Option<&str>) -> Answer<Colouring> {
    let Some(word) = word else { return Ok(Colouring::Station) };
    Colouring::of(word).ok_or_else(|| {
        let all: Vec<&str> = Colouring::ALL.into_iter().map(Colouring::word).collect();
        Refusal::Wrong(format!("A board is coloured by {}, not by `{word}`.", all.join(", ")))
    })
}

fn answer(svg: String) -> Response {
    ([(header::CONTENT_TYPE, "image/svg+xml"), (header::CACHE_CONTROL, KEPT)], svg).into_response()
}
