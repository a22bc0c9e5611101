//! One part: every value with its source and certainty, its history, stating values by hand.

use super::library::{self, uses};
use super::{address, shown};
use crate::access::Who;
use crate::page::{self, Part as Place};
use crate::pages::boards::summary::Summary;
use crate::room::{Room, aside};
use crate::trouble::{Answer, Refusal};
use app::library::{Event, Library};
use app::read::NamedBytes;
use axum::Form;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use diag::Finding;
use domain::library::Entry;
use domain::part::{Moisture, Mount, NozzleClass, Supply};
use maud::{Markup, html};
use std::collections::BTreeMap;
use store::document::Kind;
use store::people::Role;

/// The columns of the parts table that hold values.
fn columns() -> Vec<String> {
    let header = app::library::table(&Library::default());
    let names = header.lines().next().unwrap_or_default().split(',').skip(3);
    names.filter(|n| !n.ends_with("_source") && !n.ends_with("_certainty")).map(str::to_owned).collect()
}

/// What is typed into the form.
#[derive(Clone, Debug, Default)]
struct Typed {
    base: i64,
    /// Values by column.
    values: BTreeMap<String, String>,
    /// Columns whose value is confirmed as it stands.
    confirmed: Vec<String>,
    package: String,
    from: String,
    note: String,
}

/// A part and what is known around it.
struct Known {
    number: String,
    entry: Option<Entry>,
    history: Vec<Event>,
    boards: BTreeMap<String, usize>,
    base: i64,
}

async fn known(room: &Room, number: &str) -> Answer<Known> {
    let (head, all) = library::load(room).await?;
    let number = library::key(number);
    let boards = room.store.list(Kind::Product).await?;
    let mut used = uses(boards.iter().filter_map(|b| Some((b.name.as_str(), Summary::kept(b)?))));
    let entry = all.parts.get(&number).cloned();
    let boards = used.remove(&number).unwrap_or_default();
    if entry.is_none() && boards.is_empty() {
        return Err(Refusal::Missing(format!("Neither the library nor a board knows a part `{number}`.")));
    }
    let history = app::library::history(&all, Some(&number));
    Ok(Known { number, entry, history, boards, base: head.map_or(0, |h| h.version) })
}

impl Known {
    fn value(&self, column: &str) -> String {
        value(self.entry.as_ref(), column)
    }
}

fn value(entry: Option<&Entry>, column: &str) -> String {
    entry.and_then(|e| e.values.get(column)?.last()).map_or_else(String::new, |s| s.value.clone())
}

/// The page of a part.
pub async fn page(State(room): State<Room>, who: Who, Path(number): Path<String>) -> Answer<Markup> {
    let known = known(&room, &number).await?;
    let values = columns().into_iter().map(|c| (known.value(&c), c)).map(|(v, c)| (c, v)).collect();
    let typed = Typed { base: known.base, values, ..Typed::default() };
    Ok(drawn(&who, &known, &typed, &html! {}))
}

fn drawn(who: &Who, known: &Known, typed: &Typed, told: &Markup) -> Markup {
    let body = html! {
        (told)
        @if let Some(entry) = &known.entry { @if !entry.package.is_empty() { p { "Package " b { (entry.package) } } } }
        @else { p { "The library knows nothing of this part yet." } }
        (values(who, known, typed))
        section {
            h2 { "Used by" }
            @if known.boards.is_empty() { p.quiet { "No board uses it." } } @else {
                ul { @for (board, n) in &known.boards { li { a href={ "/boards/" (page::path(board)) } { (board) } ": " (n) " placements" } } }
            }
        }
        section {
            h2 { "History" }
            @if known.history.is_empty() { p.quiet { "Nothing was stated yet." } } @else { (history(&known.history)) }
        }
        p { a href="/parts" { "All parts" } }
    };
    page::page(who, Place::Parts, &known.number, &body)
}

