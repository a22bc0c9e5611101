//! Saving documents: what is asked of each kind, and what lists show of it. Pages and the API save the same things through here.

use crate::access::Who;
use crate::pages::boards::summary::Summary as BoardSummary;
use crate::pages::parts::library;
use crate::room::{Room, aside};
use crate::trouble::{Answer, Refusal};
use crate::work::Summary as PlanSummary;
use app::read::{NamedBytes, ReadRequest};
use diag::{Finding, Severity, codes};
use domain::line::{HeadKind, Line};
use domain::plan::Plan;
use domain::rules::Rules;
use serde::{Deserialize, Serialize};
use store::document::{Draft, Head, Kind, check_name};

/// Largest line sheet or locks file [bytes]; the longest example has some ten thousand.
pub const MOST_TEXT: usize = 1 << 20;

/// Longest words about a change [characters].
pub const MOST_NOTE: usize = 200;

/// Names that would hide behind pages of the same address.
const RESERVED: [&str; 2] = ["new", "compare"];

/// What lists show of a line.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct LineSummary {
    /// Stations.
    pub stations: usize,
    /// Heads that place.
    pub heads: usize,
    /// Heads that set adhesive dots.
    pub dispensers: usize,
    /// Feeder slots.
    pub slots: u64,
    /// Tray places; a magazine counts with its levels.
    pub trays: u64,
}

impl LineSummary {
    /// Of a line.
    pub fn of(line: &Line) -> Self {
        let heads = || line.station.iter().flat_map(|s| &s.head);
        let dispensers = heads().filter(|h| h.kind == HeadKind::Dispense).count();
        Self {
            stations: line.station.len(),
            heads: heads().count() - dispensers,
            dispensers,
            slots: line.station.iter().flat_map(|s| &s.bank).map(|b| u64::from(b.slots)).sum(),
            trays: line.station.iter().flat_map(|s| &s.tray).map(|t| u64::from(t.levels())).sum(),
        }
    }

    /// As it is kept with a version; `None` when another program kept something else.
    pub fn kept(head: &Head) -> Option<Self> {
        serde_json::from_str(&head.summary).ok()
    }
}

/// What lists show of order rules and locks.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct LocksSummary {
    /// The order rule for the whole line.
    pub order_rule: String,
    /// Stated orders.
    pub orders: usize,
    /// Areas looked at.
    pub inspections: usize,
    /// Locks.
    pub locks: usize,
    /// Parts kept away from a station or head.
    pub forbidden: usize,
    /// Feeders and trays that stay where they stand.
    pub kept: usize,
    /// What is out of order.
    pub down: usize,
}

impl LocksSummary {
    /// Of rules.
    pub fn of(rules: &Rules) -> Self {
        Self {
            order_rule: rules.order_rule().word().to_owned(),
            orders: rules.order.len(),
            inspections: rules.inspect.len(),
            locks: rules.lock.len(),
            forbidden: rules.forbid.len(),
            kept: rules.keep.len(),
            down: rules.down.len(),
        }
    }

    /// As it is kept with a version; `None` when another program kept something else.
    pub fn kept(head: &Head) -> Option<Self> {
        serde_json::from_str(&head.summary).ok()
    }
}

/// A document that can be kept.
#[derive(Debug)]
pub struct Checked {
    /// What lists show of it: JSON.
    pub summary: String,
    /// What is kept.
    pub body: Vec<u8>,
}

fn json<T: Serialize>(summary: &T) -> Answer<String> {
    serde_json::to_string(summary).map_err(|e| Refusal::Failed(e.to_string()))
}

fn text(name: &str, body: Vec<u8>) -> Answer<String> {
    if body.len() > MOST_TEXT {
        return Err(Refusal::TooLarge(format!("`{name}` is larger than {} KiB; no sheet needs that much.", MOST_TEXT >> 10)));
    }
    String::from_utf8(body).map_err(|_| Refusal::Wrong(format!("`{name}` is no text in UTF-8.")))
}

