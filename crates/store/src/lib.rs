//! What the planning room keeps: documents with all their versions, people, sessions, tokens, jobs, the audit log.
//!
//! SQLite in a file by default, PostgreSQL by a URL; one schema (`schema/`), the same statements, one test story. No type of a
//! database leaves this crate. Documents are bytes in the formats that the command line reads; the store does not look into them.
//! Nothing is overwritten: a change adds a version and a line in the audit log in one transaction.
//!
//! Reading order: [`pool`], [`trouble`], [`document`], [`audit`], [`people`], [`session`], [`job`], [`tasks`], [`archive`].

pub mod archive;
pub mod audit;
pub mod document;
pub mod job;
pub mod people;
pub mod pool;
pub mod secret;
pub mod session;
pub mod tasks;
pub mod trouble;

pub use pool::Store;
pub use trouble::Trouble;

/// Microseconds since 1970-01-01T00:00:00Z.
pub type Stamp = i64;

/// The clock of the machine.
pub fn now() -> Stamp {
    std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH).map_or(0, |d| d.as_micros() as i64)
}
