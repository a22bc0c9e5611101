//! An old plan in the numbers of the new inputs, without what these no longer allow.

use crate::problem::Problem;
use crate::station::construct::Stock;
use crate::station::setup::{Setup, Slot};
use domain::job::{Job, TaskId};
use domain::line::Line;
use domain::plan::{Pass, Pick, Plan, Stroke, SupplyAt, SupplyPlace, Trip, Work};
use domain::product::PartId;
use std::collections::BTreeMap;

/// What one station keeps of its old program.
pub(super) struct Carried {
    /// Supplies that still stand, at the places they had.
    pub setup: Setup,
    /// Passes with heads, supplies, nozzles and tasks in the new numbers.
    pub passes: Vec<Pass>,
}

/// Takes a plan over; one entry for each station of the new line. `None` when it cannot be read, or when areas
/// are looked at and these, the panel or the looking stations have changed.
pub(super) fn carry(p: &Problem<'_>, old: &Plan) -> Option<Vec<Carried>> {
    let old_job = old.job().ok()?;
    let looks = !p.rules.inspect.is_empty() || !old.rules.inspect.is_empty();
    if looks && (p.rules.inspect != old.rules.inspect || p.job.panel != old.panel || p.job.side != old.side) {
        return None;
    }
    let tasks = tasks(p, &old_job);
    let parts: Vec<Option<usize>> =
        old.product.parts.iter().map(|o| p.job.product.parts.iter().position(|n| n.number == o.number)).collect();
    let mut all: Vec<Carried> = (0..p.line.station.len())
        .map(|s| match old_station(p, old, s) {
            Some(o) => station(p, old, s, o, &tasks, &parts),
            None => Carried { setup: Setup::new(p, s), passes: Vec::new() },
        })
        .collect();
    if looks && !looked(p, old, &all) {
        return None;
    }
    spare_nozzles(p, &mut all);
    Some(all)
}

/// The station of the old line with the name of a new one. The stand-ins of two beams have one name and stand in their order.
fn old_station(p: &Problem<'_>, old: &Plan, s: usize) -> Option<usize> {
    let name = &p.line.station[s].name;
    let before = p.line.station[..s].iter().filter(|x| x.name == *name).count();
    let mut named = (0..old.line.station.len().min(old.stations.len())).filter(|o| old.line.station[*o].name == *name);
    named.nth(before)
}

/// For each old task the new one, if it is still to be planned.
fn tasks(p: &Problem<'_>, old: &Job<'_>) -> Vec<Option<TaskId>> {
    // References that occur several times are kept apart by their turn.
    let mut turn: BTreeMap<(u32, &str), u32> = BTreeMap::new();
    let mut new: BTreeMap<(u32, &str, u32), TaskId> = BTreeMap::new();
    for t in &p.tasks {
        let key = (p.job.tasks[t.index()].image, p.job.reference(*t));
        let n = turn.entry(key).or_default();
        new.insert((key.0, key.1, *n), *t);
        *n += 1;
    }
    turn.clear();
    let map = |t: TaskId| {
        let key = (old.tasks[t.index()].image, old.reference(t));
        let n = turn.entry(key).or_default();
        let found = new.get(&(key.0, key.1, *n)).copied();
        *n += 1;
        found.filter(|new| p.job.part(*new).number == old.part(t).number)
    };
    (0..old.tasks.len() as u32).map(TaskId).map(map).collect()
}

/// Every area is still looked at by the same number of views as before.
fn looked(p: &Problem<'_>, old: &Plan, all: &[Carried]) -> bool {
    let before = views(old.stations.iter().flat_map(|s| &s.passes));
    let fields = |line: &Line| line.station.iter().map(|s| s.inspection.clone()).collect::<Vec<_>>();
    views(all.iter().flat_map(|c| &c.passes)) == before && fields(p.line) == fields(&old.line)
}

fn views<'p>(passes: impl Iterator<Item = &'p Pass>) -> usize {
    passes.map(|x| if let Work::Inspect { views } = &x.work { views.len() } else { 0 }).sum()
}

