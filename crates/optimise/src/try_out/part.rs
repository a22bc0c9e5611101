//! All placements of a part go to another station, or to another head of their own.

use super::{Refused, Run, lies, number, settled};
use crate::capability::{Mode, Refusal, takes};
use crate::even::{Stands, settle, stage_for};
use crate::kinds::{self, StandIns};
use crate::order::Stages;
use crate::planner::LineState;
use crate::problem::Problem;
use crate::station::StationState;
use crate::station::construct::add_supply;
use crate::station::export::export;
use crate::station::setup::Slot;
use crate::station::timing::Timing;
use crate::{transfer, warm};
use diag::{Code, Finding, codes, codes::change as code};
use domain::job::{Job, TaskId};
use domain::line::HeadKind;
use domain::plan::{Plan, SupplyAt, SupplyPlace};
use domain::product::PartId;
use std::collections::{BTreeMap, BTreeSet};
use units::Time;

/// Free slots that are timed for a feeder that may stand anywhere.
const SLOTS_TIMED: usize = 60;

/// Where a part's supply is to stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Spot {
    /// Index of a bank of the station, and a slot, counted from 1.
    Slot(u32, u32),
    /// Index of a tray place of the station, and a level, counted from 1.
    Level(u32, u32),
}

/// Work that moves; everything by its index, which must exist.
#[derive(Clone, Debug)]
pub struct PartMove {
    /// The part.
    pub part: usize,
    /// Stations whose placements of it move.
    pub from: Vec<usize>,
    /// The station they go to.
    pub to: usize,
    /// Only this head of it.
    pub head: Option<usize>,
    /// Where its supply is to stand there.
    pub spot: Option<Spot>,
}

/// The plan with a part's placements moved, the stations concerned searched briefly with all feeders held, and timed anew.
///
/// What the plan leaves out is placed if the move makes room for it.
///
/// # Errors
/// Findings of the area `change`, when no head there can take it, or the rules, the stock or the slots stand against it;
/// those of [`Problem::on`].
pub fn move_part(plan: &Plan, job: &Job<'_>, wish: &PartMove) -> Result<Plan, Vec<Finding>> {
    able(plan, job, wish)?;
    let stand_ins = StandIns::of(&plan.line, job, &plan.rules);
    let mut p = Problem::on(job, &plan.line, stand_ins.as_ref(), &plan.rules)?;
    // Everything stays where it stands, whatever is built anew.
    p.standing = warm::standing(&p, plan);
    let Some(before) = warm::taken_over(&p, plan).filter(|state| is_whole(&p, plan, state)) else {
        return Err(vec![Finding::new(code::PROGRAM, "its program cannot be taken over piece by piece")]);
    };
    let mut state = before.clone();
    state.unplaced = plan.unplaced.iter().filter(|u| p.tasks.contains(&u.task)).cloned().collect();
    let tasks = take_away(&p, &mut state, wish);
    if tasks.is_empty() {
        let name = number(plan, wish.part);
        let is_there =
            state.stations.iter().any(|s| sheet_of(&p, s.station) == wish.to && s.tasks().any(|(_, t)| p.part_of(t) == wish.part));
        let by = if is_there { code::NOTHING } else { code::UNKNOWN };
        return Err(vec![Finding::new(by, format!("nothing of `{name}` is placed where it is to be taken from")).value(name)]);
    }
    let spot = wish.spot.map(|spot| stand(plan, &p, &state, wish, spot)).transpose()?;
    if let Some((k, supply)) = &spot
        && !p.standing[*k].contains(supply)
    {
        p.standing[*k].push(supply.clone());
        state.stations[*k].setup.add(&p, supply);
    }
    let (k, mut state) = put(plan, &p, &state, wish, &tasks, spot.map(|s| s.0))?;
    let supply = state.stations[k].setup.of_part(wish.part).next();
    if let Some(supply) = supply.filter(|s| !p.stands(k, &state.stations[k].setup.supplies[*s as usize])) {
        choose_slot(&p, &mut state.stations, k, supply);
    }
    for s in (0..state.stations.len()).filter(|s| state.stations[*s].passes != before.stations[*s].passes).collect::<Vec<_>>() {
        search_briefly(&p, &mut state.stations, s);
    }
    warm::rescue(&p, &mut state);
    Ok(written(plan, &p, &before, &state))
}

/// Station of the sheet of a station of the problem.
fn sheet_of(p: &Problem<'_>, k: usize) -> usize {
    p.stand_ins.map_or(k, |s| s.places[k].station)
}

