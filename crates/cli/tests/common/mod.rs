//! What the tests of the command line share: running the program and looking at what came out.

// Each test program takes what it needs of this and leaves the rest.
#![allow(dead_code)]

use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::Command;

/// The workspace's own folder.
pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

/// A file or folder below `examples`, as an argument.
pub fn example(name: &str) -> String {
    root().join("examples").join(name).display().to_string()
}

/// How a run ended.
pub struct Ran {
    /// Exit code.
    pub code: i32,
    /// Standard output.
    pub out: String,
    /// Standard error.
    pub err: String,
}

impl Ran {
    /// Standard output as JSON.
    pub fn json(&self) -> Value {
        serde_json::from_str(&self.out).unwrap_or_else(|e| panic!("{e}\n--- stdout\n{}\n--- stderr\n{}", self.out, self.err))
    }

    /// Fails unless the run ended with this exit code.
    #[track_caller]
    pub fn ends(self, code: i32) -> Self {
        assert_eq!(self.code, code, "\n--- stdout\n{}\n--- stderr\n{}", self.out, self.err);
        self
    }

    /// Fails unless the message names this code and offers a next step.
    #[track_caller]
    pub fn says(self, code: &str) -> Self {
        assert!(self.err.contains(&format!("[{code}]")), "no [{code}] in\n{}", self.err);
        assert!(self.err.contains("hint: "), "no next step in\n{}", self.err);
        self
    }
}

/// Runs the program; a panic fails the test whatever it is about.
pub fn run<S: AsRef<std::ffi::OsStr>>(arguments: &[S]) -> Ran {
    let output = Command::new(env!("CARGO_BIN_EXE_evenline")).args(arguments).output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    let ran = Ran { code: output.status.code().unwrap_or(-1), out: text(output.stdout), err: text(output.stderr) };
    assert!(!ran.err.contains("panicked"), "{}", ran.err);
    ran
}

/// A folder with these files in it, which goes away with the value.
pub fn folder(files: &[(&str, &[u8])]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for (name, bytes) in files {
        std::fs::write(folder.path().join(name), bytes).unwrap();
    }
    folder
}

/// A path as an argument.
pub fn arg(path: &Path) -> String {
    path.display().to_string()
}