fn station(p: &Problem<'_>, old: &Plan, s: usize, o: usize, tasks: &[Option<TaskId>], parts: &[Option<usize>]) -> Carried {
    let (sheet, before) = (&p.line.station[s], &old.line.station[o]);
    let mut setup = Setup::new(p, s);
    let supplies: Vec<Option<u32>> = old.stations[o]
        .supplies
        .iter()
        .map(|x| {
            let part = (*parts.get(x.part.index())?)?;
            let place = place(p.line, &old.line, s, o, &x.place)?;
            stand(p, &mut setup, s, part, place)
        })
        .collect();
    let nozzles: Vec<Option<u32>> = old.line.nozzle.iter().map(|n| index(p.line.nozzle.iter().map(|x| &x.name), &n.name)).collect();
    let mut passes = Vec::new();
    for pass in &old.stations[o].passes {
        let name = before.head.get(pass.head as usize).map(|h| &h.name);
        let Some(head) = name.and_then(|n| index(sheet.head.iter().map(|h| &h.name), n)) else { continue };
        let work = match &pass.work {
            Work::Place { layouts, trips } => place_work(p, &setup, s, head, layouts, trips, tasks, &supplies, &nozzles),
            Work::Dispense { tasks: dotted } if p.dispenser(s) == Some(head as usize) => {
                let kept: Vec<TaskId> =
                    dotted.iter().filter_map(|t| *tasks.get(t.index())?).filter(|t| p.order.dots.contains_key(t)).collect();
                (!kept.is_empty()).then_some(Work::Dispense { tasks: kept })
            }
            Work::Inspect { views } if p.can_look(s) && p.is_head_up(s, head as usize) => Some(Work::Inspect { views: views.clone() }),
            _ => None,
        };
        passes.extend(work.map(|work| Pass { head, work }));
    }
    Carried { setup, passes }
}

fn index<'n>(mut names: impl Iterator<Item = &'n String>, name: &str) -> Option<u32> {
    names.position(|n| n == name).map(|i| i as u32)
}

/// A place of the old line by the numbers of the new one.
fn place(line: &Line, old: &Line, s: usize, o: usize, at: &SupplyPlace) -> Option<SupplyPlace> {
    let (new, before) = (&line.station[s], &old.station[o]);
    Some(match *at {
        SupplyPlace::Feeder { bank, slot, feeder } => SupplyPlace::Feeder {
            bank: index(new.bank.iter().map(|b| &b.name), &before.bank.get(bank as usize)?.name)?,
            slot,
            feeder: index(line.feeder.iter().map(|f| &f.name), &old.feeder.get(feeder as usize)?.name)?,
        },
        SupplyPlace::Tray { tray, level } => {
            SupplyPlace::Tray { tray: index(new.tray.iter().map(|t| &t.name), &before.tray.get(tray as usize)?.name)?, level }
        }
    })
}

/// Sets a supply where it stood, if it still fits, the place is free and up, and no lock wants it elsewhere.
fn stand(p: &Problem<'_>, setup: &mut Setup, s: usize, part: usize, place: SupplyPlace) -> Option<u32> {
    if let Some(same) = setup.of_part(part).find(|i| setup.supplies[*i as usize].place == place) {
        return Some(same);
    }
    let has_all = setup.of_part(part).count() >= p.rules.most_feeders();
    if has_all || setup.is_closed(p) || !p.may_stand(s, part, &place) {
        return None;
    }
    match place {
        SupplyPlace::Feeder { bank, slot, feeder } => {
            let (at, width) = (Slot { bank: bank as usize, slot }, p.line.feeder.get(feeder as usize)?.slots);
            let fits = slot >= 1 && p.feeders[part].contains(&feeder) && setup.is_free(at, width, &[]);
            fits.then(|| setup.add_feeder(p, part, feeder, at, p.lock(part).is_some_and(|l| l.binds_supply())))
        }
        SupplyPlace::Tray { tray, level } => {
            let taken = setup.supplies.iter().any(|x| x.place == place);
            let exists = level >= 1 && level <= p.line.station[s].tray.get(tray as usize)?.levels();
            let fits = exists && !taken && p.tray_places(s, part).any(|t| t == tray as usize);
            fits.then(|| setup.add_tray(p, part, tray as usize, level, p.lock(part).is_some_and(|l| l.binds_supply())))
        }
    }
}

