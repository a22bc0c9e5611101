//! What the `down`, `keep` and `closed` entries of the rules leave of a line (`docs/planning.md` §1).

use domain::line::{FeederKind, Head, Line, NozzleKind, Station};
use domain::rules::{Failure, Keep, Rules};

fn failures(rules: &Rules) -> impl Iterator<Item = Failure<'_>> {
    rules.down.iter().filter_map(|d| d.what().ok())
}

/// Whether a head does no work, by itself or with its station.
pub fn head_is_down(rules: &Rules, station: &str, head: &str) -> bool {
    failures(rules).any(|f| f == Failure::Station(station) || f == Failure::Head(station, head))
}

/// Whether nothing can lie on a tray place.
pub fn tray_is_down(rules: &Rules, station: &str, tray: &str) -> bool {
    failures(rules).any(|f| f == Failure::Station(station) || f == Failure::Tray(station, tray))
}

/// For each slot of a bank whether something can stand on it.
pub fn slots_up(rules: &Rules, station: &Station, bank: usize) -> Vec<bool> {
    let (name, bank) = (station.name.as_str(), &station.bank[bank]);
    let mut up = vec![true; bank.slots as usize];
    for f in failures(rules) {
        match f {
            Failure::Station(s) if s == name => up.fill(false),
            Failure::Bank(s, b) if s == name && b == bank.name => up.fill(false),
            Failure::Slots(s, b, from, to) if s == name && b == bank.name => {
                let slots = up.iter_mut().zip(1u32..).filter(|(_, k)| (from..=to).contains(k));
                slots.for_each(|(slot, _)| *slot = false);
            }
            _ => {}
        }
    }
    up
}

/// The longest run of slots on which something can stand that a head picks from.
pub fn longest_run(rules: &Rules, station: &Station, head: &Head) -> u32 {
    let longest = |bank| slots_up(rules, station, bank).split(|up| !up).map(|run| run.len() as u32).max();
    (0..station.bank.len()).filter(|b| station.bank[*b].beam == head.beam).filter_map(longest).max().unwrap_or(0)
}

/// Nozzles of a kind that are left.
pub fn nozzles_left(rules: &Rules, kind: &NozzleKind) -> u32 {
    failures(rules).fold(kind.stock, |left, f| match f {
        Failure::Nozzle(name, n) if name == kind.name => left.saturating_sub(n.unwrap_or(u32::MAX)),
        _ => left,
    })
}

/// Feeders of a kind that are left.
pub fn feeders_left(rules: &Rules, kind: &FeederKind) -> u32 {
    failures(rules).fold(kind.stock, |left, f| match f {
        Failure::Feeder(name, n) if name == kind.name => left.saturating_sub(n.unwrap_or(u32::MAX)),
        _ => left,
    })
}

/// Whether an entry leaves none of this nozzle kind.
pub fn nozzle_is_gone(rules: &Rules, kind: &NozzleKind) -> bool {
    failures(rules).any(|f| matches!(f, Failure::Nozzle(name, _) if name == kind.name)) && nozzles_left(rules, kind) == 0
}

/// Whether an entry leaves none of this feeder kind.
pub fn feeder_is_gone(rules: &Rules, kind: &FeederKind) -> bool {
    failures(rules).any(|f| matches!(f, Failure::Feeder(name, _) if name == kind.name)) && feeders_left(rules, kind) == 0
}

/// What is kept at a station.
pub fn kept_at<'r>(rules: &'r Rules, station: &str) -> impl Iterator<Item = &'r Keep> {
    rules.keep.iter().filter(move |k| k.station == station)
}

/// How many supplies may be added at a station beyond those kept there; `None` where it is not closed.
pub fn may_add(rules: &Rules, station: &str) -> Option<u32> {
    rules.closed.iter().filter(|c| c.station == station).map(|c| c.add).min()
}

/// Whether a closed station keeps no supply of the part and may get none.
pub fn closed_to(rules: &Rules, station: &str, part: &str) -> bool {
    may_add(rules, station) == Some(0) && !kept_at(rules, station).any(|k| k.part == part)
}

/// What is wrong with a `down` entry: it names nothing, or something that the line does not have.
pub fn unknown(line: &Line, failure: Failure<'_>) -> Option<(&'static str, String)> {
    let station = |name: &str| line.station.iter().find(|s| s.name == name);
    let missing = |known: bool, what: &'static str, name: &str| (!known).then(|| (what, name.to_owned()));
    let at = |name: &str, inner: &dyn Fn(&Station) -> Option<(&'static str, String)>| match station(name) {
        None => Some(("station", name.to_owned())),
        Some(s) => inner(s),
    };
    match failure {
        Failure::Station(s) => at(s, &|_| None),
        Failure::Head(s, h) => at(s, &|x| missing(x.head.iter().any(|y| y.name == h), "head", h)),
        Failure::Bank(s, b) => at(s, &|x| missing(x.bank.iter().any(|y| y.name == b), "bank", b)),
        Failure::Slots(s, b, _, to) => at(s, &|x| match x.bank.iter().find(|y| y.name == b) {
            None => missing(false, "bank", b),
            Some(bank) => missing(to <= bank.slots, "slot", &to.to_string()),
        }),
        Failure::Tray(s, t) => at(s, &|x| missing(x.tray.iter().any(|y| y.name == t), "tray place", t)),
        Failure::Nozzle(kind, _) => missing(line.nozzle.iter().any(|n| n.name == kind), "nozzle kind", kind),
        Failure::Feeder(kind, _) => missing(line.feeder.iter().any(|f| f.name == kind), "feeder kind", kind),
    }
}
