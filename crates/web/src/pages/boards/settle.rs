//! Settling doubts: the mapping file and the values of parts that matter most, then the designer's files are read anew.

use super::keep::{self, Inputs, STATED};
use super::one::{Board, sources};
use crate::access::Who;
use crate::page::{self, Part};
use crate::room::{Room, aside};
use crate::trouble::{Answer, Refusal};
use crate::upload::Upload;
use app::library::Library;
use app::read::ToMeasure;
use axum::extract::{Multipart, Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use diag::{Finding, Severity};
use domain::library::Stated;
use domain::part::{Certainty, Mount, Source, Supply};
use maud::{Markup, html};
use std::collections::BTreeMap;
use store::Trouble;

/// Parts offered for measuring.
const FIRST: usize = 20;
/// Most rows that a form may send.
const MOST_ROWS: usize = 2000;

/// The columns of the parts table that the form has, and their heads.
const COLUMNS: [(&str, &str); 6] = [
    ("mount", "Mount"),
    ("body_x_mm", "Body X [mm]"),
    ("body_y_mm", "Body Y [mm]"),
    ("height_mm", "Height [mm]"),
    ("supply", "Supply"),
    ("tape_width_mm", "Tape [mm]"),
];

/// A part in the form.
#[derive(Clone, Debug, Default)]
struct Row {
    number: String,
    package: String,
    /// Why it matters, in words.
    why: String,
    /// What is typed, by [`COLUMNS`].
    typed: [String; COLUMNS.len()],
}

/// What the form holds.
#[derive(Debug, Default)]
struct Typed {
    base: i64,
    mapping: String,
    rows: Vec<Row>,
    note: String,
}

/// The rows to begin with: what was stated already, then what matters most.
fn rows(stated: &Library, measure: &[ToMeasure]) -> Vec<Row> {
    let mut rows: BTreeMap<&str, Row> = BTreeMap::new();
    for (number, entry) in &stated.parts {
        let typed = COLUMNS.map(|(c, _)| entry.values.get(c).and_then(|all| all.last()).map_or_else(String::new, |s| s.value.clone()));
        if typed.iter().any(|t| !t.is_empty()) {
            rows.insert(number, Row { number: number.clone(), package: entry.package.clone(), why: "stated".to_owned(), typed });
        }
    }
    let mut all: Vec<Row> = Vec::new();
    for m in measure.iter().take(FIRST) {
        let row = rows.remove(m.number.as_str()).unwrap_or_default();
        let why = format!("{} placements; guessed: {}; decides: {}", m.placements, m.guessed.join(", "), m.decides.join(", "));
        all.push(Row { number: m.number.clone(), package: m.package.clone(), why, typed: row.typed });
    }
    all.extend(rows.into_values());
    all
}

/// The form.
pub async fn form(State(room): State<Room>, who: Who, Path(name): Path<String>) -> Answer<Markup> {
    let board = Board::load(&room, &name, None).await?;
    let begun = begin(&board);
    Ok(shown(&who, &board, &begun, &html! {}))
}

fn begin(board: &Board) -> Typed {
    let mapping = if board.summary.mapping.is_empty() { &board.summary.profile } else { &board.summary.mapping };
    Typed {
        base: board.head.version,
        mapping: mapping.clone(),
        rows: rows(&keep::statements(board.product()), &app::read::to_measure(board.product())),
        note: String::new(),
    }
}

/// Whether the board was read from a product document, for which there is nothing to map.
fn is_document(board: &Board) -> bool {
    board.summary.files.iter().all(|f| f.role == "product document")
}

fn shown(who: &Who, board: &Board, typed: &Typed, told: &Markup) -> Markup {
    let at = format!("/boards/{}", page::path(&board.head.name));
    let doubts: Vec<Finding> = board.summary.findings.iter().filter(|f| f.severity >= Severity::Warning).cloned().collect();
    let body = html! {
        (told)
        p { "Say what is right; the designer's files are then read anew with it, and become the next version of the board. " a href=(at) { "Back to the board" } }
        @if !doubts.is_empty() {
            section { h2 { "Doubts" } (page::findings(&doubts)) }
        }
        form.stack method="post" action={ (at) "/settle" } enctype="multipart/form-data" {
            input type="hidden" name="base" value=(typed.base);
            @if !is_document(board) {
                section {
                    h2 { "Mapping" }
                    p.quiet { "What was concluded about the files, as a mapping file. Correct what is wrong." }
                    // A leading line end would be lost.
                    textarea name="mapping" rows="18" cols="90" spellcheck="false" aria-label="Mapping file" { "\n" (typed.mapping) }
                    (super::mapping_help())
                }
            }
            section {
                h2 { "Parts" }
                p.quiet { "Those first on whose guessed values the line depends most. Empty fields state nothing; a value that is taken away is concluded again." }
                @if typed.rows.is_empty() { p { "No guess of a size would change what the line needs." } } @else { (part_rows(&typed.rows)) }
                label { "More of them by a parts table (.csv, .xlsx); where both speak, the table holds" input type="file" name="table" accept=".csv,.tsv,.txt,.xlsx,.ods"; }
            }
            label { "Why, for the list of versions" input name="note" maxlength="200" value=(typed.note); }
            button { "Read anew" }
        }
    };
    page::page(who, Part::Boards, &format!("{}: settle doubts", board.head.name), &body)
}

fn part_rows(rows: &[Row]) -> Markup {
    html! {
        div.wide { table {
            thead { tr { th { "Part" } @for (_, head) in COLUMNS { th { (head) } } } }
            tbody { @for (i, row) in rows.iter().enumerate() { tr {
                td {
                    input type="hidden" name={ "part." (i) } value=(row.number);
                    input type="hidden" name={ "package." (i) } value=(row.package);
                    input type="hidden" name={ "why." (i) } value=(row.why);
                    b { (row.number) } " " (row.package) br; small.quiet { (row.why) }
                }
                @for (k, (column, head)) in COLUMNS.iter().enumerate() { td { (cell(&format!("{column}.{i}"), head, column, &row.typed[k], &row.number)) } }
            } } }
        } }
    }
}

fn cell(name: &str, head: &str, column: &str, value: &str, number: &str) -> Markup {
    let label = format!("{head} of {number}");
    let words: Vec<&str> = match column {
        "mount" => Mount::ALL.iter().map(|w| w.word()).collect(),
        "supply" => Supply::ALL.iter().map(|w| w.word()).collect(),
        _ => Vec::new(),
    };
    html! {
        @if words.is_empty() {
            input name=(name) value=(value) size="6" inputmode="decimal" aria-label=(label);
        } @else {
            select name=(name) aria-label=(label) {
                option value="" { "" }
                @for word in &words { option selected[*word == value] { (word) } }
            }
        }
    }
}

fn typed(upload: &Upload) -> Answer<Typed> {
    let mut rows = Vec::new();
    for i in 0.. {
        let number = upload.text(&format!("part.{i}"));
        if number.is_empty() {
            break;
        }
        if i >= MOST_ROWS {
            return Err(Refusal::Wrong(format!("A form may hold at most {MOST_ROWS} parts; send a parts table instead.")));
        }
        let text = |field: &str| upload.text(&format!("{field}.{i}")).trim().to_owned();
        rows.push(Row { number: number.to_owned(), package: text("package"), why: text("why"), typed: COLUMNS.map(|(c, _)| text(c)) });
    }
    let note = upload.text("note").trim().chars().take(200).collect();
    Ok(Typed { base: upload.number("base")?, mapping: upload.text("mapping").to_owned(), rows, note })
}

/// Puts what is typed over what was stated.
fn overlay(stated: &mut Library, rows: &[Row]) {
    for row in rows {
        // As the table has it: on one line.
        let key = row.number.replace(char::is_control, " ").trim().to_owned();
        for ((column, _), text) in COLUMNS.iter().zip(&row.typed) {
            let entry = stated.parts.entry(key.clone()).or_default();
            if text.is_empty() {
                entry.values.remove(*column);
            } else {
                let value = Stated { value: text.clone(), source: Source::Engineer, certainty: Certainty::Certain, version: 1 };
                entry.values.insert((*column).to_owned(), vec![value]);
            }
        }
    }
    stated.parts.retain(|_, e| !e.values.is_empty());
}

/// Reads anew what is typed and keeps it.
pub async fn save(State(room): State<Room>, who: Who, Path(name): Path<String>, form: Multipart) -> Answer {
    let mut upload = Upload::read(form).await?;
    let typed = typed(&upload)?;
    let table = upload.take("table").pop();
    let board = Board::load(&room, &name, Some(typed.base)).await?;
    let files = sources(&room, &board).await?;
    let mut stated = keep::statements(board.product());
    overlay(&mut stated, &typed.rows);
    let mut noticed = Vec::new();
    if let Some(table) = table {
        // A table may speak of packages, and has columns that the form has not: what it states of this board is taken from a
        // reading with it.
        let inputs = Inputs {
            files: files.clone(),
            name: Some(name.clone()),
            mapping: typed.mapping.clone(),
            table: Some(table),
            ..Inputs::default()
        };
        let first = keep::read(&room, inputs).await?;
        let about: Vec<Finding> = first.result.findings.into_iter().filter(|f| f.code.starts_with("parts.table-")).collect();
        let by_table = first.result.product.as_ref().map(keep::statements).unwrap_or_default();
        if by_table.parts.is_empty() && about.iter().any(Finding::is_error) {
            return Ok(again(&who, &board, &typed, &about));
        }
        noticed = about;
        for (number, entry) in by_table.parts {
            stated.parts.entry(number).or_default().values.extend(entry.values);
        }
    }
    let inputs = Inputs { files, noticed, name: Some(name.clone()), mapping: typed.mapping.clone(), table: keep::as_table(&stated) };
    let mut reading = keep::read(&room, inputs).await?;
    let wrong: Vec<Finding> = reading.result.findings.iter().filter(|f| f.is_error() && is_typed(f)).map(|f| placed(f, &stated)).collect();
    if reading.result.product.is_none() || !wrong.is_empty() {
        let wrong = if wrong.is_empty() { reading.result.findings } else { wrong };
        return Ok(again(&who, &board, &typed, &wrong));
    }
    for f in reading.result.findings.iter_mut().chain(&mut reading.summary.findings).filter(|f| f.file == STATED) {
        *f = placed(f, &stated);
    }
    reading.summary.originals = board.summary.originals;
    let note = if typed.note.is_empty() { "doubts settled" } else { &typed.note };
    match keep::save(&room, &who.name, &name, reading, Some(typed.base), note, false).await {
        Ok(head) => Ok(Redirect::to(&format!("/boards/{}", page::path(&head.name))).into_response()),
        Err(Refusal::Conflict(why)) => conflict(&room, &who, &board, typed, &why).await,
        Err(e) => Err(e),
    }
}

/// Whether a finding is about what was typed into the form.
fn is_typed(f: &Finding) -> bool {
    f.file == keep::MAPPING || f.file == STATED
}

/// A finding about a row of the statements, told by the part and not by a line that nobody sees.
fn placed(f: &Finding, stated: &Library) -> Finding {
    let row = if f.file == STATED { (f.line as usize).checked_sub(2) } else { None };
    match row.and_then(|i| stated.parts.keys().nth(i)) {
        Some(number) => f.clone().at(format!("{STATED}: {number}"), 0),
        None => f.clone(),
    }
}

fn again(who: &Who, board: &Board, typed: &Typed, wrong: &[Finding]) -> Response {
    let told = html! {
        p.refused role="alert" { "It could not be read like this; nothing was changed. What you typed is below." }
        (page::findings(wrong))
    };
    (StatusCode::UNPROCESSABLE_ENTITY, shown(who, board, typed, &told)).into_response()
}

async fn conflict(room: &Room, who: &Who, mine: &Board, typed: Typed, why: &str) -> Answer {
    let theirs = match Board::load(room, &mine.head.name, None).await {
        Ok(board) => board,
        // The other one took the board away.
        Err(Refusal::Missing(_)) => return Err(Trouble::Missing.into()),
        Err(e) => return Err(e),
    };
    let (old, new) = (mine.product().clone(), theirs.product().clone());
    let changed = aside(move || app::revision::told(&app::revision::changes(&old, &new))).await?;
    let at = format!("/boards/{}", page::path(&mine.head.name));
    let told = html! {
        div.refused role="alert" {
            p { (why) }
            p { "What you typed is below, and is not saved yet. Saved now, it follows version " (theirs.head.version) ": of a part in the form your values hold, and your mapping replaces the other one." }
            p { a href={ (at) "/compare?from=" (mine.head.version) "&to=" (theirs.head.version) } { "What the other version changed" } ": " (theirs.head.note) }
            pre { (changed) }
            @if theirs.summary.mapping != mine.summary.mapping {
                details open { summary { "The mapping of version " (theirs.head.version) } pre { code { (theirs.summary.mapping) } } }
            }
            @let other = their_values(mine, &theirs);
            @if !other.is_empty() {
                p { "Values stated in version " (theirs.head.version) ":" }
                ul { @for line in &other { li { (line) } } }
            }
        }
    };
    let typed = Typed { base: theirs.head.version, ..typed };
    Ok((StatusCode::CONFLICT, shown(who, &theirs, &typed, &told)).into_response())
}

/// What the other version states and mine did not.
fn their_values(mine: &Board, theirs: &Board) -> Vec<String> {
    let before = keep::statements(mine.product());
    let mut lines = Vec::new();
    for (number, entry) in &keep::statements(theirs.product()).parts {
        for (column, now) in entry.current() {
            let was = before.parts.get(number).and_then(|e| e.values.get(column)?.last());
            if was.is_none_or(|w| w.value != now.value) {
                lines.push(format!("{column} of {number}: {}", now.value));
            }
        }
    }
    lines
}
