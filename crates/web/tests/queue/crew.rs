//! Rooms of tests on both databases, and worker processes to be killed: this test program begun once more.

use crate::postgres::Server;
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Child, ChildStdin, Command, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};
use store::document::{Draft, Kind};
use store::job::Job;
use store::{Store, Trouble};
use tempfile::TempDir;
use tokio::sync::watch;
use web::Config;
use web::room::Room;
use web::work::{self, Of, Order, Told};

/// Tells a process begun by [`Worker::start`] where its room is; without it the process is not one.
const PLACE: &str = "EVENLINE_TEST_WORKER";

/// The name of the test that such a process runs, in `queue.rs`.
const ENTRY: &str = "a_worker_process";

/// Longest that anything is waited for. A takeover takes a lease of 15 s; the machine may have much else to do.
const PATIENCE: Duration = Duration::from_secs(180);

/// A database of a test's own.
pub enum Place {
    Files(TempDir),
    Server(Server),
}

impl Place {
    pub fn file() -> Self {
        Self::Files(TempDir::new().expect("a temporary folder"))
    }

    pub fn server() -> Option<Self> {
        Server::start().map(Self::Server)
    }

    pub fn address(&self) -> String {
        match self {
            Self::Files(folder) => folder.path().join("room.db").display().to_string(),
            Self::Server(server) => server.address("postgres", "room"),
        }
    }

    /// A room with a board and a line, its queue open and swept, and nobody at work.
    pub async fn room(&self) -> Test {
        if let Self::Server(server) = self {
            server.administer("postgres", "CREATE DATABASE room");
        }
        let room = room(&self.address(), 0).await;
        let (leave, left) = watch::channel(false);
        web::queue::start(&room, 0, &left).await.expect("the queue opens");
        let examples = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples");
        for (kind, name, file) in
            [(Kind::Product, "gauge-node", "products/gauge-node.json"), (Kind::Line, "solo", "lines/one-station.toml")]
        {
            let body = std::fs::read(examples.join(file)).expect("an example");
            let draft = Draft { kind, name, summary: "{}", body: &body, note: "" };
            room.store.save(draft, None, "the test").await.expect("a new name");
        }
        Test { room, leave }
    }
}

/// A room that orders and looks on.
pub struct Test {
    pub room: Room,
    /// Ends the sweeps when it goes.
    pub leave: watch::Sender<bool>,
}

impl Test {
    pub fn store(&self) -> &Store {
        &self.room.store
    }

    pub async fn order(&self, plan: &str, seconds: u32) -> Job {
        work::order(self.store(), &an_order(plan, seconds), "Ada").await.expect("an order")
    }

    pub async fn job(&self, id: &str) -> Job {
        self.store().job(id).await.expect("known")
    }

    /// Looks at a job until `enough` says so.
    pub async fn until(&self, id: &str, what: &str, mut enough: impl FnMut(&Job) -> bool) -> Job {
        let begun = Instant::now();
        loop {
            let job = self.job(id).await;
            if enough(&job) {
                return job;
            }
            assert!(begun.elapsed() < PATIENCE, "{what} is waited for in vain: {} {} {}", job.state.word(), job.attempt, job.result);
            tokio::time::sleep(Duration::from_millis(50)).await;
        }
    }

    /// The plan that a job has made is one version, whole, and the independent checker accepts it.
    pub async fn is_sound(&self, name: &str) {
        let versions = self.store().versions(Kind::Plan, name).await.expect("a list");
        assert_eq!(versions.len(), 1, "{name} was made once");
        let (_, body) = self.store().read(Kind::Plan, name, None).await.expect("it is there");
        let plan = domain::plan::Plan::parse(name, std::str::from_utf8(&body).expect("text")).expect("a whole plan");
        let verdict = app::check::check(&plan);
        assert!(verdict.accepted, "{name}: {:?}", verdict.violations);
    }
}

pub fn told(job: &Job) -> Told {
    serde_json::from_str(&job.progress).unwrap_or_default()
}

pub fn an_order(plan: &str, seconds: u32) -> Order {
    Order {
        plan: plan.to_owned(),
        product: Of { name: "gauge-node".to_owned(), version: 1 },
        line: Of { name: "solo".to_owned(), version: 1 },
        locks: None,
        rules: None,
        from: None,
        keep_setup: false,
        side: None,
        panel: domain::job::Panel::SINGLE,
        seconds,
        seed: 7,
    }
}

