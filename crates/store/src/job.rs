//! Long jobs: what is to be done, how far it is, and what came of it.
//!
//! The queue (a library, beside this store) hands a job to a worker at least once; this table makes it count at most once. A worker
//! begins a job by taking a lease with a fresh secret, and every later word of it names that secret. When a worker was killed or
//! stalls, the lease runs out and the next one takes the job with another secret: whatever the first still says is refused with
//! [`Trouble::Lost`]. A result is written together with the end of its job, or not at all.

use crate::audit::note;
use crate::document::{Draft, Head};
use crate::pool::on;
use crate::{Stamp, Store, Trouble, secret};
use serde::Serialize;

/// How long a worker may be silent before another may take its job [µs].
pub const LEASE: Stamp = 15_000_000;

/// Attempts after which a job has failed: whatever ends its workers will end the next one too.
pub const MOST_ATTEMPTS: i64 = 5;

/// Where a job stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum State {
    /// Waits for a worker.
    Queued,
    /// A worker is at it, or was until its lease ran out.
    Running,
    /// Ended with a result.
    Done,
    /// Ended without one.
    Failed,
    /// Ended before any worker began, because somebody stopped it.
    Stopped,
}

impl State {
    /// Its word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Queued => "queued",
            Self::Running => "running",
            Self::Done => "done",
            Self::Failed => "failed",
            Self::Stopped => "stopped",
        }
    }

    fn of(word: &str) -> Result<Self, Trouble> {
        [Self::Queued, Self::Running, Self::Done, Self::Failed, Self::Stopped]
            .into_iter()
            .find(|s| s.word() == word)
            .ok_or_else(|| Trouble::Database(format!("the unknown state `{word}` is stored")))
    }

    /// Whether nothing more will happen.
    pub fn is_over(self) -> bool {
        matches!(self, Self::Done | Self::Failed | Self::Stopped)
    }
}

/// A job.
#[derive(Clone, Debug, Serialize)]
pub struct Job {
    /// Identity.
    pub id: String,
    /// What kind of work, a word of the program's choice.
    pub kind: String,
    /// For people.
    pub title: String,
    /// What to do: JSON of the program's choice.
    pub payload: String,
    /// Who wants it.
    pub author: String,
    /// Since when [µs since 1970].
    pub created: Stamp,
    /// Where it stands.
    pub state: State,
    /// How often a worker began it.
    pub attempt: i64,
    /// The worker that began it last.
    pub worker: String,
    /// How far it is: JSON of the program's choice, empty at first.
    pub progress: String,
    /// Whether somebody wants it to stop.
    pub cancel: bool,
    /// What came of it: JSON, or the reason of a failure in words.
    pub result: String,
    /// When it ended [µs since 1970], 0 before.
    pub ended: Stamp,
}

type Row = (String, String, String, String, String, i64, String, i64, String, String, i64, String, i64);
const JOB: &str = "id, kind, title, payload, author, created, state, attempt, worker, progress, cancel, result, ended";

fn job(row: Row) -> Result<Job, Trouble> {
    let (id, kind, title, payload, author, created, state, attempt, worker, progress, cancel, result, ended) = row;
    let (state, cancel) = (State::of(&state)?, cancel != 0);
    Ok(Job { id, kind, title, payload, author, created, state, attempt, worker, progress, cancel, result, ended })
}

/// A job that a worker has begun: what it needs to go on and the secret to speak for it.
#[derive(Clone, Debug)]
pub struct Begun {
    /// The job.
    pub job: Job,
    /// What the last worker left to go on from; empty at first.
    pub checkpoint: Vec<u8>,
    lease: String,
}

impl Store {
    /// Adds a job.
    ///
    /// # Errors
    /// [`Trouble::Database`].
    pub async fn add_job(&self, kind: &str, title: &str, payload: &str, author: &str) -> Result<Job, Trouble> {
        let (id, created) = (secret::id(), crate::now());
        on!(self, pool, begin => {
            let mut tx = pool.begin_with(begin).await?;
            let add = "INSERT INTO job (id, kind, title, payload, author, created, state, attempt, worker, lease, lease_until, progress, \
                checkpoint, cancel, result, ended) VALUES ($1, $2, $3, $4, $5, $6, 'queued', 0, '', '', 0, '', $7, 0, '', 0)";
            sqlx::query(add).bind(&id).bind(kind).bind(title).bind(payload).bind(author).bind(created).bind(Vec::<u8>::new())
                .execute(&mut *tx).await?;
            note!(tx, author, "add job", title, &id)?;
            tx.commit().await?;
        });
        self.job(&id).await
    }

