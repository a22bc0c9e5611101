//! Everything wrong with the engineer's locks, keeps and outages: unknown names and contradictions.

use crate::capability::{feeder_fits, tray_fits};
use crate::outage::{slots_up, tray_is_down, unknown};
use diag::{Finding, codes};
use domain::job::{Job, Turned};
use domain::line::{Line, Station};
use domain::part::Part;
use domain::rules::{Forbid, Keep, Lock, Rules};

/// All findings, in the order of the file.
pub fn check_rules(job: &Job<'_>, line: &Line, rules: &Rules) -> Vec<Finding> {
    let mut found = Vec::new();
    let mut missing = |(what, name): (&str, String)| {
        found.push(Finding::new(codes::plan::LOCK_UNKNOWN, format!("no {what} is called `{name}`")).value(name))
    };
    rules.lock.iter().filter_map(|l| unknown_of_lock(job, line, l)).for_each(&mut missing);
    rules.forbid.iter().filter_map(|f| unknown_of_forbid(job, line, f)).for_each(&mut missing);
    rules.keep.iter().filter_map(|k| unknown_of_keep(job, line, k)).for_each(&mut missing);
    for c in rules.closed.iter().filter(|c| line.station_named(&c.station).is_none()) {
        missing(("station", c.station.clone()));
    }
    rules.down.iter().filter_map(|d| d.what().ok()).filter_map(|f| unknown(line, f)).for_each(&mut missing);
    for d in &rules.down {
        if let Err(why) = d.what() {
            found.push(Finding::new(codes::plan::LOCK_SYNTAX, why));
        }
    }
    if found.is_empty() {
        found = contradictions(job, line, rules);
    }
    found
}

type Missing = (&'static str, String);

fn part_of<'j>(job: &Job<'j>, number: &str) -> Option<&'j Part> {
    job.product.parts.iter().find(|p| p.number == number)
}

fn unknown_part(job: &Job<'_>, number: &str) -> Option<Missing> {
    part_of(job, number).is_none().then(|| ("part", number.to_owned()))
}

fn unless(known: bool, what: &'static str, name: &str) -> Option<Missing> {
    (!known).then(|| (what, name.to_owned()))
}

fn unknown_of_lock(job: &Job<'_>, line: &Line, l: &Lock) -> Option<Missing> {
    let here = |name: &String| line.station_named(name).map(|s| &line.station[s]);
    if let Some(missing) = unknown_part(job, &l.part) {
        return Some(missing);
    }
    let name = l.station.as_ref()?;
    let Some(s) = here(name) else { return Some(("station", name.clone())) };
    let head = l.head.as_ref().and_then(|h| unless(s.head.iter().any(|x| x.name == *h), "head", h));
    let bank = l.bank.as_ref().and_then(|b| match s.bank.iter().find(|x| x.name == *b) {
        None => Some(("bank", b.clone())),
        Some(bank) => l.slot.and_then(|n| unless(n >= 1 && n <= bank.slots, "slot", &n.to_string())),
    });
    let tray = l.tray.as_ref().and_then(|t| match s.tray.iter().find(|x| x.name == *t) {
        None => Some(("tray place", t.clone())),
        Some(place) => l.level.and_then(|n| unless(n >= 1 && n <= place.levels(), "level", &n.to_string())),
    });
    head.or(bank).or(tray)
}

fn unknown_of_forbid(job: &Job<'_>, line: &Line, f: &Forbid) -> Option<Missing> {
    let station = || match line.station_named(&f.station).map(|s| &line.station[s]) {
        None => Some(("station", f.station.clone())),
        Some(s) => f.head.as_ref().and_then(|h| unless(s.head.iter().any(|x| x.name == *h), "head", h)),
    };
    unknown_part(job, &f.part).or_else(station)
}

