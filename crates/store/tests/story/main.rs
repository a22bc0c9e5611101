//! What the store promises, told to SQLite and to PostgreSQL.

mod archive;
mod documents;
mod jobs;
mod people;
mod place;
