//! The queue: no job is lost, none is done twice, and planning goes on where a killed worker left it. On SQLite and PostgreSQL.

#[path = "queue/crew.rs"]
mod crew;
#[path = "../../store/tests/common/postgres.rs"]
mod postgres;

use crew::{Place, Test, Worker, told};
use std::collections::{BTreeMap, BTreeSet};
use std::time::{Duration, Instant};
use store::Trouble;
use store::document::Kind;
use store::job::{MOST_ATTEMPTS, State};
use tokio::sync::watch;

/// Kills of the stress test; the usual number is small, for it takes some seconds for each.
const KILLS: &str = "EVENLINE_KILLS";

/// Not a test: what the processes run that the tests below begin and kill.
#[test]
#[ignore = "begun by the other tests as processes of their own"]
fn a_worker_process() {
    crew::serve_as_worker();
}

/// Random enough to hit other moments each time.
fn random(most: u64) -> u64 {
    u64::from_str_radix(&store::secret::id()[..12], 16).expect("hexadecimal") % most
}

async fn nap(milliseconds: u64) {
    tokio::time::sleep(Duration::from_millis(milliseconds)).await;
}

async fn goes_on_after_a_kill(place: Place) {
    const SECONDS: u32 = 6;
    let test = place.room().await;
    let id = test.order("river", SECONDS).await.id;
    let worker = Worker::start(&place, false);
    test.until(&id, "the first plan", |j| told(j).takt_us > 0).await;
    // By then the plan to go on from is kept, too.
    let kill_at = told(&test.job(&id).await).seconds + 1.2 + random(2000) as f64 / 1000.0;
    let before = test.until(&id, "some planning", |j| told(j).seconds >= kill_at).await;
    assert_eq!((before.state, before.attempt), (State::Running, 1));
    worker.kill();
    let before = told(&test.job(&id).await).seconds;
    let second = Worker::start(&place, false);
    let mut last = before;
    let taken = test.until(&id, "a takeover", |j| j.attempt > 1 && told(j).seconds != before).await;
    assert_eq!(taken.state, State::Running);
    let resumed = told(&taken).seconds;
    let done = test
        .until(&id, "the end", |j| {
            let seconds = told(j).seconds;
            assert!(seconds >= last, "planning begins anew: {seconds} s after {last} s");
            last = seconds;
            j.state.is_over()
        })
        .await;
    assert_eq!((done.state, done.attempt), (State::Done, 2), "{}", done.result);
    // Told twice a second; the rest is the end of planning, reasons and all, on a machine that may be busy.
    assert!(resumed - before < 3.0, "it was at {before} s and goes on at {resumed} s");
    assert!(last > f64::from(SECONDS) - 1.0 && last < f64::from(SECONDS) + 6.0, "{SECONDS} s were ordered, {last} s were planned in all");
    test.is_sound("river").await;
    second.leave();
    assert_eq!(test.job(&id).await.ended, done.ended, "it ended once");
    test.is_sound("river").await;
}