    /// A job.
    ///
    /// # Errors
    /// [`Trouble::Missing`].
    pub async fn job(&self, id: &str) -> Result<Job, Trouble> {
        let text = sqlx::AssertSqlSafe(format!("SELECT {JOB} FROM job WHERE id = $1"));
        job(on!(self, pool => sqlx::query_as(text).bind(id).fetch_one(pool).await?))
    }

    /// The newest jobs, newest first.
    ///
    /// # Errors
    /// [`Trouble::Database`].
    pub async fn jobs(&self, most: i64) -> Result<Vec<Job>, Trouble> {
        let text = sqlx::AssertSqlSafe(format!("SELECT {JOB} FROM job ORDER BY created DESC, id LIMIT $1"));
        let rows: Vec<Row> = on!(self, pool => sqlx::query_as(text).bind(most).fetch_all(pool).await?);
        rows.into_iter().map(job).collect()
    }

    /// Jobs that wait, or whose worker is silent beyond its lease, oldest first: whoever keeps the queue puts them into it again.
    ///
    /// # Errors
    /// [`Trouble::Database`].
    pub async fn open_jobs(&self) -> Result<Vec<Job>, Trouble> {
        let text = sqlx::AssertSqlSafe(format!(
            "SELECT {JOB} FROM job WHERE state = 'queued' OR (state = 'running' AND lease_until < $1) ORDER BY created, id"
        ));
        let rows: Vec<Row> = on!(self, pool => sqlx::query_as(text).bind(crate::now()).fetch_all(pool).await?);
        rows.into_iter().map(job).collect()
    }

    /// Asks a job to stop. One that waits and has nothing yet ends at once; another one ends with
    /// the best it has, when a worker hears of it.
    ///
    /// # Errors
    /// [`Trouble::Missing`]; nothing happens to a job that has ended.
    pub async fn stop_job(&self, id: &str, author: &str) -> Result<(), Trouble> {
        let at = crate::now();
        let stopped = on!(self, pool, begin => {
            let mut tx = pool.begin_with(begin).await?;
            let stopped: Option<(String,)> = sqlx::query_as("UPDATE job SET cancel = 1, \
                ended = CASE WHEN state = 'queued' AND length(checkpoint) = 0 THEN $1 ELSE ended END, \
                state = CASE WHEN state = 'queued' AND length(checkpoint) = 0 THEN 'stopped' ELSE state END \
                WHERE id = $2 AND state IN ('queued', 'running') RETURNING title")
                .bind(at).bind(id).fetch_optional(&mut *tx).await?;
            if let Some((title,)) = &stopped {
                note!(tx, author, "stop job", title, id)?;
            }
            tx.commit().await?;
            stopped.is_some()
        });
        if stopped { Ok(()) } else { self.job(id).await.map(drop) }
    }

    /// Begins a job that waits, or takes it over from a worker that is silent; `None` when it is over or somebody is at it.
    ///
    /// # Errors
    /// [`Trouble::Missing`]; [`Trouble::Database`].
    pub async fn begin_job(&self, id: &str, worker: &str) -> Result<Option<Begun>, Trouble> {
        let (lease, at) = (secret::id(), crate::now());
        let take = sqlx::AssertSqlSafe(format!(
            "UPDATE job SET state = 'running', attempt = attempt + 1, worker = $1, lease = $2, lease_until = $3 \
             WHERE id = $4 AND (state = 'queued' OR (state = 'running' AND lease_until < $5)) RETURNING {JOB}"
        ));
        let taken: Option<Row> = on!(self, pool => sqlx::query_as(take).bind(worker).bind(&lease).bind(at + LEASE).bind(id).bind(at).fetch_optional(pool).await?);
        let Some(row) = taken else { return Ok(None) };
        let (checkpoint,): (Vec<u8>,) =
            on!(self, pool => sqlx::query_as("SELECT checkpoint FROM job WHERE id = $1").bind(id).fetch_one(pool).await?);
        let checkpoint = if checkpoint.is_empty() { checkpoint } else { crate::document::unpack(&checkpoint)? };
        Ok(Some(Begun { job: job(row)?, checkpoint, lease }))
    }

