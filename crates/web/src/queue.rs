//! The queue of long jobs: who does which, how many at once, and that none is forgotten.
//!
//! The library `apalis` hands tasks to workers of all processes at least once; its tables stand beside ours in the same database. A task
//! is no more than the identity of a job. What counts stands in the job table: its leases let a job count once however often its
//! identity is handed out ([`store::job`]), and [`work::run`](crate::work::run) does nothing for a job that is over or in another's hands.
//!
//! The key of a task is the job it names, so pushing twice is harmless, and every process may sweep: what waits without a task (its
//! order fell between two steps, its worker was killed, it was given back) is pushed, what is over is taken out.

mod tables;
mod worker;

use crate::room::Room;
use std::collections::HashSet;
use std::time::{Duration, Instant};
use store::{Store, Trouble};
use tokio::sync::watch;
use tokio::task::JoinHandle;

/// Sessions that have ended are taken away this often.
const SESSIONS: Duration = Duration::from_secs(3600);

/// Between two looks for jobs that wait and are not in the queue.
const SWEEP: Duration = Duration::from_secs(2);

/// Puts a job into the queue, unless it is there.
///
/// # Errors
/// [`Trouble::Database`]; the next sweep then pushes it.
pub async fn push(store: &Store, job: &str) -> Result<(), Trouble> {
    tables::add(store, job).await
}

/// Opens the queue and starts to work: `workers` jobs at once until `leave` says so, none if 0; the queue is swept in any case. The
/// tasks returned end when their jobs are done or given back.
///
/// # Errors
/// [`Trouble::Database`], [`Trouble::Refused`] when the database does not let the queue have its tables.
pub async fn start(room: &Room, workers: usize, leave: &watch::Receiver<bool>) -> Result<Vec<JoinHandle<()>>, Trouble> {
    tables::prepare(&room.store).await?;
    let mut tasks = vec![tokio::spawn(sweeps(room.store.clone(), leave.clone()))];
    if workers > 0 {
        tasks.push(tokio::spawn(worker::work(room.clone(), workers, leave.clone())));
    }
    Ok(tasks)
}

async fn sweeps(store: Store, mut leave: watch::Receiver<bool>) {
    let mut swept: Option<Instant> = None;
    while !*leave.borrow() {
        if swept.is_none_or(|at| at.elapsed() >= SESSIONS) {
            swept = Some(Instant::now());
            if let Err(e) = store.sweep_sessions().await {
                tracing::warn!("sweeping sessions: {e}");
            }
        }
        if let Err(e) = sweep(&store).await {
            tracing::warn!("sweeping the queue: {e}");
        }
        tokio::select! {
            () = tokio::time::sleep(SWEEP) => {}
            _ = leave.wait_for(|l| *l) => break,
        }
    }
}

async fn sweep(store: &Store) -> Result<(), Trouble> {
    // First what is on its way: a job that begins meanwhile is pushed once too often, which does nothing; the other way round it
    // might be missed until the next sweep.
    let known: HashSet<String> = store.sweep_tasks(tables::QUEUE).await?.into_iter().collect();
    for job in store.open_jobs().await? {
        if !known.contains(&job.id) {
            push(store, &job.id).await?;
        }
    }
    Ok(())
}
