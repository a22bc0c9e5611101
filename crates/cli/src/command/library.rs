//! `evenline library`.

use crate::args::{LibraryArgs, LibraryChange, LibraryCommand};
use crate::{End, files, say};
use app::library::{Changed, Library, Version};
use app::read::NamedBytes;
use diag::{Finding, codes};
use std::path::Path;

pub fn run(a: &LibraryArgs) -> Result<End, End> {
    match &a.command {
        LibraryCommand::Add { at, read, change } => {
            let result = super::read::inputs(read)?;
            let Some(product) = &result.product else {
                say::findings(&result.findings, false);
                return Ok(End::Input);
            };
            changed(at, |known| app::library::add(known, product, version(change, &product.name)))
        }
        LibraryCommand::Import { at, table, change } => {
            let file = NamedBytes { name: files::name(table), bytes: files::bytes(table)? };
            changed(at, |known| app::library::import(known, &file, version(change, &file.name)))
        }
        LibraryCommand::Export { at, version, output } => export(&read(at)?, *version, output.as_deref()),
        LibraryCommand::History { at, part, json } => history(&read(at)?, part.as_deref(), *json),
    }
}

fn read(path: &Path) -> Result<Library, End> {
    let file = NamedBytes { name: files::name(path), bytes: files::bytes(path)? };
    app::library::read(&file).map_err(|f| say::refuse(&f, End::Input))
}

/// The number is given by the library itself.
fn version(change: &LibraryChange, from: &str) -> Version {
    let on = change.on.clone().unwrap_or_else(|| jiff::tz::TimeZone::UTC.to_datetime(jiff::Timestamp::now()).date().to_string());
    Version { version: 0, on, by: change.by.clone(), from: from.to_owned(), note: change.note.clone().unwrap_or_default() }
}

/// Changes a library, which begins empty where there is no file yet, and says what changed.
fn changed(path: &Path, change: impl FnOnce(&mut Library) -> (Changed, Vec<Finding>)) -> Result<End, End> {
    let mut library = if path.exists() { read(path)? } else { Library::default() };
    let (done, findings) = change(&mut library);
    say::findings(&findings, false);
    if done.values > 0 {
        let text = app::library::write(&library).map_err(|_| End::File)?;
        files::write(path, text.as_bytes())?;
    }
    let said = match done.values {
        0 => format!("nothing new; the library stays at version {}\n", library.version()),
        n => format!("version {}: {n} values, {} new parts\n", library.version(), done.parts),
    };
    say::print(&said)?;
    Ok(if findings.iter().any(Finding::is_error) { End::Input } else { End::Done })
}

fn export(library: &Library, version: Option<u32>, output: Option<&Path>) -> Result<End, End> {
    let library = match version {
        Some(n) if n == 0 || n > library.version() => {
            let text = format!("the library has no version {n}; its last is {}", library.version());
            return Err(say::refuse(&Finding::new(codes::plan::USAGE, text).value(n.to_string()), End::Usage));
        }
        Some(n) => library.at(n),
        None => library.clone(),
    };
    let Some(path) = output else { return say::print(&app::library::table(&library)) };
    let bytes = if path.extension().is_some_and(|e| e.eq_ignore_ascii_case("xlsx")) {
        app::library::workbook(&library).map_err(|e| say::refuse(&Finding::new(codes::plan::FILE, e.to_string()), End::File))?
    } else {
        app::library::table(&library).into_bytes()
    };
    files::write(path, &bytes).map(|()| End::Done)
}

fn history(library: &Library, part: Option<&str>, json: bool) -> Result<End, End> {
    if let Some(number) = part.filter(|n| !library.parts.contains_key(*n)) {
        let text = format!("the library knows no part `{number}`");
        return Err(say::refuse(&Finding::new(codes::parts::TABLE_UNKNOWN_PART, text).value(number), End::Input));
    }
    let events = app::library::history(library, part);
    if json {
        return say::print_json(&events);
    }
    let mut text = String::new();
    let mut last = 0;
    for e in &events {
        if e.version != last {
            let note = if e.note.is_empty() { String::new() } else { format!(": {}", e.note) };
            text += &format!("version {}, {}, {}, from {}{note}\n", e.version, e.on, e.by, e.from);
            last = e.version;
        }
        let before = if e.before.is_empty() { String::new() } else { format!("{} -> ", e.before) };
        text += &format!("  {} {}: {before}{}\n", e.part, e.column, e.after);
    }
    say::print(&text)
}
