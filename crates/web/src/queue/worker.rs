//! A worker: takes tasks from the library while it has places, and does the jobs they name.

use super::tables;
use crate::room::Room;
use crate::work;
use apalis::prelude::{BackendExt, BoxDynError, Task, WorkerBuilder, WorkerError};
use futures::future::BoxFuture;
use std::pin::Pin;
use std::sync::Arc;
use std::task::{Context, Poll};
use std::time::Duration;
use store::pool::Pool;
use store::secret;
use tokio::sync::{AcquireError, OwnedSemaphorePermit, Semaphore, watch};
use tower::Service;

/// How often a worker with a free place looks for a task.
const LOOK: Duration = Duration::from_millis(300);

/// How long a worker keeps still after the database failed.
const PAUSE: Duration = Duration::from_secs(1);

/// Works until `leave` says so: `places` jobs at once.
pub(super) async fn work(room: Room, places: usize, leave: watch::Receiver<bool>) {
    let all = Arc::new(Semaphore::new(places));
    while !*leave.borrow() {
        // The library knows a worker by its name; one that began anew is another to it, so that what it left is handed out again.
        let name = secret::id()[..8].to_owned();
        let planner =
            Planner { room: room.clone(), name: name.clone(), leave: leave.clone(), places: Arc::clone(&all), free: None, coming: None };
        let mut leaving = leave.clone();
        let gone = async move {
            // An error means that the sender is gone, which is an end as well.
            let _ = leaving.wait_for(|l| *l).await;
            Ok::<(), WorkerError>(())
        };
        let ended = match room.store.pool() {
            Pool::Sqlite(pool) => {
                let queue = tables::in_file(pool).poll_with_interval(LOOK);
                WorkerBuilder::new(name.as_str()).backend(queue).build(planner).run_until(gone).await
            }
            Pool::Postgres(pool) => {
                let queue = tables::in_server(pool).poll_with_interval(LOOK);
                WorkerBuilder::new(name.as_str()).backend(queue).build(planner).run_until(gone).await
            }
        };
        if let Err(e) = ended {
            tracing::warn!("worker {name} begins anew: {e}");
            let mut leaving = leave.clone();
            tokio::select! {
                () = tokio::time::sleep(PAUSE) => {}
                _ = leaving.wait_for(|l| *l) => {}
            }
        }
    }
    // Jobs outlive a worker that failed; they have heard of `leave` too and give themselves back.
    let places = u32::try_from(places).unwrap_or(u32::MAX);
    if let Err(e) = all.acquire_many(places).await {
        tracing::error!("the places of the workers: {e}");
    }
}

type Coming = Pin<Box<dyn Future<Output = Result<OwnedSemaphorePermit, AcquireError>> + Send>>;

/// Does the job that a task names. Ready when a place is free: the library fetches no task before.
struct Planner {
    room: Room,
    name: String,
    leave: watch::Receiver<bool>,
    places: Arc<Semaphore>,
    free: Option<OwnedSemaphorePermit>,
    coming: Option<Coming>,
}

impl Service<Task<String>> for Planner {
    type Response = ();
    type Error = BoxDynError;
    type Future = BoxFuture<'static, Result<(), BoxDynError>>;

    fn poll_ready(&mut self, cx: &mut Context<'_>) -> Poll<Result<(), BoxDynError>> {
        if self.free.is_none() {
            let places = &self.places;
            let coming = self.coming.get_or_insert_with(|| Box::pin(Arc::clone(places).acquire_owned()));
            let Poll::Ready(place) = coming.as_mut().poll(cx) else { return Poll::Pending };
            self.coming = None;
            self.free = Some(place?);
        }
        Poll::Ready(Ok(()))
    }

    fn call(&mut self, task: Task<String>) -> Self::Future {
        let (room, name, leave, place) = (self.room.clone(), self.name.clone(), self.leave.clone(), self.free.take());
        // On its own: the library drops what it is at when the database fails, and a job has its own way of holding on.
        let job = tokio::spawn(async move {
            let done = work::run(&room, &task.args, &name, leave).await;
            drop(place);
            done
        });
        Box::pin(async move {
            match job.await {
                Ok(Ok(())) => Ok(()),
                Ok(Err(e)) => {
                    // The library hands the task out again at once.
                    tokio::time::sleep(PAUSE).await;
                    Err(e.into())
                }
                Err(e) => Err(e.into()),
            }
        })
    }
}
