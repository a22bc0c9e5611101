//! Signing in and out, joining by a link, one's own page with tokens and password.

use crate::access::{self, MARK, PERSON, Who};
use crate::doors::Doors;
use crate::page::{self, Part, bare};
use crate::password;
use crate::room::Room;
use crate::trouble::{Answer, Refusal};
use axum::Form;
use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use maud::{Markup, html};
use serde::Deserialize;
use store::Trouble;
use store::people::{Person, ROLES, Role};
use tower_sessions::Session;

/// Longest name of a person [characters].
const MOST_NAME: usize = 60;

/// The ways in.
pub fn doors() -> Doors {
    Doors::default()
        .get("/sign-in", None, sign_in_page)
        .post_slowly("/sign-in", None, sign_in)
        .post("/sign-out", None, sign_out)
        .get("/join", None, join_page)
        .post_slowly("/join", None, join)
        .get("/me", Role::Viewer, me)
        .post_slowly("/me/password", Role::Viewer, change_password)
        .post("/me/tokens", Role::Viewer, make_token)
        .post("/me/tokens/{id}/revoke", Role::Viewer, revoke_token)
}

#[derive(Deserialize)]
struct SignIn {
    name: String,
    password: String,
}

fn sign_in_form(told: Option<&str>, name: &str) -> Markup {
    bare(
        "Sign in",
        &html! {
            @if let Some(told) = told { p.refused role="alert" { (told) } }
            form.stack method="post" action="/sign-in" {
                label { "Name" input name="name" value=(name) autocomplete="username" required autofocus; }
                label { "Password" input name="password" type="password" autocomplete="current-password" required; }
                button { "Sign in" }
            }
            p.quiet { "No account yet? An administrator can make you a link." }
        },
    )
}

async fn sign_in_page(who: Option<axum::Extension<Who>>) -> Response {
    if who.is_some() { Redirect::to("/").into_response() } else { sign_in_form(None, "").into_response() }
}

async fn sign_in(State(room): State<Room>, session: Session, Form(form): Form<SignIn>) -> Answer {
    let person = match room.store.person_named(form.name.trim()).await {
        Ok(person) => Some(person),
        Err(Trouble::Missing) => None,
        Err(e) => return Err(e.into()),
    };
    let right = password::is_right(form.password, person.as_ref().map(|p| p.password.clone())).await?;
    let Some(person) = person.filter(|p| right && !p.disabled) else {
        let name: String = form.name.chars().take(MOST_NAME).collect();
        room.store.note(&name, "sign-in refused", "", "").await?;
        let told = "Name and password do not go together, or this account is switched off.";
        return Ok((StatusCode::UNAUTHORIZED, sign_in_form(Some(told), &name)).into_response());
    };
    begin(&session, &person).await?;
    room.store.note(&person.name, "sign-in", "", "").await?;
    Ok(Redirect::to("/").into_response())
}

/// A new session for a person; the old one's identity is not used on.
async fn begin(session: &Session, person: &Person) -> Answer<()> {
    let failed = |e: tower_sessions::session::Error| Refusal::Failed(e.to_string());
    session.cycle_id().await.map_err(failed)?;
    session.insert(MARK, access::mark(&person.password)).await.map_err(failed)?;
    session.insert(PERSON, &person.id).await.map_err(failed)
}

async fn sign_out(State(room): State<Room>, who: Option<axum::Extension<Who>>, session: Session) -> Answer {
    session.flush().await.map_err(|e| Refusal::Failed(e.to_string()))?;
    if let Some(who) = who {
        room.store.note(&who.name, "sign-out", "", "").await?;
    }
    Ok(Redirect::to("/sign-in").into_response())
}

#[derive(Deserialize)]
struct Key {
    key: String,
}

#[derive(Deserialize)]
struct Join {
    key: String,
    name: String,
    password: String,
    again: String,
}

fn gone() -> Refusal {
    Refusal::Missing("This link has been used or has ended. Ask an administrator for a new one.".to_owned())
}

fn join_form(key: &str, role: Role, name: &str, told: Option<&str>) -> Markup {
    bare(
        "Join the planning room",
        &html! {
            p { "You will be " b { (role.word()) } "." }
            @if let Some(told) = told { p.refused role="alert" { (told) } }
            form.stack method="post" action="/join" {
                input type="hidden" name="key" value=(key);
                label { "Name to sign in with" input name="name" value=(name) autocomplete="username" required maxlength=(MOST_NAME); }
                label { "Password, at least " (password::LEAST) " characters"
                    input name="password" type="password" autocomplete="new-password" required minlength=(password::LEAST); }
                label { "The same again" input name="again" type="password" autocomplete="new-password" required; }
                button { "Join" }
            }
        },
    )
}

async fn join_page(State(room): State<Room>, Query(q): Query<Key>) -> Answer<Markup> {
    match room.store.invitation(&q.key).await {
        Ok(role) => Ok(join_form(&q.key, role, "", None)),
        Err(Trouble::Missing) => Err(gone()),
        Err(e) => Err(e.into()),
    }
}

