//! People, the links that let them in, all tokens, the audit log: for administrators.

use crate::access::Who;
use crate::doors::Doors;
use crate::page::{self, Part};
use crate::room::Room;
use crate::serve::INVITATION;
use crate::trouble::{Answer, Refusal};
use axum::Form;
use axum::extract::{Path, Query, State};
use axum::http::{HeaderMap, header};
use axum::response::{IntoResponse, Redirect};
use maud::{Markup, html};
use serde::Deserialize;
use store::Stamp;
use store::audit::Entry;
use store::people::{Person, ROLES, Role, Token};

/// Lines of the log on a page.
const LINES: i64 = 100;

/// The ways in.
pub fn doors() -> Doors {
    Doors::default()
        .get("/people", Role::Administrator, people)
        .post("/people/invite", Role::Administrator, invite)
        .post("/people/{id}", Role::Administrator, change)
        .post("/people/tokens/{id}/revoke", Role::Administrator, revoke)
        .get("/audit", Role::Administrator, audit)
}

async fn people(State(room): State<Room>, who: Who) -> Answer<Markup> {
    all(&room, &who, None).await
}

async fn all(room: &Room, who: &Who, link: Option<(Role, &str)>) -> Answer<Markup> {
    let (people, tokens) = (room.store.people().await?, room.store.tokens(None).await?);
    let body = html! {
        p.actions { a.button.plain href="/audit" { "Audit log" } }
        section { h2 { "Who may sign in" } (table(&people, who)) }
        section { h2 { "Let somebody in" }
            @if let Some((role, address)) = link {
                div.told role="status" {
                    p { "Give this link to the person who is to be " b { (role.word()) } ". It is shown only this once, works once, and ends in "
                        (INVITATION / 3_600_000_000) " hours:" }
                    p { code.secret { (address) } }
                }
            }
            form.row method="post" action="/people/invite" {
                label { "Role" select name="role" { @for r in ROLES { option { (r.word()) } } } }
                button { "Make a link" }
            }
            (what_roles_may())
        }
        section { h2 { "Tokens of programs" } (token_table(&tokens)) }
    };
    Ok(page::page(who, Part::People, "People", &body))
}

fn what_roles_may() -> Markup {
    html! {
        details { summary { "What each role may do" }
            dl.facts {
                dt { "viewer" } dd { "looks at everything but people and the audit log" }
                dt { "operator" } dd { "also prints and downloads sheets and checks set-ups" }
                dt { "engineer" } dd { "also changes boards, parts, lines, locks and plans" }
                dt { "administrator" } dd { "also manages people and tokens and reads the audit log" }
            }
        }
    }
}

fn table(people: &[Person], who: &Who) -> Markup {
    html! {
        div.wide { table {
            thead { tr { th { "Name" } th { "Since" } th { "Role and sign-in" } } }
            tbody { @for p in people { tr {
                td { (p.name) @if p.id == who.id { span.quiet { " (you)" } } @if p.disabled { " " span.warn { "switched off" } } }
                td { (page::when(p.created)) }
                td {
                    form.row method="post" action={ "/people/" (p.id) } {
                        select name="role" aria-label={ "Role of " (p.name) } { @for r in ROLES { option selected[r == p.role] { (r.word()) } } }
                        label { input type="checkbox" name="may" value="yes" checked[!p.disabled]; "may sign in" }
                        button.plain { "Change" }
                    }
                }
            } } }
        } }
        p.quiet { "A change counts at once, also for whoever is signed in and for their tokens. The last administrator stays one." }
    }
}

fn token_table(tokens: &[Token]) -> Markup {
    html! {
        @if tokens.is_empty() { p.quiet { "None was made yet. People make them on their own page." } } @else {
            div.wide { table data-sort {
                thead { tr { th { "Of" } th { "For" } th { "Role" } th { "Made" } th { "Ends" } th { "" } } }
                tbody { @for t in tokens { tr {
                    td { (t.person) } td { (t.label) } td { (t.role.word()) }
                    td data-value=(t.created) { (page::when(t.created)) } td data-value=(t.expires) { (page::when(t.expires)) }
                    td { @if t.revoked { "taken back" } @else if t.expires < store::now() { "ended" } @else {
                        form method="post" action={ "/people/tokens/" (t.id) "/revoke" } { button.plain { "Take back" } }
                    } }
                } } }
            } }
        }
    }
}

