//! Documents and their versions.

use crate::audit::note;
use crate::pool::on;
use crate::{Stamp, Store, Trouble, secret};
use flate2::Compression;
use flate2::read::ZlibDecoder;
use flate2::write::ZlibEncoder;
use serde::Serialize;
use std::io::{Read, Write};

/// Longest name of a document [characters].
const MOST_NAME: usize = 120;

/// What a document is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    /// A product document (JSON) as read from a designer's files.
    Product,
    /// The designer's files a product was read from, as a ZIP archive, under the product's name.
    Files,
    /// The parts library (JSON).
    Library,
    /// A line sheet (TOML).
    Line,
    /// Order rules and locks (TOML).
    Locks,
    /// A plan with its inputs (JSON).
    Plan,
}

/// All kinds, in the order in which an export writes them.
pub const KINDS: [Kind; 6] = [Kind::Files, Kind::Product, Kind::Library, Kind::Line, Kind::Locks, Kind::Plan];

impl Kind {
    /// Its word in the database, in addresses and in the export.
    pub fn word(self) -> &'static str {
        match self {
            Self::Product => "product",
            Self::Files => "files",
            Self::Library => "library",
            Self::Line => "line",
            Self::Locks => "locks",
            Self::Plan => "plan",
        }
    }

    /// The kind of a word.
    pub fn of(word: &str) -> Option<Self> {
        KINDS.into_iter().find(|k| k.word() == word)
    }

    /// The ending of its files.
    pub fn ending(self) -> &'static str {
        match self {
            Self::Product | Self::Library | Self::Plan => "json",
            Self::Files => "zip",
            Self::Line | Self::Locks => "toml",
        }
    }
}

/// A document without its body.
#[derive(Clone, Debug, Serialize)]
pub struct Head {
    /// Its identity.
    pub id: String,
    /// What it is.
    pub kind: Kind,
    /// Its name, the only one of its kind.
    pub name: String,
    /// Number of the version, counted from 1.
    pub version: i64,
    /// When the version was saved [µs since 1970].
    pub at: Stamp,
    /// Who saved it.
    pub author: String,
    /// What was changed, in words.
    pub note: String,
    /// Whether this version says that the document is gone.
    pub removed: bool,
    /// What lists show of it: JSON chosen by whoever saves.
    pub summary: String,
}

/// A document to be saved.
#[derive(Clone, Copy, Debug)]
pub struct Draft<'a> {
    /// What it is.
    pub kind: Kind,
    /// Its name.
    pub name: &'a str,
    /// What lists show of it: JSON.
    pub summary: &'a str,
    /// What it says.
    pub body: &'a [u8],
    /// What was changed, in words.
    pub note: &'a str,
}

type HeadRow = (String, String, String, i64, i64, String, String, i64, String);

const HEAD: &str = "d.id, d.kind, d.name, v.number, v.at, v.author, v.note, v.removed, v.summary";

fn head((id, kind, name, version, at, author, note, removed, summary): HeadRow) -> Result<Head, Trouble> {
    let kind = Kind::of(&kind).ok_or_else(|| Trouble::Database(format!("a document is of the unknown kind `{kind}`")))?;
    Ok(Head { id, kind, name, version, at, author, note, removed: removed != 0, summary })
}

/// A statement put together from fixed text and [`HEAD`]; no value of anybody's is ever in it.
fn sql(text: String) -> sqlx::AssertSqlSafe<String> {
    sqlx::AssertSqlSafe(text)
}

impl Store {
    /// Saves a document as a new one (`base` is `None`) or as the version after `base`; a name whose document was removed may be used anew.
    ///
    /// # Errors
    /// [`Trouble::Conflict`] when another version stands than `base`, with who saved it and when; [`Trouble::Refused`] for a name
    /// that is taken, empty or long; [`Trouble::Database`].
    pub async fn save(&self, draft: Draft<'_>, base: Option<i64>, author: &str) -> Result<Head, Trouble> {
        self.add_version(draft, base, author, false).await
    }

    /// Says that a document is gone. Its versions stay.
    ///
    /// # Errors
    /// As [`Store::save`], and [`Trouble::Missing`].
    pub async fn remove(&self, kind: Kind, name: &str, base: i64, author: &str) -> Result<Head, Trouble> {
        let summary = self.head(kind, name).await?.summary;
        let draft = Draft { kind, name, summary: &summary, body: &[], note: "removed" };
        self.add_version(draft, Some(base), author, true).await
    }

