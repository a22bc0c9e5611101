//! A first program for a station: set-up, nozzle layouts, trips, order.
//!
//! Nozzles are dealt by [`crate::nozzles::deal`]; everything else is a plain start for the search.

use super::dots::short_walk;
use super::passes::{Kind, Step, depths, may_alternate, schedule};
use super::setup::{Setup, Slot};
use super::state::{Cell, PassState, PassWork, StationState, TripState};
use super::timing::Timing;
use crate::problem::Problem;
use diag::{Code, codes};
use domain::job::TaskId;
use domain::line::{HeadKind, Line};
use domain::plan::SupplyPlace;
use std::collections::{BTreeMap, BTreeSet};
use units::{Point, Time};

/// Feeders and nozzles of the line that are still in stock.
#[derive(Clone, Debug)]
pub struct Stock {
    /// Left of each feeder kind.
    pub feeders: Vec<u32>,
    /// Left of each nozzle kind.
    pub nozzles: Vec<u32>,
}

impl Stock {
    /// Everything in the store, and what stands on the line without being kept there.
    pub fn full(p: &Problem<'_>) -> Self {
        let mut feeders = p.feeder_stock();
        for (_, s) in p.kept.iter().filter(|(_, s)| !s.tray) {
            feeders[s.feeder as usize] = feeders[s.feeder as usize].saturating_sub(1);
        }
        Self { feeders, nozzles: p.nozzle_stock() }
    }

    /// Takes what a station uses.
    pub fn take(&mut self, line: &Line, station: &StationState) {
        for (left, used) in self.feeders.iter_mut().zip(station.setup.feeders_used(line)) {
            *left = left.saturating_sub(used);
        }
        for (left, used) in self.nozzles.iter_mut().zip(nozzles_used(line, station)) {
            *left = left.saturating_sub(used);
        }
    }
}

/// Nozzles of each kind a station holds: for each head the most that any of its layouts needs.
pub fn nozzles_used(line: &Line, station: &StationState) -> Vec<u32> {
    let mut used = vec![0; line.nozzle.len()];
    let heads: BTreeSet<usize> = station.passes.iter().map(|p| p.head).collect();
    for head in heads {
        let layouts = station.passes.iter().filter(|p| p.head == head).flat_map(|p| &p.layouts);
        let mut most = vec![0; line.nozzle.len()];
        for layout in layouts {
            let mut here = vec![0; line.nozzle.len()];
            layout.iter().flatten().for_each(|n| here[*n as usize] += 1);
            most.iter_mut().zip(here).for_each(|(m, h)| *m = (*m).max(h));
        }
        used.iter_mut().zip(most).for_each(|(u, m)| *u += m);
    }
    used
}

/// Work given to a station.
#[derive(Clone, Debug, Default)]
pub struct Given {
    /// Tasks with the head and the stage they are placed in.
    pub tasks: Vec<(usize, u8, TaskId)>,
    /// Dots with the head and stage.
    pub dots: Vec<(usize, u8, TaskId)>,
    /// Areas to look at (indices of the rules) with their stage.
    pub areas: Vec<(u8, usize)>,
    /// What the other beam lent of its allowance ([`Setup::lent`]).
    pub lent: i64,
}

