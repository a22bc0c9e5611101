//! What a head can take: `docs/planning.md` §1, first list.

use domain::job::{Job, TaskId};
use domain::line::{FeederKind, Head, HeadKind, Line, Station, TrayKind, TrayPlace};
use domain::part::{Mount, Part, Supply};
use domain::rules::Rules;
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
    /// A lock or forbid entry stands against it.
    Locked,
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

/// Whether the panel fits the station.
pub(crate) fn panel_fits(station: &Station, size: Point) -> bool {
    size.x <= *station.max_panel.x && size.y <= *station.max_panel.y
}

/// Whether a task lies on the panel.
pub(crate) fn is_on_panel(job: &Job<'_>, task: TaskId) -> bool {
    let at = job.tasks[task.index()].at;
    (0..=job.size.x.0).contains(&at.x.0) && (0..=job.size.y.0).contains(&at.y.0)
}

/// Whether a lock or forbid entry keeps the part from this head.
pub(crate) fn is_locked_out(rules: &Rules, station: &Station, head: &Head, part: &Part) -> bool {
    let away = |name: &Option<String>, here: &str| name.as_deref().is_some_and(|n| n != here);
    let lock = rules.lock.iter().filter(|l| l.part == part.number).any(|l| away(&l.station, &station.name) || away(&l.head, &head.name));
    let forbidden = |f: &domain::rules::Forbid| f.part == part.number && f.station == station.name && !away(&f.head, &head.name);
    lock || rules.forbid.iter().any(forbidden)
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
    refuse(!(0..line.nozzle.len()).any(|k| nozzle_serves(line, head, part, k)), Refusal::Nozzle);
    refuse(!is_accurate(head, part), Refusal::Accuracy);
    refuse(!holds_supply(line, station, head, part), Refusal::Supply);
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
