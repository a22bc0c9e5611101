//! What one change by hand on a finished plan costs, timed by the clock.

use crate::check;
use diag::{Finding, codes::change as code};
use domain::job::{Job, TaskId};
use domain::line::{Station, StationKind};
use domain::plan::{Certificate, Leaf, Outcome, Plan, StationPlan, SupplyAt, SupplyPlace};
use domain::rules::{Keep, Lock, Rules};
use optimise::try_out::{PartMove, Spot, contradictions, move_feeder, move_part};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use units::Time;

/// A feeder's place on the banks of a station.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PlaceRef {
    /// Name of the bank.
    pub bank: String,
    /// First slot the feeder covers, counted from 1.
    pub slot: u32,
}

/// Where a part's supply is to stand.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "on", rename_all = "kebab-case", deny_unknown_fields)]
pub enum Place {
    /// A feeder on a bank.
    Bank {
        /// Name of the bank.
        bank: String,
        /// First slot, counted from 1.
        slot: u32,
    },
    /// A tray on a tray place.
    Tray {
        /// Name of the tray place.
        tray: String,
        /// Level, counted from 1.
        level: u32,
    },
}

/// A change by hand.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "change", rename_all = "kebab-case", deny_unknown_fields)]
pub enum Change {
    /// A feeder goes to other slots of its station; feeders that stand there come to where it stood, if they fit.
    MoveFeeder {
        /// Name of the station.
        station: String,
        /// Number of the part.
        part: String,
        /// Where its feeder stands.
        from: PlaceRef,
        /// Name of the bank it goes to.
        bank: String,
        /// First slot it is to cover, counted from 1.
        slot: u32,
    },
    /// All placements of a part go to another station, or to another head of their own.
    MovePart {
        /// Number of the part.
        part: String,
        /// Name of the station they are taken from; all of them if not given.
        from: Option<String>,
        /// Name of the station they go to.
        to: String,
        /// Name of the head that is to place them; the best one that can if not given.
        head: Option<String>,
        /// Where the supply is to stand; where it stands there already, or the best free place, if not given.
        place: Option<Place>,
    },
}

/// A station's time before and after.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct StationPrice {
    /// Name of the station.
    pub name: String,
    /// Time per panel before [µs].
    pub before_us: Time,
    /// Time per panel after [µs].
    pub after_us: Time,
}

/// What a change costs.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Price {
    /// Takt before [µs].
    pub takt_before_us: Time,
    /// Takt after [µs].
    pub takt_after_us: Time,
    /// No plan that keeps the change has a smaller takt [µs].
    pub bound_us: Time,
    /// All stations, in the order of the line.
    pub stations: Vec<StationPrice>,
    /// What happens, in plain sentences.
    pub told: Vec<String>,
    /// The lock that keeps the change when planning on; with what an older lock of the part says beside it.
    pub locks: Vec<Lock>,
    /// What keeps it where no lock can: a lock speaks of all placements of a part.
    pub keeps: Vec<Keep>,
    /// The changed plan, its rules with these entries.
    #[serde(skip)]
    pub plan: Plan,
}

impl Price {
    /// Writes what keeps the change into rules; a lock takes the place of an older one of its part.
    pub fn keep_in(&self, rules: &mut Rules) {
        rules.lock.retain(|old| !self.locks.iter().any(|l| l.part == old.part));
        rules.lock.extend(self.locks.iter().cloned());
        let new = self.keeps.iter().filter(|k| !rules.keep.contains(k)).cloned().collect::<Vec<_>>();
        rules.keep.extend(new);
    }
}

/// Carries a change out, times it, and has the checker accept the changed plan with what keeps the change in its rules.
///
/// # Errors
/// As [`price`]; also what the checker says against the changed plan.
pub fn try_out(plan: &Plan, change: &Change) -> Result<Price, Vec<Finding>> {
    let mut price = price(plan, change)?;
    let mut rules = plan.rules.clone();
    price.keep_in(&mut rules);
    price.plan.rules = rules;
    accepted(plan, &mut price.plan)?;
    price.bound_us = price.plan.bound_us;
    Ok(price)
}