pub async fn room(address: &str, planners: usize) -> Room {
    let store = Store::open(address).await.expect("the store opens");
    Room::new(store, Config { store: address.to_owned(), planners, threads: 1, ..Config::default() })
}

/// A process that works for a room. It ends in good order when its input is closed, and at once when it is killed or dropped.
pub struct Worker {
    process: Child,
    input: Option<ChildStdin>,
    lines: Receiver<String>,
}

impl Worker {
    /// Begins one. One that saves also changes documents without a pause and tells of each change that was answered.
    pub fn start(place: &Place, saves: bool) -> Self {
        let own = std::env::current_exe().expect("this program");
        let mut command = Command::new(own);
        command.args([ENTRY, "--exact", "--ignored", "--nocapture", "--test-threads=1"]);
        command.env(PLACE, format!("{} {}", u8::from(saves), place.address()));
        let mut process = command.stdin(Stdio::piped()).stdout(Stdio::piped()).spawn().expect("this program begins once more");
        let output = BufReader::new(process.stdout.take().expect("piped"));
        let (tell, lines) = channel();
        std::thread::spawn(move || {
            for line in output.lines().map_while(Result::ok) {
                if tell.send(line).is_err() {
                    break;
                }
            }
        });
        Self { input: process.stdin.take(), process, lines }
    }

    /// Ends it as the system does when memory is short: at once, without a word (SIGKILL).
    pub fn kill(mut self) -> Vec<String> {
        self.process.kill().expect("it still ran");
        self.process.wait().expect("it ended");
        self.lines.iter().collect()
    }

    /// Asks it to end; what it answered.
    pub fn leave(mut self) -> Vec<String> {
        drop(self.input.take());
        let status = self.process.wait().expect("it ended");
        assert!(status.success(), "{status}");
        self.lines.iter().collect()
    }

    /// Whether it still runs.
    pub fn runs(&mut self) -> bool {
        self.process.try_wait().expect("its state").is_none()
    }
}

impl Drop for Worker {
    fn drop(&mut self) {
        // It may have ended by itself; a test that breaks off leaves no process behind.
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}

/// What a process begun by [`Worker::start`] does; nothing in any other.
pub fn serve_as_worker() {
    let Ok(told) = std::env::var(PLACE) else { return };
    let (saves, address) = told.split_once(' ').expect("two words");
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build().expect("a runtime");
    runtime.block_on(async {
        let room = room(address, 1).await;
        let (leave, left) = watch::channel(false);
        let tasks = web::queue::start(&room, 1, &left).await.expect("the queue opens");
        let saver = (saves == "1").then(|| tokio::spawn(save_on(room.store.clone())));
        // Until the test closes our input.
        tokio::task::spawn_blocking(|| std::io::stdin().read_line(&mut String::new())).await.expect("no panic").expect("an input");
        leave.send(true).expect("the queue listens");
        for task in tasks {
            task.await.expect("it ends well");
        }
        if let Some(saver) = saver {
            saver.abort();
        }
        room.store.close().await;
    });
}

/// Saves version after version of three documents of its own; says what was answered.
async fn save_on(store: Store) {
    let own = store::secret::id();
    for round in 0_i64.. {
        let (name, base) = (format!("{} {}", &own[..8], round % 3), (round >= 3).then_some(round / 3));
        let body = format!("{name} {round} {}", "x".repeat((round as usize * 977) % 40_000));
        let draft = Draft { kind: Kind::Locks, name: &name, summary: "{}", body: body.as_bytes(), note: "" };
        let answer = loop {
            match store.save(draft, base, "the saver").await {
                Ok(head) => break head.version,
                // It came through before the database went away, though nobody said so.
                Err(Trouble::Conflict { latest, .. }) if latest == base.unwrap_or(0) + 1 => break latest,
                Err(Trouble::Refused(_)) if base.is_none() => break 1,
                Err(Trouble::Database(_)) => tokio::time::sleep(Duration::from_millis(50)).await,
                Err(other) => panic!("{other}"),
            }
        };
        let line = format!("saved\t{name}\t{answer}\t{}", body.len());
        writeln!(std::io::stdout(), "{line}").expect("the test listens");
        tokio::time::sleep(Duration::from_millis(20)).await;
    }
}
