//! What the checker says.

use diag::Code;
use serde::Serialize;
use units::Time;

/// The checker's answer about a plan.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Verdict {
    /// Whether every claim of the plan holds.
    pub accepted: bool,
    /// Every claim that does not hold.
    pub violations: Vec<Violation>,
    /// The takt as recomputed (µs); 0 when the plan is too unsound to time.
    pub takt_us: Time,
    /// The bound as recomputed from the certificate (µs); 0 when it proves nothing.
    pub bound_us: Time,
}

/// One claim that does not hold.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Violation {
    /// Stable code; see the error index.
    pub code: String,
    /// Where and what, with the values.
    pub detail: String,
}

/// Collects violations.
#[derive(Debug, Default)]
pub(crate) struct Log(Vec<Violation>);

impl Log {
    pub(crate) fn add(&mut self, code: &'static Code, detail: impl Into<String>) {
        self.0.push(Violation { code: code.id.to_owned(), detail: detail.into() });
    }

    pub(crate) fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    pub(crate) fn into_violations(self) -> Vec<Violation> {
        self.0
    }
}

impl Verdict {
    pub(crate) fn new(log: Log, takt_us: Time, bound_us: Time) -> Self {
        Self { accepted: log.is_empty(), violations: log.0, takt_us, bound_us }
    }
}
