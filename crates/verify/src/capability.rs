//! What a head can take: `docs/planning.md` §1, first list.

use crate::outage::{closed_to, feeder_is_gone, head_is_down, longest_run, nozzle_is_gone, tray_is_down};
use domain::job::{Job, TaskId};
use domain::line::{FeederKind, Head, HeadKind, Line, Station, TrayKind, TrayPlace};
use domain::part::{Mount, Part, Supply};
use domain::rules::{Lock, Rules};
use units::Point;

/// Why a head cannot take a part.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Refusal {
    /// Not surface mount.
    Mount,
    /// Shorter side under the least the head picks.
    TooSmall,
    /// A side or the height over the envelope.
    TooLarge,
    /// No nozzle kind of the head serves the part's class.
    Nozzle,
    /// The part asks for better accuracy.
    Accuracy,
    /// The station cannot hold the part's supply.
    Supply,
    /// The panel does not fit the station.
    Panel,
    /// A lock, forbid or closed entry stands against it.
    Locked,
    /// The head, or the last nozzle kind or place that could serve it, is down.
    Down,
}

/// Whether a head places parts at all.
pub(crate) fn places(head: &Head) -> bool {
    head.kind != HeadKind::Dispense
}

/// Size refusal, if any.
pub(crate) fn outside_envelope(head: &Head, part: &Part) -> Option<Refusal> {
    let e = head.envelope.as_ref()?;
    let (short, long, height) = (part.short_side(), part.long_side(), part.height_um.value);
    if short > *e.max_short || long > *e.max_long || height > *e.max_height {
        Some(Refusal::TooLarge)
    } else if short < *e.min_side {
        Some(Refusal::TooSmall)
    } else {
        None
    }
}

/// Whether the head reaches the accuracy the part asks for.
pub(crate) fn is_accurate(head: &Head, part: &Part) -> bool {
    head.accuracy.is_none_or(|a| *a <= part.accuracy_um.value)
}

/// Whether this nozzle kind serves the part and is one the head takes.
pub(crate) fn nozzle_serves(line: &Line, head: &Head, part: &Part, kind: usize) -> bool {
    line.nozzle.get(kind).is_some_and(|n| head.nozzles.contains(&n.name) && n.classes.contains(&part.nozzle_class.value))
}

/// Whether a feeder of this kind feeds the part.
pub(crate) fn feeder_fits(feeder: &FeederKind, part: &Part) -> bool {
    feeder.supply == part.supply.value
        && match feeder.supply {
            Supply::Tape => feeder.tape_width.is_some_and(|w| *w == part.tape_width_um.value),
            Supply::Stick => feeder.max_body.is_some_and(|b| *b >= part.short_side()),
            Supply::Tray => false,
        }
}

/// Whether the part's tray can stand on this place.
pub(crate) fn tray_fits(place: &TrayPlace, part: &Part) -> bool {
    let low_enough = place.kind != TrayKind::Stack || place.stack_height.is_some_and(|h| part.tray_height_um.value <= *h);
    part.supply.value == Supply::Tray && low_enough
}

/// Whether the station can hold the part's supply at all, where the head picks.
pub(crate) fn holds_supply(line: &Line, station: &Station, head: &Head, part: &Part) -> bool {
    // A beam picks from its own banks and tray places; at other stations nothing belongs to a beam.
    match part.supply.value {
        Supply::Tray => station.tray.iter().any(|t| t.beam == head.beam && tray_fits(t, part)),
        Supply::Tape | Supply::Stick => {
            let widest = station.bank.iter().filter(|b| b.beam == head.beam).map(|b| b.slots).max().unwrap_or(0);
            line.feeder.iter().any(|f| feeder_fits(f, part) && f.slots <= widest)
        }
    }
}

/// Whether what is not down of the station can hold the part's supply.
fn still_holds_supply(line: &Line, rules: &Rules, station: &Station, head: &Head, part: &Part) -> bool {
    match part.supply.value {
        Supply::Tray => {
            station.tray.iter().any(|t| t.beam == head.beam && tray_fits(t, part) && !tray_is_down(rules, &station.name, &t.name))
        }
        Supply::Tape | Supply::Stick => {
            let longest = longest_run(rules, station, head);
            line.feeder.iter().any(|f| feeder_fits(f, part) && f.slots <= longest && !feeder_is_gone(rules, f))
        }
    }
}

