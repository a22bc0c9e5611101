//! Jobs: leases, takeover, the end together with its document.

use crate::place::{behind, both};
use std::sync::Arc;
use store::document::{Draft, Kind};
use store::job::{Begun, Job, State};
use store::{Store, Trouble};
use tokio::sync::Barrier;

async fn job(store: &Store) -> Job {
    store.add_job("plan", "Plan river", "{}", "Ada").await.expect("a job")
}

async fn begin(store: &Store, id: &str, worker: &str) -> Option<Begun> {
    store.begin_job(id, worker).await.expect("an answer")
}

/// Lets the leases of all workers run out.
async fn silence(store: &Store) {
    behind(store, "UPDATE job SET lease_until = 1").await;
}

fn plan(body: &[u8]) -> Draft<'_> {
    Draft { kind: Kind::Plan, name: "river", summary: "{}", body, note: "" }
}

async fn open(store: &Store) -> Vec<String> {
    store.open_jobs().await.expect("a list").into_iter().map(|j| j.id).collect()
}

#[tokio::test]
async fn one_worker_has_a_job_until_it_ends() {
    both(async |store| {
        let added = job(&store).await;
        assert_eq!((added.state, added.attempt, added.cancel), (State::Queued, 0, false));
        assert_eq!(open(&store).await, [added.id.as_str()]);
        let begun = begin(&store, &added.id, "first").await.expect("it waits");
        assert_eq!((begun.job.state, begun.job.attempt, begun.checkpoint.len()), (State::Running, 1, 0));
        assert!(begin(&store, &added.id, "second").await.is_none(), "somebody is at it");
        assert!(open(&store).await.is_empty());
        assert!(!store.tell_job(&begun, "half", Some(b"so far")).await.expect("still its own"));
        assert_eq!(store.job(&added.id).await.expect("known").progress, "half");
        let head = store.finish_job(&begun, plan(b"the plan"), |h| format!("made {}", h.version)).await.expect("still its own");
        assert_eq!((head.version, head.author.as_str()), (1, "Ada"));
        let done = store.job(&added.id).await.expect("known");
        assert_eq!((done.state, done.result.as_str(), done.attempt), (State::Done, "made 1", 1));
        assert!(done.ended >= done.created);
        assert!(begin(&store, &added.id, "second").await.is_none(), "it is over");
        assert!(matches!(store.tell_job(&begun, "more", None).await, Err(Trouble::Lost)));
        assert!(matches!(store.finish_job(&begun, plan(b"again"), |_| String::new()).await, Err(Trouble::Lost)));
        assert_eq!(store.versions(Kind::Plan, "river").await.expect("a list").len(), 1);
        assert!(matches!(store.begin_job("none", "first").await, Ok(None)));
        assert!(matches!(store.job("none").await, Err(Trouble::Missing)));
    })
    .await;
}

#[tokio::test]
async fn a_silent_worker_is_followed_and_then_refused() {
    both(async |store| {
        let id = job(&store).await.id;
        let first = begin(&store, &id, "first").await.expect("it waits");
        store.tell_job(&first, "half", Some(b"so far")).await.expect("still its own");
        silence(&store).await;
        assert_eq!(open(&store).await, [id.as_str()]);
        // Silent beyond its lease, but nobody came: the job is still its own.
        store.tell_job(&first, "more", None).await.expect("nobody has taken it");
        assert!(open(&store).await.is_empty());
        silence(&store).await;
        let second = begin(&store, &id, "second").await.expect("the lease has run out");
        assert_eq!((second.job.attempt, second.checkpoint.as_slice()), (2, &b"so far"[..]), "it goes on from what was left");
        assert_eq!(second.job.progress, "more");
        assert!(matches!(store.tell_job(&first, "late", Some(b"late")).await, Err(Trouble::Lost)));
        assert!(matches!(store.fail_job(&first, "late").await, Err(Trouble::Lost)));
        assert!(matches!(store.give_back_job(&first).await, Err(Trouble::Lost)));
        assert!(matches!(store.finish_job(&first, plan(b"late"), |_| String::new()).await, Err(Trouble::Lost)));
        assert!(store.list(Kind::Plan).await.expect("a list").is_empty(), "nothing of the late worker's plan is kept");
        store.finish_job(&second, plan(b"the plan"), |_| "made".to_owned()).await.expect("its own");
        assert_eq!(store.read(Kind::Plan, "river", None).await.expect("the plan").1, b"the plan");
        assert!(matches!(store.finish_job(&first, plan(b"late"), |_| String::new()).await, Err(Trouble::Lost)));
        assert_eq!(store.versions(Kind::Plan, "river").await.expect("a list").len(), 1);
    })
    .await;
}

