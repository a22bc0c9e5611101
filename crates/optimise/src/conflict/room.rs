//! Parts that compete for slots, tray places or feeders.

use super::hall::Demand;
use super::{Conflict, named};
use crate::problem::Problem;
use crate::station::setup::Setup;
use diag::codes::conflict as code;
use domain::plan::SupplyPlace;

/// Parts that are placed and whose supply is not kept at a station that takes them.
fn open_parts(p: &Problem<'_>, in_trays: bool) -> Vec<usize> {
    let mut used = vec![false; p.job.product.parts.len()];
    p.tasks.iter().for_each(|t| used[p.part_of(*t)] = true);
    let kept = |part: usize| p.kept.iter().any(|(k, at)| *k == part && takes(p, at.station, part));
    (0..used.len()).filter(|part| used[*part] && p.in_trays(*part) == in_trays && !kept(*part)).collect()
}

/// Whether a head of the station takes the part.
fn takes(p: &Problem<'_>, station: usize, part: usize) -> bool {
    p.cap.modes.iter().enumerate().any(|(m, mode)| mode.station == station && p.cap.can(part, m))
}

fn numbers(p: &Problem<'_>, parts: &[usize]) -> Vec<String> {
    parts.iter().map(|x| p.job.product.parts[*x].number.clone()).collect()
}

/// Feeders of the narrowest kind that takes a part cover so many slots.
fn width(p: &Problem<'_>, part: usize) -> u32 {
    p.feeders[part].first().map_or(1, |f| p.line.feeder[*f as usize].slots)
}

/// A run of free slots of a bank.
struct Run {
    station: usize,
    bank: usize,
    slots: u32,
}

/// Free runs of all banks, beside what is kept and what is down.
fn runs(p: &Problem<'_>) -> Vec<Run> {
    let mut all = Vec::new();
    for (station, sheet) in p.line.station.iter().enumerate() {
        let setup = Setup::new(p, station);
        for bank in 0..sheet.bank.len() {
            let free: Vec<bool> =
                (1..=sheet.bank[bank].slots).map(|slot| setup.is_free(crate::station::setup::Slot { bank, slot }, 1, &[])).collect();
            let lengths = free.split(|f| !f).map(|run| run.len() as u32).filter(|n| *n > 0);
            all.extend(lengths.map(|slots| Run { station, bank, slots }));
        }
    }
    all
}

fn slot_demand(p: &Problem<'_>, parts: &[usize], runs: &[Run]) -> Demand {
    let may = |part: usize, r: &Run| {
        let place = SupplyPlace::Feeder { bank: r.bank as u32, slot: lock_slot(p, part), feeder: 0 };
        r.slots >= width(p, part) && takes(p, r.station, part) && p.may_stand(r.station, part, &place)
    };
    Demand {
        needs: parts.iter().map(|x| width(p, *x)).collect(),
        room: runs.iter().map(|r| r.slots).collect(),
        can: parts.iter().map(|x| (0..runs.len()).filter(|r| may(*x, &runs[*r])).collect()).collect(),
    }
}

/// The slot a part is locked to; any other does as well where none is.
fn lock_slot(p: &Problem<'_>, part: usize) -> u32 {
    p.lock(part).and_then(|l| l.slot).unwrap_or(1)
}

/// A smallest set of part types that need more slots than the banks have that can hold them.
pub(super) fn short_of_slots(p: &Problem<'_>) -> Option<Conflict> {
    let (parts, runs) = (open_parts(p, false), runs(p));
    let demand = slot_demand(p, &parts, &runs);
    let set = demand.violators()?;
    let members = numbers(p, &set.iter().map(|t| parts[*t]).collect::<Vec<_>>());
    let places = demand.places(&set);
    let (need, have): (u32, u32) = (set.iter().map(|t| demand.needs[*t]).sum(), places.iter().map(|r| demand.room[*r]).sum());
    let mut banks: Vec<String> = places.iter().map(|r| bank_name(p, &runs[*r])).collect();
    banks.dedup();
    let banks = if banks.is_empty() { "no bank".to_owned() } else { banks.join(", ") };
    let all: Vec<usize> = (0..parts.len()).collect();
    let missing = demand.short(&all);
    let mut cures: Vec<String> = Vec::new();
    for (s, sheet) in p.line.station.iter().enumerate() {
        // One bank just large enough there, if that is enough for all parts.
        let with = |slots: u32| {
            let mut more: Vec<Run> = runs.iter().map(|r| Run { station: r.station, bank: r.bank, slots: r.slots }).collect();
            let mut grown = slot_demand(p, &parts, &more);
            more.push(Run { station: s, bank: sheet.bank.len(), slots });
            grown.room.push(slots);
            for (t, part) in parts.iter().enumerate() {
                if slots >= demand.needs[t] && takes(p, s, *part) && !p.lock(*part).is_some_and(|l| l.binds_supply()) {
                    grown.can[t].push(more.len() - 1);
                }
            }
            grown.short(&all) == 0
        };
        let widest = set.iter().map(|t| demand.needs[*t]).max().unwrap_or(1);
        if let Some(slots) = [missing, missing.max(widest)].into_iter().find(|n| with(*n)) {
            cures.push(format!("one more bank of {slots} slots at station `{}`", sheet.name));
        }
    }
    cures.push(format!("supply parts otherwise, so that {missing} slots fewer are needed"));
    let text = format!(
        "{} part types need {need} slots and {have} can hold them ({banks}): {}; in all, {missing} slots are missing",
        set.len(),
        named(&members)
    );
    Some(Conflict { code: code::SLOTS, members, text, cures })
}