#[tokio::test(flavor = "multi_thread")]
async fn goes_on_after_a_kill_in_a_file() {
    goes_on_after_a_kill(Place::file()).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn goes_on_after_a_kill_on_a_server() {
    let Some(place) = Place::server() else { return };
    goes_on_after_a_kill(place).await;
}

async fn two_race(place: Place) {
    let test = place.room().await;
    let mut jobs = Vec::new();
    for n in 0..10 {
        jobs.push(test.order(&format!("plan {n}"), 1).await.id);
    }
    let workers = [Worker::start(&place, false), Worker::start(&place, false)];
    let mut names = BTreeSet::new();
    for id in &jobs {
        let done = test.until(id, "the end", |j| j.state.is_over()).await;
        assert_eq!((done.state, done.attempt), (State::Done, 1), "{}", done.result);
        names.insert(done.worker);
    }
    assert_eq!(names.len(), 2, "both worked: {names:?}");
    for worker in workers {
        worker.leave();
    }
    for n in 0..10 {
        test.is_sound(&format!("plan {n}")).await;
    }
    assert_eq!(test.store().list(Kind::Plan).await.expect("a list").len(), 10);
}

#[tokio::test(flavor = "multi_thread")]
async fn two_race_for_ten_jobs_in_a_file() {
    two_race(Place::file()).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn two_race_for_ten_jobs_on_a_server() {
    let Some(place) = Place::server() else { return };
    two_race(place).await;
}

async fn leaves_in_good_order(place: Place) {
    let test = place.room().await;
    let id = test.order("river", 4).await.id;
    // The second push finds the task that the order has pushed; a job that its order could not push is found by the sweep.
    web::queue::push(test.store(), &id).await.expect("twice is once");
    let worker = Worker::start(&place, false);
    test.until(&id, "the first plan", |j| told(j).takt_us > 0).await;
    let asked = Instant::now();
    worker.leave();
    assert!(asked.elapsed() < Duration::from_secs(20), "it does not plan to the end first");
    let given_back = test.job(&id).await;
    assert_eq!((given_back.state, given_back.attempt), (State::Queued, 0));
    assert!(told(&given_back).seconds < 3.9, "{}", told(&given_back).seconds);
    let unpushed = serde_json::to_string(&crew::an_order("brook", 1)).expect("JSON");
    let unpushed = test.store().add_job("plan", "Plan brook", &unpushed, "Ada").await.expect("a job").id;
    let next = Worker::start(&place, false);
    let back = Instant::now();
    test.until(&id, "its going on", |j| j.state == State::Running).await;
    assert!(back.elapsed() < Duration::from_secs(12), "no lease had to run out");
    for (id, name) in [(&id, "river"), (&unpushed, "brook")] {
        let done = test.until(id, "the end", |j| j.state.is_over()).await;
        assert_eq!((done.state, done.attempt), (State::Done, 1), "{}", done.result);
        test.is_sound(name).await;
    }
    next.leave();
    // A queue that is opened without workers sweeps and does nothing else.
    let waits = test.order("creek", 1).await.id;
    nap(1500).await;
    assert_eq!(test.job(&waits).await.state, State::Queued);
    assert_eq!(test.store().sweep_tasks("room").await.expect("swept"), [waits.as_str()], "one task, for what waits");
}

#[tokio::test(flavor = "multi_thread")]
async fn leaves_in_good_order_in_a_file() {
    leaves_in_good_order(Place::file()).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn leaves_in_good_order_on_a_server() {
    let Some(place) = Place::server() else { return };
    leaves_in_good_order(place).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn two_open_one_new_room_at_once() {
    let place = Place::file();
    let address = place.address();
    let open = || {
        let address = address.clone();
        tokio::spawn(async move {
            let room = crew::room(&address, 0).await;
            let (leave, left) = watch::channel(false);
            let tasks = web::queue::start(&room, 0, &left).await.expect("the queue opens");
            leave.send(true).expect("somebody listens");
            for task in tasks {
                task.await.expect("it ends well");
            }
        })
    };
    let all: Vec<_> = (0..6).map(|_| open()).collect();
    for one in all {
        one.await.expect("it opens");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_server_that_lacks_what_the_queue_needs_is_told_of() {
    let Some(Place::Server(server)) = Place::server() else { return };
    server.administer("postgres", "CREATE DATABASE room");
    server.administer("postgres", "CREATE ROLE planner LOGIN");
    server.administer("room", "GRANT ALL ON SCHEMA public TO planner");
    // Each try with connections of its own, as a server that is started again has.
    let open = async || {
        let room = crew::room(&server.address("planner", "room"), 0).await;
        let (_leave, left) = watch::channel(true);
        let opened = web::queue::start(&room, 0, &left).await;
        room.store.close().await;
        opened
    };
    match open().await {
        Err(Trouble::Refused(why)) => assert!(why.contains("CREATE EXTENSION hstore"), "{why}"),
        other => panic!("{other:?}"),
    }
    server.administer("room", "CREATE EXTENSION hstore");
    match open().await {
        Err(Trouble::Refused(why)) => assert!(why.contains("GRANT CREATE ON DATABASE"), "{why}"),
        other => panic!("{other:?}"),
    }
    server.administer("room", "GRANT CREATE ON DATABASE room TO planner");
    open().await.expect("now it may");
}

/// What was answered as saved: name and version to length of the body.
type Saved = BTreeMap<(String, i64), usize>;

fn note(saved: &mut Saved, lines: Vec<String>) {
    for line in lines {
        let words: Vec<&str> = line.split('\t').collect();
        if let [_, name, version, length] = words[..] {
            saved.insert((name.to_owned(), version.parse().expect("a number")), length.parse().expect("a number"));
        }
    }
}

async fn stress(place: Place) {
    let kills: usize = std::env::var(KILLS).map_or(3, |k| k.parse().expect("a number"));
    let test = place.room().await;
    let (mut saved, mut jobs, mut falls) = (Saved::new(), Vec::new(), 0);
    let mut worker = Worker::start(&place, true);
    for kill in 0..kills {
        // There is always something to plan.
        while test.store().open_jobs().await.expect("a list").len() < 2 {
            jobs.push(test.order(&format!("plan {}", jobs.len()), 2).await.id);
        }
        nap(300 + random(3200)).await;
        assert!(worker.runs(), "it ended by itself before kill {kill}");
        match &place {
            Place::Server(server) if kill % 3 == 2 => {
                server.crash();
                nap(random(1500)).await;
                server.begin();
                falls += 1;
            }
            _ => {
                note(&mut saved, worker.kill());
                worker = Worker::start(&place, true);
            }
        }
    }
    let mut attempts = BTreeMap::new();
    for (n, id) in jobs.iter().enumerate() {
        let over = test.until(id, "the end", |j| j.state.is_over()).await;
        *attempts.entry(over.attempt).or_insert(0) += 1;
        let name = format!("plan {n}");
        if over.attempt > MOST_ATTEMPTS {
            assert_eq!(over.state, State::Failed, "{}", over.result);
            assert!(test.store().versions(Kind::Plan, &name).await.expect("a list").is_empty());
        } else {
            assert_eq!(over.state, State::Done, "{name}: {}", over.result);
            test.is_sound(&name).await;
        }
    }
    note(&mut saved, worker.leave());
    for ((name, version), length) in &saved {
        let (_, body) = test.store().read(Kind::Locks, name, Some(*version)).await.unwrap_or_else(|e| panic!("{name} {version}: {e}"));
        assert!(body.len() == *length && body.starts_with(name.as_bytes()), "{name} version {version}");
    }
    // What was saved without an answer is whole as well, and no number is left out.
    for head in test.store().list(Kind::Locks).await.expect("a list") {
        let numbers: Vec<i64> = test.store().versions(Kind::Locks, &head.name).await.expect("a list").iter().map(|h| h.version).collect();
        assert_eq!(numbers, (1..=head.version).rev().collect::<Vec<_>>());
        test.store().read(Kind::Locks, &head.name, None).await.expect("whole");
    }
    eprintln!(
        "{kills} kills ({falls} of the database): {} jobs, by attempts {attempts:?}; {} saves answered, all there",
        jobs.len(),
        saved.len()
    );
    assert!(!saved.is_empty() && jobs.len() >= 2);
    finished(test).await;
}

async fn finished(test: Test) {
    test.leave.send(true).expect("the sweeps listen");
    test.room.store.close().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn nothing_is_lost_by_kills_in_a_file() {
    stress(Place::file()).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn nothing_is_lost_by_kills_on_a_server() {
    let Some(place) = Place::server() else { return };
    stress(place).await;
}
