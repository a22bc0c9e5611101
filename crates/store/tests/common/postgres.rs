//! A PostgreSQL server of the tests' own: from the system's package, in a folder that goes with it, reached by a socket in that folder.
//!
//! Included by the tests of other crates too, by path; each uses a part of it.

#![allow(dead_code)]

use std::fs::File;
use std::os::unix::fs::chown;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::atomic::{AtomicU32, Ordering};
use std::sync::{Arc, Mutex, Weak};
use tempfile::TempDir;

/// When set to `1`, tests that want a server fail without one instead of telling that they were skipped.
const REQUIRE: &str = "EVENLINE_REQUIRE_POSTGRES";

/// The account that runs the server when the tests run as root, whom the server refuses.
const ACCOUNT: &str = "postgres";

/// A running server.
pub struct Server {
    folder: TempDir,
    programs: PathBuf,
    /// User and group to run as, when that is not who we are.
    other: Option<(u32, u32)>,
    databases: AtomicU32,
}

/// The server that the tests of this process share; it ends with the last of them.
static SHARED: Mutex<Weak<Server>> = Mutex::new(Weak::new());

impl Server {
    /// The server that the tests of this process share. `None`, with a message, when the machine has none to start.
    pub fn shared() -> Option<Arc<Self>> {
        let mut shared = SHARED.lock().expect("no test broke off while it started the server");
        if let Some(running) = shared.upgrade() {
            return Some(running);
        }
        let server = Arc::new(Self::start()?);
        *shared = Arc::downgrade(&server);
        Some(server)
    }

    /// Starts a server of one test's own. `None`, with a message, when the machine has none to start.
    pub fn start() -> Option<Self> {
        let missing = |why: &str| {
            assert!(std::env::var(REQUIRE).as_deref() != Ok("1"), "{why}, and {REQUIRE}=1 asks for it");
            eprintln!("skipped: {why} (Debian: apt-get install postgresql)");
            None
        };
        let Some(programs) = programs() else { return missing("PostgreSQL's initdb and pg_ctl are not here") };
        let root = id(&["-u"]) == Some(0);
        let other = match (root, id(&["-u", ACCOUNT]), id(&["-g", ACCOUNT])) {
            (false, ..) => None,
            (true, Some(user), Some(group)) => Some((user, group)),
            (true, ..) => return missing("root may not run PostgreSQL and there is no account `postgres`"),
        };
        let folder = tempfile::Builder::new().prefix("room-pg").tempdir().expect("a temporary folder");
        if let Some((user, group)) = other {
            chown(folder.path(), Some(user), Some(group)).expect("root gives folders away");
        }
        let server = Self { folder, programs, other, databases: AtomicU32::new(0) };
        let data = server.data();
        server.run("initdb", &["-A", "trust", "-U", ACCOUNT, "-E", "UTF8", "--locale=C.UTF-8", "--no-sync", "-D", &data]);
        server.begin();
        Some(server)
    }

    /// Starts it again after [`Server::crash`].
    pub fn begin(&self) {
        let socket = self.folder.path().display();
        let options = format!(
            "-c listen_addresses='' -c unix_socket_directories='{socket}' -c fsync=off -c max_connections=200 -c log_min_messages=fatal"
        );
        self.run("pg_ctl", &["start", "-w", "-t", "60", "-D", &self.data(), "-l", &format!("{socket}/log"), "-o", &options]);
    }

    /// Ends it at once, as a fall of the machine would; what was committed must be there after [`Server::begin`].
    pub fn crash(&self) {
        self.run("pg_ctl", &["stop", "-w", "-t", "60", "-m", "immediate", "-D", &self.data()]);
    }

    /// Address of a new, empty database.
    pub fn database(&self) -> String {
        let name = format!("room_{}", self.databases.fetch_add(1, Ordering::SeqCst));
        self.run("createdb", &["-h", &self.folder.path().display().to_string(), "-U", ACCOUNT, &name]);
        self.address(ACCOUNT, &name)
    }

    /// Runs a statement as the server's administrator.
    pub fn administer(&self, database: &str, statement: &str) {
        let socket = self.folder.path().display().to_string();
        self.run("psql", &["-h", &socket, "-U", ACCOUNT, "-d", database, "-v", "ON_ERROR_STOP=1", "-q", "-c", statement]);
    }

    /// Address of a database for an account.
    pub fn address(&self, account: &str, database: &str) -> String {
        format!("postgres://{account}@localhost/{database}?host={}", self.folder.path().display())
    }

    fn data(&self) -> String {
        self.folder.path().join("data").display().to_string()
    }

    /// Runs one of its programs; a test that cannot is broken off with what the program said.
    fn run(&self, program: &str, arguments: &[&str]) {
        let path = self.programs.join(program);
        let mut command = match self.other {
            None => Command::new(&path),
            Some((user, group)) if Path::new("/usr/bin/setpriv").exists() => {
                let mut command = Command::new("/usr/bin/setpriv");
                command.args([&format!("--reuid={user}"), &format!("--regid={group}"), "--clear-groups"]).arg(&path);
                command
            }
            Some(_) => {
                // The account has no shell of its own; `$0` and `"$@"` hand the arguments on untouched.
                let mut command = Command::new("su");
                command.args([ACCOUNT, "-s", "/bin/sh", "-c", "exec \"$0\" \"$@\"", "--"]).arg(&path);
                command
            }
        };
        // Into a file: the server inherits what its starter had, and a pipe would stay open as long as the server runs.
        let said = self.folder.path().join(format!("{program}-said"));
        let out = File::create(&said).expect("a file in the folder");
        let err = out.try_clone().expect("a second handle");
        command.args(arguments).current_dir(self.folder.path()).stdin(Stdio::null()).stdout(out).stderr(err);
        let status = command.status().unwrap_or_else(|e| panic!("{}: {e}", path.display()));
        assert!(status.success(), "{program}: {}", std::fs::read_to_string(&said).unwrap_or_default());
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        // A test that is breaking off must not break off a second time.
        if !std::thread::panicking() || Path::new(&self.data()).join("postmaster.pid").exists() {
            let stopped = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| self.crash()));
            if stopped.is_err() {
                eprintln!("the PostgreSQL server in {} may still run", self.folder.path().display());
            }
        }
    }
}

fn programs() -> Option<PathBuf> {
    let has = |folder: &Path| ["initdb", "pg_ctl", "createdb", "psql"].iter().all(|p| folder.join(p).exists());
    let mut found: Vec<PathBuf> =
        std::fs::read_dir("/usr/lib/postgresql").into_iter().flatten().flatten().map(|v| v.path().join("bin")).collect();
    // The newest version first, then what the path says.
    found.sort_by_key(|p| p.components().rev().nth(1).and_then(|v| v.as_os_str().to_str()?.parse::<u32>().ok()));
    found.reverse();
    found.extend(std::env::var_os("PATH").iter().flat_map(std::env::split_paths));
    found.into_iter().find(|p| has(p))
}

fn id(arguments: &[&str]) -> Option<u32> {
    let out = Command::new("id").args(arguments).stderr(Stdio::null()).output().ok()?;
    String::from_utf8(out.stdout).ok()?.trim().parse().ok()
}