/// The quick half of [`try_out`]: the changed plan keeps rules, bound and certificate of the plan, and is not checked.
///
/// A bound that holds for all plans holds for those that keep the change.
///
/// # Errors
/// Findings of the area `change` with what stands against it; those of unsound inputs, and of rules that contradict.
pub fn price(plan: &Plan, change: &Change) -> Result<Price, Vec<Finding>> {
    let before = check::time(plan).map_err(|f| vec![*f])?;
    let job = plan.job().map_err(|f| vec![*f])?;
    if plan.stations.len() != plan.line.station.len() {
        return Err(vec![Finding::new(code::PROGRAM, "the plan has no programs")]);
    }
    let (mut new, wanted) = carried_out(plan, &job, change)?;
    new.outcome = if new.takt_us == new.bound_us { Outcome::ProvenOptimal } else { Outcome::Feasible };
    let (locks, keeps) = entries(&new, &job, wanted);
    let row =
        |(b, a): (&check::StationTiming, &StationPlan)| StationPrice { name: b.name.clone(), before_us: b.time_us, after_us: a.time_us };
    let mut price = Price {
        takt_before_us: before.takt_us,
        takt_after_us: new.takt_us,
        bound_us: new.bound_us,
        stations: before.stations.iter().zip(&new.stations).map(row).collect(),
        told: Vec::new(),
        locks,
        keeps,
        plan: new,
    };
    let mut rules = plan.rules.clone();
    price.keep_in(&mut rules);
    let wrong = contradictions(&job, &plan.line, &rules);
    if !wrong.is_empty() {
        let finding = |f: Finding| {
            let text = format!("what keeps the change stands against other entries: {}", f.message);
            Finding::new(code::RULES, text).value(f.value)
        };
        return Err(wrong.into_iter().map(finding).collect());
    }
    price.told = told(plan, &price);
    Ok(price)
}

/// The changed plan, and the lock that is wished for.
fn carried_out(plan: &Plan, job: &Job<'_>, change: &Change) -> Result<(Plan, Lock), Vec<Finding>> {
    match change {
        Change::MoveFeeder { station, part, from, bank, slot } => {
            let s = station_of(plan, station)?;
            let (sheet, p) = (&plan.line.station[s], part_of(plan, part)?);
            let (there, to) = (bank_of(sheet, &from.bank)?, bank_of(sheet, bank)?);
            let stands = |x: &SupplyAt| {
                x.part.index() == p && matches!(x.place, SupplyPlace::Feeder { bank, slot, .. } if (bank, slot) == (there, from.slot))
            };
            let Some(supply) = plan.stations[s].supplies.iter().position(stands) else {
                let text = format!("no feeder of `{part}` stands on bank `{}`, slot {} of station `{station}`", from.bank, from.slot);
                return Err(vec![Finding::new(code::UNKNOWN, text).value(from.slot.to_string())]);
            };
            let new = move_feeder(plan, job, s, supply, to, *slot)?;
            let at = (Some(station.clone()), Some(bank.clone()), Some(*slot));
            Ok((new, Lock { part: part.clone(), station: at.0, bank: at.1, slot: at.2, ..Lock::default() }))
        }
        Change::MovePart { part, from, to, head, place } => {
            let (p, t) = (part_of(plan, part)?, station_of(plan, to)?);
            let sheet = &plan.line.station[t];
            let from = match from {
                Some(name) => vec![station_of(plan, name)?],
                None => (0..plan.stations.len()).collect(),
            };
            if from == [t] && head.is_none() {
                let text = format!("`{part}` is placed at station `{to}` already; name the head it is to go to");
                return Err(vec![Finding::new(code::NOTHING, text).value(to)]);
            }
            let named = |h: &String| sheet.head.iter().position(|x| x.name == *h).ok_or_else(|| unknown("head", h, Some(sheet)));
            let mut lock = Lock { part: part.clone(), station: Some(to.clone()), head: head.clone(), ..Lock::default() };
            let spot = match place {
                None => None,
                Some(Place::Bank { bank, slot }) => {
                    (lock.bank, lock.slot) = (Some(bank.clone()), Some(*slot));
                    Some(Spot::Slot(bank_of(sheet, bank)?, *slot))
                }
                Some(Place::Tray { tray, level }) => {
                    (lock.tray, lock.level) = (Some(tray.clone()), Some(*level));
                    let found = sheet.tray.iter().position(|x| x.name == *tray);
                    Some(Spot::Level(found.ok_or_else(|| unknown("tray place", tray, Some(sheet)))? as u32, *level))
                }
            };
            let wish = PartMove { part: p, from, to: t, head: head.as_ref().map(named).transpose()?, spot };
            Ok((move_part(plan, job, &wish)?, lock))
        }
    }
}

