//! What the `down` entries of the rules leave: `docs/planning.md` §1.

use domain::line::{FeederKind, Head, NozzleKind, Station};
use domain::rules::{Closed, Failure, Rules};

/// All failures stated; entries that say nothing sensible are refused by the rule `down`.
fn failures(rules: &Rules) -> impl Iterator<Item = Failure<'_>> {
    rules.down.iter().filter_map(|d| d.what().ok())
}

/// Whether the whole station does no work.
pub(crate) fn station_is_down(rules: &Rules, station: &str) -> bool {
    failures(rules).any(|f| f == Failure::Station(station))
}

/// Whether this head does no work, by itself or with its station.
pub(crate) fn head_is_down(rules: &Rules, station: &str, head: &str) -> bool {
    failures(rules).any(|f| f == Failure::Station(station) || f == Failure::Head(station, head))
}

/// Whether nothing can stand on this slot.
pub(crate) fn slot_is_down(rules: &Rules, station: &str, bank: &str, slot: u32) -> bool {
    failures(rules).any(|f| match f {
        Failure::Station(s) => s == station,
        Failure::Bank(s, b) => s == station && b == bank,
        Failure::Slots(s, b, from, to) => s == station && b == bank && (from..=to).contains(&slot),
        _ => false,
    })
}

/// Whether nothing can lie on this tray place.
pub(crate) fn tray_is_down(rules: &Rules, station: &str, tray: &str) -> bool {
    failures(rules).any(|f| f == Failure::Station(station) || f == Failure::Tray(station, tray))
}

/// Nozzles of a kind that are left.
pub(crate) fn nozzles_left(rules: &Rules, kind: &NozzleKind) -> u32 {
    failures(rules).fold(kind.stock, |left, f| match f {
        Failure::Nozzle(name, n) if name == kind.name => left.saturating_sub(n.unwrap_or(u32::MAX)),
        _ => left,
    })
}

/// Feeders of a kind that are left.
pub(crate) fn feeders_left(rules: &Rules, kind: &FeederKind) -> u32 {
    failures(rules).fold(kind.stock, |left, f| match f {
        Failure::Feeder(name, n) if name == kind.name => left.saturating_sub(n.unwrap_or(u32::MAX)),
        _ => left,
    })
}

/// Whether an entry leaves none of this nozzle kind.
pub(crate) fn nozzle_is_gone(rules: &Rules, kind: &NozzleKind) -> bool {
    failures(rules).any(|f| matches!(f, Failure::Nozzle(name, _) if name == kind.name)) && nozzles_left(rules, kind) == 0
}

/// Whether an entry leaves none of this feeder kind.
pub(crate) fn feeder_is_gone(rules: &Rules, kind: &FeederKind) -> bool {
    failures(rules).any(|f| matches!(f, Failure::Feeder(name, _) if name == kind.name)) && feeders_left(rules, kind) == 0
}

/// The longest run of slots that a head of a station picks from and on which something can stand.
pub(crate) fn longest_run(rules: &Rules, station: &Station, head: &Head) -> u32 {
    let run = |bank: &domain::line::Bank| {
        let (mut longest, mut here) = (0, 0);
        for slot in 1..=bank.slots {
            here = if slot_is_down(rules, &station.name, &bank.name, slot) { 0 } else { here + 1 };
            longest = longest.max(here);
        }
        longest
    };
    station.bank.iter().filter(|b| b.beam == head.beam).map(run).max().unwrap_or(0)
}

/// The entry that closes a station's set-up; of several the strictest.
pub(crate) fn closed<'r>(rules: &'r Rules, station: &str) -> Option<&'r Closed> {
    rules.closed.iter().filter(|c| c.station == station).min_by_key(|c| c.add)
}

/// Whether a closed station keeps no supply of the part and may get none.
pub(crate) fn closed_to(rules: &Rules, station: &str, part: &str) -> bool {
    closed(rules, station).is_some_and(|c| c.add == 0) && !rules.keep.iter().any(|k| k.station == station && k.part == part)
}
