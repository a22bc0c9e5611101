//! The tables that the queue's library keeps beside ours, where it has no words of its own for what is to be done with them.
//!
//! The library hands out the identities of jobs; what counts stands in the [job](crate::job) table. Its own tables only say which
//! identities are on their way, so what is over can go.

use crate::pool::Pool;
use crate::{Store, Trouble};
use sqlx::error::DatabaseError;

/// How long the library's record of a worker outlives it, where no task names it any more.
const WORKERS_KEPT: &str = "3600 seconds";

impl Store {
    /// Takes away the tasks of a queue that are over, and workers long gone; answers the keys of the tasks that are on their way.
    ///
    /// # Errors
    /// [`Trouble::Database`].
    pub async fn sweep_tasks(&self, queue: &str) -> Result<Vec<String>, Trouble> {
        let keys: Vec<(String,)> = match &self.pool {
            Pool::Sqlite(pool) => {
                let over = "DELETE FROM Jobs WHERE job_type = $1 \
                    AND (status IN ('Done', 'Killed') OR (status = 'Failed' AND attempts >= max_attempts))";
                sqlx::query(over).bind(queue).execute(pool).await?;
                let gone = "DELETE FROM Workers WHERE worker_type = $1 AND last_seen < CAST(strftime('%s', 'now', '-' || $2) AS INTEGER) \
                    AND id NOT IN (SELECT lock_by FROM Jobs WHERE lock_by IS NOT NULL)";
                sqlx::query(gone).bind(queue).bind(WORKERS_KEPT).execute(pool).await?;
                let left = "SELECT idempotency_key FROM Jobs WHERE job_type = $1 AND idempotency_key IS NOT NULL";
                sqlx::query_as(left).bind(queue).fetch_all(pool).await?
            }
            Pool::Postgres(pool) => {
                let over = "DELETE FROM apalis.jobs WHERE job_type = $1 \
                    AND (status IN ('Done', 'Killed') OR (status = 'Failed' AND attempts >= max_attempts))";
                sqlx::query(over).bind(queue).execute(pool).await?;
                let gone = "DELETE FROM apalis.workers w WHERE worker_type = $1 AND last_seen < now() - $2::interval \
                    AND NOT EXISTS (SELECT 1 FROM apalis.jobs j WHERE j.lock_by = w.id)";
                sqlx::query(gone).bind(queue).bind(WORKERS_KEPT).execute(pool).await?;
                let left = "SELECT idempotency_key FROM apalis.jobs WHERE job_type = $1 AND idempotency_key IS NOT NULL";
                sqlx::query_as(left).bind(queue).fetch_all(pool).await?
            }
        };
        Ok(keys.into_iter().map(|k| k.0).collect())
    }

    /// Sees to it that PostgreSQL has what the library's tables need: its key-and-value type. SQLite needs nothing.
    ///
    /// # Errors
    /// [`Trouble::Refused`] with what an administrator of the database is to do.
    pub async fn want_hstore(&self) -> Result<(), Trouble> {
        let Pool::Postgres(pool) = &self.pool else { return Ok(()) };
        let has = || async {
            let found: Option<(i32,)> = sqlx::query_as("SELECT 1 FROM pg_extension WHERE extname = 'hstore'").fetch_optional(pool).await?;
            Ok::<bool, sqlx::Error>(found.is_some())
        };
        if has().await? {
            return Ok(());
        }
        match sqlx::query("CREATE EXTENSION IF NOT EXISTS hstore").execute(pool).await {
            Ok(_) => Ok(()),
            // Two processes that begin at once both find it missing, and one of them is refused.
            Err(_) if has().await? => Ok(()),
            Err(e) => match e.as_database_error().map(DatabaseError::message) {
                None => Err(e.into()),
                Some(why) => Err(Trouble::Refused(format!(
                    "the database lacks the extension `hstore`, which the queue of jobs needs, and did not let it be added ({why}). \
                     Ask an administrator of the database to run `CREATE EXTENSION hstore;` in it once; \
                     Debian's package `postgresql` has it, elsewhere it may be in a package of additions (contrib)"
                ))),
            },
        }
    }
}
