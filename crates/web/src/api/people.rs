//! Who asks; for administrators people, tokens and the audit log.

use super::Body;
use super::types::{AuditLine, Me, PersonChange, PersonView, TokenView};
use crate::access::Who;
use crate::pages::people::change_person;
use crate::room::Room;
use crate::trouble::{Answer, Problem, Refusal};
use axum::Json;
use axum::extract::{Path, Query, State};
use serde::Deserialize;
use store::Stamp;
use utoipa::IntoParams;

/// Most lines of the log told at once.
const MOST: i64 = 1000;

/// Whom this request comes from.
#[utoipa::path(get, path = "/api/me", tag = "people", responses((status = 200, description = "You.", body = Me)))]
pub async fn me(who: Who) -> Json<Me> {
    Json(Me { id: who.id, name: who.name, role: who.role, by_token: who.by_token })
}

/// Everybody, by name.
#[utoipa::path(get, path = "/api/people", tag = "people", responses((status = 200, description = "Everybody.", body = Vec<PersonView>)))]
pub async fn all(State(room): State<Room>) -> Answer<Json<Vec<PersonView>>> {
    Ok(Json(room.store.people().await?.iter().map(PersonView::from).collect()))
}

/// Gives a person another role, or refuses or allows signing in. It counts at once. The last administrator stays one, and a token does
/// not change its own person.
#[utoipa::path(put, path = "/api/people/{id}", tag = "people", params(("id" = String, Path)), request_body = PersonChange,
    responses((status = 200, description = "The person, changed.", body = PersonView), (status = 404, description = "No such person.", body = Problem),
        (status = 422, description = "The last administrator.", body = Problem)))]
pub async fn change(
    State(room): State<Room>,
    who: Who,
    Path(id): Path<String>,
    Body(wanted): Body<PersonChange>,
) -> Answer<Json<PersonView>> {
    super::name(&id)?;
    change_person(&room, &who, &id, wanted.role, wanted.disabled).await?;
    Ok(Json((&room.store.person(&id).await?).into()))
}

/// All tokens, newest first, without their secrets.
#[utoipa::path(get, path = "/api/tokens", tag = "people", responses((status = 200, description = "All tokens.", body = Vec<TokenView>)))]
pub async fn tokens(State(room): State<Room>) -> Answer<Json<Vec<TokenView>>> {
    Ok(Json(room.store.tokens(None).await?.iter().map(TokenView::from).collect()))
}

/// Takes a token back; it stops to work at once.
#[utoipa::path(delete, path = "/api/tokens/{id}", tag = "people", params(("id" = String, Path)),
    responses((status = 200, description = "The token.", body = TokenView), (status = 404, description = "No such token.", body = Problem)))]
pub async fn revoke(State(room): State<Room>, who: Who, Path(id): Path<String>) -> Answer<Json<TokenView>> {
    super::name(&id)?;
    room.store.revoke_token(&id, None, &who.name).await?;
    let all = room.store.tokens(None).await?;
    let token = all.iter().find(|t| t.id == id).ok_or(store::Trouble::Missing)?;
    Ok(Json(token.into()))
}

/// Which lines are wanted.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct Lines {
    /// Only lines before this time [µs since 1970]; for the next page, the time of the last line of this one.
    before: Option<Stamp>,
    /// Most lines to be told.
    #[param(minimum = 1, maximum = 1000, default = 100)]
    most: Option<i64>,
}

/// The audit log, newest first.
#[utoipa::path(get, path = "/api/audit", tag = "people", params(Lines), responses((status = 200, description = "Lines of the log.", body = Vec<AuditLine>)))]
pub async fn audit(State(room): State<Room>, Query(q): Query<Lines>) -> Answer<Json<Vec<AuditLine>>> {
    let most = q.most.unwrap_or(100);
    if !(1..=MOST).contains(&most) {
        return Err(Refusal::Wrong(format!("`most` is 1 to {MOST}.")));
    }
    let lines = room.store.audit(q.before.unwrap_or(Stamp::MAX), most).await?;
    Ok(Json(lines.into_iter().map(AuditLine::from).collect()))
}
