//! Sheets of text that people edit: line sheets and locks files. What is typed is never lost: an error or a conflict shows the form
//! again with it.

use crate::access::Who;
use crate::keep::{self, MOST_TEXT};
use crate::page::{self, Part};
use crate::room::Room;
use crate::trouble::{Answer, Refusal};
use crate::upload::Upload;
use axum::http::StatusCode;
use axum::http::header;
use axum::response::{IntoResponse, Redirect, Response};
use diag::Finding;
use maud::{Markup, html};
use serde::Deserialize;
use store::Trouble;
use store::document::{Head, Kind};
use store::people::Role;

/// What differs between two versions of a sheet, for people; the first is the other's, the second what was typed.
pub type Differs = fn(&str, &str, &str) -> Option<Markup>;

/// A kind of sheet and its pages.
pub struct Desk {
    /// What is kept.
    pub kind: Kind,
    /// Address of the list.
    pub home: &'static str,
    /// Name of the text on its pages.
    pub sheet: &'static str,
    /// Help beside the text.
    pub help: fn() -> Markup,
    /// What differs between two texts.
    pub differs: Differs,
}

/// What is in a form.
pub struct Typed<'t> {
    /// Name.
    pub name: &'t str,
    /// Text of the sheet.
    pub text: &'t str,
    /// What was changed.
    pub note: &'t str,
    /// The version that it was made from; `None` for a new sheet.
    pub base: Option<i64>,
}

/// Which version is looked at.
#[derive(Debug, Default, Deserialize)]
pub struct At {
    /// Its number; the latest if not given.
    pub version: Option<i64>,
}

/// The version that is to be removed.
#[derive(Debug, Deserialize)]
pub struct Removal {
    /// The version that was seen.
    pub base: i64,
}

impl Desk {
    /// Address of a sheet.
    pub fn address(&self, name: &str) -> String {
        format!("{}/{}", self.home, page::path(name))
    }

    /// The form with a sheet; `unsaved` when what is in it would be lost by leaving.
    fn form(&self, typed: &Typed<'_>, findings: &[Finding], unsaved: bool) -> Markup {
        let lines: Vec<String> = findings.iter().filter(|f| f.line > 0).map(|f| f.line.to_string()).collect();
        let action = if typed.base.is_some() { self.address(typed.name) } else { self.home.to_owned() };
        html! {
            @if !findings.is_empty() {
                p.outcome role="alert" { "Not saved: " (counted(findings.len())) "." }
                (page::findings(findings))
            }
            form.stack method="post" action=(action) enctype="multipart/form-data" data-guard=(if unsaved { "unsaved" } else { "" }) {
                @if let Some(base) = typed.base {
                    input type="hidden" name="base" value=(base);
                } @else {
                    label { "Name in the room" input name="name" value=(typed.name) required maxlength="120"; }
                    label { "A file to begin with; it counts instead of the text below" input type="file" name="file" accept=".toml,text/plain"; }
                }
                // A line break after the tag is no part of a text area's text, so one is written for a text that begins with one.
                label for="sheet-text" { (capital(self.sheet)) }
                textarea.sheet #sheet-text name="text" rows="32" spellcheck="false" autocapitalize="off" data-lines=[(!lines.is_empty()).then(|| lines.join(","))] { "\n" (typed.text) }
                label { "What is new, for the list of versions" input name="note" value=(typed.note) maxlength=(keep::MOST_NOTE); }
                p.actions {
                    button { "Save" } " "
                    a.button.plain href=(if typed.base.is_some() { self.address(typed.name) } else { self.home.to_owned() }) { "Leave it" }
                }
            }
            details { summary { "What can be said" } (((self.help)())) }
        }
    }

    /// The page with the form.
    fn sheet_page(&self, who: &Who, typed: &Typed<'_>, findings: &[Finding]) -> Markup {
        let title = if typed.base.is_some() { format!("Edit {}", typed.name) } else { format!("A new {}", self.sheet) };
        page::page(who, Part::Lines, &title, &self.form(typed, findings, !findings.is_empty()))
    }

    /// The page to edit the latest version.
    ///
    /// # Errors
    /// When there is none.
    pub async fn edit(&self, room: &Room, who: &Who, name: &str) -> Answer<Markup> {
        let (head, text) = room.text(self.kind, name, None).await?;
        Ok(self.sheet_page(who, &Typed { name, text: &text, note: "", base: Some(head.version) }, &[]))
    }