/// Some head that is asked for takes the part by its size, nozzles, accuracy, supply, and by the rules.
fn able(plan: &Plan, job: &Job<'_>, wish: &PartMove) -> Result<(), Refused> {
    let (sheet, part) = (&plan.line.station[wish.to], &plan.product.parts[wish.part]);
    let heads = (0..sheet.head.len()).filter(|h| wish.head.is_none_or(|only| only == *h) && sheet.head[*h].kind != HeadKind::Dispense);
    let tried: Vec<Result<(), Refusal>> =
        heads.map(|head| takes(job, &plan.line, &plan.rules, Mode { station: wish.to, head }, part)).collect();
    if tried.iter().any(Result::is_ok) {
        return Ok(());
    }
    let nearest = tried.into_iter().filter_map(Result::err).max_by_key(|r| r.0);
    let (why, text) = nearest.map_or((codes::plan::TOO_LARGE, "it has no head that places parts".to_owned()), |(_, why, text)| (why, text));
    let by: &'static Code = match why.id {
        id if id == codes::plan::LOCK_CONFLICT.id => code::RULES,
        id if id == codes::plan::DOWN.id => code::DOWN,
        _ => code::HEAD,
    };
    Err(vec![Finding::new(by, format!("station `{}` cannot place `{}`: {text}", sheet.name, part.number)).value(&part.number)])
}

/// Whether a state places at every station what the plan places there.
fn is_whole(p: &Problem<'_>, plan: &Plan, state: &LineState) -> bool {
    let mut taken: Vec<BTreeSet<TaskId>> = vec![BTreeSet::new(); plan.stations.len()];
    for station in &state.stations {
        taken[sheet_of(p, station.station)].extend(station.tasks().map(|(_, t)| t));
    }
    plan.stations.iter().zip(taken).all(|(s, taken)| s.passes.iter().flat_map(|x| x.work.placed()).collect::<BTreeSet<_>>() == taken)
}

/// Takes the part's placements away from where they are, those aside that are with the head asked for already.
fn take_away(p: &Problem<'_>, state: &mut LineState, wish: &PartMove) -> BTreeSet<TaskId> {
    let mut all = BTreeSet::new();
    for station in &mut state.stations {
        let s = sheet_of(p, station.station);
        let is_there = |head: usize| {
            let head = p.stand_ins.map_or(head, |x| x.places[station.station].of_sheet(head).1);
            s == wish.to && wish.head.is_none_or(|h| h == head)
        };
        let mine = |(head, t): &(usize, TaskId)| p.part_of(*t) == wish.part && !is_there(*head);
        let gone: BTreeSet<TaskId> = station.tasks().filter(|x| wish.from.contains(&s) && mine(x)).map(|(_, t)| t).collect();
        if !gone.is_empty() {
            transfer::remove(p, station, &gone);
            all.extend(gone);
        }
    }
    all
}