fn unknown(what: &str, name: &str, at: Option<&Station>) -> Vec<Finding> {
    let at = at.map_or("the plan".to_owned(), |s| format!("station `{}`", s.name));
    vec![Finding::new(code::UNKNOWN, format!("{at} has no {what} `{name}`")).value(name)]
}

fn station_of(plan: &Plan, name: &str) -> Result<usize, Vec<Finding>> {
    plan.line.station_named(name).ok_or_else(|| unknown("station", name, None))
}

fn part_of(plan: &Plan, number: &str) -> Result<usize, Vec<Finding>> {
    plan.product.parts.iter().position(|p| p.number == number).ok_or_else(|| unknown("part", number, None))
}

fn bank_of(sheet: &Station, name: &str) -> Result<u32, Vec<Finding>> {
    sheet.bank.iter().position(|b| b.name == name).map(|b| b as u32).ok_or_else(|| unknown("bank", name, Some(sheet)))
}

/// The lock wished for, joined with an older one of the part, if the plan keeps it; else what keeps the part's supplies at the station.
fn entries(plan: &Plan, job: &Job<'_>, wanted: Lock) -> (Vec<Lock>, Vec<Keep>) {
    let old = plan.rules.lock.iter().find(|l| l.part == wanted.part).cloned().unwrap_or_default();
    let lock = Lock {
        part: wanted.part,
        station: wanted.station.or(old.station),
        head: wanted.head.or(old.head),
        bank: wanted.bank.or(old.bank),
        slot: wanted.slot.or(old.slot),
        tray: wanted.tray.or(old.tray),
        level: wanted.level.or(old.level),
    };
    let stands: Vec<Keep> = Keep::all_of(plan).into_iter().filter(|k| k.part == lock.part).collect();
    let there = |k: &Keep| {
        let bank = lock.bank.is_none() || (k.bank == lock.bank && lock.slot.is_none_or(|s| k.slot == Some(s)));
        let tray = lock.tray.is_none() || (k.tray == lock.tray && lock.level.is_none_or(|l| k.level == Some(l)));
        lock.station.as_ref() == Some(&k.station) && bank && tray
    };
    let mut heads = plan.line.station.iter().zip(&plan.stations).flat_map(|(sheet, s)| s.passes.iter().map(move |pass| (sheet, pass)));
    let elsewhere = heads.any(|(sheet, pass)| {
        let mine = |t: TaskId| job.part(t).number == lock.part;
        let other = |h: &String| sheet.head.get(pass.head as usize).is_none_or(|x| x.name != *h);
        let away = lock.station.as_ref() != Some(&sheet.name) || lock.head.as_ref().is_some_and(other);
        away && pass.work.placed().any(mine)
    });
    if !elsewhere && stands.iter().all(there) {
        return (vec![lock], Vec::new());
    }
    (Vec::new(), stands.into_iter().filter(there).collect())
}