    /// The page of a new sheet that begins with a text.
    pub fn begin(&self, who: &Who, name: &str, text: &str, before: &Markup) -> Markup {
        let body = html! { (before) (self.form(&Typed { name, text, note: "", base: None }, &[], false)) };
        page::page(who, Part::Lines, &format!("A new {}", self.sheet), &body)
    }

    /// Keeps what a form brings as a new sheet.
    ///
    /// # Errors
    /// When the store fails or the form is none; what is wrong with the sheet comes back with the form.
    pub async fn add(&self, room: &Room, who: &Who, mut upload: Upload) -> Answer {
        let file = upload.take("file").pop().map(|f| plain(f.bytes));
        let (name, note) = (upload.text("name").trim(), upload.text("note"));
        match file {
            None => self.keep(room, who, &Typed { name, text: upload.text("text"), note, base: None }).await,
            Some(Ok(text)) => self.keep(room, who, &Typed { name, text: &text, note, base: None }).await,
            Some(Err(refusal)) => Ok(self.refused(who, &Typed { name, text: upload.text("text"), note, base: None }, &refusal)),
        }
    }

    /// Keeps what a form brings as the next version.
    ///
    /// # Errors
    /// As [`Desk::add`].
    pub async fn save(&self, room: &Room, who: &Who, name: &str, upload: Upload) -> Answer {
        let typed = Typed { name, text: upload.text("text"), note: upload.text("note"), base: Some(upload.number("base")?) };
        self.keep(room, who, &typed).await
    }

    async fn keep(&self, room: &Room, who: &Who, typed: &Typed<'_>) -> Answer {
        let note = keep::note(typed.note, if typed.base.is_some() { "edited" } else { "new" });
        let body = typed.text.as_bytes().to_vec();
        match keep::keep(room, who, self.kind, typed.name, body, typed.base, &note).await {
            Ok(head) => Ok(Redirect::to(&self.address(&head.name)).into_response()),
            Err(Refusal::Findings(found)) => Ok((StatusCode::UNPROCESSABLE_ENTITY, self.sheet_page(who, typed, &found)).into_response()),
            Err(Refusal::Conflict(_)) => self.conflict(room, who, typed).await,
            // A name that is taken, or that cannot be one: the text must not be typed again.
            Err(refusal @ (Refusal::Wrong(_) | Refusal::Missing(_) | Refusal::TooLarge(_))) => Ok(self.refused(who, typed, &refusal)),
            Err(other) => Err(other),
        }
    }

    /// The form again, with one sentence that says why nothing was saved.
    fn refused(&self, who: &Who, typed: &Typed<'_>, refusal: &Refusal) -> Response {
        let body = html! { p.refused role="alert" { (refusal.sentence()) } (self.form(typed, &[], true)) };
        (refusal.status(), page::page(who, Part::Lines, "Not saved", &body)).into_response()
    }

    /// Both texts beside each other; saving again saves on top of the other's, which has now been seen.
    async fn conflict(&self, room: &Room, who: &Who, typed: &Typed<'_>) -> Answer {
        let theirs = match room.text(self.kind, typed.name, None).await {
            Ok(found) => found,
            // It was removed meanwhile: what was typed can be kept as a new one.
            Err(Refusal::Missing(_)) => {
                let anew = Typed { base: None, ..*typed };
                let body = html! {
                    p.refused role="alert" { "Somebody removed " (typed.name) " meanwhile. Your text is below; saving keeps it as a new one." }
                    (self.form(&anew, &[], true))
                };
                return Ok((StatusCode::CONFLICT, page::page(who, Part::Lines, "Removed meanwhile", &body)).into_response());
            }
            Err(other) => return Err(other),
        };
        let (head, text) = theirs;
        let on_top = Typed { base: Some(head.version), ..*typed };
        let body = html! {
            p.refused role="alert" {
                (head.author) " saved version " (head.version) " at " (page::when(head.at)) " while you worked on version "
                (typed.base.unwrap_or_default()) ". Nothing of either is lost. Take over what you want from the other's text, then save "
                "yours on top of it, or leave it."
            }
            @if let Some(differs) = (self.differs)(typed.name, &text, typed.text) { section { h2 { "What differs" } (differs) } }
            div.pair {
                section { h2 { "Yours" } (self.form(&on_top, &[], true)) }
                section {
                    h2 { "Version " (head.version) " of " (head.author) }
                    @if !head.note.is_empty() { p.quiet { (head.note) } }
                    textarea.sheet rows="32" readonly aria-label={ "Version " (head.version) " of " (head.author) } { "\n" (text) }
                }
            }
        };
        Ok((StatusCode::CONFLICT, page::page(who, Part::Lines, "Changed meanwhile", &body)).into_response())
    }