fn bank_name(p: &Problem<'_>, r: &Run) -> String {
    let sheet = &p.line.station[r.station];
    format!("{} {}", sheet.name, sheet.bank[r.bank].name)
}

/// A smallest set of part types in trays that need more tray places than take them.
pub(super) fn short_of_tray_places(p: &Problem<'_>) -> Option<Conflict> {
    let parts = open_parts(p, true);
    let mut places: Vec<(usize, usize, u32)> = Vec::new();
    for (s, sheet) in p.line.station.iter().enumerate() {
        let kept = |t: usize| p.kept.iter().filter(|(_, at)| at.station == s && at.tray && at.place == t).count() as u32;
        places.extend(sheet.tray.iter().enumerate().map(|(t, tray)| (s, t, tray.levels().saturating_sub(kept(t)))));
    }
    let may = |part: usize, (s, t, _): &(usize, usize, u32)| {
        let lock = p.lock(part).filter(|l| l.tray.is_some());
        takes(p, *s, part)
            && p.tray_places(*s, part).any(|x| x == *t)
            && lock.is_none_or(|l| l.tray.as_ref() == Some(&p.line.station[*s].tray[*t].name))
    };
    let demand = Demand {
        needs: vec![1; parts.len()],
        room: places.iter().map(|x| x.2).collect(),
        can: parts.iter().map(|x| (0..places.len()).filter(|k| may(*x, &places[*k])).collect()).collect(),
    };
    let set = demand.violators()?;
    let members = numbers(p, &set.iter().map(|t| parts[*t]).collect::<Vec<_>>());
    let have: u32 = demand.places(&set).iter().map(|k| demand.room[*k]).sum();
    let missing = demand.short(&(0..parts.len()).collect::<Vec<_>>());
    let stations: Vec<&str> = (0..p.line.station.len())
        .filter(|s| set.iter().all(|t| takes(p, *s, parts[*t])))
        .map(|s| p.line.station[s].name.as_str())
        .collect();
    let mut cures: Vec<String> = stations.iter().map(|s| format!("{missing} more tray places (or levels) at station `{s}`")).collect();
    cures.push("supply some of them on tape".to_owned());
    let text = format!("{} part types in trays compete for {have} tray places: {}", set.len(), named(&members));
    Some(Conflict { code: code::TRAYS, members, text, cures })
}

/// A smallest set of part types that need more feeders than are in stock and not down.
pub(super) fn short_of_feeders(p: &Problem<'_>) -> Option<Conflict> {
    let parts = open_parts(p, false);
    let stock = crate::station::construct::Stock::full(p).feeders;
    let demand = Demand {
        needs: vec![1; parts.len()],
        room: stock,
        can: parts.iter().map(|x| p.feeders[*x].iter().map(|f| *f as usize).collect()).collect(),
    };
    let set = demand.violators()?;
    let members = numbers(p, &set.iter().map(|t| parts[*t]).collect::<Vec<_>>());
    let kinds = demand.places(&set);
    let have: u32 = kinds.iter().map(|k| demand.room[*k]).sum();
    let missing = demand.short(&(0..parts.len()).collect::<Vec<_>>());
    let names: Vec<String> = kinds.iter().map(|k| format!("`{}`", p.line.feeder[*k].name)).collect();
    let text = format!("{} part types need {} and there are {have}: {}", set.len(), names.join(" or "), named(&members));
    let cures = names.iter().map(|n| format!("{missing} more feeders {n}")).chain(["supply some of them otherwise".to_owned()]).collect();
    Some(Conflict { code: code::FEEDERS, members, text, cures })
}
