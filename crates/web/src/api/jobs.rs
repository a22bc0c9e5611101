//! Jobs: ordering plans, looking at how far they are, stopping.

use super::Body;
use super::types::{JobView, NewJob, Reference};
use crate::access::Who;
use crate::pages::plan::TAKEN;
use crate::pages::plans::order::MOST_RULES;
use crate::room::{Room, aside};
use crate::trouble::{Answer, Problem, Refusal};
use crate::work::{self, Of, Order};
use axum::Json;
use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use domain::job::{Job, Panel};
use domain::product::Side;
use domain::rules::Rules;
use serde::Deserialize;
use store::document::Kind;
use utoipa::IntoParams;

/// Most jobs told at once.
const MOST: i64 = 500;

/// How many are wanted.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct Most {
    /// Most jobs to be told.
    #[param(minimum = 1, maximum = 500, default = 100)]
    most: Option<i64>,
}

/// The newest jobs, newest first.
#[utoipa::path(get, path = "/api/jobs", tag = "jobs", params(Most),
    responses((status = 200, description = "Jobs.", body = Vec<JobView>)))]
pub async fn all(State(room): State<Room>, Query(q): Query<Most>) -> Answer<Json<Vec<JobView>>> {
    let most = q.most.unwrap_or(100);
    if !(1..=MOST).contains(&most) {
        return Err(Refusal::Wrong(format!("`most` is 1 to {MOST}.")));
    }
    let jobs = room.store.jobs(most).await?;
    Ok(Json(jobs.iter().map(JobView::from).collect()))
}

/// A job.
#[utoipa::path(get, path = "/api/jobs/{id}", tag = "jobs", params(("id" = String, Path)),
    responses((status = 200, description = "The job.", body = JobView), (status = 404, description = "No such job.", body = Problem)))]
pub async fn one(State(room): State<Room>, Path(id): Path<String>) -> Answer<Json<JobView>> {
    super::name(&id)?;
    Ok(Json((&room.store.job(&id).await?).into()))
}

/// Asks a job to stop; one that runs ends with the best plan so far. Nothing happens to one that is over.
#[utoipa::path(post, path = "/api/jobs/{id}/stop", tag = "jobs", params(("id" = String, Path)),
    responses((status = 200, description = "The job, as it stands now.", body = JobView), (status = 404, description = "No such job.", body = Problem)))]
pub async fn stop(State(room): State<Room>, who: Who, Path(id): Path<String>) -> Answer<Json<JobView>> {
    super::name(&id)?;
    room.store.stop_job(&id, &who.name).await?;
    Ok(Json((&room.store.job(&id).await?).into()))
}

/// Orders a plan of what is kept here.
#[utoipa::path(post, path = "/api/jobs", tag = "jobs", request_body = NewJob,
    responses((status = 201, description = "Ordered.", body = JobView),
        (status = 404, description = "A document that the order names is not here.", body = Problem),
        (status = 422, description = "The order cannot be one; a sentence or findings say why.", body = Problem)))]
pub async fn order(State(room): State<Room>, who: Who, Body(wanted): Body<NewJob>) -> Answer<(StatusCode, Json<JobView>)> {
    let order = order_of(&room, wanted).await?;
    let job = work::order(&room.store, &order, &who.name).await?;
    Ok((StatusCode::CREATED, Json((&job).into())))
}

async fn found(room: &Room, kind: Kind, wanted: &Reference) -> Answer<Of> {
    let missing = |_| Refusal::Missing(format!("There is no {} `{}` here, or not that version.", kind.word(), wanted.name));
    super::name(&wanted.name).map_err(missing)?;
    let version = match wanted.version {
        None => match room.store.head(kind, &wanted.name).await {
            Ok(head) => head.version,
            Err(store::Trouble::Missing) => return Err(missing(Refusal::SignIn)),
            Err(e) => return Err(e.into()),
        },
        Some(number) => {
            let all = room.store.versions(kind, &wanted.name).await?;
            all.iter().find(|h| h.version == number && !h.removed).ok_or(Refusal::SignIn).map_err(missing)?.version
        }
    };
    Ok(Of { name: wanted.name.clone(), version })
}

async fn order_of(room: &Room, wanted: NewJob) -> Answer<Order> {
    let (product, line) = (found(room, Kind::Product, &wanted.product).await?, found(room, Kind::Line, &wanted.line).await?);
    let locks = match (&wanted.locks, &wanted.rules) {
        (Some(_), Some(_)) => return Err(Refusal::Wrong("Locks are either stored ones or given as text, not both.".to_owned())),
        (Some(locks), None) => Some(found(room, Kind::Locks, locks).await?),
        (None, rules) => {
            if let Some(text) = rules {
                if text.len() > MOST_RULES {
                    return Err(Refusal::Wrong(format!("The rules are longer than {} KiB.", MOST_RULES >> 10)));
                }
                Rules::parse("rules", text)?;
            }
            None
        }
    };
    let from = match &wanted.from {
        Some(from) => Some(found(room, Kind::Plan, from).await?),
        None => None,
    };
    if wanted.keep_setup && from.is_none() {
        return Err(Refusal::Wrong("A set-up can only be kept from a plan to begin with: `from`.".to_owned()));
    }
    let plan = wanted.plan.unwrap_or_else(|| format!("{} on {}", product.name, line.name));
    if TAKEN.contains(&plan.as_str()) {
        return Err(Refusal::Wrong(format!("No plan can be named `{plan}`: the room has a page of that name.")));
    }
    let (_, read) = room.product(&product.name, Some(product.version)).await?;
    let fuller = if read.fitted_on(Side::Bottom) > read.fitted_on(Side::Top) { Side::Bottom } else { Side::Top };
    let (side, panel) = (wanted.side.unwrap_or(fuller), wanted.panel.unwrap_or(Panel::SINGLE));
    // What every plan of this panel would be refused for is told now, not by a job that fails.
    aside(move || Job::new(&read, side, panel).map(|_| ())).await??;
    Ok(Order {
        plan,
        product,
        line,
        locks,
        rules: wanted.rules,
        from,
        keep_setup: wanted.keep_setup,
        side: Some(side),
        panel,
        seconds: wanted.seconds,
        seed: wanted.seed,
    })
}
