//! What can go wrong with keeping things.

use std::fmt;

/// Why the store did not do it.
#[derive(Debug)]
pub enum Trouble {
    /// There is no such thing.
    Missing,
    /// Somebody saved another version meanwhile; nothing of either is lost.
    Conflict {
        /// Number of the version that stands now.
        latest: i64,
        /// Who saved it.
        author: String,
        /// When.
        at: crate::Stamp,
    },
    /// A name is taken, or an input cannot be kept.
    Refused(String),
    /// The lease of a job is gone: another worker has it, or it ended.
    Lost,
    /// The database failed.
    Database(String),
}

impl fmt::Display for Trouble {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Missing => f.write_str("there is no such thing in the store"),
            Self::Conflict { latest, author, .. } => write!(f, "{author} saved version {latest} meanwhile"),
            Self::Refused(why) => f.write_str(why),
            Self::Lost => f.write_str("the job is no longer this worker's"),
            Self::Database(what) => write!(f, "the database failed: {what}"),
        }
    }
}

impl std::error::Error for Trouble {}

impl From<sqlx::Error> for Trouble {
    fn from(e: sqlx::Error) -> Self {
        match e {
            sqlx::Error::RowNotFound => Self::Missing,
            other => Self::Database(other.to_string()),
        }
    }
}

impl Trouble {
    /// The database's refusal of a value that must be unique, told as `told`; anything else as it is.
    pub(crate) fn unique(e: sqlx::Error, told: impl FnOnce() -> String) -> Self {
        if e.as_database_error().is_some_and(sqlx::error::DatabaseError::is_unique_violation) { Self::Refused(told()) } else { e.into() }
    }
}