async fn join(State(room): State<Room>, session: Session, Form(form): Form<Join>) -> Answer {
    let role = match room.store.invitation(&form.key).await {
        Ok(role) => role,
        Err(Trouble::Missing) => return Err(gone()),
        Err(e) => return Err(e.into()),
    };
    let name = form.name.trim();
    let again = |told: &str| Ok((StatusCode::UNPROCESSABLE_ENTITY, join_form(&form.key, role, name, Some(told))).into_response());
    if name.is_empty() || name.chars().count() > MOST_NAME || name.chars().any(char::is_control) {
        return again("A name of 1 to 60 characters is wanted.");
    }
    if form.password != form.again {
        return again("The two passwords differ.");
    }
    if let Err(refusal) = password::check(name, &form.password) {
        return again(&refusal.sentence());
    }
    let hashed = password::hash(form.password.clone()).await?;
    match room.store.accept(&form.key, name, &hashed).await {
        Ok(person) => {
            begin(&session, &person).await?;
            Ok(Redirect::to("/").into_response())
        }
        Err(Trouble::Refused(why)) => again(&why),
        Err(Trouble::Missing) => Err(gone()),
        Err(e) => Err(e.into()),
    }
}

async fn me(State(room): State<Room>, who: Who) -> Answer<Markup> {
    my_page(&room, &who, None).await
}

async fn my_page(room: &Room, who: &Who, secret: Option<&str>) -> Answer<Markup> {
    let tokens = room.store.tokens(Some(&who.id)).await?;
    let body = html! {
        p { "You are " b { (who.role.word()) } "." }
        section {
            h2 { "Password" }
            form.stack method="post" action="/me/password" {
                input type="hidden" name="name" autocomplete="username" value=(who.name);
                label { "Password now" input name="old" type="password" autocomplete="current-password" required; }
                label { "New password" input name="new" type="password" autocomplete="new-password" required minlength=(password::LEAST); }
                label { "The same again" input name="again" type="password" autocomplete="new-password" required; }
                button { "Change the password" }
            }
        }
        section {
            h2 { "Tokens for programs" }
            p.quiet { "A token lets a program, or the command line with " code { "--server" } ", act for you." }
            @if let Some(secret) = secret {
                div.told role="status" {
                    p { "Copy it now; it is shown only this once:" }
                    p { code.secret { (secret) } }
                }
            }
            @if !tokens.is_empty() {
                div.wide { table {
                    thead { tr { th { "For" } th { "Role" } th { "Made" } th { "Ends" } th { "" } } }
                    tbody { @for t in &tokens { tr {
                        td { (t.label) } td { (t.role.word()) } td { (page::when(t.created)) } td { (page::when(t.expires)) }
                        td { @if t.revoked { "taken back" } @else if t.expires < store::now() { "ended" } @else {
                            form method="post" action={ "/me/tokens/" (t.id) "/revoke" } { button.plain { "Take back" } }
                        } }
                    } } }
                } }
            }
            form.stack method="post" action="/me/tokens" {
                label { "What it is for" input name="label" required maxlength="80"; }
                label { "Role" select name="role" { @for role in ROLES.iter().filter(|r| who.may(**r)) { option { (role.word()) } } } }
                label { "Days until it ends" input name="days" type="number" value="90" min="1" max="730" required; }
                button { "Make a token" }
            }
        }
    };
    Ok(page::page(who, Part::Elsewhere, &who.name, &body))
}

#[derive(Deserialize)]
struct NewPassword {
    old: String,
    new: String,
    again: String,
}

async fn change_password(State(room): State<Room>, who: Who, session: Session, Form(form): Form<NewPassword>) -> Answer {
    only_in_person(&who)?;
    let person = room.store.person(&who.id).await?;
    if !password::is_right(form.old, Some(person.password)).await? {
        return Err(Refusal::Wrong("The password you have now is another one.".to_owned()));
    }
    if form.new != form.again {
        return Err(Refusal::Wrong("The two new passwords differ.".to_owned()));
    }
    password::check(&who.name, &form.new)?;
    let hashed = password::hash(form.new).await?;
    room.store.change_password(&who.id, &hashed, &who.name).await?;
    // This session goes on; all others of the person end.
    session.insert(MARK, access::mark(&hashed)).await.map_err(|e| Refusal::Failed(e.to_string()))?;
    Ok(Redirect::to("/me").into_response())
}

#[derive(Deserialize)]
struct NewToken {
    label: String,
    role: String,
    days: i64,
}

/// A stolen token must not make others or lock its person out.
fn only_in_person(who: &Who) -> Answer<()> {
    if who.by_token { Err(Refusal::Forbidden("This is done signed in, not by a token.".to_owned())) } else { Ok(()) }
}

async fn make_token(State(room): State<Room>, who: Who, Form(form): Form<NewToken>) -> Answer<Markup> {
    only_in_person(&who)?;
    let role = Role::of(&form.role).ok_or_else(|| Refusal::Wrong(format!("There is no role `{}`.", form.role)))?;
    let label = form.label.trim();
    if label.is_empty() || label.chars().count() > 80 || !(1..=730).contains(&form.days) {
        return Err(Refusal::Wrong("A token needs a purpose of at most 80 characters and ends within 1 to 730 days.".to_owned()));
    }
    let person = room.store.person(&who.id).await?;
    let secret = room.store.make_token(&person, label, role, store::now() + form.days * 86_400_000_000).await?;
    my_page(&room, &who, Some(&secret)).await
}

async fn revoke_token(State(room): State<Room>, who: Who, Path(id): Path<String>) -> Answer {
    room.store.revoke_token(&id, Some(&who.id), &who.name).await?;
    Ok(Redirect::to("/me").into_response())
}
