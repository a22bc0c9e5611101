//! One story, told to both databases.

#[path = "../common/postgres.rs"]
pub mod postgres;

use postgres::Server;
use std::sync::Arc;
use store::Store;
use store::document::{Draft, Kind};
use store::pool::Pool;
use tempfile::TempDir;

/// A place that holds stores, as many as a story wants.
pub enum Place {
    /// Files in a folder.
    Files(TempDir),
    /// Databases of a server.
    Server(Arc<Server>),
}

impl Place {
    /// SQLite, in a folder that goes with the place.
    pub fn files() -> Self {
        Self::Files(tempfile::tempdir().expect("a temporary folder"))
    }

    /// PostgreSQL, if the machine has it.
    pub fn server() -> Option<Self> {
        Server::shared().map(Self::Server)
    }

    /// Both, where the machine has both.
    pub fn all() -> Vec<Self> {
        std::iter::once(Self::files()).chain(Self::server()).collect()
    }

    /// Address of a new store.
    pub fn address(&self) -> String {
        match self {
            Self::Files(folder) => folder.path().join(format!("{}.db", store::secret::id())).display().to_string(),
            Self::Server(server) => server.database(),
        }
    }

    /// A new, empty store.
    pub async fn store(&self) -> Store {
        Store::open(&self.address()).await.expect("a new store opens")
    }
}

/// Tells a story to each database, on an empty store of its own.
pub async fn both<F: Future<Output = ()>>(story: impl Fn(Store) -> F) {
    for place in Place::all() {
        let store = place.store().await;
        story(store.clone()).await;
        store.close().await;
    }
}

/// A line sheet.
pub fn sheet<'a>(name: &'a str, body: &'a [u8], note: &'a str) -> Draft<'a> {
    Draft { kind: Kind::Line, name, summary: "{}", body, note }
}

/// Runs a statement on the tables themselves, to make time pass or to look behind the store.
pub async fn behind(store: &Store, statement: &'static str) {
    match store.pool() {
        Pool::Sqlite(pool) => sqlx::query(statement).execute(pool).await.map(drop),
        Pool::Postgres(pool) => sqlx::query(statement).execute(pool).await.map(drop),
    }
    .expect("the statement is right");
}