fn values(who: &Who, known: &Known, typed: &Typed) -> Markup {
    let may = who.may(Role::Engineer);
    let table = html! {
        div.wide { table {
            thead { tr { th { "Value" } th { "Known" } @if may { th { "State" } th { "Confirm" } } } }
            tbody { @for column in columns() {
                @let now = known.entry.as_ref().and_then(|e| e.values.get(&column)?.last());
                @if may || now.is_some() { tr {
                    td { (column.replace('_', " ")) }
                    td { (shown(now)) }
                    @if may {
                        td { (cell(&column, typed.values.get(&column).map_or("", String::as_str))) }
                        td { @if now.is_some() {
                            input type="checkbox" name={ "confirm." (column) } checked[typed.confirmed.contains(&column)] aria-label={ "confirm " (column) };
                        } }
                    }
                } }
            } }
        } }
    };
    html! {
        section {
            h2 { "Values" }
            @if may {
                form.stack method="post" action=(address(&known.number)) {
                    input type="hidden" name="base" value=(typed.base);
                    (table)
                    p.quiet { "What you change or confirm becomes your statement, which is certain. An empty field states nothing; what was once stated stays in the history." }
                    @if known.entry.is_none() { label { "Package" input name="package" maxlength="120" value=(typed.package); } }
                    label { "Where it comes from" input name="from" maxlength="120" value=(typed.from) placeholder={ "measured by " (who.name) }; }
                    label { "Why, for the history" input name="note" maxlength="200" value=(typed.note); }
                    button { "Save" }
                }
            } @else { (table) }
        }
    }
}

fn cell(column: &str, value: &str) -> Markup {
    let words: Vec<&str> = match column {
        "mount" => Mount::ALL.iter().map(|w| w.word()).collect(),
        "supply" => Supply::ALL.iter().map(|w| w.word()).collect(),
        "nozzle_class" => NozzleClass::ALL.iter().map(|w| w.word()).collect(),
        "moisture_level" => Moisture::ALL.iter().map(|w| w.word()).collect(),
        "ball_grid" | "shield" => vec!["yes", "no"],
        _ => Vec::new(),
    };
    let label = column.replace('_', " ");
    html! {
        // A value that is none of the words, as another program may have left it, is shown to be corrected.
        @if words.is_empty() || !(value.is_empty() || words.contains(&value)) {
            input name={ "value." (column) } value=(value) size="12" aria-label=(label);
        } @else {
            select name={ "value." (column) } aria-label=(label) {
                option value="" { "" }
                @for word in &words { option selected[*word == value] { (word) } }
            }
        }
    }
}

fn history(events: &[Event]) -> Markup {
    html! {
        div.wide { table {
            thead { tr { th { "Version" } th { "Day" } th { "Value" } th { "Before" } th { "From then on" } th { "By" } th { "From" } th { "Why" } } }
            tbody { @for e in events.iter().rev() { tr {
                td { (e.version) } td { (e.on) } td { (e.column.replace('_', " ")) } td { (e.before) } td { (e.after) } td { (e.by) } td { (e.from) } td { (e.note) }
            } } }
        } }
    }
}

fn typed(fields: Vec<(String, String)>) -> Answer<Typed> {
    let mut typed = Typed::default();
    for (name, text) in fields {
        let text = text.replace(char::is_control, " ").trim().to_owned();
        match name.as_str() {
            "base" => typed.base = text.parse().map_err(|_| Refusal::Wrong("The form names no version that it is based on.".to_owned()))?,
            "from" => typed.from = text.chars().take(120).collect(),
            "note" => typed.note = text.chars().take(200).collect(),
            "package" => typed.package = text.chars().take(120).collect(),
            other => match other.split_once('.') {
                Some(("value", column)) => drop(typed.values.insert(column.to_owned(), text)),
                Some(("confirm", column)) => typed.confirmed.push(column.to_owned()),
                _ => {}
            },
        }
    }
    Ok(typed)
}

/// A row of a parts table that states these values of a part.
fn row(known: &Known, typed: &Typed, stated: &[(&str, &str)]) -> NamedBytes {
    let quoted = |text: &str| format!("\"{}\"", text.replace('"', "\"\""));
    let (mut head, mut cells) = (vec!["number".to_owned(), "package".to_owned()], vec![quoted(&known.number), quoted(&typed.package)]);
    for (column, text) in stated {
        let stem = ["_mm", "_percent", "_um", "_permille"].iter().find_map(|unit| column.strip_suffix(unit)).unwrap_or(column);
        head.extend([(*column).to_owned(), format!("{stem}_source")]);
        cells.extend([quoted(text), "engineer".to_owned()]);
    }
    NamedBytes { name: "what was typed".to_owned(), bytes: format!("{}\n{}\n", head.join(","), cells.join(",")).into_bytes() }
}