#[tokio::test]
async fn the_end_and_its_document_are_one() {
    both(async |store| {
        let id = job(&store).await.id;
        let begun = begin(&store, &id, "first").await.expect("it waits");
        let wrong = Draft { name: "a/b", ..plan(b"x") };
        assert!(matches!(store.finish_job(&begun, wrong, |_| String::new()).await, Err(Trouble::Refused(_))));
        assert_eq!(store.job(&id).await.expect("known").state, State::Running, "no document, no end");
        store.finish_job(&begun, plan(b"one"), |h| h.version.to_string()).await.expect("its own");
        // A second job of the same name adds a version.
        let id = job(&store).await.id;
        let begun = begin(&store, &id, "first").await.expect("it waits");
        store.finish_job(&begun, plan(b"two"), |h| h.version.to_string()).await.expect("its own");
        assert_eq!(store.job(&id).await.expect("known").result, "2");
        let saves = store.audit(i64::MAX, 100).await.expect("the log").iter().filter(|e| e.action == "save").count();
        assert_eq!(saves, 2, "a line for each plan");
    })
    .await;
}

#[tokio::test]
async fn stopping_ends_what_waits_and_tells_what_runs() {
    both(async |store| {
        let waits = job(&store).await.id;
        store.stop_job(&waits, "Ben").await.expect("known");
        let stopped = store.job(&waits).await.expect("known");
        assert!(stopped.state == State::Stopped && stopped.cancel && stopped.ended > 0);
        assert!(begin(&store, &waits, "first").await.is_none());
        assert!(open(&store).await.is_empty());
        let runs = job(&store).await.id;
        let begun = begin(&store, &runs, "first").await.expect("it waits");
        assert!(!store.tell_job(&begun, "", None).await.expect("its own"));
        store.stop_job(&runs, "Ben").await.expect("known");
        assert!(store.tell_job(&begun, "", None).await.expect("its own"), "its worker hears of it");
        store.finish_job(&begun, plan(b"the best so far"), |_| String::new()).await.expect("its own");
        let done = store.job(&runs).await.expect("known");
        assert!(done.state == State::Done && done.cancel);
        assert!(matches!(store.stop_job("none", "Ben").await, Err(Trouble::Missing)));
        // One that has ended is left as it is.
        let id = job(&store).await.id;
        let begun = begin(&store, &id, "first").await.expect("it waits");
        store.fail_job(&begun, "no feeder fits").await.expect("its own");
        store.stop_job(&id, "Ben").await.expect("known");
        let failed = store.job(&id).await.expect("known");
        assert_eq!((failed.state, failed.cancel, failed.result.as_str()), (State::Failed, false, "no feeder fits"));
        let told = store.audit(i64::MAX, 100).await.expect("the log");
        assert_eq!(told.iter().filter(|e| e.action == "stop job").count(), 2, "what did nothing is not told");
        assert_eq!(told.iter().filter(|e| e.action == "job failed").count(), 1);
    })
    .await;
}

#[tokio::test]
async fn what_is_given_back_goes_on_at_once() {
    both(async |store| {
        let id = job(&store).await.id;
        for _ in 0..10 {
            let begun = begin(&store, &id, "leaving").await.expect("it waits");
            store.tell_job(&begun, "half", Some(b"so far")).await.expect("its own");
            store.give_back_job(&begun).await.expect("its own");
            assert!(matches!(store.tell_job(&begun, "late", None).await, Err(Trouble::Lost)));
            assert_eq!(open(&store).await, [id.as_str()]);
        }
        let begun = begin(&store, &id, "staying").await.expect("it waits");
        assert_eq!(begun.checkpoint, b"so far");
        assert_eq!(begun.job.attempt, 1, "workers that left in good order are no failed attempts");
    })
    .await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn of_many_workers_at_once_one_begins() {
    both(async |store| {
        for round in 0..10 {
            let id = job(&store).await.id;
            for attempt in 1..=2 {
                let barrier = Arc::new(Barrier::new(6));
                let all: Vec<_> = (0..6)
                    .map(|n| {
                        let (store, id, barrier) = (store.clone(), id.clone(), Arc::clone(&barrier));
                        tokio::spawn(async move {
                            barrier.wait().await;
                            begin(&store, &id, &format!("worker {n}")).await
                        })
                    })
                    .collect();
                let mut begun = Vec::new();
                for one in all {
                    begun.extend(one.await.expect("no end"));
                }
                assert_eq!(begun.len(), 1, "round {round}, attempt {attempt}");
                assert_eq!(begun[0].job.attempt, attempt);
                silence(&store).await;
            }
        }
    })
    .await;
}
