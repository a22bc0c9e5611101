//! Keeping a change by hand: the changed plan as a new version with what keeps the change in its rules, and planning on from it.

use super::change::{self, Pains, Wish};
use super::{Here, Shown};
use crate::access::Who;
use crate::page;
use crate::room::Room;
use crate::trouble::{Answer, Refusal};
use crate::work::{self, Made, Of, Order, Summary};
use axum::Form;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use domain::plan::Plan;
use maud::html;
use store::Trouble;
use store::document::{Draft, Head, Kind};

/// Time of planning on [s].
const SECONDS: u32 = 20;
/// Jobs looked through for the one that made a plan.
const JOBS: i64 = 1000;
/// Longest remark of a version [letters].
const NOTE: usize = 300;

/// Keeps a change.
pub async fn keep(State(room): State<Room>, who: Who, Path(name): Path<String>, Form(wish): Form<Wish>) -> Answer {
    let shown = Shown::load(&room, &name, Some(wish.base)).await?;
    let price = match change::price(&shown, &wish, Pains::Checked).await {
        Err(Refusal::Wrong(why)) => return Ok(change::refused(&shown, &who, &wish, &why, &[])),
        other => other?,
    };
    let price = match price {
        Ok(price) => price,
        Err(found) => return Ok(change::refused(&shown, &who, &wish, "This change cannot be made; why is said below.", &found)),
    };
    let body = app::documents::write_plan(&price.plan).map_err(|e| Refusal::Failed(e.to_string()))?;
    let note: String = format!("by hand: {}", price.told.join("; ")).chars().take(NOTE).collect();
    let summary = Summary::of(&price.plan).text();
    let draft = Draft { kind: Kind::Plan, name: &name, summary: &summary, body: body.as_bytes(), note: &note };
    let head = match room.store.save(draft, Some(wish.base), &who.name).await {
        Err(Trouble::Conflict { latest, author, at }) => {
            let told = format!(
                "{author} saved version {latest} at {} while you looked at version {}. Nothing of either is lost, and your change is not kept yet.",
                page::when(at),
                wish.base
            );
            return conflict(&room, &who, &shown, &wish, &told).await;
        }
        other => other?,
    };
    if wish.then == "plan" {
        let order = plan_on(&room, &head, &price.plan).await?;
        let job = work::order(&room.store, &order, &who.name).await?;
        return Ok(Redirect::to(&format!("/jobs/{}", job.id)).into_response());
    }
    Ok(Redirect::to(&format!("{}/stations/{}", shown.at(), wish.station)).into_response())
}

/// What to do when somebody else was first: their version, and the same change again on top of it.
async fn conflict(room: &Room, who: &Who, shown: &Shown, wish: &Wish, told: &str) -> Answer<Response> {
    let now = Shown::load(room, &shown.head.name, None).await?;
    let again = wish.again(&shown.plan, &now.plan, now.head.version);
    let body = html! {
        p.refused role="alert" { (told) }
        p { "Your change: " (wish.words(&shown.plan)) "." }
        p.actions {
            a.button.plain href=(now.at()) { "Open version " (now.head.version) } " "
            a.button.plain href={ "/plans/compare?a=" (page::path(&shown.named())) "&b=" (page::path(&now.named())) } { "What changed in it" }
        }
        @match &again {
            Some(again) => {
                h2 { "Your change on version " (now.head.version) }
                (change::form(&now, again, None))
            }
            None => p { "What you moved does not stand there any more in version " (now.head.version) "." }
        }
    };
    let here = Here::Station(wish.station.saturating_sub(1));
    Ok((StatusCode::CONFLICT, now.page(who, here, "Changed meanwhile", &body)).into_response())
}

/// The order that plans on from a version of a plan, with its rules and the inputs it was made from.
///
/// # Errors
/// When product or line of the plan are not kept here.
pub async fn plan_on(room: &Room, head: &Head, plan: &Plan) -> Answer<Order> {
    let (product, line) = inputs_of(room, head, plan).await?;
    let missing = |what: &str, name: &str| {
        Refusal::Wrong(format!(
            "The change is kept as version {} of {}. Planning on needs the {what} `{name}`, which is not in this room.",
            head.version, head.name
        ))
    };
    Ok(Order {
        plan: head.name.clone(),
        product: product.ok_or_else(|| missing("board", &plan.product.name))?,
        line: line.ok_or_else(|| missing("line", &plan.line.name))?,
        locks: None,
        rules: Some(plan.rules.to_text().map_err(Refusal::Failed)?),
        from: Some(Of { name: head.name.clone(), version: head.version }),
        keep_setup: false,
        side: Some(plan.side),
        panel: plan.panel,
        seconds: SECONDS,
        seed: plan.seed,
    })
}

/// Board and line that a plan was made from, as they are kept here: those of the job that made it or the version before it; for a
/// plan that no job made those that say the same name.
///
/// # Errors
/// When the store fails.
pub async fn inputs_of(room: &Room, head: &Head, plan: &Plan) -> Answer<(Option<Of>, Option<Of>)> {
    if let Some(order) = made_by(room, head, &plan.product.name).await? {
        return Ok((Some(order.product), Some(order.line)));
    }
    let product = match room.store.head(Kind::Product, &plan.product.name).await {
        Ok(found) => Some(Of { name: found.name, version: found.version }),
        Err(Trouble::Missing) => None,
        Err(e) => return Err(e.into()),
    };
    let mut line = None;
    for kept in room.store.list(Kind::Line).await? {
        let of = Of { name: kept.name, version: kept.version };
        match room.line(&of.name, Some(of.version)).await {
            Ok((_, _, sheet)) if sheet == plan.line => return Ok((product, Some(of))),
            Ok((_, _, sheet)) if sheet.name == plan.line.name && line.is_none() => line = Some(of),
            // A sheet that cannot be read is not the one.
            Ok(_) | Err(Refusal::Findings(_)) => {}
            Err(e) => return Err(e),
        }
    }
    Ok((product, line))
}

/// The order of the job that made the plan, or the version before it that a job has made.
async fn made_by(room: &Room, head: &Head, product: &str) -> Answer<Option<Order>> {
    let jobs = room.store.jobs(JOBS).await?;
    let made = jobs.iter().filter_map(|job| {
        let made: Made = serde_json::from_str(&job.result).ok()?;
        let order: Order = serde_json::from_str(&job.payload).ok()?;
        // A plan of that name may have been sent or begun anew meanwhile, of another board.
        (made.plan == head.name && made.version <= head.version && order.product.name == product).then_some((made.version, order))
    });
    Ok(made.max_by_key(|(version, _)| *version).map(|(_, order)| order))
}
