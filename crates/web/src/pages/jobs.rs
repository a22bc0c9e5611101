//! Jobs: how far they are, live; stopping them.

use crate::access::Who;
use crate::doors::Doors;
use crate::page::{self, Part};
use crate::pages::plan_row::{gap, seconds};
use crate::room::Room;
use crate::trouble::Answer;
use crate::work::{Made, Told};
use axum::extract::{Path, State};
use axum::response::sse::{Event, KeepAlive, Sse};
use axum::response::{IntoResponse, Redirect, Response};
use futures::stream::{self, Stream};
use maud::{Markup, html};
use serde::Serialize;
use std::convert::Infallible;
use std::time::Duration;
use store::job::{Job, State as Standing};
use store::people::Role;

/// Jobs shown.
const NEWEST: i64 = 100;
/// Between two looks at a job that somebody watches.
const LOOK: Duration = Duration::from_millis(400);

/// The ways in.
pub fn doors() -> Doors {
    Doors::default().get("/jobs", Role::Viewer, all).get("/jobs/{id}", Role::Viewer, one).get("/jobs/{id}/live", Role::Viewer, live).post(
        "/jobs/{id}/stop",
        Role::Engineer,
        stop,
    )
}

/// What is told of a job to whoever watches it.
#[derive(Serialize)]
pub struct Live {
    /// Where it stands.
    state: Standing,
    /// The same in words, as the page says it.
    words: &'static str,
    /// How far it is.
    told: Told,
    /// The plan it has made.
    made: Option<Made>,
    /// Why it failed.
    why: Option<String>,
    /// How often a worker began it.
    attempt: i64,
}

impl Live {
    /// Of a job.
    pub fn of(job: &Job) -> Self {
        Self {
            state: job.state,
            words: state_words(job),
            told: told(job),
            made: serde_json::from_str(&job.result).ok(),
            why: (job.state == Standing::Failed).then(|| job.result.clone()),
            attempt: job.attempt,
        }
    }
}

fn told(job: &Job) -> Told {
    serde_json::from_str(&job.progress).unwrap_or_default()
}

async fn all(State(room): State<Room>, who: Who) -> Answer<Markup> {
    let jobs = room.store.jobs(NEWEST).await?;
    let body = html! {
        @if jobs.is_empty() { p.quiet { "No job was ordered yet." } } @else { (table(&jobs)) }
    };
    Ok(page::page(&who, Part::Plans, "Jobs", &body))
}

/// Jobs as a table.
pub fn table(jobs: &[Job]) -> Markup {
    html! {
        div.wide { table data-sort {
            thead { tr { th { "Job" } th { "State" } th { "Progress" } th.right { "Takt" } th.right { "Bound" } th.right { "Gap" } th { "Ordered" } } }
            tbody { @for job in jobs {
                @let told = told(job);
                tr {
                    td { a href={ "/jobs/" (job.id) } { (job.title) } }
                    td { (state_words(job)) }
                    td { progress max="1" value=(format!("{:.3}", shown_share(job, &told))) aria-label="Share of the time used" { (format!("{:.0} %", 100.0 * told.share)) } }
                    td.right { @if told.takt_us > 0 { (seconds(told.takt_us)) } }
                    td.right { @if let Some(b) = told.bound_us { (seconds(b)) } }
                    td.right { @if let Some(b) = told.bound_us { (gap(told.takt_us, b)) } }
                    td { (page::when(job.created)) " by " (job.author) }
                }
            } }
        } }
    }
}

fn shown_share(job: &Job, told: &Told) -> f64 {
    if job.state.is_over() { 1.0 } else { told.share }
}

fn state_words(job: &Job) -> &'static str {
    match job.state {
        Standing::Queued if job.attempt > 0 => "waits for another worker",
        Standing::Queued => "waits for a worker",
        Standing::Running if job.cancel => "is stopping",
        Standing::Running => "planning",
        Standing::Done if job.cancel => "done, stopped early",
        Standing::Done => "done",
        Standing::Failed => "failed",
        Standing::Stopped => "stopped",
    }
}

async fn one(State(room): State<Room>, who: Who, Path(id): Path<String>) -> Answer<Markup> {
    let job = room.store.job(&id).await?;
    let live = Live::of(&job);
    let body = html! {
        div.job data-live={ "/jobs/" (id) "/live" } data-state=(job.state.word()) {
            p.outcome role="status" aria-live="polite" { span data-told="state" { (state_words(&job)) } }
            progress data-told="share" max="1" value=(format!("{:.3}", shown_share(&job, &live.told))) aria-label="Share of the time used" {}
            dl.figures {
                div { dt { "takt" } dd data-told="takt" { @if live.told.takt_us > 0 { (seconds(live.told.takt_us)) } @else { "–" } } }
                div { dt { "bound" } dd data-told="bound" { @if let Some(b) = live.told.bound_us { (seconds(b)) } @else { "–" } } }
                div { dt { "gap" } dd data-told="gap" { @if let Some(b) = live.told.bound_us { (gap(live.told.takt_us, b)) } @else { "–" } } }
                div { dt { "planning" } dd data-told="seconds" { (format!("{:.0} s", live.told.seconds)) } }
            }
            figure.curve hidden data-curve=(serde_json::to_string(&live.told.curve).unwrap_or_default()) {
                figcaption { "Takt above, bound below, in seconds per panel, over the seconds of planning. No plan can be below the bound." }
            }
            @if let Some(why) = &live.why { p.refused { (why) } }
            @if let Some(made) = &live.made {
                p { a.button href={ "/plans/" (page::path(&made.plan)) } { "Open the plan" } }
            }
            @if !job.state.is_over() && who.may(Role::Engineer) {
                form method="post" action={ "/jobs/" (id) "/stop" } data-while="running" {
                    button { "Stop, keep the best so far" }
                }
            }
        }
        p.quiet { "Ordered " (page::when(job.created)) " by " (job.author) "." @if job.attempt > 1 { " Begun " (job.attempt) " times: a worker ended, the next went on from its best plan." } }
    };
    Ok(page::page(&who, Part::Plans, &job.title, &body))
}

/// What is told of a job while it goes on, as a stream of events.
///
/// # Errors
/// When there is no such job.
pub async fn live(State(room): State<Room>, Path(id): Path<String>) -> Answer<Response> {
    // Whoever watches a job that is not there is told so at once, not by a stream that says nothing.
    room.store.job(&id).await?;
    Ok(Sse::new(looks(room, id)).keep_alive(KeepAlive::default()).into_response())
}

fn looks(room: Room, id: String) -> impl Stream<Item = Result<Event, Infallible>> {
    let closing = room.closing.subscribe();
    stream::unfold((room, closing, id, String::new(), false), |(room, mut closing, id, last, over)| async move {
        if over {
            return None;
        }
        let mut first = last.is_empty();
        loop {
            if !first {
                tokio::select! {
                    () = tokio::time::sleep(LOOK) => {}
                    // The browser comes back when the room is open again. It may also have come just after the room began to close.
                    _ = closing.wait_for(|c| *c) => return None,
                }
            }
            first = false;
            let Ok(job) = room.store.job(&id).await else { return None };
            let text = serde_json::to_string(&Live::of(&job)).unwrap_or_default();
            if text != last {
                let over = job.state.is_over();
                return Some((Ok(Event::default().data(&text)), (room, closing, id, text, over)));
            }
        }
    })
}

async fn stop(State(room): State<Room>, who: Who, Path(id): Path<String>) -> Answer {
    room.store.stop_job(&id, &who.name).await?;
    Ok(Redirect::to(&format!("/jobs/{id}")).into_response())
}