/// Tasks for which the station found no room, with the reason.
pub type Refused = Vec<(TaskId, &'static Code, String)>;

/// Builds a station's state from the work given to it.
pub fn construct(p: &Problem<'_>, station: usize, given: &Given, stock: &Stock) -> (StationState, Refused) {
    let mut refused = Refused::new();
    let mut state = StationState { station, setup: Setup::begin(p, station), passes: Vec::new(), alternating: false, time: Time::ZERO };
    state.setup.lent = given.lent;
    set_up(p, &mut state, given, stock, &mut refused);
    let out: BTreeSet<TaskId> = refused.iter().map(|r| r.0).collect();
    let mut nozzles = stock.nozzles.clone();
    let mut layouts: BTreeMap<usize, Layouts> = BTreeMap::new();
    for Step { head, stage, kind, tasks } in schedule(p, station, given) {
        let work = match kind {
            Kind::Dots => PassWork::Dots(short_walk(p, station, tasks)),
            Kind::Views => PassWork::Views(given.areas.iter().filter(|a| a.0 == stage).flat_map(|a| views(p, station, a.1)).collect()),
            Kind::Place => {
                let of_head = layouts.entry(head).or_insert_with(|| {
                    let mine = given.tasks.iter().filter(|t| t.0 == head && !out.contains(&t.2)).map(|t| t.2).collect();
                    let later = given.tasks.iter().filter(|t| t.0 != head && !out.contains(&t.2)).map(|t| (t.0, t.2));
                    let share = fair_share(p, &nozzles, later.map(|(h, t)| ((station, h), t)));
                    let (found, none) = lay_out_head(p, station, head, mine, &share);
                    take_nozzles(&found, &mut nozzles);
                    refused.extend(none);
                    found
                });
                let mine: BTreeSet<TaskId> = tasks.into_iter().filter(|t| !out.contains(t)).collect();
                PassWork::Trips(deal_pass(p, &state, head, of_head, &mine))
            }
        };
        let empty = matches!(&work, PassWork::Trips(t) if t.is_empty());
        if !empty {
            let layouts = layouts.get(&head).map_or(Vec::new(), |l| l.iter().map(|x| x.1.clone()).collect());
            state.passes.push(PassState { head, stage, layouts: if kind == Kind::Place { layouts } else { Vec::new() }, work });
        }
    }
    state.alternating = may_alternate(p, &state);
    (state, refused)
}

/// Nozzle layouts of a head, each with the nozzle kinds it holds and the tasks these pick up.
pub(super) type Layouts = Vec<(Vec<(u32, Vec<TaskId>)>, Vec<Option<u32>>)>;

/// Puts a feeder or tray for every part the station places.
fn set_up(p: &Problem<'_>, state: &mut StationState, given: &Given, stock: &Stock, refused: &mut Refused) {
    let mut count: BTreeMap<usize, u32> = BTreeMap::new();
    for (_, _, t) in &given.tasks {
        *count.entry(p.part_of(*t)).or_default() += 1;
    }
    let mut left = stock.feeders.clone();
    let width = |part: usize| p.feeders[part].first().map_or(0, |f| p.line.feeder[*f as usize].slots);
    let mut parts: Vec<usize> = count.keys().copied().filter(|part| state.setup.of_part(*part).next().is_none()).collect();
    // Locked ones first, then wide ones while long runs are free, then those used most.
    let slot_locked = |part: usize| p.lock(part).is_some_and(|l| l.binds_supply());
    parts.sort_by_key(|k| {
        (
            state.setup.standing(p, *k, &left).is_none(),
            !slot_locked(*k),
            p.lock(*k).is_some_and(|l| l.slot.is_none()),
            std::cmp::Reverse(width(*k)),
            std::cmp::Reverse(count[k]),
            *k,
        )
    });
    for part in parts {
        let score = if width(part) > 1 { out_of_the_way } else { crowding };
        if let Err((code, text)) = add_by(p, &mut state.setup, state.station, part, &mut left, score) {
            let tasks = given.tasks.iter().filter(|t| p.part_of(t.2) == part);
            refused.extend(tasks.map(|t| (t.2, code, text.clone())));
        }
    }
    if let Some(better) = by_use(p, state, &count) {
        state.setup = better;
    }
}

/// The set-up with feeders standing anew, those with most picks a slot nearest to the panel; `None` where they do not
/// all find room that way.
fn by_use(p: &Problem<'_>, state: &StationState, count: &BTreeMap<usize, u32>) -> Option<Setup> {
    let (old, station) = (&state.setup, state.station);
    let mut new = Setup::begin(p, station);
    new.lent = old.lent;
    let mut movable = Vec::new();
    for (k, s) in old.supplies.iter().enumerate().skip(new.supplies.len()) {
        match s.place {
            SupplyPlace::Tray { tray, level } => {
                new.add_tray(p, s.part.index(), tray as usize, level, old.locked[k]);
            }
            SupplyPlace::Feeder { bank, slot, feeder } if old.locked[k] => {
                new.add_feeder(p, s.part.index(), feeder, Slot { bank: bank as usize, slot }, true);
            }
            SupplyPlace::Feeder { feeder, .. } => movable.push((s.part.index(), feeder, p.line.feeder[feeder as usize].slots)),
        }
    }
    let a_slot = |part: usize, width: u32| 1000 * count.get(&part).copied().unwrap_or(0) / width.max(1);
    movable.sort_by_key(|(part, _, width)| (std::cmp::Reverse(a_slot(*part, *width)), *part));
    for (part, feeder, width) in movable {
        let score = |at: &Slot| (new.is_taken_before(p, *at, width), crowding(p, &new, station, *at), at.bank, at.slot);
        let at = new.free(width).into_iter().min_by_key(score)?;
        new.add_feeder(p, part, feeder, at, false);
    }
    Some(new)
}

/// Finds a place near the panel for a part's feeder or tray and sets it there.
pub fn add_supply(
    p: &Problem<'_>,
    setup: &mut Setup,
    station: usize,
    part: usize,
    left: &mut [u32],
) -> Result<u32, (&'static Code, String)> {
    add_by(p, setup, station, part, left, crowding)
}

/// How good slots are for a feeder at a station: the less, the better.
type Score = fn(&Problem<'_>, &Setup, usize, Slot) -> i64;

fn add_by(
    p: &Problem<'_>,
    setup: &mut Setup,
    station: usize,
    part: usize,
    left: &mut [u32],
    score: Score,
) -> Result<u32, (&'static Code, String)> {
    let (sheet, number) = (&p.line.station[station], &p.job.product.parts[part].number);
    if p.held.is_some() || setup.is_closed(p) {
        return Err((codes::plan::NO_SLOT, format!("no more may be set up at station `{}`, which `{number}` would need", sheet.name)));
    }
    if let Some(place) = setup.standing(p, part, left) {
        return Ok(match place {
            SupplyPlace::Feeder { bank, slot, feeder } => {
                left[feeder as usize] -= 1;
                setup.add_feeder(p, part, feeder, Slot { bank: bank as usize, slot }, true)
            }
            SupplyPlace::Tray { tray, level } => setup.add_tray(p, part, tray as usize, level, true),
        });
    }
    if p.in_trays(part) {
        let Some((tray, level)) = setup.free_tray(p, part) else {
            return Err((codes::plan::NO_SLOT, format!("no tray place is left for `{number}` at station `{}`", sheet.name)));
        };
        return Ok(setup.add_tray(p, part, tray, level, p.lock(part).is_some_and(|l| l.tray.is_some())));
    }
    let in_stock: Vec<u32> = p.feeders[part].iter().copied().filter(|f| left[*f as usize] > 0).collect();
    if in_stock.is_empty() {
        return Err((codes::plan::NO_STOCK, format!("no feeder for `{number}` is left in stock")));
    }
    let lock = p.lock(part).filter(|l| l.bank.is_some());
    for feeder in in_stock {
        let width = p.line.feeder[feeder as usize].slots;
        let mut free = setup.free(width);
        if let Some(l) = lock {
            free.retain(|at| l.bank.as_ref().is_none_or(|b| sheet.bank[at.bank].name == *b) && l.slot.is_none_or(|s| at.slot == s));
        }
        // Slots of what stands there already come last: it may be wanted again.
        let best =
            free.into_iter().min_by_key(|at| (setup.is_taken_before(p, *at, width), score(p, setup, station, *at), at.bank, at.slot));
        if let Some(at) = best {
            left[feeder as usize] -= 1;
            return Ok(setup.add_feeder(p, part, feeder, at, lock.is_some()));
        }
    }
    Err((codes::plan::NO_SLOT, format!("no slots are left for `{number}` at station `{}`", sheet.name)))
}

/// How far slots are from the middle of the panel along the slower axis [µm]: near ones are used first, so that a bank
/// far from a small panel is left alone.
fn crowding(p: &Problem<'_>, setup: &Setup, station: usize, at: Slot) -> i64 {
    let (along, across) = from_panel(p, station, at);
    let used = setup
        .supplies
        .iter()
        .filter(|s| matches!(s.place, domain::plan::SupplyPlace::Feeder { bank: b, .. } if b as usize == at.bank))
        .count();
    // A little weight on the fuller bank keeps banks that are equally far even.
    let even = used as i64 * p.line.station[station].bank[at.bank].pitch.0.0 / 2;
    along.max(across) + along / 8 + even
}

/// The other way round: the ends of the farthest bank first, where a wide feeder leaves narrow ones unbroken room near the panel.
fn out_of_the_way(p: &Problem<'_>, _: &Setup, station: usize, at: Slot) -> i64 {
    let (along, across) = from_panel(p, station, at);
    -along - 2 * across
}

/// How far a slot is from the middle of the panel along its bank and across [µm].
fn from_panel(p: &Problem<'_>, station: usize, at: Slot) -> (i64, i64) {
    let bank = &p.line.station[station].bank[at.bank];
    let along = bank.first.x.0.0 + bank.pitch.0.0 * (i64::from(at.slot) - 1) - p.job.size.x.0 / 2;
    (along.abs(), (bank.first.y.0.0 - p.job.size.y.0 / 2).abs())
}

/// Middles of the views that cover an area on every board.
pub fn views(p: &Problem<'_>, station: usize, area: usize) -> Vec<Point> {
    let (Some(look), area) = (&p.line.station[station].inspection, &p.rules.inspect[area]) else { return Vec::new() };
    let count = |extent: i64, field: i64| ((extent + field - 1) / field.max(1)).max(1);
    let (nx, ny) = (count(area.width.0.0, look.field.x.0.0), count(area.depth.0.0, look.field.y.0.0));
    let panel = &p.job.panel;
    let mut points = Vec::new();
    for image in 0..panel.images() {
        let corner = panel.corner(image);
        for k in 0..nx * ny {
            let (iy, ix) = (k / nx, if (k / nx) % 2 == 0 { k % nx } else { nx - 1 - k % nx });
            points.push(Point::from_um(
                corner.x.0 + area.x.0.0 + area.width.0.0 * (2 * ix + 1) / (2 * nx),
                corner.y.0 + area.y.0.0 + area.depth.0.0 * (2 * iy + 1) / (2 * ny),
            ));
        }
    }
    points
}

/// Nozzle layouts of a head for all its tasks at a station, whatever their stage.
pub(super) fn lay_out_head(p: &Problem<'_>, station: usize, head: usize, tasks: Vec<TaskId>, nozzles: &[u32]) -> (Layouts, Refused) {
    let mode = p.cap.mode(station, head).expect("a placing head");
    let sheet = &p.line.station[station];
    let (kinds, mut refused) = nozzle_kinds(p, mode, &tasks, nozzles);
    let mut by_kind: BTreeMap<u32, Vec<TaskId>> = BTreeMap::new();
    for t in tasks {
        if let Some(kind) = kinds.iter().find(|k| p.nozzles[p.part_of(t)][mode].contains(k)) {
            by_kind.entry(*kind).or_default().push(t);
        }
    }
    let spindles = usize::from(sheet.head[head].spindles);
    let blocks: Vec<Vec<u32>> = by_kind.keys().copied().collect::<Vec<_>>().chunks(spindles).map(<[u32]>::to_vec).collect();
    let mut layouts = Layouts::new();
    for (b, block) in blocks.into_iter().enumerate() {
        if b > 0 && sheet.nozzle_rack.is_none() {
            let why = format!("head `{}` has no spindle left for the nozzle and no rack to change it", sheet.head[head].name);
            refused.extend(block.iter().flat_map(|k| &by_kind[k]).map(|t| (*t, codes::plan::NO_NOZZLE, why.clone())));
            continue;
        }
        let counts: Vec<(u32, usize)> = block.iter().map(|k| (*k, by_kind[k].len())).collect();
        let share = crate::nozzles::deal(&counts, spindles, |k| nozzles[k as usize]);
        layouts.push((block.iter().map(|k| (*k, by_kind[k].clone())).collect(), lay_out(&share, spindles)));
    }
    (layouts, refused)
}

/// What the layouts of a head hold leaves the store: the most of each kind over the layouts.
fn take_nozzles(layouts: &Layouts, nozzles: &mut [u32]) {
    for (kind, left) in nozzles.iter_mut().enumerate() {
        let most = layouts.iter().map(|l| l.1.iter().flatten().filter(|n| **n as usize == kind).count()).max().unwrap_or(0);
        *left = left.saturating_sub(most as u32);
    }
}

/// A fair share of the nozzles left, so that the heads whose turn comes later find some too.
///
/// `later` are the tasks of those heads, each with its station and head.
pub fn fair_share(p: &Problem<'_>, left: &[u32], later: impl Iterator<Item = ((usize, usize), TaskId)>) -> Vec<u32> {
    let mut wanted: BTreeSet<(u32, (usize, usize))> = BTreeSet::new();
    for (at, t) in later {
        if let Some(mode) = p.cap.mode(at.0, at.1) {
            wanted.extend(p.nozzles[p.part_of(t)][mode].iter().map(|k| (*k, at)));
        }
    }
    let heads = |kind: usize| wanted.iter().filter(|(k, _)| *k as usize == kind).count() as u32;
    left.iter().enumerate().map(|(kind, n)| (n / (heads(kind) + 1)).max(1).min(*n)).collect()
}

/// Fewest nozzle kinds that serve all tasks, the most useful first; tasks none in stock serves are refused.
fn nozzle_kinds(p: &Problem<'_>, mode: usize, tasks: &[TaskId], stock: &[u32]) -> (Vec<u32>, Refused) {
    let mut open: Vec<TaskId> = tasks.to_vec();
    let mut kinds = Vec::new();
    while !open.is_empty() {
        let mut serves: BTreeMap<u32, usize> = BTreeMap::new();
        for t in &open {
            for k in p.nozzles[p.part_of(*t)][mode].iter().filter(|k| stock[**k as usize] > 0) {
                *serves.entry(*k).or_default() += 1;
            }
        }
        let Some((kind, _)) = serves.into_iter().max_by_key(|(k, n)| (*n, std::cmp::Reverse(*k))) else {
            let refused =
                open.iter().map(|t| (*t, codes::plan::NO_STOCK, format!("no nozzle for `{}` is left in stock", p.job.part(*t).number)));
            return (kinds, refused.collect());
        };
        kinds.push(kind);
        open.retain(|t| !p.nozzles[p.part_of(*t)][mode].contains(&kind));
    }
    (kinds, Refused::new())
}

fn lay_out(share: &[(u32, usize)], spindles: usize) -> Vec<Option<u32>> {
    let mut layout: Vec<Option<u32>> = share.iter().flat_map(|(k, n)| std::iter::repeat_n(Some(*k), *n)).collect();
    layout.resize(spindles, None);
    layout
}

/// Deals the tasks of a pass into trips, layout by layout; where that would break a pair of the rules, level
/// by level of the pairs.
pub(super) fn deal_pass(p: &Problem<'_>, state: &StationState, head: usize, layouts: &Layouts, mine: &BTreeSet<TaskId>) -> Vec<TripState> {
    let deal = |mine: &dyn Fn(&TaskId) -> bool| -> Vec<TripState> {
        let trips = layouts.iter().enumerate().flat_map(|(l, (kinds, layout))| {
            let by_kind = kinds.iter().map(|(k, tasks)| (*k, tasks.iter().copied().filter(mine).collect())).collect();
            deal_trips(p, state, head, l as u32, layout, by_kind)
        });
        trips.collect()
    };
    let all = deal(&|t| mine.contains(t));
    if pairs_hold(p, &all) {
        return all;
    }
    let tasks: Vec<TaskId> = mine.iter().copied().collect();
    let depth = depths(p, &tasks);
    let of = |t: &TaskId| depth.get(t).copied().unwrap_or(0);
    let deepest = depth.values().copied().max().unwrap_or(0);
    (0..=deepest).flat_map(|d| deal(&|t| mine.contains(t) && of(t) == d)).collect()
}

/// Whether the pairs inside a pass hold.
pub(super) fn pairs_hold(p: &Problem<'_>, trips: &[TripState]) -> bool {
    let mut at: BTreeMap<TaskId, usize> = BTreeMap::new();
    for (k, t) in trips.iter().flat_map(TripState::tasks).enumerate().filter(|(_, t)| p.order.is_paired(*t)) {
        at.insert(t, k);
    }
    at.iter().all(|(t, k)| p.order.before(*t).iter().all(|b| at.get(b).is_none_or(|j| j < k)))
}

/// Deals tasks into trips: along the bank for drums, one of each part for inline heads.
fn deal_trips(
    p: &Problem<'_>,
    state: &StationState,
    head: usize,
    layout_index: u32,
    layout: &[Option<u32>],
    by_kind: Vec<(u32, Vec<TaskId>)>,
) -> Vec<TripState> {
    let spindles_of = |kind: u32| layout.iter().enumerate().filter(move |(_, k)| **k == Some(kind)).map(|(s, _)| s);
    let trips = by_kind.iter().map(|(k, t)| t.len().div_ceil(spindles_of(*k).count().max(1))).max().unwrap_or(0);
    let kind = p.line.station[state.station].head[head].kind;
    let mut dealt: Vec<TripState> = (0..trips).map(|_| TripState::idle(layout_index, layout.len())).collect();
    for (k, mut tasks) in by_kind {
        let spindles: Vec<usize> = spindles_of(k).collect();
        let supply = |t: &TaskId| state.setup.of_part(p.part_of(*t)).next().expect("a part of the station has a supply");
        tasks.sort_by_cached_key(|t| {
            let (row, at) = (state.setup.rows[supply(t) as usize].at, p.job.tasks[t.index()].at);
            (row.y, row.x, at.y.0 / 10_000, at.x, *t)
        });
        for (i, t) in tasks.iter().enumerate() {
            let (trip, s) = if kind == HeadKind::Inline { (i % trips, i / trips) } else { (i / spindles.len(), i % spindles.len()) };
            dealt[trip].cells[spindles[s]] = Cell { task: *t, supply: supply(t) };
        }
    }
    let timing = Timing::new(p, state.station);
    for trip in &mut dealt {
        trip.in_spindle_order();
        if kind == HeadKind::Inline {
            timing.sweep(head, &state.setup, trip);
            walk(p, trip);
        }
    }
    dealt.retain(|t| !t.order.is_empty());
    dealt
}

/// Orders a trip's placements by walking to the nearest.
fn walk(p: &Problem<'_>, trip: &mut TripState) {
    let place = |s: &u8| p.job.tasks[trip.cells[usize::from(*s)].task.index()].at;
    let mut left = trip.order.clone();
    if left.is_empty() {
        return;
    }
    left.sort_by_key(|s| (place(s).y, place(s).x, *s));
    let mut order = vec![left.remove(0)];
    while !left.is_empty() {
        let at = place(order.last().expect("begun with one"));
        let far = |s: &u8| {
            let d = place(s) - at;
            (d.x.0.abs().max(d.y.0.abs()), *s)
        };
        let i = (0..left.len()).min_by_key(|i| far(&left[*i])).unwrap_or(0);
        order.push(left.remove(i));
    }
    trip.order = order;
}
