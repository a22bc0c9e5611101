//! One board: its doubts beside its picture, what was concluded and why, its versions.

use super::keep;
use super::summary::{Concluded, Summary};
use crate::access::Who;
use crate::page::{self, Part};
use crate::pages::parts::library;
use crate::room::{Room, aside};
use crate::trouble::{Answer, Refusal};
use app::read::{NamedBytes, ReadRequest, ReadResult};
use axum::Form;
use axum::extract::{Path, Query, State};
use axum::response::{IntoResponse, Redirect};
use diag::Finding;
use maud::{Markup, html};
use serde::Deserialize;
use std::sync::Arc;
use store::Trouble;
use store::document::{Head, Kind};
use store::people::Role;

/// A stored board as it was read.
pub struct Board {
    /// The version.
    pub head: Head,
    /// What is kept beside it.
    pub summary: Summary,
    /// The product, with the findings of its reading.
    pub result: Arc<ReadResult>,
}

impl Board {
    /// A stored board; `None` is the latest version.
    ///
    /// # Errors
    /// When there is none, or what is stored is no product.
    pub async fn load(room: &Room, name: &str, version: Option<i64>) -> Answer<Self> {
        let head = room.head(Kind::Product, name, version).await?;
        let kept = Summary::kept(&head);
        let noticed = kept.as_ref().map(|s| s.findings.clone());
        let read = async {
            let (_, bytes) = room.store.read(Kind::Product, name, Some(head.version)).await?;
            let file = NamedBytes { name: format!("{name}.json"), bytes };
            let mut result = aside(move || app::read::read(&ReadRequest { files: vec![file], ..Default::default() })).await?;
            if result.product.is_none() {
                return Err(Refusal::from(result.findings));
            }
            result.findings = noticed.unwrap_or(result.findings);
            Ok(result)
        };
        let result = room.held.boards.of(&head, read).await?;
        let summary = kept.unwrap_or_else(|| Summary::of(&result));
        Ok(Self { head, summary, result })
    }

    /// Its pictures by file name, the top first.
    ///
    /// # Errors
    /// When they cannot be drawn.
    pub async fn pictures(&self, room: &Room) -> Answer<Arc<Vec<(String, String)>>> {
        let result = Arc::clone(&self.result);
        room.held.pictures.of(&self.head, aside(move || app::read::pictures(&result))).await
    }

    /// Its product.
    pub fn product(&self) -> &app::read::Product {
        self.result.product.as_ref().expect("a board is loaded only with its product")
    }
}

/// What of a board is looked at.
#[derive(Deserialize)]
pub struct Look {
    version: Option<i64>,
    side: Option<String>,
}

/// The page of a board.
pub async fn page(State(room): State<Room>, who: Who, Path(name): Path<String>, Query(look): Query<Look>) -> Answer<Markup> {
    let board = Board::load(&room, &name, look.version).await?;
    let latest = room.store.head(Kind::Product, &name).await?;
    let versions = room.store.versions(Kind::Product, &name).await?;
    let library = library::base(&room).await?;
    let pictures = board.pictures(&room).await?;
    let Board { head, summary, .. } = board;
    let at = format!("/boards/{}", page::path(&name));
    let old = (head.version != latest.version).then(|| format!("version={}", head.version));
    let body = html! {
        @if old.is_some() {
            p.told role="status" {
                "This is version " (head.version) " of " (page::when(head.at)) ". "
                a href=(at) { "The latest is version " (latest.version) "." } " "
                a href={ (at) "/compare?from=" (head.version) "&to=" (latest.version) } { "What changed since" }
            }
        }
        (actions(&who, &at, &name, old.is_none()))
        (counts(&summary))
        div.beside {
            section {
                h2 { "Findings" }
                @if summary.findings.is_empty() { p.quiet { "Nothing was noticed." } }
                (page::findings(&summary.findings))
                @if summary.more > 0 { p { "… and " (summary.more) " more that are not kept." } }
            }
            (picture(&at, old.as_deref(), &pictures, look.side.as_deref()))
        }
        @if !summary.files.is_empty() { section { h2 { "What the files were taken for" } (super::roles(&summary.files)) } }
        (concluded(&summary))
        (parts(&who, &at, &name, head.version, library, old.as_deref()))
        (version_list(&at, &versions, head.version))
        @if who.may(Role::Engineer) && old.is_none() {
            section {
                details {
                    summary { "Read a new revision" }
                    p.quiet { "Mapping and stated values of this version hold on, unless other ones are sent." }
                    (super::form(&format!("{at}/revise"), Some(head.version), &name))
                }
                details {
                    summary { "Remove this board" }
                    form.stack method="post" action={ (at) "/remove" } {
                        input type="hidden" name="base" value=(head.version);
                        p { "Its versions stay in the store, and plans made of it hold what they need. The name becomes free." }
                        button { "Remove " (name) }
                    }
                }
            }
        }
    };
    Ok(page::page(&who, Part::Boards, &name, &body))
}

