//! How the library of the room is kept: one document, changed only on top of the version that was seen.

use crate::pages::boards::summary::Summary;
use crate::room::{Room, aside};
use crate::trouble::{Answer, Refusal};
use app::library::{Library, Version};
use app::read::NamedBytes;
use serde_json::json;
use std::collections::BTreeMap;
use store::Trouble;
use store::document::{Draft, Head, Kind};

/// Name of the document.
pub const NAME: &str = "parts";

/// The library as it is kept; `None` while there is none.
///
/// # Errors
/// When the store fails.
pub async fn kept(room: &Room) -> Answer<Option<(Head, Vec<u8>)>> {
    match room.store.read(Kind::Library, NAME, None).await {
        Ok(found) => Ok(Some(found)),
        Err(Trouble::Missing) => Ok(None),
        Err(e) => Err(e.into()),
    }
}

/// The library, empty while there is none, with the version of its document.
///
/// # Errors
/// When the store fails, or what is stored is no library.
pub async fn load(room: &Room) -> Answer<(Option<Head>, Library)> {
    let Some((head, bytes)) = kept(room).await? else { return Ok((None, Library::default())) };
    let file = NamedBytes { name: format!("{NAME}.json"), bytes };
    let library = aside(move || app::library::read(&file)).await??;
    Ok((Some(head), library))
}

/// The version of the document that a change is based on; 0 while there is none.
///
/// # Errors
/// When the store fails.
pub async fn base(room: &Room) -> Answer<i64> {
    match room.store.head(Kind::Library, NAME).await {
        Ok(head) => Ok(head.version),
        Err(Trouble::Missing) => Ok(0),
        Err(e) => Err(e.into()),
    }
}

/// A version to be added today; its number is given by the library.
pub fn version(by: &str, from: &str, note: &str) -> Version {
    let on = jiff::tz::TimeZone::UTC.to_datetime(jiff::Timestamp::now()).date().to_string();
    Version { version: 0, on, by: by.to_owned(), from: from.to_owned(), note: note.to_owned() }
}

/// Keeps the library as the version after `base`.
///
/// # Errors
/// [`Refusal::Conflict`] when another version stands than `base`.
pub async fn save(room: &Room, author: &str, library: Library, base: i64, note: &str) -> Answer<Head> {
    let summary = json!({ "parts": library.parts.len(), "version": library.version() }).to_string();
    let text = aside(move || app::library::write(&library)).await?.map_err(|e| Refusal::Failed(e.to_string()))?;
    let draft = Draft { kind: Kind::Library, name: NAME, summary: &summary, body: text.as_bytes(), note };
    match room.store.save(draft, (base > 0).then_some(base), author).await {
        // Somebody else began the library meanwhile.
        Err(Trouble::Refused(_)) if base == 0 => {
            let now = room.store.head(Kind::Library, NAME).await?;
            Err(Trouble::Conflict { latest: now.version, author: now.author, at: now.at }.into())
        }
        other => Ok(other?),
    }
}

/// The boards that use a part, with the number of fitted placements: by part number, then by board.
pub fn uses<'b>(boards: impl Iterator<Item = (&'b str, Summary)>) -> BTreeMap<String, BTreeMap<String, usize>> {
    let mut all: BTreeMap<String, BTreeMap<String, usize>> = BTreeMap::new();
    for (board, summary) in boards {
        for (number, n) in summary.uses {
            *all.entry(key(&number)).or_default().entry(board.to_owned()).or_default() += n;
        }
    }
    all
}

/// A part number as the library has it: on one line.
pub fn key(number: &str) -> String {
    number.replace(char::is_control, " ").trim().to_owned()
}