    /// Tells how far a job is and holds on to it; answers whether somebody wants it to stop. `checkpoint` replaces what the next
    /// worker would go on from.
    ///
    /// # Errors
    /// [`Trouble::Lost`] when another worker has it.
    pub async fn tell_job(&self, begun: &Begun, progress: &str, checkpoint: Option<&[u8]>) -> Result<bool, Trouble> {
        let until = crate::now() + LEASE;
        let row: Option<(i64,)> = match checkpoint {
            None => on!(self, pool => sqlx::query_as(
                "UPDATE job SET progress = $1, lease_until = $2 WHERE id = $3 AND lease = $4 AND state = 'running' RETURNING cancel"
            ).bind(progress).bind(until).bind(&begun.job.id).bind(&begun.lease).fetch_optional(pool).await?),
            Some(kept) => {
                let kept = crate::document::pack(kept)?;
                on!(self, pool => sqlx::query_as(
                    "UPDATE job SET progress = $1, lease_until = $2, checkpoint = $5 \
                     WHERE id = $3 AND lease = $4 AND state = 'running' RETURNING cancel"
                ).bind(progress).bind(until).bind(&begun.job.id).bind(&begun.lease).bind(kept).fetch_optional(pool).await?)
            }
        };
        row.map(|(cancel,)| cancel != 0).ok_or(Trouble::Lost)
    }

    /// Ends a job with a document as its result: both are kept in one transaction, or neither. `told` makes the result's JSON of the
    /// document's head. A document of that name gets one more version.
    ///
    /// # Errors
    /// [`Trouble::Lost`] when another worker has the job; [`Trouble::Refused`] for a name that cannot be one.
    pub async fn finish_job(&self, begun: &Begun, draft: Draft<'_>, told: impl FnOnce(&Head) -> String) -> Result<Head, Trouble> {
        crate::document::check_name(draft.name)?;
        let (at, packed, author) = (crate::now(), crate::document::pack(draft.body)?, &begun.job.author);
        let kind = draft.kind.word();
        on!(self, pool, begin => {
            let mut tx = pool.begin_with(begin).await?;
            let add = "INSERT INTO document (id, kind, name, latest) VALUES ($1, $2, $3, 1) \
                ON CONFLICT (kind, name) DO UPDATE SET latest = document.latest + 1 RETURNING id, latest";
            let (id, version): (String, i64) = sqlx::query_as(add).bind(secret::id()).bind(kind).bind(draft.name).fetch_one(&mut *tx).await?;
            let put = "INSERT INTO version (document, number, at, author, note, removed, summary, body) VALUES ($1, $2, $3, $4, $5, 0, $6, $7)";
            sqlx::query(put).bind(&id).bind(version).bind(at).bind(author).bind(draft.note).bind(draft.summary).bind(packed)
                .execute(&mut *tx).await?;
            let head = Head {
                id, kind: draft.kind, name: draft.name.to_owned(), version, at, author: author.clone(), note: draft.note.to_owned(),
                removed: false, summary: draft.summary.to_owned(),
            };
            let ended = sqlx::query("UPDATE job SET state = 'done', result = $1, ended = $2, checkpoint = $3 \
                WHERE id = $4 AND lease = $5 AND state = 'running'")
                .bind(told(&head)).bind(at).bind(Vec::<u8>::new()).bind(&begun.job.id).bind(&begun.lease).execute(&mut *tx).await?.rows_affected();
            if ended == 0 {
                return Err(Trouble::Lost);
            }
            note!(tx, author, "save", format!("{kind} {}", draft.name), format!("version {version}: {}", draft.note))?;
            tx.commit().await?;
            Ok(head)
        })
    }

    /// Ends a job without a result.
    ///
    /// # Errors
    /// [`Trouble::Lost`] when another worker has it.
    pub async fn fail_job(&self, begun: &Begun, why: &str) -> Result<(), Trouble> {
        on!(self, pool, begin => {
            let mut tx = pool.begin_with(begin).await?;
            let ended = sqlx::query("UPDATE job SET state = 'failed', result = $1, ended = $2, checkpoint = $3 \
                WHERE id = $4 AND lease = $5 AND state = 'running'")
                .bind(why).bind(crate::now()).bind(Vec::<u8>::new()).bind(&begun.job.id).bind(&begun.lease).execute(&mut *tx).await?.rows_affected();
            if ended == 0 {
                return Err(Trouble::Lost);
            }
            note!(tx, &begun.job.author, "job failed", &begun.job.title, why)?;
            tx.commit().await?;
            Ok(())
        })
    }

    /// Gives a job back, for the next worker to go on from its checkpoint at once. That is no attempt: nothing went wrong.
    ///
    /// # Errors
    /// [`Trouble::Lost`] when another worker has it.
    pub async fn give_back_job(&self, begun: &Begun) -> Result<(), Trouble> {
        let sql = "UPDATE job SET state = 'queued', attempt = attempt - 1, lease = '', lease_until = 0 \
            WHERE id = $1 AND lease = $2 AND state = 'running'";
        let n = on!(self, pool => sqlx::query(sql).bind(&begun.job.id).bind(&begun.lease).execute(pool).await?.rows_affected());
        if n == 0 { Err(Trouble::Lost) } else { Ok(()) }
    }
}
