//! Which head of which station can take which part, and why none can.
//!
//! The rules are those of `docs/planning.md` §1, "What a head can take".

use crate::outage::{closed_to, feeder_is_gone, head_is_down, longest_run, nozzle_is_gone, tray_is_down};
use diag::{Code, codes};
use domain::job::{Job, TaskId};
use domain::line::{FeederKind, Head, HeadKind, Line, Station, TrayKind};
use domain::part::{Mount, Part, Supply};
use domain::rules::Rules;

/// A head of a station that places parts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Mode {
    /// Index of the station.
    pub station: usize,
    /// Index of the head in the station.
    pub head: usize,
}

/// Which modes can take which parts.
#[derive(Clone, Debug)]
pub struct Capability {
    /// All placing heads, station by station.
    pub modes: Vec<Mode>,
    can: Vec<bool>,
    /// Why no mode takes the part, with a sentence; `None` if one does.
    why_none: Vec<Option<(&'static Code, String)>>,
}

impl Capability {
    /// Works it out for all parts of a job.
    pub fn new(job: &Job<'_>, line: &Line, rules: &Rules) -> Self {
        let placing = |s: usize| {
            line.station[s]
                .head
                .iter()
                .enumerate()
                .filter(|(_, h)| h.kind != HeadKind::Dispense)
                .map(move |(h, _)| Mode { station: s, head: h })
        };
        let modes: Vec<Mode> = (0..line.station.len()).flat_map(placing).collect();
        let (mut can, mut why_none) = (Vec::new(), Vec::new());
        for part in &job.product.parts {
            let answers: Vec<Result<(), (u8, &'static Code, String)>> = modes.iter().map(|m| takes(job, line, rules, *m, part)).collect();
            can.extend(answers.iter().map(Result::is_ok));
            // The refusal that came nearest to success helps most.
            let nearest = answers.into_iter().filter_map(Result::err).max_by_key(|(depth, _, _)| *depth);
            let any = can[can.len() - modes.len()..].contains(&true);
            why_none.push(if any { None } else { nearest.map(|(_, code, text)| (code, text)) });
        }
        Self { modes, can, why_none }
    }

    /// Whether a mode takes a part.
    pub fn can(&self, part: usize, mode: usize) -> bool {
        self.can[part * self.modes.len() + mode]
    }

    /// Takes away what `supplied` does not hold for, given part and station; `why` says so of parts that lose their last mode.
    pub fn limit(&mut self, supplied: impl Fn(usize, usize) -> bool, why: impl Fn(usize) -> String) {
        let modes = self.modes.len();
        for part in 0..self.why_none.len() {
            for (m, mode) in self.modes.iter().enumerate() {
                self.can[part * modes + m] &= supplied(part, mode.station);
            }
            if self.why_none[part].is_none() && !self.can[part * modes..(part + 1) * modes].contains(&true) {
                self.why_none[part] = Some((codes::plan::NO_SLOT, why(part)));
            }
        }
    }

    /// Why no mode takes the part.
    pub fn why_none(&self, part: usize) -> Option<&(&'static Code, String)> {
        self.why_none[part].as_ref()
    }

    /// The mode of a head of a station.
    pub fn mode(&self, station: usize, head: usize) -> Option<usize> {
        self.modes.iter().position(|m| *m == Mode { station, head })
    }
}

/// Why a task is not planned although its part could be: it lies off the panel.
pub fn off_panel(job: &Job<'_>, task: TaskId) -> bool {
    let at = job.tasks[task.index()].at;
    at.x.0 < 0 || at.y.0 < 0 || at.x > job.size.x || at.y > job.size.y
}

/// Whether any head of the line takes a part under these rules.
pub(crate) fn is_taken(job: &Job<'_>, line: &Line, rules: &Rules, part: &Part) -> bool {
    let placing = |s: usize| (0..line.station[s].head.len()).filter(move |h| line.station[s].head[*h].kind != HeadKind::Dispense);
    let mut modes = (0..line.station.len()).flat_map(|s| placing(s).map(move |head| Mode { station: s, head }));
    modes.any(|m| takes(job, line, rules, m, part).is_ok())
}

/// How near to success, which code, and a sentence.
pub(crate) type Refusal = (u8, &'static Code, String);

/// Whether a mode takes a part; else the first reason why not.
pub(crate) fn takes(job: &Job<'_>, line: &Line, rules: &Rules, mode: Mode, part: &Part) -> Result<(), Refusal> {
    let station = &line.station[mode.station];
    let head = &station.head[mode.head];
    match part.mount.value {
        Mount::Smt => {}
        Mount::ThroughHole => return Err((0, codes::plan::THROUGH_HOLE, format!("`{}` is a through-hole part", part.number))),
        Mount::Hand => return Err((0, codes::plan::BY_HAND, format!("`{}` is placed by hand", part.number))),
    }
    fits_envelope(head, part)?;
    if head_nozzles(line, head, part).next().is_none() {
        let text = format!("no head that could take `{}` has a nozzle of class {}", part.number, part.nozzle_class.value);
        return Err((2, codes::plan::NO_NOZZLE, text));
    }
    if head.accuracy.is_some_and(|a| *a > part.accuracy_um.value) {
        let text = format!("`{}` asks for {}, which no head that could take it reaches", part.number, part.accuracy_um.value);
        return Err((3, codes::plan::ACCURACY, text));
    }
    if !can_supply(line, station, head, part) {
        return Err((
            4,
            codes::plan::NO_FEEDER,
            format!("no station that could take `{}` holds its supply ({})", part.number, supply_words(part)),
        ));
    }
    if let Some(text) = out_of_order(line, rules, station, head, part) {
        return Err((5, codes::plan::DOWN, text));
    }
    // The panel passes every station, whether it has work there or not.
    if let Some(tight) = line.station.iter().find(|s| job.size.x > *s.max_panel.x || job.size.y > *s.max_panel.y) {
        let text = format!("the panel of {} x {} does not fit station `{}`", job.size.x, job.size.y, tight.name);
        return Err((7, codes::plan::BOARD_TOO_LARGE, text));
    }
    if let Some(text) = kept_away(rules, station, head, part) {
        return Err((6, codes::plan::LOCK_CONFLICT, text));
    }
    Ok(())
}

/// Why a part that the head could take finds it, its last nozzle or its last place down.
fn out_of_order(line: &Line, rules: &Rules, station: &Station, head: &Head, part: &Part) -> Option<String> {
    let say =
        |what: String| Some(format!("`{}` could be placed by head `{}` of station `{}`, but {what}", part.number, head.name, station.name));
    if head_is_down(rules, &station.name, &head.name) {
        return say("it is down".to_owned());
    }
    if head_nozzles(line, head, part).all(|k| nozzle_is_gone(rules, &line.nozzle[k as usize])) {
        return say("the nozzles it needs are down".to_owned());
    }
    let longest = longest_run(rules, station, head);
    let feeder = |f: &FeederKind| feeder_fits(f, part) && f.stock > 0 && f.slots <= longest && !feeder_is_gone(rules, f);
    let tray = |t: &domain::line::TrayPlace| t.beam == head.beam && tray_fits(t, part) && !tray_is_down(rules, &station.name, &t.name);
    if line.feeder.iter().any(feeder) || station.tray.iter().any(tray) {
        return None;
    }
    say("what holds its supply is down".to_owned())
}

pub(crate) fn fits_envelope(head: &Head, part: &Part) -> Result<(), Refusal> {
    let Some(e) = &head.envelope else { return Err((0, codes::plan::TOO_LARGE, "no head places parts".to_owned())) };
    let size = format!("{} x {} x {}", part.body_x_um.value, part.body_y_um.value, part.height_um.value);
    if part.short_side() > *e.max_short || part.long_side() > *e.max_long || part.height_um.value > *e.max_height {
        return Err((1, codes::plan::TOO_LARGE, format!("`{}` of {size} is outside the envelope of every head", part.number)));
    }
    if part.short_side() < *e.min_side {
        return Err((1, codes::plan::TOO_SMALL, format!("`{}` of {size} is too small for every head", part.number)));
    }
    Ok(())
}

fn kept_away(rules: &Rules, station: &Station, head: &Head, part: &Part) -> Option<String> {
    let differs = |wanted: &Option<String>, name: &String| wanted.as_ref().is_some_and(|w| w != name);
    // A beam of two does not reach what belongs to the other.
    let bank = |name: &str| station.bank.iter().any(|b| b.name == name && b.beam == head.beam);
    let tray = |name: &str| station.tray.iter().any(|t| t.name == name && t.beam == head.beam);
    let elsewhere = |l: &domain::rules::Lock| l.bank.as_ref().is_some_and(|b| !bank(b)) || l.tray.as_ref().is_some_and(|t| !tray(t));
    if let Some(l) = rules
        .lock
        .iter()
        .find(|l| l.part == part.number && (differs(&l.station, &station.name) || differs(&l.head, &head.name) || elsewhere(l)))
    {
        let head = l.head.as_deref().map_or(String::new(), |h| format!(", head `{h}`"));
        return Some(format!(
            "`{}` is locked to station `{}`{head}, which cannot take it",
            part.number,
            l.station.as_deref().unwrap_or("any")
        ));
    }
    if closed_to(rules, &station.name, &part.number) {
        return Some(format!("`{}` has no supply at any station that could take it, and these are closed", part.number));
    }
    let hit =
        rules.forbid.iter().find(|f| f.part == part.number && f.station == station.name && f.head.as_ref().is_none_or(|h| *h == head.name));
    hit.map(|_| format!("`{}` is forbidden at every station that could take it", part.number))
}

/// The nozzle kinds of a head that serve a part, as indices into the line's list.
pub fn head_nozzles<'l>(line: &'l Line, head: &'l Head, part: &Part) -> impl Iterator<Item = u32> + 'l {
    let class = part.nozzle_class.value;
    let serves = move |(_, n): &(usize, &domain::line::NozzleKind)| n.classes.contains(&class) && head.nozzles.contains(&n.name);
    line.nozzle.iter().enumerate().filter(serves).map(|(i, _)| i as u32)
}

/// Whether a feeder of this kind takes a part.
pub fn feeder_fits(feeder: &FeederKind, part: &Part) -> bool {
    match (feeder.supply, part.supply.value) {
        (Supply::Tape, Supply::Tape) => feeder.tape_width.is_some_and(|w| *w == part.tape_width_um.value),
        (Supply::Stick, Supply::Stick) => feeder.max_body.is_some_and(|b| part.short_side() <= *b),
        _ => false,
    }
}

/// Whether a tray place takes a part's trays.
pub fn tray_fits(place: &domain::line::TrayPlace, part: &Part) -> bool {
    part.supply.value == Supply::Tray && (place.kind != TrayKind::Stack || place.trays_held(part.tray_height_um.value) > 0)
}

/// A beam picks from its own banks and tray places; at other stations nothing belongs to a beam.
fn can_supply(line: &Line, station: &Station, head: &Head, part: &Part) -> bool {
    let feeder =
        |f: &FeederKind| feeder_fits(f, part) && f.stock > 0 && station.bank.iter().any(|b| b.beam == head.beam && b.slots >= f.slots);
    line.feeder.iter().any(feeder) || station.tray.iter().any(|t| t.beam == head.beam && tray_fits(t, part))
}

fn supply_words(part: &Part) -> String {
    match part.supply.value {
        Supply::Tape => format!("{} tape", part.tape_width_um.value),
        Supply::Stick => "stick".to_owned(),
        Supply::Tray => "tray".to_owned(),
    }
}
