//! What a request can come to besides its page.

use crate::page;
use axum::Json;
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use diag::Finding;
use maud::html;
use serde::Serialize;
use store::Trouble;

/// Why a request was not done. Shown as a page, or as JSON below `/api`.
#[derive(Debug)]
pub enum Refusal {
    /// There is no such thing, or nothing of that name.
    Missing(String),
    /// Nobody is signed in.
    SignIn,
    /// The person may not do this.
    Forbidden(String),
    /// An input is wrong, in one sentence.
    Wrong(String),
    /// An input is wrong, by findings.
    Findings(Vec<Finding>),
    /// Somebody else changed the same thing meanwhile.
    Conflict(String),
    /// Too large.
    TooLarge(String),
    /// Too often.
    TooOften,
    /// The store failed; the sentence goes to the log of the server, not to the browser.
    Failed(String),
}

/// What a handler answers.
pub type Answer<T = Response> = Result<T, Refusal>;

impl From<Trouble> for Refusal {
    fn from(t: Trouble) -> Self {
        match t {
            Trouble::Missing => Self::Missing("There is no such thing here. It may have been removed or renamed.".to_owned()),
            Trouble::Conflict { latest, author, at } => Self::Conflict(format!(
                "{author} saved version {latest} at {} while you worked on an older one. Nothing of either is lost: look at that version, \
                 then save yours again on top of it or leave it.",
                page::when(at)
            )),
            Trouble::Refused(why) => Self::Wrong(why),
            Trouble::Lost => Self::Conflict("The job has ended or moved to another worker.".to_owned()),
            Trouble::Database(what) => Self::Failed(what),
        }
    }
}

impl From<Box<Finding>> for Refusal {
    fn from(f: Box<Finding>) -> Self {
        Self::Findings(vec![*f])
    }
}

impl From<Vec<Finding>> for Refusal {
    fn from(found: Vec<Finding>) -> Self {
        Self::Findings(found)
    }
}

/// A refusal as JSON.
#[derive(Debug, Serialize, utoipa::ToSchema)]
pub struct Problem {
    /// The HTTP status.
    pub status: u16,
    /// One sentence.
    pub title: String,
    /// Findings, where an input is wrong.
    #[schema(schema_with = crate::api::types::findings)]
    pub findings: Vec<Finding>,
}

impl Refusal {
    /// The HTTP status.
    pub fn status(&self) -> StatusCode {
        match self {
            Self::Missing(_) => StatusCode::NOT_FOUND,
            Self::SignIn => StatusCode::UNAUTHORIZED,
            Self::Forbidden(_) => StatusCode::FORBIDDEN,
            Self::Wrong(_) | Self::Findings(_) => StatusCode::UNPROCESSABLE_ENTITY,
            Self::Conflict(_) => StatusCode::CONFLICT,
            Self::TooLarge(_) => StatusCode::PAYLOAD_TOO_LARGE,
            Self::TooOften => StatusCode::TOO_MANY_REQUESTS,
            Self::Failed(_) => StatusCode::INTERNAL_SERVER_ERROR,
        }
    }

    /// One sentence for people.
    pub fn sentence(&self) -> String {
        match self {
            Self::Missing(text) | Self::Forbidden(text) | Self::Wrong(text) | Self::Conflict(text) | Self::TooLarge(text) => text.clone(),
            Self::SignIn => "Sign in first.".to_owned(),
            Self::Findings(_) => "An input is wrong; what and where is said below.".to_owned(),
            Self::TooOften => "Too many attempts. Wait a minute, then try again.".to_owned(),
            Self::Failed(_) => "The store could not be reached or failed. Nothing was changed; the log of the server says more.".to_owned(),
        }
    }

    fn findings(&self) -> &[Finding] {
        match self {
            Self::Findings(found) => found,
            _ => &[],
        }
    }

    /// As JSON.
    pub fn json(&self) -> Response {
        let problem = Problem { status: self.status().as_u16(), title: self.sentence(), findings: self.findings().to_vec() };
        (self.status(), Json(problem)).into_response()
    }
}

impl IntoResponse for Refusal {
    /// As a page; the outermost layer of `/api` and of requests that ask for JSON turns it into [`Problem`] (see [`crate::serve`]).
    fn into_response(self) -> Response {
        if let Self::Failed(what) = &self {
            tracing::error!("{what}");
        }
        let mut answer = match &self {
            Self::SignIn => Redirect::to("/sign-in").into_response(),
            _ => {
                let title = match self.status() {
                    StatusCode::NOT_FOUND => "Not here",
                    StatusCode::FORBIDDEN => "Not allowed",
                    StatusCode::CONFLICT => "Changed meanwhile",
                    StatusCode::INTERNAL_SERVER_ERROR => "Failed",
                    _ => "Refused",
                };
                let body = html! {
                    p.outcome { (self.sentence()) }
                    (page::findings(self.findings()))
                    p { a href="/" { "Back to the room" } }
                };
                (self.status(), page::bare(title, &body)).into_response()
            }
        };
        answer.headers_mut().insert(header::CACHE_CONTROL, HeaderValue::from_static("no-store"));
        answer.extensions_mut().insert(std::sync::Arc::new(self));
        answer
    }
}