#[derive(Deserialize)]
struct Invite {
    role: String,
}

/// The role of a form.
///
/// # Errors
/// When there is none of that name.
fn role(word: &str) -> Answer<Role> {
    Role::of(word).ok_or_else(|| Refusal::Wrong(format!("There is no role `{}`.", word.chars().take(40).collect::<String>())))
}

async fn invite(State(room): State<Room>, who: Who, headers: HeaderMap, Form(form): Form<Invite>) -> Answer<Markup> {
    // A stolen token must not let others in.
    if who.by_token {
        return Err(Refusal::Forbidden("This is done signed in, not by a token.".to_owned()));
    }
    let role = role(&form.role)?;
    let secret = room.store.invite(role, store::now() + INVITATION, &who.name).await?;
    let host = headers.get(header::HOST).and_then(|h| h.to_str().ok()).map_or(room.config.listen.to_string(), str::to_owned);
    let scheme = if room.config.https { "https" } else { "http" };
    all(&room, &who, Some((role, &format!("{scheme}://{host}/join?key={secret}")))).await
}

#[derive(Deserialize)]
struct Change {
    role: String,
    /// There when the box is ticked.
    may: Option<String>,
}

async fn change(State(room): State<Room>, who: Who, Path(id): Path<String>, Form(form): Form<Change>) -> Answer {
    change_person(&room, &who, &id, role(&form.role)?, form.may.is_none()).await?;
    Ok(Redirect::to("/people").into_response())
}

/// Gives a person another role, or refuses or allows signing in.
///
/// # Errors
/// For the last administrator, and for one's own account by a token: a stolen one must not lock its person out.
pub async fn change_person(room: &Room, who: &Who, id: &str, role: Role, disabled: bool) -> Answer<()> {
    if who.by_token && who.id == id {
        return Err(Refusal::Forbidden("One's own account is changed signed in, not by a token.".to_owned()));
    }
    if who.by_token {
        let now = room.store.person(id).await?;
        if role > now.role || (now.disabled && !disabled) {
            let why = "By a token a role can be taken away and an account switched off; more is done signed in.";
            return Err(Refusal::Forbidden(why.to_owned()));
        }
    }
    Ok(room.store.change_person(id, role, disabled, &who.name).await?)
}

async fn revoke(State(room): State<Room>, who: Who, Path(id): Path<String>) -> Answer {
    room.store.revoke_token(&id, None, &who.name).await?;
    Ok(Redirect::to("/people").into_response())
}

#[derive(Deserialize)]
struct From {
    before: Option<Stamp>,
}

async fn audit(State(room): State<Room>, who: Who, Query(from): Query<From>) -> Answer<Markup> {
    let entries = room.store.audit(from.before.unwrap_or(Stamp::MAX), LINES).await?;
    let older = entries.last().filter(|_| entries.len() as i64 == LINES).map(|e| e.at);
    let body = html! {
        @if entries.is_empty() { p.quiet { "Nothing more." } } @else { (log(&entries)) }
        nav.pages aria-label="Pages of the log" {
            @if from.before.is_some() { a href="/audit" { "Newest" } }
            @if let Some(at) = older { a href={ "/audit?before=" (at) } { "Older" } }
        }
    };
    Ok(page::page(&who, Part::People, "Audit log", &body))
}

fn log(entries: &[Entry]) -> Markup {
    html! {
        div.wide { table {
            thead { tr { th { "When" } th { "Who" } th { "What" } th { "To what" } th { "More" } } }
            tbody { @for e in entries { tr { td { (page::when(e.at)) } td { (e.who) } td { (e.action) } td { (e.subject) } td { (e.detail) } } } }
        } }
    }
}
