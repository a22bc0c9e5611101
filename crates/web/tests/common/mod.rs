//! A running room for tests, and a small browser that speaks HTTP/1.1 to it: a cookie jar, forms, uploads, streams.
//!
//! ```ignore
//! let room = common::Room::start();
//! let anna = room.as_role("engineer");
//! let page = anna.post_form("/lines", &[("name", "line 1"), ("sheet", &text)]);
//! assert_eq!(page.status, 303, "{}", page.text);
//! ```

#![allow(dead_code, reason = "not every test file uses everything")]

pub mod http;

#[allow(unused_imports, reason = "not every test file uses everything")]
pub use http::{Browser, File, Page, Stream};

use std::net::SocketAddr;
use std::path::PathBuf;
use std::sync::atomic::{AtomicUsize, Ordering};
use store::Store;
use store::people::Role;
use tempfile::TempDir;
use tokio::runtime::Runtime;
use web::{Config, Started};

/// The password of everybody who joins in tests.
pub const PASSWORD: &str = "seven quiet herons";

/// A room on a SQLite file of its own and a free port; it ends in good order when it is dropped.
pub struct Room {
    /// Where it listens.
    pub address: SocketAddr,
    /// What it keeps, opened a second time, to look behind the pages.
    pub store: Store,
    /// The administrator who joined first.
    pub admin: Browser,
    /// Folder of its file.
    pub folder: TempDir,
    runtime: Runtime,
    started: Option<Started>,
    people: AtomicUsize,
}

impl Room {
    /// A room with no workers, so that ordered jobs wait.
    pub fn start() -> Self {
        Self::start_with(|_| {})
    }

    /// A room with one worker, so that ordered jobs are done.
    pub fn start_planning() -> Self {
        Self::start_with(|c| c.planners = 1)
    }

    /// A room set up by `change`.
    pub fn start_with(change: impl FnOnce(&mut Config)) -> Self {
        let folder = TempDir::new().expect("a temporary folder");
        let place = folder.path().join("room.db").display().to_string();
        let mut config = Config { listen: SocketAddr::from(([127, 0, 0, 1], 0)), store: place, planners: 0, threads: 1, https: false };
        change(&mut config);
        let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build().expect("a runtime");
        let store = config.store.clone();
        let started = runtime.block_on(async { web::start(web::open(config).await?).await }).expect("the room starts");
        let store = runtime.block_on(Store::open(&store)).expect("the store opens a second time");
        let link = started.first_link.clone().expect("a new room gives a link for its first administrator");
        let admin = Browser::new(started.address);
        join(&admin, &link, "admin");
        Self { address: started.address, store, admin, folder, runtime, started: Some(started), people: AtomicUsize::new(0) }
    }

    /// A browser of somebody new of this role, signed in.
    pub fn as_role(&self, role: &str) -> Browser {
        let n = self.people.fetch_add(1, Ordering::SeqCst) + 1;
        self.person(&format!("{role}-{n}"), role)
    }

    /// A browser of a new person of this name and role, signed in.
    pub fn person(&self, name: &str, role: &str) -> Browser {
        let role = Role::of(role).expect("a role");
        let key = self.block_on(self.store.invite(role, store::now() + 60_000_000, "tests")).expect("an invitation");
        let browser = self.browser();
        join(&browser, &format!("/join?key={key}"), name);
        browser
    }

    /// A browser of nobody.
    pub fn browser(&self) -> Browser {
        Browser::new(self.address)
    }

    /// Waits for what the store answers.
    pub fn block_on<F: Future>(&self, future: F) -> F::Output {
        self.runtime.block_on(future)
    }
}

impl Drop for Room {
    fn drop(&mut self) {
        let Some(started) = self.started.take() else { return };
        self.runtime.block_on(self.store.close());
        let ended = self.runtime.block_on(started.stop());
        // A second panic while one is being told would hide the first.
        if !std::thread::panicking() {
            ended.expect("the room ends in good order");
        }
    }
}

/// Joins by a link.
fn join(browser: &Browser, link: &str, name: &str) {
    let key = link.split_once("key=").expect("a link with its key").1;
    let form = [("key", key), ("name", name), ("password", PASSWORD), ("again", PASSWORD)];
    let page = browser.post_form("/join", &form);
    assert_eq!(page.status, 303, "{name} cannot join: {}", page.text);
}

/// A file of the examples beside the crates.
pub fn example(path: &str) -> Vec<u8> {
    let full = PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/../../examples")).join(path);
    std::fs::read(&full).unwrap_or_else(|e| panic!("{}: {e}", full.display()))
}

/// All files of a folder of the examples, by name.
pub fn example_folder(path: &str) -> Vec<File> {
    folder(&PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/../../examples")).join(path))
}

/// All files of a real board of the collection beside the project, or `None` with a message where there is no collection.
pub fn real_board(name: &str) -> Option<Vec<File>> {
    let path = PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/../../../shared/boards")).join(name);
    if path.is_dir() {
        return Some(folder(&path));
    }
    println!("the collection of boards is not there: `{name}` is left out");
    None
}

fn folder(path: &PathBuf) -> Vec<File> {
    let entries = std::fs::read_dir(path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
    let mut paths: Vec<PathBuf> = entries.map(|e| e.expect("an entry").path()).filter(|p| p.is_file()).collect();
    paths.sort();
    let file = |p: &PathBuf| File {
        name: p.file_name().expect("a name").to_string_lossy().into_owned(),
        bytes: std::fs::read(p).expect("a file that can be read"),
    };
    paths.iter().map(file).collect()
}
