//! The audit log: who did what, and when.

use crate::pool::on;
use crate::{Stamp, Store, Trouble, secret};
use serde::Serialize;

/// A line of the log.
#[derive(Clone, Debug, Serialize)]
pub struct Entry {
    /// When [µs since 1970].
    pub at: Stamp,
    /// Name of the person, or what acted without one.
    pub who: String,
    /// What was done, a word of the program's choice: `save`, `sign-in`, `refused`.
    pub action: String,
    /// To what.
    pub subject: String,
    /// More, in words.
    pub detail: String,
}

/// The statement that adds a line; used inside the transaction of the change it tells of.
pub(crate) const ADD: &str = "INSERT INTO audit (at, id, who, action, subject, detail) VALUES ($1, $2, $3, $4, $5, $6)";

/// Adds a line inside a transaction.
macro_rules! note {
    ($tx:expr, $who:expr, $action:expr, $subject:expr, $detail:expr) => {
        sqlx::query($crate::audit::ADD)
            .bind($crate::now())
            .bind($crate::secret::id())
            .bind($who)
            .bind($action)
            .bind($subject)
            .bind($detail)
            .execute(&mut *$tx)
            .await
    };
}
pub(crate) use note;

impl Store {
    /// Adds a line that belongs to no change of the store: a sign-in, a refusal.
    ///
    /// # Errors
    /// [`Trouble::Database`].
    pub async fn note(&self, who: &str, action: &str, subject: &str, detail: &str) -> Result<(), Trouble> {
        let (at, id) = (crate::now(), secret::id());
        on!(self, pool => {
            sqlx::query(ADD).bind(at).bind(id).bind(who).bind(action).bind(subject).bind(detail).execute(pool).await?;
        });
        Ok(())
    }

    /// The newest lines before a time, newest first.
    ///
    /// # Errors
    /// [`Trouble::Database`].
    pub async fn audit(&self, before: Stamp, most: i64) -> Result<Vec<Entry>, Trouble> {
        let sql = "SELECT at, who, action, subject, detail FROM audit WHERE at < $1 ORDER BY at DESC, id DESC LIMIT $2";
        type Row = (i64, String, String, String, String);
        let rows: Vec<Row> = on!(self, pool => sqlx::query_as(sql).bind(before).bind(most).fetch_all(pool).await?);
        Ok(rows.into_iter().map(|(at, who, action, subject, detail)| Entry { at, who, action, subject, detail }).collect())
    }
}
