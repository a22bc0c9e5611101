//! What can be asked about a plan: the checker's word, how it differs from another, what a change by hand costs.

use super::Body;
use super::types::{VerdictView, Version};
use crate::room::{Room, aside};
use crate::trouble::{Answer, Problem};
use app::diff::PlanDiff;
use app::try_out::{Change, Price};
use axum::Json;
use axum::extract::{Path, Query, State};
use serde::Deserialize;
use utoipa::IntoParams;

/// What the independent checker says of a plan, computed anew.
#[utoipa::path(get, path = "/api/plans/{name}/verify", tag = "plans", params(("name" = String, Path, min_length = 1, max_length = 120), Version),
    responses((status = 200, description = "The verdict.", body = VerdictView), (status = 404, description = "No such plan.", body = Problem)))]
pub async fn verify(State(room): State<Room>, Path(name): Path<String>, Query(q): Query<Version>) -> Answer<Json<VerdictView>> {
    super::name(&name)?;
    let (_, plan) = room.plan(&name, q.version).await?;
    Ok(Json(aside(move || app::check::check(&plan)).await?.into()))
}

/// The plan to compare with.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct With {
    /// Name of the second plan.
    #[param(min_length = 1, max_length = 120)]
    with: String,
    /// Version of the first plan; the latest if not given.
    #[param(minimum = 1)]
    version: Option<i64>,
    /// Version of the second plan; the latest if not given.
    #[param(minimum = 1)]
    with_version: Option<i64>,
}

/// What differs between two plans: what went in and what came out.
#[utoipa::path(get, path = "/api/plans/{name}/diff", tag = "plans", params(("name" = String, Path, min_length = 1, max_length = 120), With),
    responses((status = 200, description = "The differences.", body = ref("#/components/schemas/PlanDiff")),
        (status = 404, description = "One of the plans is not here.", body = Problem),
        (status = 422, description = "One of the plans cannot be read.", body = Problem)))]
pub async fn diff(State(room): State<Room>, Path(name): Path<String>, Query(q): Query<With>) -> Answer<Json<PlanDiff>> {
    super::name(&name)?;
    super::name(&q.with)?;
    let (_, from) = room.plan(&name, q.version).await?;
    let (_, to) = room.plan(&q.with, q.with_version).await?;
    Ok(Json(aside(move || app::diff::diff(&from, &to)).await??))
}

/// What a change by hand costs. Nothing is kept.
#[utoipa::path(post, path = "/api/plans/{name}/try", tag = "plans", params(("name" = String, Path, min_length = 1, max_length = 120), Version),
    request_body(content = ref("#/components/schemas/Change"), content_type = "application/json"),
    responses((status = 200, description = "The price.", body = ref("#/components/schemas/Price")),
        (status = 404, description = "No such plan.", body = Problem),
        (status = 422, description = "The change cannot be made; the findings say why.", body = Problem)))]
pub async fn try_out(
    State(room): State<Room>,
    Path(name): Path<String>,
    Query(q): Query<Version>,
    Body(change): Body<Change>,
) -> Answer<Json<Price>> {
    super::name(&name)?;
    let (_, plan) = room.plan(&name, q.version).await?;
    Ok(Json(aside(move || app::try_out::try_out(&plan, &change)).await??))
}
