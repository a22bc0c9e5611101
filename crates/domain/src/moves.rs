//! What somebody has to carry to get from one set-up to another.

use crate::line::Line;
use crate::rules::Keep;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt;

/// One feeder or stack of trays to be carried.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Carry {
    /// Part number it supplies.
    pub part: String,
    /// Where it stands; `None` when it comes from the store.
    pub from: Option<Keep>,
    /// Where it goes; `None` when it is put away.
    pub to: Option<Keep>,
    /// Whether it is set aside to make room (`to` is `None`), or was so by an earlier step (`from` is `None`).
    pub aside: bool,
}

impl Carry {
    fn is_tray(&self) -> bool {
        self.from.iter().chain(&self.to).any(|k| k.tray.is_some())
    }
}

impl fmt::Display for Carry {
    /// Such as `take feeder of R-10K-0402 from chip-1 front 12 to chip-2 rear 5`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let what = if self.is_tray() { "trays" } else { "feeder" };
        match (&self.from, &self.to) {
            (Some(a), Some(b)) => write!(f, "take {what} of {} from {} to {}", self.part, a.place(), b.place()),
            (None, Some(b)) if self.aside => write!(f, "bring {what} of {} that was set aside to {}", self.part, b.place()),
            (None, Some(b)) => write!(f, "bring {what} of {} from the store to {}", self.part, b.place()),
            (Some(a), None) if self.aside => write!(f, "set {what} of {} at {} aside for now", self.part, a.place()),
            (Some(a), None) => write!(f, "put {what} of {} at {} away", self.part, a.place()),
            (None, None) => write!(f, "leave {what} of {}", self.part),
        }
    }
}

/// From one set-up to another.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Moves {
    /// Supplies of the new set-up that do not stand where they stood: what a change of set-up is priced by.
    pub moved: u32,
    /// Everything to be done, in an order in which each place is free when something comes to it.
    pub steps: Vec<Carry>,
    /// Supplies that stand and are not needed any more, but are in nobody's way: they may stay.
    pub idle: Vec<Keep>,
}

/// How many supplies of `to` do not stand in `from` at the same place.
pub fn moved(from: &[Keep], to: &[Keep]) -> u32 {
    let stood: BTreeSet<&Keep> = from.iter().collect();
    to.iter().filter(|k| !stood.contains(k)).count() as u32
}

/// What has to be carried to get from one set-up to another on `line`, the line of the new one.
///
/// A supply that stands at the same place in both is not touched. Another one of the new set-up is taken from
/// where one of its part stands unneeded (first at the same station), else from the store.
pub fn moves(line: &Line, from: &[Keep], to: &[Keep]) -> Moves {
    let (stood, stands): (BTreeSet<&Keep>, BTreeSet<&Keep>) = (from.iter().collect(), to.iter().collect());
    let mut spare: BTreeMap<&str, Vec<&Keep>> = BTreeMap::new();
    for k in from.iter().filter(|k| !stands.contains(k)) {
        spare.entry(&k.part).or_default().push(k);
    }
    let mut wanted: Vec<(Option<&Keep>, &Keep)> = Vec::new();
    for k in to.iter().filter(|k| !stood.contains(k)) {
        let sources = spare.entry(&k.part).or_default();
        let same = sources.iter().position(|s| s.station == k.station && s.feeder == k.feeder);
        let alike = same.or_else(|| sources.iter().position(|s| s.feeder == k.feeder));
        wanted.push((alike.map(|i| sources.remove(i)), k));
    }
    let idle: Vec<&Keep> = spare.into_values().flatten().collect();
    let moved = wanted.len() as u32;
    let (steps, idle) = in_order(line, wanted, idle);
    Moves { moved, steps, idle }
}

/// Puts the steps into an order in which each place is free, setting supplies aside where they wait for each other.
fn in_order(line: &Line, wanted: Vec<(Option<&Keep>, &Keep)>, mut idle: Vec<&Keep>) -> (Vec<Carry>, Vec<Keep>) {
    let carry = |part: &str, from: Option<&Keep>, to: Option<&Keep>, aside| Carry {
        part: part.to_owned(),
        from: from.cloned(),
        to: to.cloned(),
        aside,
    };
    let mut wanted: Vec<(Option<&Keep>, &Keep, bool)> = wanted.into_iter().map(|(from, to)| (from, to, false)).collect();
    let mut steps = Vec::new();
    // What no longer has a place makes room first.
    idle.retain(|k| {
        let in_the_way = wanted.iter().any(|(_, to, _)| overlap(line, k, to));
        if in_the_way {
            steps.push(carry(&k.part, Some(k), None, false));
        }
        !in_the_way
    });
    while !wanted.is_empty() {
        let blocked =
            |i: usize, to: &Keep| wanted.iter().enumerate().any(|(j, (from, ..))| j != i && from.is_some_and(|f| overlap(line, f, to)));
        match (0..wanted.len()).find(|i| !blocked(*i, wanted[*i].1)) {
            Some(i) => {
                let (from, to, aside) = wanted.remove(i);
                steps.push(carry(&to.part, from, Some(to), aside));
            }
            None => {
                // All wait for each other: the first one that stands in the way is set aside, and comes back later.
                let Some(entry) = wanted.iter_mut().find(|(from, ..)| from.is_some()) else { break };
                steps.push(carry(&entry.1.part, entry.0, None, true));
                (entry.0, entry.2) = (None, true);
            }
        }
    }
    (steps, idle.into_iter().cloned().collect())
}

/// Whether two supplies would stand on the same slots or level.
fn overlap(line: &Line, a: &Keep, b: &Keep) -> bool {
    if (&a.station, &a.bank, &a.tray) != (&b.station, &b.bank, &b.tray) {
        return false;
    }
    if a.tray.is_some() {
        return a.level.unwrap_or(1) == b.level.unwrap_or(1);
    }
    let width = |k: &Keep| line.feeder.iter().find(|f| Some(&f.name) == k.feeder.as_ref()).map_or(1, |f| f.slots);
    let (Some(first_a), Some(first_b)) = (a.slot, b.slot) else { return false };
    first_a < first_b + width(b) && first_b < first_a + width(a)
}
