//! Reading a board and keeping what came of it.

use super::summary::Summary;
use crate::pages::parts::library;
use crate::room::{Room, aside};
use crate::trouble::{Answer, Refusal};
use crate::upload;
use app::library::Library;
use app::read::{NamedBytes, ReadRequest, ReadResult};
use diag::Finding;
use domain::part::Source;
use store::Trouble;
use store::document::{Draft, Head, Kind, check_name};

/// Name of the text of a mapping in findings.
pub const MAPPING: &str = "mapping.toml";
/// Name of the table of what was stated in the room, in findings.
pub const STATED: &str = "stated here";

/// What is read.
#[derive(Debug, Default)]
pub struct Inputs {
    /// The designer's files, archives unpacked.
    pub files: Vec<NamedBytes>,
    /// What was noticed before, by unpacking.
    pub noticed: Vec<Finding>,
    /// Name of the product.
    pub name: Option<String>,
    /// Text of the mapping file; empty for none.
    pub mapping: String,
    /// Parts table.
    pub table: Option<NamedBytes>,
}

/// What came of it, with what is needed to keep it.
#[derive(Debug)]
pub struct Reading {
    /// The reading.
    pub result: ReadResult,
    /// What is kept beside it.
    pub summary: Summary,
    /// The designer's files.
    pub files: Vec<NamedBytes>,
}

/// Reads files with the library of the room, if there is one.
///
/// # Errors
/// When the library cannot be had from the store.
pub async fn read(room: &Room, inputs: Inputs) -> Answer<Reading> {
    let known = library::kept(room).await?;
    let library = known
        .as_ref()
        .map(|(head, bytes)| NamedBytes { name: format!("parts library, document version {}", head.version), bytes: bytes.clone() });
    let version = known.map(|(head, _)| head.version);
    aside(move || {
        let text = Some(inputs.mapping.as_str()).filter(|t| !t.trim().is_empty());
        let mapping = text.map(|t| NamedBytes { name: MAPPING.to_owned(), bytes: t.as_bytes().to_vec() });
        let request = ReadRequest { files: inputs.files, name: inputs.name, mapping, library, parts_table: inputs.table };
        let mut result = if request.files.is_empty() && !inputs.noticed.is_empty() {
            // All that was sent is told of already; that there is nothing left says no more.
            ReadResult { findings: Vec::new(), ..app::read::read(&request) }
        } else {
            app::read::read(&request)
        };
        result.findings.splice(0..0, inputs.noticed);
        let summary = Summary { mapping: inputs.mapping, library: version, ..Summary::of(&result) };
        Reading { result, summary, files: request.files }
    })
    .await
}

/// A name under which a product can be kept, made from the one it has.
pub fn kept_name(name: &str) -> String {
    let clean: String = name
        .chars()
        .map(|c| if c.is_control() || matches!(c, '/' | '\\' | ':' | '<' | '>' | '"' | '|' | '?' | '*') { ' ' } else { c })
        .collect();
    let short: String = clean.split_whitespace().collect::<Vec<_>>().join(" ").chars().take(120).collect();
    let name = short.trim();
    if check_name(name).is_ok() { name.to_owned() } else { "board".to_owned() }
}

/// Keeps a reading that gave a product, as a new board (`base` is `None`) or as the version after `base`; `new_files` says
/// whether the designer's files are others than those kept already.
///
/// # Errors
/// [`Trouble::Conflict`] when another version stands than `base`; then nothing was changed.
pub async fn save(
    room: &Room,
    author: &str,
    name: &str,
    reading: Reading,
    base: Option<i64>,
    note: &str,
    new_files: bool,
) -> Result<Head, Refusal> {
    let Reading { result, mut summary, files } = reading;
    let Some(mut product) = result.product else { return Err(result.findings.into()) };
    // The document and its name in the room are one.
    name.clone_into(&mut product.name);
    stands(room, name, base).await?;
    if new_files {
        let packed = aside(move || upload::pack(&files)).await??;
        let before = match room.store.head(Kind::Files, name).await {
            Ok(head) => Some(head.version),
            Err(Trouble::Missing) => None,
            Err(e) => return Err(e.into()),
        };
        let draft = Draft { kind: Kind::Files, name, summary: "{}", body: &packed, note };
        // A version of files that no product refers to, should the next step fail, takes room and does nothing else.
        summary.originals = Some(room.store.save(draft, before, author).await?.version);
    }
    let text = aside(move || app::documents::write_product(&product)).await?.map_err(|e| Refusal::Failed(e.to_string()))?;
    let draft = Draft { kind: Kind::Product, name, summary: &summary.text(), body: text.as_bytes(), note };
    Ok(room.store.save(draft, base, author).await?)
}

/// Whether a board can be saved on top of `base`.
async fn stands(room: &Room, name: &str, base: Option<i64>) -> Result<(), Trouble> {
    check_name(name)?;
    match (room.store.head(Kind::Product, name).await, base) {
        (Err(Trouble::Missing), None) => Ok(()),
        (Ok(head), Some(base)) if head.version == base => Ok(()),
        (Ok(_), None) => Err(Trouble::Refused(format!("there is a board named `{name}` already; open it to read a new revision of it"))),
        (Ok(head), Some(_)) => Err(Trouble::Conflict { latest: head.version, author: head.author, at: head.at }),
        (Err(e), _) => Err(e),
    }
}

/// The designer's files of a version of a board; none when it was kept without.
///
/// # Errors
/// When the store does not have what the version names.
pub async fn originals(room: &Room, name: &str, summary: &Summary) -> Answer<Vec<NamedBytes>> {
    let Some(version) = summary.originals else { return Ok(Vec::new()) };
    let (_, bytes) = room.store.read(Kind::Files, name, Some(version)).await?;
    aside(move || upload::kept(&bytes)).await?
}

/// What the engineer stated of the parts of a product, as a library that holds nothing else.
pub fn statements(product: &app::read::Product) -> Library {
    let mut stated = Library::default();
    // Findings are about earlier values, of which there are none.
    let _ = app::library::add(&mut stated, product, library::version("", "", ""));
    for entry in stated.parts.values_mut() {
        entry.values.retain(|_, all| all.last().is_some_and(|s| s.source == Source::Engineer));
    }
    stated.parts.retain(|_, e| !e.values.is_empty());
    stated
}

/// Statements as a parts table; `None` without any.
pub fn as_table(stated: &Library) -> Option<NamedBytes> {
    let is_empty = stated.parts.values().all(|e| e.values.is_empty());
    (!is_empty).then(|| NamedBytes { name: STATED.to_owned(), bytes: app::library::table(stated).into_bytes() })
}
