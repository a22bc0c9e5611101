//! Part records from what the files say: number, value, package name, references.
//!
//! The size comes from the package name; failing that from a size code in the part number
//! or value; failing that it is assumed from the reference. All else (tape, tray, nozzle,
//! speed, accuracy) follows from the size by the rules of the submodules, each value with
//! its source and how sure it is. What a designer's file or the engineer states is put in
//! afterwards, and [`refit`] lets the rest follow.

pub mod check;
mod derive;
mod handling;
mod hints;
mod reference;
pub mod tape;
pub mod tray;

pub use derive::refit;

use crate::package::{self, Body, Doubt, System};
use diag::{Finding, codes};
use domain::part::{Certainty, Part, Source};

/// A part with everything a line must know of it, and what is doubtful about it.
///
/// `references` are those of all its placements; their letters tell what it is when the
/// package does not.
///
/// ```
/// let (part, findings) = intake::parts::part("C-100n", "100n", "C_0603_1608Metric", &["C1", "C2"]);
/// assert_eq!((part.body_x_um.value.0, part.body_y_um.value.0), (1_600, 800));
/// assert!(findings.is_empty());
/// ```
pub fn part(number: &str, value: &str, package: &str, references: &[&str]) -> (Part, Vec<Finding>) {
    let said = Said { number, value, package, references };
    let (body, source) = body(&said);
    let part = derive::part(&said, &body, source);
    let findings = doubts(&said, &body, source, &part);
    (part, findings)
}

/// What the files say of a part.
struct Said<'a> {
    number: &'a str,
    value: &'a str,
    package: &'a str,
    references: &'a [&'a str],
}

impl Said<'_> {
    /// What the reader of a finding knows the part by.
    fn known_as(&self) -> &str {
        if self.package.trim().is_empty() { self.number } else { self.package }
    }
}

fn body(said: &Said<'_>) -> (Body, Source) {
    let class = reference::class(said.references);
    let named = package::read(said.package, class.kind);
    let hinted = || hints::body(said.number, said.value, class);
    match named.or_else(hinted) {
        Some(body) => (body, Source::Name),
        None if package::through_hole(said.package).is_some() => (class.through_hole().assumed(), Source::Default),
        None => (class.assumed(), Source::Default),
    }
}

fn doubts(said: &Said<'_>, body: &Body, source: Source, part: &Part) -> Vec<Finding> {
    let size = || format!("{} x {} mm", body.x.to_mm(), body.y.to_mm());
    let places = match said.references.len() {
        1 => "1 placement".to_owned(),
        n => format!("{n} placements"),
    };
    let known_as = said.known_as();
    let about_size = match (source, body.doubt) {
        (Source::Default, _) => {
            let message = format!("no size is known for `{known_as}` ({places}); {} is assumed from the reference", size());
            Some(Finding::new(codes::parts::SIZE_UNKNOWN, message))
        }
        (_, Some(Doubt::TypicalSize)) => {
            let message = format!("`{known_as}` names no size ({places}); {} is assumed, as is typical of the family", size());
            Some(Finding::new(codes::parts::SIZE_TYPICAL, message))
        }
        (_, Some(Doubt::BothSystems { code, read_as })) => Some(ambiguous(code, read_as, &places)),
        (_, Some(Doubt::LostZero)) => {
            let message =
                format!("1005 was read as the metric code, 1 x 0.5 mm ({places}); 01005 that lost its zero would be 0.4 x 0.2 mm");
            Some(Finding::new(codes::parts::CODE_LOST_ZERO, message))
        }
        (_, None) => None,
    };
    let through_hole = (part.mount.value == domain::part::Mount::ThroughHole).then(|| {
        let surely = if part.mount.certainty == Certainty::Guess { "is perhaps" } else { "is taken for" };
        Finding::new(codes::parts::MOUNT_BY_NAME, format!("`{known_as}` {surely} a through-hole part by its name ({places})"))
    });
    about_size.into_iter().chain(through_hole).map(|f| f.value(known_as)).collect()
}

fn ambiguous(code: &str, read_as: System, places: &str) -> Finding {
    let (inch, metric) = package::bare_code_sizes(code).unwrap_or_default();
    let (taken, size, other, other_size) = match read_as {
        System::Inch => ("inch", inch, "metric", metric),
        System::Metric => ("metric", metric, "inch", inch),
    };
    let message = format!("`{code}` was read as the {taken} code, {size} ({places}); the {other} code would be {other_size}");
    Finding::new(codes::parts::CODE_AMBIGUOUS, message)
}
