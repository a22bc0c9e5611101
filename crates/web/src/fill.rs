//! Filling a room that is still empty with files at hand, so that a newcomer finds something to look at.

use crate::keep;
use crate::pages::boards::keep::{self as boards, Inputs};
use crate::pages::parts::library;
use crate::room::Room;
use crate::trouble::Answer;
use app::library::Library;
use app::read::NamedBytes;
use diag::Finding;
use store::document::{Draft, Kind};

/// Who is said to have brought in what a room is filled with.
const AUTHOR: &str = "first start";

/// A board to be read.
#[derive(Debug)]
pub struct Board {
    /// Its name.
    pub name: String,
    /// The designer's files.
    pub files: Vec<NamedBytes>,
    /// Its parts table.
    pub parts: Option<NamedBytes>,
}

/// What a room is filled with.
#[derive(Debug, Default)]
pub struct Fill {
    /// Boards.
    pub boards: Vec<Board>,
    /// Line sheets: name and text.
    pub lines: Vec<(String, String)>,
}

/// Reads boards and lines into a room without any board and line, and what they state of parts into its library; into another one nothing. Answers what reading found wrong.
///
/// # Errors
/// When a sheet is wrong or the store fails; what was kept before stays.
pub async fn fill(room: &Room, with: Fill) -> Answer<Vec<Finding>> {
    if !room.store.list(Kind::Product).await?.is_empty() || !room.store.list(Kind::Line).await?.is_empty() {
        return Ok(Vec::new());
    }
    for (name, text) in with.lines {
        let checked = keep::check(Kind::Line, &name, text.into_bytes()).await?;
        let draft = Draft { kind: Kind::Line, name: &name, summary: &checked.summary, body: &checked.body, note: "as it was at hand" };
        room.store.save(draft, None, AUTHOR).await?;
    }
    let mut found = Vec::new();
    let mut known = Library::default();
    for board in with.boards {
        let has_table = board.parts.is_some();
        let inputs = Inputs { files: board.files, name: Some(board.name.clone()), table: board.parts, ..Inputs::default() };
        let reading = boards::read(room, inputs).await?;
        if let Some(product) = &reading.result.product {
            let from = if has_table { format!("{}, with its parts table", board.name) } else { board.name.clone() };
            found.extend(app::library::add(&mut known, product, library::version(AUTHOR, &from, "as it was at hand")).1);
            boards::save(room, AUTHOR, &board.name, reading, None, "as it was at hand", true).await?;
        } else {
            found.extend(reading.result.findings);
        }
    }
    // Where boards state different things of one part, findings say which value stands.
    if !known.parts.is_empty() {
        library::save(room, AUTHOR, known, 0, "as it was at hand").await?;
    }
    Ok(found)
}
