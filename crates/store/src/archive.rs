//! Backup, restore and export.
//!
//! A backup is one ZIP archive: a file of JSON lines for each table, and one that says which program wrote it. It is the same for
//! both databases, so a room that began on SQLite moves to PostgreSQL by a backup and a restore. Sessions are left out: everybody
//! signs in again. An export is files that the command line reads, the latest version of everything; it cannot be restored.

use crate::document::KINDS;
use crate::pool::on;
use crate::{Store, Trouble};
use serde_json::{Map, Value, json};
use sqlx::Row;
use sqlx::error::ErrorKind;
use std::io::{BufRead, BufReader, Read, Seek, Write};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipArchive, ZipWriter};

/// What a backup calls itself.
const FORMAT: &str = "evenline-backup/1";

/// Rows held in memory at once.
const ROWS: i64 = 100;

/// Longest line of a backup that is read [bytes].
const MOST_LINE: u64 = 1 << 30;

#[derive(Clone, Copy, PartialEq, Eq)]
enum Cell {
    Text,
    Whole,
    Bytes,
}

struct Table {
    name: &'static str,
    columns: &'static [(&'static str, Cell)],
    /// Columns of the primary key, for an order that does not change between two reads.
    order: &'static str,
}

use Cell::{Bytes, Text, Whole};

/// The tables in an order in which rows that others refer to come first.
const TABLES: [Table; 7] = [
    Table { name: "document", columns: &[("id", Text), ("kind", Text), ("name", Text), ("latest", Whole)], order: "id" },
    Table {
        name: "version",
        columns: &[
            ("document", Text),
            ("number", Whole),
            ("at", Whole),
            ("author", Text),
            ("note", Text),
            ("removed", Whole),
            ("summary", Text),
            ("body", Bytes),
        ],
        order: "document, number",
    },
    Table {
        name: "person",
        columns: &[("id", Text), ("name", Text), ("role", Text), ("password", Text), ("disabled", Whole), ("created", Whole)],
        order: "id",
    },
    Table {
        name: "invitation",
        columns: &[("hash", Text), ("role", Text), ("author", Text), ("created", Whole), ("expires", Whole), ("used", Whole)],
        order: "hash",
    },
    Table {
        name: "token",
        columns: &[
            ("id", Text),
            ("hash", Text),
            ("person", Text),
            ("label", Text),
            ("role", Text),
            ("created", Whole),
            ("expires", Whole),
            ("revoked", Whole),
        ],
        order: "id",
    },
    Table {
        name: "job",
        columns: &[
            ("id", Text),
            ("kind", Text),
            ("title", Text),
            ("payload", Text),
            ("author", Text),
            ("created", Whole),
            ("state", Text),
            ("attempt", Whole),
            ("worker", Text),
            ("lease", Text),
            ("lease_until", Whole),
            ("progress", Text),
            ("checkpoint", Bytes),
            ("cancel", Whole),
            ("result", Text),
            ("ended", Whole),
        ],
        order: "id",
    },
    Table {
        name: "audit",
        columns: &[("at", Whole), ("id", Text), ("who", Text), ("action", Text), ("subject", Text), ("detail", Text)],
        order: "id",
    },
];

impl Table {
    fn names(&self) -> String {
        self.columns.iter().map(|c| c.0).collect::<Vec<_>>().join(", ")
    }
}

/// A row that the tables do not take: the archive's fault, as nothing else is kept here yet.
fn of_row(table: &str, e: sqlx::Error) -> Trouble {
    let refused = e.as_database_error().is_some_and(|d| {
        d.is_unique_violation() || d.is_foreign_key_violation() || d.is_check_violation() || matches!(d.kind(), ErrorKind::NotNullViolation)
    });
    if refused { damaged(format!("a row of `{table}` contradicts the others: {e}")) } else { e.into() }
}

fn damaged(e: impl std::fmt::Display) -> Trouble {
    Trouble::Refused(format!("the backup cannot be read: {e}"))
}

impl Store {
    /// Writes a backup of one moment, while others go on working; answers the number of rows.
    ///
    /// # Errors
    /// [`Trouble::Database`], also when the archive cannot be written.
    pub async fn backup<W: Write + Seek>(&self, into: W) -> Result<u64, Trouble> {
        let unwritten = |e: &dyn std::fmt::Display| Trouble::Database(format!("the backup cannot be written: {e}"));
        let mut archive = ZipWriter::new(into);
        let options = SimpleFileOptions::default().compression_method(CompressionMethod::Deflated);
        let entry = |archive: &mut ZipWriter<W>, name: &str| archive.start_file(name, options.large_file(true)).map_err(|e| unwritten(&e));
        entry(&mut archive, "backup.json")?;
        archive.write_all(json!({ "format": FORMAT, "at": crate::now() }).to_string().as_bytes()).map_err(|e| unwritten(&e))?;
        let mut rows_in_all = 0;
        // A reading transaction sees one moment: on SQLite always, on PostgreSQL when asked.
        on!(self, pool, begin => {
            let begin = if begin == "BEGIN" { "BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY" } else { "BEGIN" };
            let mut tx = pool.begin_with(begin).await?;
            for table in &TABLES {
                entry(&mut archive, &format!("{}.jsonl", table.name))?;
                let mut done = 0;
                loop {
                    let text = format!("SELECT {} FROM {} ORDER BY {} LIMIT $1 OFFSET $2", table.names(), table.name, table.order);
                    let rows = sqlx::query(sqlx::AssertSqlSafe(text)).bind(ROWS).bind(done).fetch_all(&mut *tx).await?;
                    for row in &rows {
                        let mut line = Map::new();
                        for (i, (name, cell)) in table.columns.iter().enumerate() {
                            let value = match cell {
                                Text => Value::from(row.try_get::<String, _>(i)?),
                                Whole => Value::from(row.try_get::<i64, _>(i)?),
                                Bytes => Value::from(hex(&row.try_get::<Vec<u8>, _>(i)?)),
                            };
                            line.insert((*name).to_owned(), value);
                        }
                        writeln!(archive, "{}", Value::Object(line)).map_err(|e| unwritten(&e))?;
                    }
                    done += rows.len() as i64;
                    if (rows.len() as i64) < ROWS {
                        break;
                    }
                }
                rows_in_all += done as u64;
            }
        });
        archive.finish().and_then(|mut w| w.flush().map_err(Into::into)).map_err(|e| unwritten(&e))?;
        Ok(rows_in_all)
    }