fn unknown_of_keep(job: &Job<'_>, line: &Line, k: &Keep) -> Option<Missing> {
    let station = || {
        let Some(s) = line.station_named(&k.station).map(|s| &line.station[s]) else { return Some(("station", k.station.clone())) };
        let bank = k.bank.as_ref().and_then(|b| match s.bank.iter().find(|x| x.name == *b) {
            None => Some(("bank", b.clone())),
            Some(bank) => k.slot.and_then(|n| unless(n >= 1 && n <= bank.slots, "slot", &n.to_string())),
        });
        let tray = k.tray.as_ref().and_then(|t| match s.tray.iter().find(|x| x.name == *t) {
            None => Some(("tray place", t.clone())),
            Some(place) => k.level.and_then(|n| unless(n >= 1 && n <= place.levels(), "level", &n.to_string())),
        });
        let feeder = k.feeder.as_ref().and_then(|f| unless(line.feeder.iter().any(|x| x.name == *f), "feeder kind", f));
        bank.or(tray).or(feeder)
    };
    unknown_part(job, &k.part).or_else(station)
}

/// Entries that cannot hold together.
pub fn contradictions(job: &Job<'_>, line: &Line, rules: &Rules) -> Vec<Finding> {
    let mut found = Vec::new();
    let mut conflict = |text: String, value: &str| found.push(Finding::new(codes::plan::LOCK_CONFLICT, text).value(value));
    for (i, a) in rules.lock.iter().enumerate() {
        if (a.binds_supply() && a.station.is_none())
            || (a.slot.is_some() && a.bank.is_none())
            || (a.level.is_some() && a.tray.is_none())
            || (a.head.is_some() && a.station.is_none())
        {
            conflict(
                format!("the lock of `{}` needs the station (and for a slot the bank, for a level the tray place) too", a.part),
                &a.part,
            );
        }
        if let Some(part) = part_of(job, &a.part)
            && supplied_elsewhere(part, a)
        {
            conflict(format!("`{}` is supplied in {}, which does not stand where it is locked to", a.part, part.supply.value), &a.part);
        }
        for b in &rules.lock[i + 1..] {
            if a.part == b.part {
                conflict(format!("`{}` is locked twice", a.part), &a.part);
            } else if a.slot.is_some() && (&a.station, &a.bank, a.slot) == (&b.station, &b.bank, b.slot) {
                conflict(format!("`{}` and `{}` are locked to the same slot", a.part, b.part), &b.part);
            } else if a.level.is_some() && (&a.station, &a.tray, a.level) == (&b.station, &b.tray, b.level) {
                conflict(format!("`{}` and `{}` are locked to the same level of a tray place", a.part, b.part), &b.part);
            }
        }
        let forbids = |f: &&Forbid| f.part == a.part && Some(&f.station) == a.station.as_ref() && (f.head.is_none() || f.head == a.head);
        if rules.forbid.iter().any(|f| forbids(&f)) {
            conflict(format!("`{}` is locked to a place that is forbidden to it", a.part), &a.part);
        }
    }
    found.extend(keeps(job, line, rules));
    if job.panel.turned != Turned::None && !rules.inspect.is_empty() {
        let text = "areas to be looked at are not planned on panels with turned boards";
        found.push(Finding::new(codes::plan::PANEL, text).value(job.panel.turned.word()));
    }
    found
}

/// A lock to a slot for a part in trays, or to a tray place for a part on tape or in sticks.
fn supplied_elsewhere(part: &Part, lock: &Lock) -> bool {
    let in_trays = part.supply.value == domain::part::Supply::Tray;
    (in_trays && lock.bank.is_some()) || (!in_trays && lock.tray.is_some())
}

/// Kept supplies that cannot stand where they are kept, or cover each other.
fn keeps(job: &Job<'_>, line: &Line, rules: &Rules) -> Vec<Finding> {
    let mut found = Vec::new();
    let mut covered: Vec<(&Keep, Stand)> = Vec::new();
    for keep in &rules.keep {
        let finding = |text: String| Finding::new(codes::plan::LOCK_CONFLICT, text).value(&keep.part);
        match stand(job, line, rules, keep) {
            Err(why) => found.push(finding(format!("`{}` cannot be kept at `{}`: {why}", keep.part, keep.place()))),
            Ok(here) => {
                if let Some((other, _)) = covered.iter().find(|(_, there)| there.overlaps(&here)) {
                    let text = format!("`{}` and `{}` are both kept at `{}`", other.part, keep.part, keep.place());
                    found.push(finding(text));
                }
                covered.push((keep, here));
            }
        }
        let elsewhere =
            |l: &&Lock| l.part == keep.part && l.binds_supply() && l.station.as_ref() == Some(&keep.station) && !same_place(l, keep);
        if rules.lock.iter().any(|l| elsewhere(&l)) {
            found.push(finding(format!("`{}` is kept at `{}` and locked to another place of that station", keep.part, keep.place())));
        }
    }
    found
}