#[allow(clippy::too_many_arguments, reason = "four maps from old numbers to new ones")]
fn place_work(
    p: &Problem<'_>,
    setup: &Setup,
    s: usize,
    head: u32,
    layouts: &[Vec<Option<u32>>],
    trips: &[Trip],
    tasks: &[Option<TaskId>],
    supplies: &[Option<u32>],
    nozzles: &[Option<u32>],
) -> Option<Work> {
    let mode = p.cap.mode(s, head as usize)?;
    let sheet = &p.line.station[s].head[head as usize];
    let fits = |n: u32| sheet.nozzles.contains(&p.line.nozzle[n as usize].name) && p.nozzle_stock()[n as usize] > 0;
    let new_layouts: Vec<Vec<Option<u32>>> = layouts
        .iter()
        .map(|l| {
            let mut new: Vec<Option<u32>> = l.iter().map(|n| n.and_then(|n| *nozzles.get(n as usize)?).filter(|n| fits(*n))).collect();
            new.resize(usize::from(sheet.spindles), None);
            new
        })
        .collect();
    let one_layout = p.line.station[s].nozzle_rack.is_none();
    if one_layout && new_layouts.len() > 1 {
        return None;
    }
    let mut kept: Vec<Trip> = Vec::new();
    for trip in trips {
        let Some(layout) = new_layouts.get(trip.layout as usize) else { continue };
        let supply = |spindle: u8| {
            trip.strokes.iter().flat_map(|x| &x.0).find(|x| x.spindle == spindle).and_then(|x| *supplies.get(x.supply as usize)?)
        };
        let stays = |spindle: u8, task: TaskId| -> Option<TaskId> {
            let (task, supply) = ((*tasks.get(task.index())?)?, supply(spindle)?);
            let (part, nozzle) = (p.part_of(task), (*layout.get(usize::from(spindle))?)?);
            let right = setup.supplies[supply as usize].part.index() == part;
            (right && p.cap.can(part, mode) && p.nozzles[part][mode].contains(&nozzle)).then_some(task)
        };
        let places: Vec<_> = trip
            .places
            .iter()
            .filter_map(|x| Some(domain::plan::PlaceStep { spindle: x.spindle, task: stays(x.spindle, x.task)? }))
            .collect();
        let picked = |x: &Pick| places.iter().any(|y| y.spindle == x.spindle);
        let strokes = trip.strokes.iter().map(|x| {
            let picks =
                x.0.iter()
                    .filter(|x| picked(x))
                    .filter_map(|x| Some(Pick { spindle: x.spindle, supply: (*supplies.get(x.supply as usize)?)? }));
            Stroke(picks.collect())
        });
        let strokes: Vec<Stroke> = strokes.filter(|x| !x.0.is_empty()).collect();
        if !places.is_empty() {
            kept.push(Trip { layout: trip.layout, strokes, places, after: trip.after });
        }
    }
    (!kept.is_empty()).then_some(Work::Place { layouts: new_layouts, trips: kept })
}

/// Takes nozzles off until no more are used than are left, and feeders likewise.
fn spare_nozzles(p: &Problem<'_>, all: &mut [Carried]) {
    let stock = Stock::full(p);
    for kind in 0..p.line.nozzle.len() {
        let used: u32 = all.iter().map(|c| held(c, kind as u32).values().sum::<u32>()).sum();
        let mut over = used.saturating_sub(stock.nozzles[kind]);
        for c in all.iter_mut().rev() {
            while over > 0 {
                let Some((head, n)) = held(c, kind as u32).into_iter().max_by_key(|(_, n)| *n).filter(|(_, n)| *n > 0) else { break };
                take_off(c, head, kind as u32, n - 1);
                over -= 1;
            }
        }
    }
    for kind in 0..p.line.feeder.len() {
        let used: u32 = all.iter().map(|c| c.setup.feeders_used(p.line)[kind]).sum();
        let mut over = used.saturating_sub(stock.feeders[kind]);
        for c in all.iter_mut().rev() {
            while over > 0 && c.setup.feeders_used(p.line)[kind] > 0 {
                drop_feeder(p, c, kind as u32);
                over -= 1;
            }
        }
    }
}

/// For each head the most nozzles of a kind that any of its layouts holds.
fn held(c: &Carried, kind: u32) -> BTreeMap<u32, u32> {
    let mut most: BTreeMap<u32, u32> = BTreeMap::new();
    for pass in &c.passes {
        let Work::Place { layouts, .. } = &pass.work else { continue };
        let here = layouts.iter().map(|l| l.iter().filter(|n| **n == Some(kind)).count() as u32).max().unwrap_or(0);
        let entry = most.entry(pass.head).or_default();
        *entry = (*entry).max(here);
    }
    most
}