/// Writes down the bound and the outcome that hold for the changed plan, if the checker accepts all else.
fn accepted(old: &Plan, new: &mut Plan) -> Result<(), Vec<Finding>> {
    new.outcome = Outcome::Feasible;
    let mut verdict = check::check(new);
    if verdict.bound_us == Time::ZERO && new.bound_us > Time::ZERO {
        // The certificate speaks of heads that a lock has left without work: even weights hold for any choice of heads.
        let rows = |s: &Station| if s.kind == StationKind::TwoBeam { 3 } else { 1 };
        let weights = vec![1; new.line.station.iter().map(rows).sum()];
        new.certificate = Certificate { leaves: vec![Leaf { weights, ..Leaf::default() }] };
        verdict = check::check(new);
    }
    let wrong: Vec<Finding> = verdict.violations.iter().filter(|v| v.code != diag::codes::verify::BOUND.id).map(refused).collect();
    if !wrong.is_empty() {
        let sound = check::check(old).accepted;
        return Err(if sound { wrong } else { vec![Finding::new(code::PROGRAM, "the checker refuses the plan as it was")] });
    }
    new.bound_us = verdict.bound_us;
    if new.takt_us == new.bound_us {
        new.outcome = Outcome::ProvenOptimal;
    }
    Ok(())
}

/// What the checker says against the changed plan, as a finding.
fn refused(violation: &check::Violation) -> Finding {
    let finding = |by, text: &str| Finding::new(by, format!("{text}: {}", violation.detail)).value(&violation.code);
    match violation.code.as_str() {
        id if id.starts_with("verify.order") => finding(code::ORDER, "the order rules would not be kept"),
        id if id == diag::codes::verify::UNPLACED_REASON.id => finding(code::PROGRAM, "the change makes room for what the plan leaves out"),
        _ => finding(code::PROGRAM, "the checker refuses the changed plan"),
    }
}

/// What happens, in plain sentences.
fn told(old: &Plan, price: &Price) -> Vec<String> {
    let (stood, stand) = (Keep::all_of(old), Keep::all_of(&price.plan));
    let what = |k: &Keep| if k.tray.is_some() { "tray" } else { "feeder" };
    let mut gone: Vec<&Keep> = stood.iter().filter(|k| !stand.contains(k)).collect();
    let mut told = Vec::new();
    for new in stand.iter().filter(|k| !stood.contains(k)) {
        let same = gone.iter().position(|k| k.part == new.part && k.station == new.station);
        match same.or_else(|| gone.iter().position(|k| k.part == new.part)).map(|i| gone.remove(i)) {
            Some(from) => told.push(format!("the {} of {} moves from {} to {}", what(new), new.part, from.place(), new.place())),
            None => told.push(format!("a {} of {} more is set up at {}", what(new), new.part, new.place())),
        }
    }
    told.extend(gone.iter().map(|k| format!("the {} of {} at {} is needed no more", what(k), k.part, k.place())));
    for s in price.stations.iter().filter(|s| s.before_us != s.after_us) {
        told.push(format!("station {} takes {} instead of {} ({})", s.name, s.after_us, s.before_us, by(s.after_us - s.before_us)));
    }
    if price.plan.unplaced.len() < old.unplaced.len() {
        told.push(format!("{} placements that were left out find room", old.unplaced.len() - price.plan.unplaced.len()));
    }
    let slowest = price.stations.iter().max_by_key(|s| s.after_us).filter(|s| s.after_us == price.takt_after_us);
    let at = slowest.map_or(String::new(), |s| format!(" (station {})", s.name));
    told.push(match price.takt_after_us - price.takt_before_us {
        Time(0) => format!("the takt stays at {}{at}", price.takt_after_us),
        d if d.0 > 0 => format!("the takt grows by {d} to {}{at}", price.takt_after_us),
        d => format!("the takt shrinks by {} to {}{at}", Time(-d.0), price.takt_after_us),
    });
    if !price.keeps.is_empty() {
        told.push("a lock cannot keep this, since other placements of the part stay elsewhere; its supply is kept instead".to_owned());
    }
    told
}

fn by(d: Time) -> String {
    if d.0 < 0 { format!("{} less", Time(-d.0)) } else { format!("{d} more") }
}
