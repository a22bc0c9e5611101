//! How two revisions of a board differ, reference by reference.

use domain::product::{Placement, Product, Status};
use serde::Serialize;
use std::collections::BTreeMap;

/// What happened to a reference.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct Change {
    /// The reference; one that occurs again has a number behind it.
    pub reference: String,
    /// What is new about it.
    pub what: What,
}

/// Kinds of changes.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum What {
    /// It is new.
    Added {
        /// Its part.
        part: String,
    },
    /// It is gone.
    Removed {
        /// Its part.
        part: String,
    },
    /// It lies elsewhere, beyond a shift of the whole board [µm].
    Moved {
        /// To the right.
        x_um: i64,
        /// Up.
        y_um: i64,
    },
    /// It is turned [m°].
    Turned {
        /// Before.
        from: i64,
        /// Now.
        to: i64,
    },
    /// It is on the other side.
    OtherSide {
        /// The side it is on now.
        now: String,
    },
    /// It is another part.
    OtherPart {
        /// Before.
        from: String,
        /// Now.
        to: String,
    },
    /// It is fitted now and was not, or the other way round.
    Fitted {
        /// Whether it is fitted now.
        now: bool,
    },
}

/// Rounding of coordinates in lists [µm]: nearer is the same place.
const SAME: i64 = 15;

/// What changed from one revision to the next; rows that are no parts are left out.
pub fn changes(old: &Product, new: &Product) -> Vec<Change> {
    let (before, after) = (parts(old), parts(new));
    // The corner of a board without an outline moves with its parts: the commonest shift is that of the board.
    let shared = || before.iter().filter_map(|(r, a)| Some((a, after.get(r)?)));
    let shift = |of: &dyn Fn(&Placement) -> i64| {
        let mut all: Vec<i64> = shared().map(|(a, b)| of(b) - of(a)).collect();
        all.sort_unstable();
        all.get(all.len() / 2).copied().unwrap_or(0)
    };
    let (dx, dy) = (shift(&|p| p.at.x.0), shift(&|p| p.at.y.0));
    let mut found = Vec::new();
    for (reference, a) in &before {
        let mut add = |what| found.push(Change { reference: reference.clone(), what });
        let Some(b) = after.get(reference) else {
            add(What::Removed { part: number(old, a) });
            continue;
        };
        let moved = (b.at.x.0 - a.at.x.0 - dx, b.at.y.0 - a.at.y.0 - dy);
        if moved.0.abs() > SAME || moved.1.abs() > SAME {
            add(What::Moved { x_um: moved.0, y_um: moved.1 });
        }
        if a.rotation_mdeg != b.rotation_mdeg {
            add(What::Turned { from: a.rotation_mdeg.0, to: b.rotation_mdeg.0 });
        }
        if a.side != b.side {
            add(What::OtherSide { now: b.side.word().to_owned() });
        }
        let (was, is) = (number(old, a), number(new, b));
        if was != is {
            add(What::OtherPart { from: was, to: is });
        }
        if a.status != b.status {
            add(What::Fitted { now: b.status == Status::Fitted });
        }
    }
    let added = after.iter().filter(|(reference, _)| !before.contains_key(*reference));
    found.extend(added.map(|(reference, b)| Change { reference: reference.clone(), what: What::Added { part: number(new, b) } }));
    found.sort();
    found
}

/// Placements of parts by reference; repeated references are told apart by their order.
fn parts(product: &Product) -> BTreeMap<String, &Placement> {
    let mut seen: BTreeMap<&str, usize> = BTreeMap::new();
    let mut all = BTreeMap::new();
    for placement in product.placements.iter().filter(|p| p.status != Status::Ignored) {
        let times = seen.entry(&placement.reference).or_default();
        *times += 1;
        let name = if *times == 1 { placement.reference.clone() } else { format!("{} ({times})", placement.reference) };
        all.insert(name, placement);
    }
    all
}

fn number(product: &Product, placement: &Placement) -> String {
    placement.part.and_then(|id| product.parts.get(id.index())).map_or(String::new(), |p| p.number.clone())
}

/// The changes for people, kind by kind.
pub fn told(changes: &[Change]) -> String {
    if changes.is_empty() {
        return "both revisions place the same parts at the same places\n".to_owned();
    }
    let mut text = String::new();
    let mut kind = |heading: &str, words: &dyn Fn(&What) -> Option<String>| {
        let lines: Vec<String> = changes.iter().filter_map(|c| Some(format!("  {}{}\n", c.reference, words(&c.what)?))).collect();
        if !lines.is_empty() {
            text += &format!("{heading} ({})\n{}", lines.len(), lines.concat());
        }
    };
    let mm = |um: i64| um as f64 / 1e3;
    let degrees = |mdeg: i64| mdeg as f64 / 1e3;
    kind("added", &|w| if let What::Added { part } = w { Some(format!(": {part}")) } else { None });
    kind("removed", &|w| if let What::Removed { part } = w { Some(format!(": {part}")) } else { None });
    kind("another part", &|w| if let What::OtherPart { from, to } = w { Some(format!(": {from} -> {to}")) } else { None });
    kind("moved", &|w| if let What::Moved { x_um, y_um } = w { Some(format!(": by {}, {} mm", mm(*x_um), mm(*y_um))) } else { None });
    kind("turned", &|w| {
        if let What::Turned { from, to } = w { Some(format!(": {}° -> {}°", degrees(*from), degrees(*to))) } else { None }
    });
    kind("on the other side", &|w| if let What::OtherSide { now } = w { Some(format!(": {now}")) } else { None });
    kind("no longer fitted", &|w| matches!(w, What::Fitted { now: false }).then(String::new));
    kind("fitted now", &|w| matches!(w, What::Fitted { now: true }).then(String::new));
    text
}
