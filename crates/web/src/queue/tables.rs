//! The library's tables and the library's view of them.

use apalis::prelude::{TaskBuilder, TaskSink, TaskSinkError};
use apalis_postgres::PostgresStorage;
use apalis_sqlite::SqliteStorage;
use std::time::Duration;
use store::pool::Pool;
use store::{Store, Trouble};

/// What the library calls our queue.
pub(super) const QUEUE: &str = "room";

/// Between two signs of life of a worker.
const HEARTBEAT: Duration = Duration::from_secs(2);

/// Signs of life that may be missing before the library hands a worker's tasks to another.
const MISSED: usize = 2;

/// Times two processes that make the tables of one new file at once may get into each other's way.
const TRIES: u32 = 40;

/// Between two such tries.
const PAUSE: Duration = Duration::from_millis(50);

/// The queue in a file.
pub(super) fn in_file(pool: &apalis_sqlite::SqlitePool) -> SqliteStorage<String> {
    let config = apalis_sqlite::Config::default()
        .queue(QUEUE)
        // A worker that holds tasks it has no place for gives no sign of life meanwhile.
        .batch_size(1)
        .heartbeat_interval(HEARTBEAT)
        .missed_heartbeats(MISSED);
    SqliteStorage::new(pool).with_config(config)
}

/// The queue in a server.
pub(super) fn in_server(pool: &apalis_postgres::PgPool) -> PostgresStorage<String> {
    let config = apalis_postgres::Config::default().queue(QUEUE).batch_size(1).heartbeat_interval(HEARTBEAT).missed_heartbeats(MISSED);
    PostgresStorage::new(pool).with_config(config)
}

/// Brings the library's tables up to date.
///
/// Not by its own set-up: that would turn off waiting for the disk on SQLite, for all tables of the file.
pub(super) async fn prepare(store: &Store) -> Result<(), Trouble> {
    match store.pool() {
        Pool::Sqlite(pool) => {
            let mut tries = TRIES;
            loop {
                let mut migrations = SqliteStorage::migrations();
                // Its record of changes gets a name of its own, as ours has.
                migrations.dangerous_set_table_name("queue_schema");
                match migrations.run(pool).await {
                    Ok(()) => return Ok(()),
                    Err(e) if tries == 0 => return Err(Trouble::Database(format!("the tables of the queue: {e}"))),
                    Err(_) => tries -= 1,
                }
                tokio::time::sleep(PAUSE).await;
            }
        }
        Pool::Postgres(pool) => {
            store.want_hstore().await?;
            PostgresStorage::setup(pool).await.map_err(|e| match e.to_string() {
                denied if denied.contains("permission denied") => Trouble::Refused(format!(
                    "the queue of jobs keeps its tables in a schema `apalis` and may not make it ({denied}). Ask an administrator of the \
                     database to run `GRANT CREATE ON DATABASE … TO …;` for this role"
                )),
                other => Trouble::Database(format!("the tables of the queue: {other}")),
            })
        }
    }
}

/// Adds a task for a job, unless one is on its way.
pub(super) async fn add(store: &Store, job: &str) -> Result<(), Trouble> {
    let task = TaskBuilder::new(job.to_owned()).idempotency_key(job).build();
    match store.pool() {
        Pool::Sqlite(pool) => in_file(pool).push_task(task).await.map_err(|e| Trouble::Database(e.to_string())),
        Pool::Postgres(pool) => match in_server(pool).push_task(task).await {
            // For SQLite the library passes over a key that is there, for PostgreSQL it does not.
            Err(TaskSinkError::PushError(apalis_postgres::Error::Database(e)))
                if e.as_database_error().is_some_and(|d| d.is_unique_violation()) =>
            {
                Ok(())
            }
            other => other.map_err(|e| Trouble::Database(e.to_string())),
        },
    }
}
