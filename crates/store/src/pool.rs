//! Connections to one of the two databases.

use crate::Trouble;
use sqlx::migrate::Migrator;
use sqlx::postgres::{PgPool, PgPoolOptions};
use sqlx::sqlite::{SqliteConnectOptions, SqliteJournalMode, SqlitePool, SqlitePoolOptions, SqliteSynchronous};
use std::path::Path;
use std::time::Duration;

/// How often a file's tables are tried to be brought up to date. Two processes that open a new file at once make the same table, and
/// one of them is refused; it then finds that the other got further. A server lets one wait for the other.
const TRIES: u32 = 40;

/// Between two such tries.
const PAUSE: Duration = Duration::from_millis(50);

/// The store. Cheap to clone: clones share their connections.
#[derive(Clone, Debug)]
pub struct Store {
    pub(crate) pool: Pool,
}

/// Connections; public for the queue, which keeps its own tables beside ours.
#[derive(Clone, Debug)]
pub enum Pool {
    /// A file on this machine.
    Sqlite(SqlitePool),
    /// A server.
    Postgres(PgPool),
}

/// Runs the same statements on either database: `on!(store, pool, begin => …)`. The first word of a transaction differs, as
/// SQLite asks writers to say so at once.
macro_rules! on {
    ($store:expr, $pool:ident => $body:expr) => {
        match &$store.pool {
            $crate::pool::Pool::Sqlite($pool) => $body,
            $crate::pool::Pool::Postgres($pool) => $body,
        }
    };
    ($store:expr, $pool:ident, $begin:ident => $body:expr) => {
        match &$store.pool {
            $crate::pool::Pool::Sqlite($pool) => {
                let $begin = "BEGIN IMMEDIATE";
                $body
            }
            $crate::pool::Pool::Postgres($pool) => {
                let $begin = "BEGIN";
                $body
            }
        }
    };
}
pub(crate) use on;

/// The tables of the room. Their own record of changes, so that the queue can keep its beside it.
fn migrator() -> Migrator {
    let mut migrator = sqlx::migrate!("./schema");
    migrator.dangerous_set_table_name("room_schema");
    migrator
}

impl Store {
    /// Opens a store and brings its tables up to date. `postgres://…` is a server, anything else the path of a file, made if
    /// there is none.
    ///
    /// # Errors
    /// [`Trouble::Database`] when it cannot be reached or its tables are of a newer program.
    pub async fn open(place: &str) -> Result<Self, Trouble> {
        let store = if place.starts_with("postgres://") || place.starts_with("postgresql://") {
            let pool = PgPoolOptions::new().max_connections(16).acquire_timeout(Duration::from_secs(10)).connect(place).await?;
            Self { pool: Pool::Postgres(pool) }
        } else {
            let options = SqliteConnectOptions::new()
                .filename(Path::new(place))
                .create_if_missing(true)
                .journal_mode(SqliteJournalMode::Wal)
                // With a write-ahead log a power cut may take back the last commits if this is not full.
                .synchronous(SqliteSynchronous::Full)
                .foreign_keys(true)
                .busy_timeout(Duration::from_secs(10));
            let mut tries = TRIES;
            loop {
                match SqlitePoolOptions::new().max_connections(8).connect_with(options.clone()).await {
                    Ok(pool) => break Self { pool: Pool::Sqlite(pool) },
                    Err(e) => {
                        tries -= 1;
                        // Turning to the write-ahead log does not wait for another process that does so at the same moment.
                        let busy = e.as_database_error().is_some_and(|d| d.message().contains("locked"));
                        if tries == 0 || !busy {
                            return Err(e.into());
                        }
                        tokio::time::sleep(PAUSE).await;
                    }
                }
            }
        };
        let mut tries = TRIES;
        while let Err(e) = on!(store, pool => migrator().run(pool).await) {
            tries -= 1;
            if tries == 0 || store.is_shared() {
                return Err(Trouble::Database(e.to_string()));
            }
        }
        Ok(store)
    }

    /// Its connections.
    pub fn pool(&self) -> &Pool {
        &self.pool
    }

    /// Whether several processes on several machines may work on it.
    pub fn is_shared(&self) -> bool {
        matches!(self.pool, Pool::Postgres(_))
    }

    /// Answers when the database answers.
    ///
    /// # Errors
    /// [`Trouble::Database`] when it does not.
    pub async fn is_alive(&self) -> Result<(), Trouble> {
        on!(self, pool => sqlx::query("SELECT 1").execute(pool).await.map(drop))?;
        Ok(())
    }

    /// Closes all connections, so that what is in the log of a file is written into it.
    pub async fn close(&self) {
        on!(self, pool => pool.close().await);
    }
}