    async fn add_version(&self, draft: Draft<'_>, base: Option<i64>, author: &str, removed: bool) -> Result<Head, Trouble> {
        check_name(draft.name)?;
        let (kind, at, packed) = (draft.kind.word(), crate::now(), pack(draft.body)?);
        let taken = || format!("there is a {kind} named `{}` already", draft.name);
        let (id, number): (String, i64) = on!(self, pool, begin => {
            let mut tx = pool.begin_with(begin).await?;
            let find = "SELECT d.id, d.latest, v.removed, v.author, v.at FROM document d \
                JOIN version v ON v.document = d.id AND v.number = d.latest WHERE d.kind = $1 AND d.name = $2";
            let found: Option<(String, i64, i64, String, i64)> = sqlx::query_as(find).bind(kind).bind(draft.name).fetch_optional(&mut *tx).await?;
            let (id, latest) = match (found, base) {
                (None, None) => {
                    let id = secret::id();
                    sqlx::query("INSERT INTO document (id, kind, name, latest) VALUES ($1, $2, $3, 0)").bind(&id).bind(kind).bind(draft.name)
                        .execute(&mut *tx).await.map_err(|e| Trouble::unique(e, taken))?;
                    (id, 0)
                }
                (None, Some(_)) => return Err(Trouble::Missing),
                (Some((_, _, 0, ..)), None) => return Err(Trouble::Refused(taken())),
                (Some((id, latest, ..)), None) => (id, latest),
                (Some((id, latest, ..)), Some(base)) if base == latest => (id, latest),
                (Some((_, latest, _, author, at)), Some(_)) => return Err(Trouble::Conflict { latest, author, at }),
            };
            let number = latest + 1;
            // Two writers may have read the same number; the second finds no row to change.
            let changed = sqlx::query("UPDATE document SET latest = $1 WHERE id = $2 AND latest = $3").bind(number).bind(&id).bind(latest)
                .execute(&mut *tx).await?.rows_affected();
            if changed == 0 {
                drop(tx);
                let now = self.head_any(draft.kind, draft.name).await?;
                return Err(Trouble::Conflict { latest: now.version, author: now.author, at: now.at });
            }
            let add = "INSERT INTO version (document, number, at, author, note, removed, summary, body) VALUES ($1, $2, $3, $4, $5, $6, $7, $8)";
            sqlx::query(add).bind(&id).bind(number).bind(at).bind(author).bind(draft.note).bind(i64::from(removed)).bind(draft.summary)
                .bind(&packed).execute(&mut *tx).await?;
            let action = if removed { "remove" } else { "save" };
            note!(tx, author, action, format!("{kind} {}", draft.name), format!("version {number}: {}", draft.note))?;
            tx.commit().await?;
            (id, number)
        });
        Ok(Head {
            id,
            kind: draft.kind,
            name: draft.name.to_owned(),
            version: number,
            at,
            author: author.to_owned(),
            note: draft.note.to_owned(),
            removed,
            summary: draft.summary.to_owned(),
        })
    }

    /// The latest version of a document, removed or not.
    async fn head_any(&self, kind: Kind, name: &str) -> Result<Head, Trouble> {
        let text = format!(
            "SELECT {HEAD} FROM document d JOIN version v ON v.document = d.id AND v.number = d.latest WHERE d.kind = $1 AND d.name = $2"
        );
        head(on!(self, pool => sqlx::query_as(sql(text)).bind(kind.word()).bind(name).fetch_one(pool).await?))
    }

    /// The latest version of a document.
    ///
    /// # Errors
    /// [`Trouble::Missing`], also when it was removed.
    pub async fn head(&self, kind: Kind, name: &str) -> Result<Head, Trouble> {
        let found = self.head_any(kind, name).await?;
        if found.removed { Err(Trouble::Missing) } else { Ok(found) }
    }

    /// A document by its identity, latest version.
    ///
    /// # Errors
    /// [`Trouble::Missing`], also when it was removed.
    pub async fn head_of(&self, id: &str) -> Result<Head, Trouble> {
        let text = format!("SELECT {HEAD} FROM document d JOIN version v ON v.document = d.id AND v.number = d.latest WHERE d.id = $1");
        let found = head(on!(self, pool => sqlx::query_as(sql(text)).bind(id).fetch_one(pool).await?))?;
        if found.removed { Err(Trouble::Missing) } else { Ok(found) }
    }

    /// All documents of a kind that are not removed, newest change first.
    ///
    /// # Errors
    /// [`Trouble::Database`].
    pub async fn list(&self, kind: Kind) -> Result<Vec<Head>, Trouble> {
        self.newest(kind, i64::MAX).await
    }