/// Checks what is to be kept under a name, and sums it up for lists.
///
/// # Errors
/// Findings of the kind's reader, and of the checker for a plan; a sentence for a kind that is not saved in this way.
pub async fn check(kind: Kind, name: &str, body: Vec<u8>) -> Answer<Checked> {
    check_name(name)?;
    if matches!(kind, Kind::Line | Kind::Locks | Kind::Plan) && RESERVED.contains(&name) {
        return Err(Refusal::Wrong(format!("`{name}` is the address of a page; take another name.")));
    }
    let name = name.to_owned();
    // Plans and products of some thousand placements take a while.
    aside(move || match kind {
        Kind::Line => {
            let text = text(&name, body)?;
            let line = app::documents::read_line(&name, &text)?;
            Ok(Checked { summary: json(&LineSummary::of(&line))?, body: text.into_bytes() })
        }
        Kind::Locks => {
            let text = text(&name, body)?;
            let rules = Rules::parse(&name, &text)?;
            Ok(Checked { summary: json(&LocksSummary::of(&rules))?, body: text.into_bytes() })
        }
        Kind::Product => product(&name, body),
        Kind::Library => parts(&name, body),
        Kind::Plan => plan(&name, body),
        Kind::Files => Err(Refusal::Wrong("Files of the designer are kept by reading them, not by themselves.".to_owned())),
    })
    .await?
}

fn product(name: &str, bytes: Vec<u8>) -> Answer<Checked> {
    // The ending says that a document is meant, so that nothing else is concluded from it.
    let file = NamedBytes { name: format!("{name}.json"), bytes };
    if !file.bytes.trim_ascii_start().starts_with(b"{") {
        return Err(Refusal::Wrong(format!("`{name}` is no product document, which is JSON; files of the designer are to be read first.")));
    }
    let mut request = ReadRequest { files: vec![file], ..ReadRequest::default() };
    let result = app::read::read(&request);
    let summary = BoardSummary::of(&result);
    let Some(mut product) = result.product else { return Err(result.findings.into()) };
    let body = if product.name == name {
        request.files.pop().map(|f| f.bytes).unwrap_or_default()
    } else {
        // The document and its name in the room are one.
        name.clone_into(&mut product.name);
        app::documents::write_product(&product).map_err(|e| Refusal::Failed(e.to_string()))?.into_bytes()
    };
    Ok(Checked { summary: summary.text(), body })
}

fn parts(name: &str, bytes: Vec<u8>) -> Answer<Checked> {
    if name != library::NAME {
        return Err(Refusal::Wrong(format!("The room has one parts library, `{}`.", library::NAME)));
    }
    let file = NamedBytes { name: format!("{name}.json"), bytes };
    let read = app::library::read(&file)?;
    let summary = serde_json::json!({ "parts": read.parts.len(), "version": read.version() });
    Ok(Checked { summary: summary.to_string(), body: file.bytes })
}

fn plan(name: &str, body: Vec<u8>) -> Answer<Checked> {
    let text = String::from_utf8(body).map_err(|_| Refusal::Wrong(format!("`{name}` is no text in UTF-8.")))?;
    let plan = Plan::parse(name, &text)?;
    let verdict = app::check::check(&plan);
    if !verdict.accepted {
        return Err(verdict.violations.iter().map(|v| violation(name, v)).collect::<Vec<_>>().into());
    }
    Ok(Checked { summary: PlanSummary::of(&plan).text(), body: text.into_bytes() })
}

/// A violation as a finding, with the cure of its code.
pub fn violation(file: &str, v: &app::check::Violation) -> Finding {
    match codes::find(&v.code) {
        Some(code) => Finding::new(code, v.detail.clone()).at(file, 0),
        None => Finding {
            code: v.code.clone(),
            severity: Severity::Error,
            file: file.to_owned(),
            line: 0,
            value: String::new(),
            message: v.detail.clone(),
            hint: String::new(),
        },
    }
}

/// Words about a change: on one line, not longer than anybody reads; `otherwise` where nothing was said.
pub fn note(said: &str, otherwise: &str) -> String {
    let line: String = said.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    let line = line.trim();
    if line.is_empty() { otherwise.to_owned() } else { line.chars().take(MOST_NOTE).collect() }
}

/// Checks a document and keeps it, as a new one (`base` is `None`) or as the version after `base`.
///
/// # Errors
/// As [`check`]; [`Refusal::Conflict`] when another version stands than `base`; then nothing was changed.
pub async fn keep(room: &Room, who: &Who, kind: Kind, name: &str, body: Vec<u8>, base: Option<i64>, note: &str) -> Answer<Head> {
    let checked = check(kind, name, body).await?;
    let draft = Draft { kind, name, summary: &checked.summary, body: &checked.body, note };
    Ok(room.store.save(draft, base, &who.name).await?)
}
