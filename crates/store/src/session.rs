//! Sessions of browsers. The identity of a session is a secret: only its hash is kept.

use crate::pool::on;
use crate::{Stamp, Store, Trouble, secret};

impl Store {
    /// Keeps a session.
    ///
    /// # Errors
    /// [`Trouble::Refused`] when `new` and the identity is in use; [`Trouble::Database`].
    pub async fn keep_session(&self, id: &str, data: &str, expires: Stamp, new: bool) -> Result<(), Trouble> {
        let hash = secret::hash(id);
        let add = "INSERT INTO session (hash, data, expires) VALUES ($1, $2, $3)";
        let put = "INSERT INTO session (hash, data, expires) VALUES ($1, $2, $3) \
            ON CONFLICT (hash) DO UPDATE SET data = excluded.data, expires = excluded.expires";
        on!(self, pool => {
            sqlx::query(if new { add } else { put }).bind(hash).bind(data).bind(expires).execute(pool).await
                .map_err(|e| Trouble::unique(e, || "the session exists".to_owned()))?;
        });
        Ok(())
    }

    /// What a session holds, while it is valid.
    ///
    /// # Errors
    /// [`Trouble::Database`].
    pub async fn session(&self, id: &str) -> Result<Option<String>, Trouble> {
        let sql = "SELECT data FROM session WHERE hash = $1 AND expires > $2";
        let row: Option<(String,)> =
            on!(self, pool => sqlx::query_as(sql).bind(secret::hash(id)).bind(crate::now()).fetch_optional(pool).await?);
        Ok(row.map(|r| r.0))
    }

    /// Ends a session.
    ///
    /// # Errors
    /// [`Trouble::Database`].
    pub async fn end_session(&self, id: &str) -> Result<(), Trouble> {
        on!(self, pool => sqlx::query("DELETE FROM session WHERE hash = $1").bind(secret::hash(id)).execute(pool).await.map(drop))?;
        Ok(())
    }

    /// Takes away the sessions that have ended by themselves.
    ///
    /// # Errors
    /// [`Trouble::Database`].
    pub async fn sweep_sessions(&self) -> Result<(), Trouble> {
        on!(self, pool => sqlx::query("DELETE FROM session WHERE expires <= $1").bind(crate::now()).execute(pool).await.map(drop))?;
        Ok(())
    }
}