    /// Says that a sheet is gone.
    ///
    /// # Errors
    /// When another version stands than the one seen.
    pub async fn remove(&self, room: &Room, who: &Who, name: &str, base: i64) -> Answer {
        room.store.remove(self.kind, name, base, &who.name).await?;
        Ok(Redirect::to(self.home).into_response())
    }

    /// The text as a file.
    ///
    /// # Errors
    /// When there is none.
    pub async fn download(&self, room: &Room, name: &str, at: &At) -> Answer {
        let (_, text) = room.text(self.kind, name, at.version).await?;
        let file = format!("attachment; filename*=UTF-8''{}.{}", page::path(name), self.kind.ending());
        Ok(([(header::CONTENT_TYPE, "application/toml; charset=utf-8"), (header::CONTENT_DISPOSITION, &file)], text).into_response())
    }

    /// Says which version is looked at, if it is not the latest.
    pub fn old(&self, head: &Head, latest: i64) -> Markup {
        html! { @if head.version != latest {
            p.warned { "This is version " (head.version) " of " (latest) ", saved " (page::when(head.at)) " by " (head.author) ". "
                a href=(self.address(&head.name)) { "Look at the latest" } }
        } }
    }

    /// Ways from a sheet onwards.
    pub fn ways(&self, who: &Who, head: &Head, latest: i64) -> Markup {
        let address = self.address(&head.name);
        html! { p.actions {
            @if who.may(Role::Engineer) && head.version == latest { a.button href={ (address) "/edit" } { "Edit the sheet" } " " }
            @if who.may(Role::Operator) { a.button.plain href={ (address) "/sheet.toml?version=" (head.version) } { "Download the sheet" } }
        } }
    }

    /// Its versions, newest first, each compared with the one before where `compared` gives an address.
    pub fn versions(&self, all: &[Head], shown: i64, compared: impl Fn(i64, i64) -> Option<String>) -> Markup {
        let earlier = |k: usize| all[k + 1..].iter().find(|h| !h.removed).map(|h| h.version);
        html! {
            div.wide { table {
                thead { tr { th { "Version" } th { "When" } th { "Who" } th { "What is new" } th { "" } } }
                tbody { @for (k, h) in all.iter().enumerate() { tr {
                    td { @if h.removed { (h.version) ", removed" } @else {
                        a href={ (self.address(&h.name)) "?version=" (h.version) } aria-current=[(h.version == shown).then_some("true")] { (h.version) }
                    } }
                    td { (page::when(h.at)) }
                    td { (h.author) }
                    td { (h.note) }
                    td { @if let (false, Some(before)) = (h.removed, earlier(k)) {
                        @if let Some(to) = compared(before, h.version) { a href=(to) { "changes from " (before) } }
                    } }
                } } }
            } }
        }
    }

    /// The form that removes a sheet.
    pub fn removal(&self, who: &Who, head: &Head) -> Markup {
        html! { @if who.may(Role::Engineer) {
            form.row method="post" action={ (self.address(&head.name)) "/remove" } data-confirm={ "Remove " (head.name) "? Its versions are kept; plans made with it are not touched." } {
                input type="hidden" name="base" value=(head.version);
                button.danger.plain { "Remove " (head.name) }
            }
        } }
    }
}

/// The latest of all versions.
///
/// # Errors
/// When there is no such document.
pub fn latest(all: &[Head]) -> Answer<i64> {
    Ok(all.first().filter(|h| !h.removed).ok_or(Trouble::Missing)?.version)
}

fn counted(n: usize) -> String {
    if n == 1 { "one thing is to be corrected first".to_owned() } else { format!("{n} things are to be corrected first") }
}

fn capital(word: &str) -> String {
    let mut letters = word.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().collect::<String>() + letters.as_str())
}

/// A file as text with plain line ends.
fn plain(bytes: Vec<u8>) -> Answer<String> {
    if bytes.len() > MOST_TEXT {
        return Err(Refusal::TooLarge(format!("The file is larger than {} KiB; no sheet needs that much.", MOST_TEXT >> 10)));
    }
    let text = String::from_utf8(bytes).map_err(|_| Refusal::Wrong("The file is no text in UTF-8.".to_owned()))?;
    Ok(text.trim_start_matches('\u{feff}').replace("\r\n", "\n"))
}