fn actions(who: &Who, at: &str, name: &str, is_latest: bool) -> Markup {
    html! {
        p.actions {
            @if who.may(Role::Engineer) && is_latest {
                a.button href={ "/plans/new?product=" (page::path(name)) } { "Plan this board" } " "
                a.button href={ (at) "/settle" } { "Settle doubts" } " "
            }
            a.button href={ (at) "/panel" } { "Panel" }
        }
    }
}

fn counts(s: &Summary) -> Markup {
    html! {
        dl.figures {
            div { dt { "board" } dd { (s.size()) @if !s.size_stated { " " small { "from the extent of its placements" } } } }
            div { dt { "fitted" } dd { (s.fitted) } }
            div { dt { "top" } dd { (s.fitted_top) } }
            div { dt { "bottom" } dd { (s.fitted_bottom) } }
            div { dt { "not fitted" } dd { (s.not_fitted) } }
            div { dt { "no parts" } dd { (s.ignored) } }
            div { dt { "rows" } dd { (s.placements) } }
            div { dt { "part types" } dd { (s.parts) } }
            div { dt { "doubts" } dd.warn[s.doubts() > 0] { (super::doubts(s)) } }
        }
    }
}

fn picture(at: &str, old: Option<&str>, pictures: &[(String, String)], wanted: Option<&str>) -> Markup {
    let side_of = |file: &str| file.trim_end_matches(".svg").to_owned();
    let shown = pictures.iter().find(|(f, _)| Some(side_of(f).as_str()) == wanted).or(pictures.first());
    let version = old.map(|v| format!("&{v}")).unwrap_or_default();
    html! {
        section #picture {
            h2 { "Picture" }
            @if let Some((file, svg)) = shown {
                @if pictures.len() > 1 {
                    nav.tabs aria-label="Sides of the board" { @for (f, _) in pictures {
                        a href={ (at) "?side=" (side_of(f)) (version) "#picture" } aria-current=[(f == file).then_some("page")] { (side_of(f)) } " "
                    } }
                }
                (page::picture(svg))
                p.quiet { "What a warning or an error names has a ring. " a href={ (at) "/" (file) @if let Some(v) = old { "?" (v) } } { "The picture alone" } }
            } @else {
                p.quiet { "Nothing is to be placed on either side." }
            }
        }
    }
}

/// What was concluded about the form of the files, why, and how it is corrected.
fn concluded(s: &Summary) -> Markup {
    let keys = |c: &Concluded| {
        let mut keys = vec!["role", "columns"];
        keys.extend(c.unit.is_some().then_some("unit"));
        keys.extend(c.mirrored.is_some().then_some("mirrored"));
        keys.join(", ")
    };
    html! {
        @if !s.concluded.is_empty() {
            section {
                h2 { "What was concluded" }
                @for c in &s.concluded {
                    h3 { (c.name) }
                    ul {
                        li { "It is taken for " (if c.role == "placements" { "a placement list" } else { "a bill of materials" }) "." }
                        @if let Some(unit) = &c.unit { li { "Its coordinates are in " b { (unit) } "." } }
                        @match c.mirrored {
                            Some(true) => li { "The X of its bottom parts is negated, and was turned back." }
                            Some(false) => li { "Its bottom parts are seen from the top, as written." }
                            None => {}
                        }
                        li { "Columns: " @for (i, (role, heading)) in c.columns.iter().enumerate() { @if i > 0 { ", " } (role) " = " q { (heading) } } }
                    }
                    @if !c.because.is_empty() {
                        p { "Because:" }
                        ul { @for why in &c.because { li { (page::words(why)) @if let Some(f) = told(&s.findings, why) { " " span.hint { (page::words(&f.hint)) } } } } }
                    }
                    p.quiet { "If it is wrong: settle doubts, and set " code { (keys(c)) } " under " code { "[[file]]" } "." }
                }
                @if !s.mapping.is_empty() {
                    details { summary { "The mapping file that was read with them" } pre { code { (s.mapping) } } }
                }
            }
        }
    }
}

