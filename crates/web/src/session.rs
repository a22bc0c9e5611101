//! Sessions of browsers in the store.

use async_trait::async_trait;
use store::{Store, Trouble};
use tower_sessions::SessionStore;
use tower_sessions::session::{Id, Record};
use tower_sessions::session_store::{Error, Result};

/// Keeps sessions in the store, so that they survive a restart and hold on every server of a shared store.
#[derive(Clone, Debug)]
pub struct Sessions(pub Store);

fn backend(e: Trouble) -> Error {
    Error::Backend(e.to_string())
}

/// [µs since 1970]
fn expiry(record: &Record) -> i64 {
    (record.expiry_date.unix_timestamp_nanos() / 1000) as i64
}

/// What a session holds, without its identity: who reads the table must not have the key to it.
fn encode(record: &Record) -> Result<String> {
    serde_json::to_string(&(&record.data, record.expiry_date)).map_err(|e| Error::Encode(e.to_string()))
}

#[async_trait]
impl SessionStore for Sessions {
    async fn create(&self, record: &mut Record) -> Result<()> {
        // 128 random bits do not meet twice; if they do, the second takes others.
        loop {
            match self.0.keep_session(&record.id.to_string(), &encode(record)?, expiry(record), true).await {
                Err(Trouble::Refused(_)) => record.id = Id::default(),
                other => return other.map_err(backend),
            }
        }
    }

    async fn save(&self, record: &Record) -> Result<()> {
        self.0.keep_session(&record.id.to_string(), &encode(record)?, expiry(record), false).await.map_err(backend)
    }

    async fn load(&self, id: &Id) -> Result<Option<Record>> {
        let data = self.0.session(&id.to_string()).await.map_err(backend)?;
        let Some(text) = data else { return Ok(None) };
        let (data, expiry_date) = serde_json::from_str(&text).map_err(|e| Error::Decode(e.to_string()))?;
        Ok(Some(Record { id: *id, data, expiry_date }))
    }

    async fn delete(&self, id: &Id) -> Result<()> {
        self.0.end_session(&id.to_string()).await.map_err(backend)
    }
}