/// The supply on the spot asked for, with the station of the problem it belongs to.
fn stand(plan: &Plan, p: &Problem<'_>, state: &LineState, wish: &PartMove, spot: Spot) -> Result<(usize, SupplyAt), Refused> {
    let (part, name) = (wish.part, number(plan, wish.part));
    let refuse = |by: &'static Code, text: String| Err(vec![Finding::new(by, text).value(name)]);
    let whole = match spot {
        Spot::Slot(..) if p.in_trays(part) => {
            return refuse(code::SUPPLY, format!("`{name}` comes in trays, which do not stand on a bank"));
        }
        Spot::Slot(bank, slot) => SupplyPlace::Feeder { bank, slot, feeder: p.feeders[part].first().copied().unwrap_or(0) },
        Spot::Level(..) if !p.in_trays(part) => return refuse(code::SUPPLY, format!("`{name}` does not come in trays")),
        Spot::Level(tray, level) => SupplyPlace::Tray { tray, level },
    };
    let own = |k: usize| p.stand_ins.map_or_else(|| Some(whole.clone()), |s| s.places[k].own_place(&whole));
    let found = (0..state.stations.len()).filter(|k| sheet_of(p, *k) == wish.to).find_map(|k| Some((k, own(k)?)));
    let Some((k, place)) = found else { return refuse(code::SUPPLY, format!("no head picks `{name}` from there")) };
    let setup = &state.stations[k].setup;
    let there = |place: &SupplyPlace| SupplyAt { part: PartId(part as u32), place: place.clone() };
    let mut stands = setup.of_part(part).map(|s| &setup.supplies[s as usize]).peekable();
    if let Some(first) = stands.peek().copied() {
        if stands.all(|s| same_spot(&s.place, &place)) {
            return Ok((k, first.clone()));
        }
        return refuse(
            code::IN_THE_WAY,
            format!("`{name}` stands at station `{}` already, at another place", plan.line.station[wish.to].name),
        );
    }
    if setup.is_closed(p) || !p.may_stand(k, part, &place) {
        return refuse(code::RULES, format!("a lock of `{name}`, or the closed set-up of the station, does not let it stand there"));
    }
    match place {
        SupplyPlace::Tray { tray, level } => {
            if !p.tray_places(k, part).any(|t| t == tray as usize) || level == 0 || level > p.line.station[k].tray[tray as usize].levels() {
                return refuse(code::SUPPLY, format!("the trays of `{name}` do not lie there"));
            }
            match setup.supplies.iter().find(|s| s.place == place) {
                Some(s) => refuse(code::IN_THE_WAY, format!("`{}` lies there", number(plan, s.part.index()))),
                None => Ok((k, there(&place))),
            }
        }
        SupplyPlace::Feeder { bank, slot, .. } => {
            let left = state.stock_but(p, &[]).feeders;
            let mut kinds = p.feeders[part].iter().filter(|f| left[**f as usize] > 0);
            let Some(feeder) = kinds.next().copied() else {
                return refuse(code::STOCK, format!("no feeder for `{name}` is left in stock"));
            };
            let (real, width) = (if let Spot::Slot(real, _) = spot { real } else { bank }, p.line.feeder[feeder as usize].slots);
            lies(plan, wish.to, Run { bank: real, slot, width })?;
            let covered = (slot..slot + width).find_map(|n| setup.covering(Slot { bank: bank as usize, slot: n }));
            match covered {
                Some(s) => {
                    let text = format!("`{}` stands there", number(plan, setup.supplies[s as usize].part.index()));
                    refuse(code::IN_THE_WAY, text)
                }
                None => Ok((k, there(&SupplyPlace::Feeder { bank, slot, feeder }))),
            }
        }
    }
}

fn same_spot(a: &SupplyPlace, b: &SupplyPlace) -> bool {
    match (a, b) {
        (SupplyPlace::Feeder { bank, slot, .. }, SupplyPlace::Feeder { bank: other, slot: at, .. }) => (bank, slot) == (other, at),
        (a, b) => a == b,
    }
}

/// Gives the tasks to the head with which the plan costs least; its station of the problem, and the line then.
fn put(
    plan: &Plan,
    p: &Problem<'_>,
    state: &LineState,
    wish: &PartMove,
    tasks: &BTreeSet<TaskId>,
    only: Option<usize>,
) -> Result<(usize, LineState), Refused> {
    let mut groups: BTreeMap<Stages, Vec<TaskId>> = BTreeMap::new();
    tasks.iter().for_each(|t| groups.entry(p.order.tasks[t.index()]).or_default().push(*t));
    let mut best: Option<((usize, Time, Time), usize, LineState)> = None;
    let mut why = None;
    for (m, mode) in p.cap.modes.iter().enumerate().filter(|(m, _)| p.cap.can(wish.part, *m)) {
        let (s, head) = p.of_sheet(m);
        if s != wish.to || wish.head.is_some_and(|h| h != head) || only.is_some_and(|k| k != mode.station) {
            continue;
        }
        let mut tried = state.clone();
        let stuck = groups.values().find(|group| match warm::put_at(p, &tried, mode.station, mode.head, group) {
            Some(new) => {
                tried.stations[mode.station] = new;
                false
            }
            None => true,
        });
        if let Some(group) = stuck {
            why = why.or_else(|| Some(why_not(plan, p, &tried, *mode, group)));
            continue;
        }
        kinds::time_one(p, &mut tried.stations, mode.station);
        let key = tried.key(p);
        if best.as_ref().is_none_or(|b| key < b.0) {
            best = Some((key, mode.station, tried));
        }
    }
    let none = || {
        let text = format!("no head that could take `{}` there has its nozzle or its place", number(plan, wish.part));
        Finding::new(code::HEAD, text).value(number(plan, wish.part))
    };
    best.map(|(_, k, state)| (k, state)).ok_or_else(|| vec![why.unwrap_or_else(none)])
}