/// Leaves a head at most `most` nozzles of a kind in each layout, with the tasks of the spindles concerned.
fn take_off(c: &mut Carried, head: u32, kind: u32, most: u32) {
    for pass in c.passes.iter_mut().filter(|x| x.head == head) {
        let Work::Place { layouts, trips } = &mut pass.work else { continue };
        for (l, layout) in layouts.iter_mut().enumerate() {
            let holding: Vec<usize> = (0..layout.len()).filter(|s| layout[*s] == Some(kind)).collect();
            for spindle in holding.into_iter().skip(most as usize) {
                layout[spindle] = None;
                trips.iter_mut().filter(|t| t.layout as usize == l).for_each(|t| forget(t, |s, _| usize::from(s) == spindle));
            }
        }
        trips.retain(|t| !t.places.is_empty());
    }
    c.passes.retain(|x| !matches!(&x.work, Work::Place { trips, .. } if trips.is_empty()));
}

/// Takes out what a trip does with the spindles (and supplies they pick from) that `gone` names.
fn forget(trip: &mut Trip, gone: impl Fn(u8, u32) -> bool) {
    let out: Vec<u8> = trip.strokes.iter().flat_map(|x| &x.0).filter(|x| gone(x.spindle, x.supply)).map(|x| x.spindle).collect();
    trip.strokes.iter_mut().for_each(|x| x.0.retain(|x| !out.contains(&x.spindle)));
    trip.strokes.retain(|x| !x.0.is_empty());
    trip.places.retain(|x| !out.contains(&x.spindle));
}

/// Gives back the feeder of a kind that feeds fewest placements; its tasks lose their place.
fn drop_feeder(p: &Problem<'_>, c: &mut Carried, kind: u32) {
    let mut uses = vec![0usize; c.setup.supplies.len()];
    let trips = |c: &Carried| -> Vec<u32> {
        let work = c.passes.iter().filter_map(|x| if let Work::Place { trips, .. } = &x.work { Some(trips) } else { None });
        work.flatten().flat_map(|t| &t.strokes).flat_map(|x| &x.0).map(|x| x.supply).collect()
    };
    trips(c).into_iter().for_each(|s| uses[s as usize] += 1);
    let of_kind = |i: &usize| matches!(c.setup.supplies[*i].place, SupplyPlace::Feeder { feeder, .. } if feeder == kind);
    let droppable = (0..uses.len()).filter(|i| !c.setup.is_kept(*i)).filter(of_kind);
    let Some(least) = droppable.min_by_key(|i| uses[*i]) else { return };
    let stays: Vec<bool> = (0..uses.len()).map(|i| i != least).collect();
    let new = c.setup.drop_unused(p, &stays);
    for pass in &mut c.passes {
        let Work::Place { trips, .. } = &mut pass.work else { continue };
        for trip in trips.iter_mut() {
            forget(trip, |_, s| s as usize == least);
            for pick in trip.strokes.iter_mut().flat_map(|x| &mut x.0) {
                pick.supply = new[pick.supply as usize].expect("only the dropped feeder has no new number");
            }
        }
        trips.retain(|t| !t.places.is_empty());
    }
    c.passes.retain(|x| !matches!(&x.work, Work::Place { trips, .. } if trips.is_empty()));
}

/// What stood at each station of the new line, in the new numbers, whether it may stand there still or not.
pub(super) fn standing(p: &Problem<'_>, old: &Plan) -> Vec<Vec<SupplyAt>> {
    let part = |x: &SupplyAt| {
        let number = &old.product.parts.get(x.part.index())?.number;
        p.job.product.parts.iter().position(|n| n.number == *number)
    };
    let at = |s: usize| -> Vec<SupplyAt> {
        let Some(o) = old_station(p, old, s) else { return Vec::new() };
        let new = |x: &SupplyAt| Some(SupplyAt { part: PartId(part(x)? as u32), place: place(p.line, &old.line, s, o, &x.place)? });
        old.stations[o].supplies.iter().filter_map(new).collect()
    };
    (0..p.line.station.len()).map(at).collect()
}