/// Whether the head, its nozzles and the places of the station are up as far as the part needs them.
fn is_up(line: &Line, rules: &Rules, station: &Station, head: &Head, part: &Part) -> bool {
    let nozzle = |k: usize| nozzle_serves(line, head, part, k) && !nozzle_is_gone(rules, &line.nozzle[k]);
    !head_is_down(rules, &station.name, &head.name)
        && (0..line.nozzle.len()).any(nozzle)
        && still_holds_supply(line, rules, station, head, part)
}

/// Whether the panel fits the station.
pub(crate) fn panel_fits(station: &Station, size: Point) -> bool {
    size.x <= *station.max_panel.x && size.y <= *station.max_panel.y
}

/// Whether a task lies on the panel.
pub(crate) fn is_on_panel(job: &Job<'_>, task: TaskId) -> bool {
    let at = job.tasks[task.index()].at;
    (0..=job.size.x.0).contains(&at.x.0) && (0..=job.size.y.0).contains(&at.y.0)
}

/// Whether a lock, forbid or closed entry keeps the part from this head.
pub(crate) fn is_locked_out(rules: &Rules, station: &Station, head: &Head, part: &Part) -> bool {
    let away = |name: &Option<String>, here: &str| name.as_deref().is_some_and(|n| n != here);
    // What a lock binds the supply to may be of another station, or on the other beam's side.
    let no_bank = |b: &String| !station.bank.iter().any(|x| x.name == *b && x.beam == head.beam);
    let no_tray = |t: &String| !station.tray.iter().any(|x| x.name == *t && x.beam == head.beam);
    let elsewhere = |l: &Lock| l.bank.as_ref().is_some_and(no_bank) || l.tray.as_ref().is_some_and(no_tray);
    let against = |l: &Lock| away(&l.station, &station.name) || away(&l.head, &head.name) || elsewhere(l);
    let lock = rules.lock.iter().filter(|l| l.part == part.number).any(against);
    let forbidden = |f: &domain::rules::Forbid| f.part == part.number && f.station == station.name && !away(&f.head, &head.name);
    lock || rules.forbid.iter().any(forbidden) || closed_to(rules, &station.name, &part.number)
}

/// Every reason why the head cannot take the part; none if it can.
///
/// The head must be one that places, and `size` is that of the panel.
pub(crate) fn refusals(line: &Line, rules: &Rules, size: Point, station: &Station, head: &Head, part: &Part) -> Vec<Refusal> {
    let mut all = Vec::new();
    let mut refuse = |holds: bool, why: Refusal| {
        if holds {
            all.push(why);
        }
    };
    refuse(part.mount.value != Mount::Smt, Refusal::Mount);
    let envelope = outside_envelope(head, part);
    refuse(envelope == Some(Refusal::TooLarge), Refusal::TooLarge);
    refuse(envelope == Some(Refusal::TooSmall), Refusal::TooSmall);
    let has_nozzle = (0..line.nozzle.len()).any(|k| nozzle_serves(line, head, part, k));
    let has_supply = holds_supply(line, station, head, part);
    refuse(!has_nozzle, Refusal::Nozzle);
    refuse(!is_accurate(head, part), Refusal::Accuracy);
    refuse(!has_supply, Refusal::Supply);
    refuse(has_nozzle && has_supply && !is_up(line, rules, station, head, part), Refusal::Down);
    refuse(!panel_fits(station, size), Refusal::Panel);
    refuse(is_locked_out(rules, station, head, part), Refusal::Locked);
    all
}

/// For each placing head of the line, in order: station, head, and for each part whether it takes it.
pub(crate) fn table(line: &Line, rules: &Rules, job: &Job<'_>) -> Vec<HeadTakes> {
    let mut all = Vec::new();
    for (s, station) in line.station.iter().enumerate() {
        for (h, head) in station.head.iter().enumerate().filter(|(_, h)| places(h)) {
            let takes = job.product.parts.iter().map(|part| refusals(line, rules, job.size, station, head, part).is_empty()).collect();
            all.push(HeadTakes { station: s, head: h, takes });
        }
    }
    all
}

/// What one head takes.
pub(crate) struct HeadTakes {
    pub(crate) station: usize,
    pub(crate) head: usize,
    /// For each part of the product.
    pub(crate) takes: Vec<bool>,
}