/// Keeps what was changed or confirmed.
pub async fn save(State(room): State<Room>, who: Who, Path(number): Path<String>, Form(fields): Form<Vec<(String, String)>>) -> Answer {
    let typed = typed(fields)?;
    let mut now = known(&room, &number).await?;
    // What was changed is told by the version that the form showed: what others changed meanwhile is not taken back.
    let before = seen(&room, typed.base, &now.number).await?;
    let columns = columns();
    let is_new = |column: &str, text: &str| !text.is_empty() && text != value(before.as_ref(), column);
    let mut stated: Vec<(&str, &str)> = Vec::new();
    for column in &columns {
        let text = typed.values.get(column).map_or("", String::as_str);
        if is_new(column, text) || (typed.confirmed.contains(column) && !text.is_empty()) {
            stated.push((column, text));
        }
    }
    let refused = |status, known: &Known, typed: &Typed, told: &Markup| Ok((status, drawn(&who, known, typed, told)).into_response());
    if stated.is_empty() {
        let told = html! { p.told role="status" { "Nothing was changed or confirmed." } };
        return refused(StatusCode::OK, &now, &typed, &told);
    }
    let from = if typed.from.is_empty() { format!("measured by {}", who.name) } else { typed.from.clone() };
    let version = library::version(&who.name, &from, &typed.note);
    let table = row(&now, &typed, &stated);
    let (_, mut all) = library::load(&room).await?;
    let (all, changed, findings) = aside(move || {
        let (changed, findings) = app::library::import(&mut all, &table, version);
        (all, changed, findings)
    })
    .await?;
    let wrong: Vec<Finding> = findings.into_iter().filter(Finding::is_error).map(|f| f.at("", 0)).collect();
    if !wrong.is_empty() {
        let told = html! {
            p.refused role="alert" { "A value cannot be kept like this; nothing was changed. What you typed is below." }
            (page::findings(&wrong))
        };
        return refused(StatusCode::UNPROCESSABLE_ENTITY, &now, &typed, &told);
    }
    if changed.values > 0 {
        // Others may have changed other parts meanwhile; that is no conflict about this one.
        let on = if now.entry == before { now.base } else { typed.base };
        match library::save(&room, &who.name, all, on, &format!("{}: {from}", now.number)).await {
            Ok(_) => {}
            Err(Refusal::Conflict(why)) => {
                now = known(&room, &number).await?;
                return Ok(conflict(&who, &now, before.as_ref(), typed, &why));
            }
            Err(e) => return Err(e),
        }
    }
    Ok(Redirect::to(&address(&now.number)).into_response())
}

/// The part as the library had it in a version of its document.
async fn seen(room: &Room, base: i64, number: &str) -> Answer<Option<Entry>> {
    if base == 0 {
        return Ok(None);
    }
    let (_, bytes) = room.store.read(Kind::Library, library::NAME, Some(base)).await?;
    let file = NamedBytes { name: format!("version {base}"), bytes };
    let old = aside(move || app::library::read(&file)).await??;
    Ok(old.parts.get(number).cloned())
}

/// The form again on top of the newer version: what was typed stays, the rest is as it stands now.
fn conflict(who: &Who, now: &Known, before: Option<&Entry>, typed: Typed, why: &str) -> Response {
    let mut merged = typed.clone();
    merged.base = now.base;
    let mut both = Vec::new();
    for column in columns() {
        let (was, is, mine) = (value(before, &column), now.value(&column), typed.values.get(&column).cloned().unwrap_or_default());
        if mine.is_empty() || mine == was {
            merged.values.insert(column, is);
        } else {
            both.push((column, was, is, mine));
        }
    }
    let told = html! {
        div.refused role="alert" {
            p { (why) }
            p { "What you typed is in the form, and is not saved yet; all else is as it stands now. Save again to state it on top." }
            @if !both.is_empty() {
                div.wide { table {
                    thead { tr { th { "Value" } th { "You saw" } th { "Stands now" } th { "You typed" } } }
                    tbody { @for (column, was, is, mine) in &both { tr { td { (column.replace('_', " ")) } td { (was) } td { (is) } td { (mine) } } } }
                } }
            }
        }
    };
    (StatusCode::CONFLICT, drawn(who, now, &merged, &told)).into_response()
}
