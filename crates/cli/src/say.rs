//! Messages for people, on standard error.

use crate::End;
use diag::{Finding, Severity};

/// Shows findings, the gravest last so that they are seen. Notes are left out when `quiet`.
pub fn findings(found: &[Finding], quiet: bool) {
    let mut sorted: Vec<&Finding> = found.iter().filter(|f| !quiet || f.severity > Severity::Note).collect();
    sorted.sort_by_key(|f| f.severity);
    for f in &sorted {
        eprintln!("{f}");
    }
}

/// Shows one finding and ends the command.
pub fn refuse(finding: &Finding, end: End) -> End {
    eprintln!("{finding}");
    end
}

/// Prints data, ignoring a reader that has gone away (`| head`).
pub fn print(text: &str) -> Result<End, End> {
    use std::io::Write;
    match std::io::stdout().lock().write_all(text.as_bytes()) {
        Ok(()) => Ok(End::Done),
        Err(e) if e.kind() == std::io::ErrorKind::BrokenPipe => Ok(End::Done),
        Err(e) => {
            eprintln!("error[use.file]: standard output: {e}");
            Err(End::File)
        }
    }
}

/// Prints a value as JSON.
pub fn print_json<T: serde::Serialize>(value: &T) -> Result<End, End> {
    let text = serde_json::to_string_pretty(value).map_err(|e| {
        eprintln!("error[use.file]: JSON: {e}");
        End::File
    })?;
    print(&(text + "\n"))
}