    /// How many documents of a kind there are that are not removed.
    ///
    /// # Errors
    /// [`Trouble::Database`].
    pub async fn count(&self, kind: Kind) -> Result<i64, Trouble> {
        let text = "SELECT COUNT(*) FROM document d JOIN version v ON v.document = d.id AND v.number = d.latest \
                    WHERE d.kind = $1 AND v.removed = 0";
        let (count,): (i64,) = on!(self, pool => sqlx::query_as(text).bind(kind.word()).fetch_one(pool).await?);
        Ok(count)
    }

    /// At most so many documents of a kind that are not removed, newest change first.
    ///
    /// # Errors
    /// [`Trouble::Database`].
    pub async fn newest(&self, kind: Kind, most: i64) -> Result<Vec<Head>, Trouble> {
        let text = format!(
            "SELECT {HEAD} FROM document d JOIN version v ON v.document = d.id AND v.number = d.latest \
             WHERE d.kind = $1 AND v.removed = 0 ORDER BY v.at DESC, d.name LIMIT $2"
        );
        let rows: Vec<HeadRow> = on!(self, pool => sqlx::query_as(sql(text)).bind(kind.word()).bind(most).fetch_all(pool).await?);
        rows.into_iter().map(head).collect()
    }

    /// All versions of a document, newest first.
    ///
    /// # Errors
    /// [`Trouble::Database`].
    pub async fn versions(&self, kind: Kind, name: &str) -> Result<Vec<Head>, Trouble> {
        let text = format!(
            "SELECT {HEAD} FROM document d JOIN version v ON v.document = d.id WHERE d.kind = $1 AND d.name = $2 ORDER BY v.number DESC"
        );
        let rows: Vec<HeadRow> = on!(self, pool => sqlx::query_as(sql(text)).bind(kind.word()).bind(name).fetch_all(pool).await?);
        rows.into_iter().map(head).collect()
    }

    /// What a version of a document says; `None` is the latest.
    ///
    /// # Errors
    /// [`Trouble::Missing`] when there is no such version or it says that the document is gone; [`Trouble::Database`].
    pub async fn read(&self, kind: Kind, name: &str, version: Option<i64>) -> Result<(Head, Vec<u8>), Trouble> {
        let version = match version {
            Some(number) => number,
            None => self.head(kind, name).await?.version,
        };
        let text = format!(
            "SELECT {HEAD} FROM document d JOIN version v ON v.document = d.id WHERE d.kind = $1 AND d.name = $2 AND v.number = $3"
        );
        let of: HeadRow = on!(self, pool => sqlx::query_as(sql(text)).bind(kind.word()).bind(name).bind(version).fetch_one(pool).await?);
        let of = head(of)?;
        if of.removed {
            return Err(Trouble::Missing);
        }
        let body = "SELECT body FROM version WHERE document = $1 AND number = $2";
        let (packed,): (Vec<u8>,) = on!(self, pool => sqlx::query_as(body).bind(&of.id).bind(version).fetch_one(pool).await?);
        Ok((of, unpack(&packed)?))
    }
}

/// Whether a name can be one: names stand in addresses and become names of files, so no control characters, no slashes, not only dots.
///
/// # Errors
/// [`Trouble::Refused`] with what is wrong.
pub fn check_name(name: &str) -> Result<(), Trouble> {
    let refuse = |why: &str| Err(Trouble::Refused(format!("`{}` {why}", name.chars().take(MOST_NAME).collect::<String>())));
    if name.trim().is_empty() {
        return Err(Trouble::Refused("a name is wanted".to_owned()));
    }
    if name.trim() != name || name.chars().all(|c| c == '.') {
        return refuse("is no name: it begins or ends with a space, or is only dots");
    }
    if name.chars().count() > MOST_NAME {
        return refuse("… is too long a name: at most 120 characters");
    }
    if name.chars().any(|c| c.is_control() || matches!(c, '/' | '\\' | ':' | '<' | '>' | '"' | '|' | '?' | '*')) {
        return refuse("holds a character that names must not have: / \\ : < > \" | ? * or a control character");
    }
    Ok(())
}

pub(crate) fn pack(body: &[u8]) -> Result<Vec<u8>, Trouble> {
    let mut encoder = ZlibEncoder::new(Vec::new(), Compression::fast());
    encoder.write_all(body).and_then(|()| encoder.finish()).map_err(|e| Trouble::Database(e.to_string()))
}

pub(crate) fn unpack(packed: &[u8]) -> Result<Vec<u8>, Trouble> {
    let mut body = Vec::new();
    ZlibDecoder::new(packed).read_to_end(&mut body).map_err(|e| Trouble::Database(format!("a stored body is damaged: {e}")))?;
    Ok(body)
}