/// What keeps tasks of one part from a head that takes it.
fn why_not(plan: &Plan, p: &Problem<'_>, state: &LineState, mode: Mode, tasks: &[TaskId]) -> Finding {
    let (part, station, stands) = (p.part_of(tasks[0]), &state.stations[mode.station], Stands::new(p, state));
    let name = number(plan, part);
    let late = tasks.iter().find(|t| !stands.may(p, **t, mode.station, &|o| tasks.contains(&o)));
    if late.is_some() || stage_for(p, station, state.ranges[mode.station], mode.head, tasks).is_none() {
        let task = p.job.name(*late.unwrap_or(&tasks[0]));
        let text = format!("`{task}` would come before what precedes it, or after what follows it");
        return Finding::new(code::ORDER, text).value(task);
    }
    let mut left = state.stock_but(p, &[]).feeders;
    let supplied = station.setup.of_part(part).next().is_some();
    match if supplied { Ok(0) } else { add_supply(p, &mut station.setup.clone(), mode.station, part, &mut left) } {
        Err((by, text)) => Finding::new(if by == codes::plan::NO_STOCK { code::STOCK } else { code::NO_ROOM }, text).value(name),
        Ok(_) => Finding::new(code::STOCK, format!("no nozzle for `{name}` is left in stock")).value(name),
    }
}

/// Sets a feeder that may stand anywhere on the free slots where its station is done first.
fn choose_slot(p: &Problem<'_>, states: &mut [StationState], k: usize, supply: u32) {
    let setup = &states[k].setup;
    let own = &setup.supplies[supply as usize];
    let SupplyPlace::Feeder { bank, slot, feeder } = own.place else { return };
    let now = Slot { bank: bank as usize, slot };
    let may = |at: &Slot| p.may_stand(k, own.part.index(), &SupplyPlace::Feeder { bank: at.bank as u32, slot: at.slot, feeder });
    let free: Vec<Slot> = setup.free(setup.width(p.line, supply as usize)).into_iter().filter(may).collect();
    let some = free.iter().copied().step_by(free.len().div_ceil(SLOTS_TIMED).max(1));
    let timed = std::iter::once(now).chain(some).map(|at| (at_slot(p, states, k, supply, at), at)).collect::<Vec<_>>();
    if let Some((_, best)) = timed.into_iter().min_by_key(|t| t.0) {
        at_slot(p, states, k, supply, best);
    }
}

/// Sets a feeder on free slots; when its station, and what shares a board with it, is done then.
fn at_slot(p: &Problem<'_>, states: &mut [StationState], k: usize, supply: u32, at: Slot) -> Time {
    states[k].setup.place_anew(p, &[(supply, at)]);
    let StationState { setup, passes, .. } = &mut states[k];
    let timing = Timing::new(p, k);
    for pass in passes.iter_mut().filter(|x| x.is_placing()) {
        let head = pass.head;
        let picks = |t: &&mut crate::station::TripState| t.cells.iter().any(|c| c.busy() && c.supply == supply);
        pass.trips_mut().iter_mut().filter(picks).for_each(|t| timing.sweep(head, setup, t));
    }
    retime(p, states, k)
}

/// Times a station of the problem; when it and what shares a board with it is done.
fn retime(p: &Problem<'_>, states: &mut [StationState], k: usize) -> Time {
    states[k].time = export(p, &states[k]).time_us;
    kinds::time_one(p, states, k);
    let other = p.stand_ins.and_then(|s| s.partner(k)).map_or(Time::ZERO, |o| states[o].time);
    states[k].time.max(other)
}

/// A short, cool search of a station with every feeder held; kept if the station is done sooner.
fn search_briefly(p: &Problem<'_>, states: &mut [StationState], k: usize) {
    let now = retime(p, states, k);
    let mut held = states[k].clone();
    held.setup.locked.fill(true);
    let before = std::mem::replace(&mut states[k], settle(p, held, &vec![0; p.line.nozzle.len()], k as u64));
    if retime(p, states, k) > now {
        states[k] = before;
        retime(p, states, k);
    }
}

/// The document with the stations that changed written down anew.
fn written(plan: &Plan, p: &Problem<'_>, before: &LineState, after: &LineState) -> Plan {
    let mut new = plan.clone();
    let stations = kinds::stations(p, &after.stations, true);
    for (k, (a, b)) in before.stations.iter().zip(&after.stations).enumerate() {
        if a.passes != b.passes || a.setup.supplies != b.setup.supplies {
            let s = sheet_of(p, k);
            new.stations[s] = stations[s].clone();
        }
    }
    new.unplaced = p.unplaced.iter().chain(&after.unplaced).cloned().collect();
    new.unplaced.sort_by_key(|u| u.task);
    settled(new)
}
