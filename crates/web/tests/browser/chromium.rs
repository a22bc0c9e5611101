//! A real browser for tests: Debian's Chromium, spoken to through pipes, which needs no port, no driver and no library.

use serde_json::{Value, json};
use std::collections::HashMap;
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};
use std::sync::{Arc, Condvar, Mutex, MutexGuard};
use std::thread::JoinHandle;
use std::time::Duration;
use tempfile::TempDir;

/// Where Debian puts it.
const PROGRAM: &str = "/usr/bin/chromium";

/// Longest wait for an answer; planning and others may use the same cores.
pub const PATIENCE: Duration = Duration::from_secs(90);

/// Nothing of the browser's own goes out to the network, and nothing of one run stays for the next.
const SWITCHES: [&str; 14] = [
    "--headless=new",
    "--remote-debugging-pipe",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--disable-dev-shm-usage",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-default-apps",
    "--disable-sync",
    "--no-first-run",
    "--no-default-browser-check",
    "--password-store=basic",
    "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1",
];

/// A running browser; it ends when it is dropped.
pub struct Chromium {
    child: Child,
    pub(crate) wire: Arc<Wire>,
    reader: Option<JoinHandle<()>>,
    _profile: TempDir,
}

/// An event of a tab.
#[derive(Clone, Debug)]
pub struct Event {
    /// Its name, `Page.loadEventFired`.
    pub method: String,
    /// What it tells.
    pub params: Value,
}

/// Both directions of the pipes.
pub(crate) struct Wire {
    out: Mutex<(ChildStdin, u64)>,
    heard: Mutex<Heard>,
    news: Condvar,
}

#[derive(Default)]
struct Heard {
    answers: HashMap<u64, Value>,
    events: HashMap<String, Vec<Event>>,
    over: bool,
}

impl Chromium {
    /// Starts it, or says why the tests that need it are left out.
    ///
    /// # Panics
    /// When it is absent although `EVENLINE_REQUIRE_BROWSER=1` wants it, or when it does not start.
    pub fn start() -> Option<Self> {
        if !Path::new(PROGRAM).exists() {
            assert!(std::env::var_os("EVENLINE_REQUIRE_BROWSER").is_none_or(|v| v != "1"), "{PROGRAM} is required and not there");
            println!("{PROGRAM} is not there: left out (apt-get install chromium; EVENLINE_REQUIRE_BROWSER=1 makes this a failure)");
            return None;
        }
        let profile = TempDir::new().expect("a folder for the profile");
        // The browser reads commands from descriptor 3 and answers on 4; the shell puts our pipes there.
        let mut child = Command::new("/bin/sh")
            .args(["-c", "exec \"$0\" \"$@\" 3<&0 4>&1 </dev/null >/dev/null 2>&1", PROGRAM])
            .args(SWITCHES)
            .arg(format!("--user-data-dir={}", profile.path().display()))
            .arg("about:blank")
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .expect("the browser starts");
        let out = child.stdin.take().expect("a pipe to it");
        let from = child.stdout.take().expect("a pipe from it");
        let wire = Arc::new(Wire { out: Mutex::new((out, 0)), heard: Mutex::default(), news: Condvar::new() });
        let reader = {
            let wire = Arc::clone(&wire);
            std::thread::spawn(move || wire.read(from))
        };
        Some(Self { child, wire, reader: Some(reader), _profile: profile })
    }
}

impl Drop for Chromium {
    fn drop(&mut self) {
        // Asked first, so that it writes nothing into the folder any more when that is removed.
        if self.wire.ask(None, "Browser.close", &json!({})).is_err() {
            let _ = self.child.kill();
        }
        let _ = self.child.wait();
        if let Some(reader) = self.reader.take() {
            let _ = reader.join();
        }
    }
}

impl Wire {
    fn hear(&self) -> MutexGuard<'_, Heard> {
        self.heard.lock().expect("the reader lives")
    }

    /// Sends a command without waiting; gives its number.
    fn send(&self, session: Option<&str>, method: &str, params: &Value) -> Result<u64, String> {
        let mut out = self.out.lock().expect("the pipe");
        out.1 += 1;
        let id = out.1;
        let mut command = json!({ "id": id, "method": method, "params": params });
        if let Some(session) = session {
            command["sessionId"] = json!(session);
        }
        let mut bytes = command.to_string().into_bytes();
        bytes.push(0);
        out.0.write_all(&bytes).and_then(|()| out.0.flush()).map_err(|e| format!("{method}: {e}"))?;
        Ok(id)
    }

    /// Sends a command and waits for its answer.
    pub(crate) fn ask(&self, session: Option<&str>, method: &str, params: &Value) -> Result<Value, String> {
        let id = self.send(session, method, params)?;
        let wait = |h: &mut Heard| !h.answers.contains_key(&id) && !h.over;
        let (mut heard, _) = self.news.wait_timeout_while(self.hear(), PATIENCE, wait).expect("the reader lives");
        let over = heard.over;
        let mut answer =
            heard.answers.remove(&id).ok_or_else(|| format!("{method}: no answer{}", if over { ", it has ended" } else { "" }))?;
        match answer.get("error") {
            Some(error) => Err(format!("{method}: {error}")),
            None => Ok(answer["result"].take()),
        }
    }

    /// Waits until an event of a session after the first `from` of them fits.
    pub(crate) fn wait_event(&self, session: &str, from: usize, fits: impl Fn(&Event) -> bool) -> Option<Event> {
        let find = |h: &Heard| h.events.get(session).and_then(|e| e.iter().skip(from).find(|e| fits(e)).cloned());
        let (heard, _) = self.news.wait_timeout_while(self.hear(), PATIENCE, |h| find(h).is_none() && !h.over).expect("the reader lives");
        find(&heard)
    }

    /// What a session told so far.
    pub(crate) fn events(&self, session: &str) -> Vec<Event> {
        self.hear().events.get(session).cloned().unwrap_or_default()
    }

    fn read(&self, from: ChildStdout) {
        let mut from = BufReader::new(from);
        loop {
            let mut bytes = Vec::new();
            if from.read_until(0, &mut bytes).unwrap_or(0) == 0 {
                break;
            }
            bytes.pop();
            let message: Value = serde_json::from_slice(&bytes).expect("the browser speaks JSON");
            self.take(message);
        }
        self.hear().over = true;
        self.news.notify_all();
    }

    fn take(&self, mut message: Value) {
        if let Some(id) = message["id"].as_u64() {
            self.hear().answers.insert(id, message);
        } else if let (Some(method), Some(session)) = (message["method"].as_str(), message["sessionId"].as_str()) {
            let (method, session) = (method.to_owned(), session.to_owned());
            // A dialog of the browser's own stands in the way of everything else; it is told as an event and agreed to.
            if method == "Page.javascriptDialogOpening" {
                let _ = self.send(Some(&session), "Page.handleJavaScriptDialog", &json!({ "accept": true }));
            }
            self.hear().events.entry(session).or_default().push(Event { method, params: message["params"].take() });
        }
        self.news.notify_all();
    }
}
