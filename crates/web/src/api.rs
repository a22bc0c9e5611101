//! The room for programs: the same actions as the pages, as JSON below `/api`.
//!
//! Programs send a token (`Authorization: Bearer …`), scripts of the pages the session of their browser. Reading order: [`types`] (what
//! is told), [`documents`], [`read`], [`jobs`], [`plans`], [`people`], [`describe`] (the OpenAPI description).

pub mod describe;
pub mod documents;
pub mod jobs;
pub mod people;
pub mod plans;
pub mod read;
pub mod types;

use crate::doors::Doors;
use crate::pages;
use crate::trouble::{Answer, Refusal};
use axum::Json;
use axum::extract::{FromRequest, Request};
use serde::de::DeserializeOwned;
use store::people::Role;

/// The ways in.
pub fn doors() -> Doors {
    Doors::default()
        .get("/api/openapi.json", None, describe::document)
        .get("/api/me", Role::Viewer, people::me)
        .get("/api/{kind}", Role::Viewer, documents::list)
        .get("/api/{kind}/{name}", Role::Operator, documents::read)
        .put("/api/{kind}/{name}", Role::Engineer, documents::save)
        .delete("/api/{kind}/{name}", Role::Engineer, documents::remove)
        .get("/api/{kind}/{name}/versions", Role::Viewer, documents::versions)
        .post("/api/read", Role::Engineer, read::read)
        .get("/api/jobs", Role::Viewer, jobs::all)
        .post("/api/jobs", Role::Engineer, jobs::order)
        .get("/api/jobs/{id}", Role::Viewer, jobs::one)
        .get("/api/jobs/{id}/live", Role::Viewer, pages::jobs::live)
        .post("/api/jobs/{id}/stop", Role::Engineer, jobs::stop)
        .get("/api/plans/{name}/verify", Role::Viewer, plans::verify)
        .get("/api/plans/{name}/diff", Role::Viewer, plans::diff)
        .post("/api/plans/{name}/try", Role::Engineer, plans::try_out)
        .get("/api/people", Role::Administrator, people::all)
        .put("/api/people/{id}", Role::Administrator, people::change)
        .get("/api/tokens", Role::Administrator, people::tokens)
        .delete("/api/tokens/{id}", Role::Administrator, people::revoke)
        .get("/api/audit", Role::Administrator, people::audit)
}

/// A body of JSON; what is wrong with it is told in one sentence.
pub struct Body<T>(pub T);

impl<S: Send + Sync, T: DeserializeOwned> FromRequest<S> for Body<T> {
    type Rejection = Refusal;

    async fn from_request(request: Request, state: &S) -> Answer<Self> {
        match Json::<T>::from_request(request, state).await {
            Ok(Json(value)) => Ok(Self(value)),
            Err(e) if e.status().as_u16() == 413 => Err(Refusal::TooLarge(e.body_text())),
            Err(e) => Err(Refusal::Wrong(e.body_text())),
        }
    }
}

/// Nothing here is named like this: what databases do not take as text is no name of anything.
///
/// # Errors
/// When it cannot be one.
pub fn name(text: &str) -> Answer<()> {
    store::document::check_name(text).map_err(|_| Refusal::Missing("There is no such thing here.".to_owned()))
}