fn told<'f>(findings: &'f [Finding], message: &str) -> Option<&'f Finding> {
    findings.iter().find(|f| f.message == message)
}

fn parts(who: &Who, at: &str, name: &str, version: i64, library: i64, old: Option<&str>) -> Markup {
    let query = old.map(|v| format!("?{v}")).unwrap_or_default();
    html! {
        section {
            h2 { "Parts and documents" }
            ul {
                li { a href={ "/parts/check?product=" (page::path(name)) } { "What to measure first" } ", as the next plan depends on it most" }
                @if who.may(Role::Operator) {
                    li { "Parts table to fill in: " a href={ (at) "/parts.csv" (query) } { "text (.csv)" } ", " a href={ (at) "/parts.xlsx" (query) } { "workbook (.xlsx)" } }
                    li { a href={ (at) "/product.json" (query) } { "Product document (.json)" } ", as the command line reads it" }
                    li { a href={ (at) "/originals.zip" (query) } { "The designer's files (.zip)" } }
                }
            }
            @if who.may(Role::Engineer) {
                form method="post" action="/parts/add" {
                    input type="hidden" name="product" value=(name);
                    input type="hidden" name="version" value=(version);
                    input type="hidden" name="base" value=(library);
                    button { "Add the parts of this board to the library" }
                    p.quiet { "Taken are values that the designer's files or people state; what only follows from names can be read again at any time." }
                }
            }
        }
    }
}

fn version_list(at: &str, versions: &[Head], shown: i64) -> Markup {
    html! {
        section {
            h2 { "Versions" }
            form method="get" action={ (at) "/compare" } {
                div.wide { table {
                    thead { tr { th { "Version" } th { "Saved" } th { "What" } th { "From" } th { "To" } } }
                    tbody { @for (i, v) in versions.iter().enumerate() { tr {
                        td {
                            @if v.removed { (v.version) ", removed" } @else {
                                a href={ (at) "?version=" (v.version) } aria-current=[(v.version == shown).then_some("true")] { (v.version) }
                            }
                        }
                        td { (page::when(v.at)) " by " (v.author) }
                        td { (v.note) }
                        @if v.removed { td {} td {} } @else {
                            td { input type="radio" name="from" value=(v.version) checked[i == 1] aria-label={ "compare from version " (v.version) }; }
                            td { input type="radio" name="to" value=(v.version) checked[i == 0] aria-label={ "compare to version " (v.version) }; }
                        }
                    } } }
                } }
                @if versions.iter().filter(|v| !v.removed).count() > 1 { button { "Compare" } }
            }
        }
    }
}

/// The version that a removal is based on.
#[derive(Deserialize)]
pub struct Removal {
    base: i64,
}

/// Removes a board and the designer's files with it.
pub async fn remove(State(room): State<Room>, who: Who, Path(name): Path<String>, Form(form): Form<Removal>) -> Answer {
    room.store.remove(Kind::Product, &name, form.base, &who.name).await?;
    let files = match room.store.head(Kind::Files, &name).await {
        Ok(head) => room.store.remove(Kind::Files, &name, head.version, &who.name).await.map(drop),
        Err(Trouble::Missing) => Ok(()),
        Err(e) => Err(e),
    };
    match files {
        // Whoever changes the files at the same moment keeps them; the board is gone all the same.
        Ok(()) | Err(Trouble::Conflict { .. }) => Ok(Redirect::to("/boards").into_response()),
        Err(e) => Err(Refusal::from(e)),
    }
}

/// The designer's files of a board, or its document where it was read from one.
///
/// # Errors
/// When the store does not have what the version names.
pub async fn sources(room: &Room, board: &Board) -> Answer<Vec<NamedBytes>> {
    let files = keep::originals(room, &board.head.name, &board.summary).await?;
    if !files.is_empty() {
        return Ok(files);
    }
    let (_, bytes) = room.store.read(Kind::Product, &board.head.name, Some(board.head.version)).await?;
    Ok(vec![NamedBytes { name: format!("{}.json", board.head.name), bytes }])
}