fn same_place(l: &Lock, k: &Keep) -> bool {
    let bank = l.bank.is_none() || (l.bank == k.bank && l.slot.is_none_or(|s| k.slot == Some(s)));
    let tray = l.tray.is_none() || (l.tray == k.tray && l.level.is_none_or(|n| k.level.unwrap_or(1) == n));
    bank && tray
}

/// What a kept supply covers: indices of station and bank (or tray place), and slots (or levels).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stand {
    /// Index of the station.
    pub station: usize,
    /// Whether it is a tray.
    pub tray: bool,
    /// Index of the bank or tray place.
    pub place: usize,
    /// First slot or level, counted from 1.
    pub first: u32,
    /// Slots covered; 1 for trays.
    pub width: u32,
    /// Index of the feeder kind; 0 for trays.
    pub feeder: u32,
}

impl Stand {
    fn overlaps(&self, other: &Self) -> bool {
        (self.station, self.tray, self.place) == (other.station, other.tray, other.place)
            && self.first < other.first + other.width
            && other.first < self.first + self.width
    }
}

/// Where a kept supply stands, by indices.
///
/// # Errors
/// A reason, when it cannot stand there.
pub fn stand(job: &Job<'_>, line: &Line, rules: &Rules, keep: &Keep) -> Result<Stand, String> {
    let part = part_of(job, &keep.part).ok_or("the part is unknown")?;
    // The stand-ins of two beams have one name; a bank or tray place belongs to one of them.
    let named = || line.station.iter().enumerate().filter(|(_, s)| s.name == keep.station);
    let has = |x: &Station| {
        x.bank.iter().any(|b| keep.bank.as_ref() == Some(&b.name)) || x.tray.iter().any(|t| keep.tray.as_ref() == Some(&t.name))
    };
    let (s, sheet) = named().find(|(_, x)| has(x)).or_else(|| named().next()).ok_or("the station is unknown")?;
    if let Some(name) = &keep.tray {
        let tray = sheet.tray.iter().position(|t| t.name == *name).ok_or("the tray place is unknown")?;
        let level = keep.level.unwrap_or(1);
        if !tray_fits(&sheet.tray[tray], part) {
            return Err(format!("its supply ({}) does not lie there", part.supply.value));
        }
        if tray_is_down(rules, &sheet.name, name) {
            return Err("the tray place is down".to_owned());
        }
        return Ok(Stand { station: s, tray: true, place: tray, first: level, width: 1, feeder: 0 });
    }
    let (Some(name), Some(slot)) = (&keep.bank, keep.slot) else { return Err("it needs a bank and a slot, or a tray place".to_owned()) };
    let bank = sheet.bank.iter().position(|b| b.name == *name).ok_or("the bank is unknown")?;
    let wanted = |f: &&(usize, &domain::line::FeederKind)| keep.feeder.as_ref().is_none_or(|k| *k == f.1.name);
    let kinds: Vec<(usize, &domain::line::FeederKind)> = line.feeder.iter().enumerate().filter(|(_, f)| feeder_fits(f, part)).collect();
    let kind = kinds.iter().filter(wanted).min_by_key(|(k, f)| (f.slots, f.advance, *k));
    let Some((kind, feeder)) = kind else { return Err("no feeder of that kind takes it".to_owned()) };
    let up = slots_up(rules, sheet, bank);
    let covered = up.get(slot as usize - 1..(slot + feeder.slots) as usize - 1);
    match covered {
        None => Err(format!("a feeder `{}` does not lie inside the bank there", feeder.name)),
        Some(slots) if slots.contains(&false) => Err("the slot is down".to_owned()),
        Some(_) => Ok(Stand { station: s, tray: false, place: bank, first: slot, width: feeder.slots, feeder: *kind as u32 }),
    }
}