    /// Restores a backup into a store in which nothing is kept yet; answers the number of rows. All of it comes in, or nothing.
    ///
    /// # Errors
    /// [`Trouble::Refused`] when the store is in use, or the archive is none or is damaged; [`Trouble::Database`].
    pub async fn restore<R: Read + Seek>(&self, from: R) -> Result<u64, Trouble> {
        let mut archive = ZipArchive::new(from).map_err(damaged)?;
        let about: Value = serde_json::from_reader(archive.by_name("backup.json").map_err(damaged)?).map_err(damaged)?;
        if about["format"] != FORMAT {
            return Err(damaged(format!("this program reads `{FORMAT}`, not {}", about["format"])));
        }
        let mut rows = 0;
        on!(self, pool, begin => {
            let mut tx = pool.begin_with(begin).await?;
            for table in &TABLES {
                // What a room writes by itself when it is opened first is no obstacle.
                if !matches!(table.name, "invitation" | "audit") {
                    let count = sqlx::AssertSqlSafe(format!("SELECT COUNT(*) FROM {}", table.name));
                    let (kept,): (i64,) = sqlx::query_as(count).fetch_one(&mut *tx).await?;
                    if kept > 0 {
                        return Err(Trouble::Refused(format!("the store is in use: it has {kept} rows in `{}`; restore into a new one", table.name)));
                    }
                }
                let places: Vec<String> = (1..=table.columns.len()).map(|i| format!("${i}")).collect();
                let add = format!("INSERT INTO {} ({}) VALUES ({})", table.name, table.names(), places.join(", "));
                let entry = archive.by_name(&format!("{}.jsonl", table.name)).map_err(damaged)?;
                let mut reader = BufReader::new(entry);
                let mut line = String::new();
                while reader.by_ref().take(MOST_LINE).read_line(&mut line).map_err(damaged)? > 0 {
                    let value: Value = serde_json::from_str(&line).map_err(damaged)?;
                    let mut query = sqlx::query(sqlx::AssertSqlSafe(add.clone()));
                    for (name, cell) in table.columns {
                        let wrong = || damaged(format!("`{name}` of `{}` is missing or of another type", table.name));
                        query = match cell {
                            Text => query.bind(value[name].as_str().ok_or_else(wrong)?.to_owned()),
                            Whole => query.bind(value[name].as_i64().ok_or_else(wrong)?),
                            Bytes => query.bind(value[name].as_str().and_then(unhex).ok_or_else(wrong)?),
                        };
                    }
                    query.execute(&mut *tx).await.map_err(|e| of_row(table.name, e))?;
                    rows += 1;
                    line.clear();
                }
            }
            tx.commit().await?;
        });
        Ok(rows)
    }

    /// Hands the latest version of every document to `write`, as a path with slashes and its bytes: `line/head-swap.toml`.
    ///
    /// # Errors
    /// [`Trouble::Database`], and whatever `write` says.
    pub async fn export(&self, mut write: impl FnMut(&str, &[u8]) -> Result<(), Trouble>) -> Result<usize, Trouble> {
        let mut n = 0;
        for kind in KINDS {
            for head in self.list(kind).await? {
                let (_, body) = self.read(kind, &head.name, Some(head.version)).await?;
                write(&format!("{}/{}.{}", kind.word(), head.name, kind.ending()), &body)?;
                n += 1;
            }
        }
        Ok(n)
    }
}

fn hex(bytes: &[u8]) -> String {
    use std::fmt::Write as _;
    let mut text = String::with_capacity(2 * bytes.len());
    for b in bytes {
        // Writing into a string does not fail.
        let _ = write!(text, "{b:02x}");
    }
    text
}

fn unhex(text: &str) -> Option<Vec<u8>> {
    let digits = text.as_bytes();
    if !digits.len().is_multiple_of(2) || !digits.iter().all(u8::is_ascii_hexdigit) {
        return None;
    }
    digits.chunks(2).map(|pair| u8::from_str_radix(std::str::from_utf8(pair).ok()?, 16).ok()).collect()
}
