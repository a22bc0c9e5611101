//! The first spreading of the work over the line.

use crate::balance::{Group, Linear, Machine, longest_first, relax, spread, spread_from};
use crate::bound::Costs;
use crate::problem::Problem;
use crate::station::StationState;
use crate::station::construct::{Given, Stock, construct, fair_share};
use diag::codes;
use domain::job::TaskId;
use domain::line::HeadKind;
use domain::plan::Unplaced;
use std::collections::BTreeMap;

use crate::order::Stages;

/// Which stages each station works in, both ends included; rising along the line.
pub type StageRanges = Vec<Stages>;

/// Estimates of the time per placement, and the groups they are for.
#[derive(Clone)]
pub struct Estimate {
    /// Tasks of each group.
    pub members: Vec<Vec<TaskId>>,
    /// Stages of each group.
    pub stages: Vec<Stages>,
    /// The model; columns are the modes.
    pub model: Linear,
}

impl Estimate {
    /// Groups alike tasks and estimates their times from least costs, each mode's stretched by `factor`.
    pub fn new(p: &Problem<'_>, costs: &Costs, factor: &[f64]) -> Self {
        let mut groups: BTreeMap<(usize, Stages), Vec<usize>> = BTreeMap::new();
        for (i, t) in p.tasks.iter().enumerate() {
            groups.entry((p.part_of(*t), p.order.tasks[t.index()])).or_default().push(i);
        }
        let columns: Vec<usize> = p.cap.modes.iter().map(|m| m.station).collect();
        let cost_column: Vec<usize> = p
            .cap
            .modes
            .iter()
            .map(|m| costs.columns.iter().position(|c| c.station == m.station && c.head == m.head).unwrap_or(0))
            .collect();
        let mut estimate = Self { members: Vec::new(), stages: Vec::new(), model: Linear { columns, ..Linear::default() } };
        for ((part, stages), items) in groups {
            let mean = |m: usize| {
                let sum: i64 = items.iter().map(|i| costs.at(*i, cost_column[m])).sum();
                factor[m] * sum as f64 / 1000.0 / items.len() as f64
            };
            estimate.model.time.push((0..p.cap.modes.len()).map(|m| p.cap.can(part, m).then(|| mean(m))).collect());
            let slots = p.feeders[part].first().map_or(0, |f| p.line.feeder[*f as usize].slots);
            let tray = p.in_trays(part);
            estimate.model.groups.push(Group {
                count: items.len() as u32,
                slots: if tray { 0 } else { slots },
                places: u32::from(tray),
                part: part as u32,
            });
            estimate.stages.push(stages);
            estimate.members.push(items.iter().map(|i| p.tasks[*i]).collect());
        }
        for (s, sheet) in p.line.station.iter().enumerate() {
            estimate.model.stations.push(Machine {
                fixed: costs.fixed[s] as f64 / 1000.0,
                slots: sheet.bank.iter().map(|b| b.slots).sum(),
                places: sheet.tray.iter().map(|t| t.levels()).sum(),
                swap: costs.swap[s] as f64 / 1000.0,
                alternate: costs.alternate[s],
            });
        }
        estimate
    }

    /// The model when stations work only in these stages.
    pub fn within(&self, p: &Problem<'_>, ranges: &StageRanges) -> Linear {
        let mut model = self.model.clone();
        for (g, row) in model.time.iter_mut().enumerate() {
            for (m, t) in row.iter_mut().enumerate() {
                let here = ranges[p.cap.modes[m].station];
                if here.from.max(self.stages[g].from) > here.to.min(self.stages[g].to) {
                    *t = None;
                }
            }
        }
        for (s, range) in ranges.iter().enumerate() {
            // Passes of several stages cannot run backward.
            model.stations[s].alternate &= range.from == range.to;
        }
        model
    }
}

/// Most ways of cutting the line into stages that are compared.
const MOST_CUTS: usize = 300;

/// How often the chosen cut is spread with full effort; the best counts.
const AGAIN: usize = 4;

/// Where a stage starts: at this station, which may or may not hold the end of the stage before too.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Cut {
    station: usize,
    /// Whether nothing of the stage before is done there.
    clean: bool,
}

/// All ways of cutting the line into stages.
fn cuts(stations: usize, stages: u8) -> Vec<StageRanges> {
    let mut starts: Vec<Vec<Cut>> = vec![vec![Cut { station: 0, clean: true }]];
    for _ in 1..stages {
        let follow = |s: &Vec<Cut>| {
            let last = s[s.len() - 1];
            let next = (last.station..stations).flat_map(|station| [false, true].map(|clean| Cut { station, clean }));
            // A clean cut needs a station before it that the stage before has to itself.
            let sound = next.filter(|c| !c.clean || c.station > last.station);
            sound.map(|n| [s.as_slice(), &[n]].concat()).collect::<Vec<_>>()
        };
        starts = starts.iter().flat_map(follow).collect();
        if starts.len() > MOST_CUTS {
            // Evenly thinned, so that early and late cuts stay represented.
            let keep = starts.len().div_ceil(MOST_CUTS);
            starts = starts.into_iter().step_by(keep).collect();
        }
    }
    let range = |starts: &[Cut], s: usize| {
        let to = starts.iter().rposition(|c| c.station <= s).unwrap_or(0) as u8;
        let goes_on = |k: &usize| starts.get(k + 1).is_none_or(|next| next.station > s || (next.station == s && !next.clean));
        let from = (0..starts.len()).find(goes_on).unwrap_or(0) as u8;
        Stages { from: from.min(to), to }
    };
    starts.iter().map(|st| (0..stations).map(|s| range(st, s)).collect()).collect()
}

/// Where dots and inspections are done.
struct Extras {
    dots: Vec<(usize, usize, u8, TaskId)>,
    areas: Vec<(usize, u8, usize)>,
}

/// Finds a station for dots and areas within the stages of the line; `None` if there is none.
fn extras(p: &Problem<'_>, ranges: &StageRanges) -> Option<Extras> {
    let mut found = Extras { dots: Vec::new(), areas: Vec::new() };
    let dispenser = |s: usize| p.line.station[s].head.iter().position(|h| h.kind == HeadKind::Dispense);
    for t in &p.tasks {
        let Some(stage) = p.order.dots.get(t) else { continue };
        let at = (0..ranges.len()).filter(|s| ranges[*s].holds(*stage)).find_map(|s| dispenser(s).map(|h| (s, h)))?;
        found.dots.push((at.0, at.1, *stage, *t));
    }
    for (k, stage) in p.order.inspections.iter().enumerate() {
        let s = (0..ranges.len()).find(|s| ranges[*s].holds(*stage) && p.line.station[*s].inspection.is_some())?;
        found.areas.push((s, *stage, k));
    }
    Some(found)
}

/// Stations with work, and what found no room.
pub struct Start {
    /// One per station.
    pub stations: Vec<StationState>,
    /// Stages of each station.
    pub ranges: StageRanges,
    /// Tasks without a place.
    pub unplaced: Vec<Unplaced>,
}

/// Spreads all work and builds a first program for every station.
///
/// `tries` moves are tried on the linear model.
pub fn start(p: &Problem<'_>, estimate: &Estimate, tries: u32, rng: &mut fastrand::Rng) -> Start {
    spread_by(p, estimate, |model, share| spread(model, (tries / share).max(50), rng))
}

/// As [`start`], from what the linear program of the balance prefers.
pub fn start_from_program(p: &Problem<'_>, estimate: &Estimate, tries: u32, rng: &mut fastrand::Rng) -> Start {
    spread_by(p, estimate, |model, share| {
        // One program is enough for the cut chosen; the many cuts are compared without it.
        let shares = if share == 1 { relax(model).map_or(Vec::new(), |s| s.counts) } else { Vec::new() };
        spread_from(model, &shares, (tries / share).max(50), rng)
    })
}

/// Spreads all work by the hand method.
pub fn start_by_hand(p: &Problem<'_>, estimate: &Estimate) -> Start {
    spread_by(p, estimate, |model, _| longest_first(model))
}

/// Spreads by a method that is told over how many calls its effort is shared. The last calls are for the
/// cut of the line that is chosen.
pub fn spread_by(p: &Problem<'_>, estimate: &Estimate, mut method: impl FnMut(&Linear, u32) -> Vec<Option<usize>>) -> Start {
    let all = cuts(p.line.station.len(), p.order.stages);
    let share = all.len() as u32;
    let mut best: Option<(usize, f64, StageRanges, Vec<Option<usize>>)> = None;
    let several = all.len() > 1;
    for ranges in all {
        if extras(p, &ranges).is_none() {
            continue;
        }
        let model = estimate.within(p, &ranges);
        let columns = method(&model, share);
        let (missing, slowest) = rate(&model, &columns);
        if best.as_ref().is_none_or(|b| (missing, slowest) < (b.0, b.1)) {
            best = Some((missing, slowest, ranges, columns));
        }
    }
    let Some((_, _, ranges, mut columns)) = best else { return nothing(p) };
    let model = estimate.within(p, &ranges);
    for _ in 0..if several { AGAIN } else { AGAIN - 1 } {
        let other = method(&model, 1);
        if rate(&model, &other) < rate(&model, &columns) {
            columns = other;
        }
    }
    build(p, estimate, ranges, &columns)
}

/// Placements without a column, and the slowest station.
fn rate(model: &Linear, columns: &[Option<usize>]) -> (usize, f64) {
    let mut work = vec![0.0; model.columns.len()];
    let mut missing = 0;
    for (g, c) in columns.iter().enumerate() {
        match c {
            None => missing += model.groups[g].count as usize,
            Some(c) => work[*c] += model.time[g][*c].unwrap_or(0.0) * f64::from(model.groups[g].count),
        }
    }
    let load = |s: usize| {
        let mine = model.columns.iter().enumerate().filter(|(_, at)| **at == s).map(|(c, _)| work[c]);
        let heads = mine.clone().filter(|w| *w > 0.0).count();
        model.stations[s].fixed + mine.sum::<f64>() + model.stations[s].swaps(heads)
    };
    (missing, (0..model.stations.len()).map(load).fold(0.0, f64::max))
}

/// No way of cutting the line lets dots or inspections be done in their stage.
fn nothing(p: &Problem<'_>) -> Start {
    let message = |t: &TaskId| format!("no station sets dots or looks at areas early enough for `{}`", p.job.name(*t));
    let code = if p.order.inspections.is_empty() { codes::plan::NO_ADHESIVE } else { codes::plan::NO_INSPECTION };
    Start {
        stations: Vec::new(),
        ranges: vec![Stages { from: 0, to: 0 }; p.line.station.len()],
        unplaced: p.tasks.iter().map(|t| p.unplaced_task(*t, code, message(t))).collect(),
    }
}

fn build(p: &Problem<'_>, estimate: &Estimate, ranges: StageRanges, columns: &[Option<usize>]) -> Start {
    let mut given: Vec<Given> = vec![Given::default(); p.line.station.len()];
    let mut unplaced = Vec::new();
    for (g, column) in columns.iter().enumerate() {
        for t in &estimate.members[g] {
            match column {
                Some(m) => {
                    let mode = p.cap.modes[*m];
                    given[mode.station].tasks.push((mode.head, 0, *t));
                }
                None => unplaced.push(no_room(p, estimate, &ranges, g, *t)),
            }
        }
    }
    for (given, range) in given.iter_mut().zip(&ranges) {
        settle_stages(p, given, *range);
    }
    if let Some(extra) = extras(p, &ranges) {
        let gone: std::collections::BTreeSet<TaskId> = unplaced.iter().map(|u: &Unplaced| u.task).collect();
        for (s, head, stage, t) in extra.dots.into_iter().filter(|d| !gone.contains(&d.3)) {
            given[s].dots.push((head, stage, t));
        }
        for (s, stage, area) in extra.areas {
            given[s].areas.push((stage, area));
        }
    }
    let mut stock = Stock::full(p.line);
    let mut stations = Vec::new();
    for (s, work) in given.iter().enumerate() {
        let later = given.iter().enumerate().skip(s + 1).flat_map(|(k, g)| g.tasks.iter().map(move |t| ((k, t.0), t.2)));
        let share = Stock { feeders: stock.feeders.clone(), nozzles: fair_share(p, &stock.nozzles, later) };
        let (state, refused) = construct(p, s, work, &share);
        stock.take(p.line, &state);
        unplaced.extend(refused.into_iter().map(|(t, code, text)| p.unplaced_task(t, code, text)));
        stations.push(state);
    }
    drop_dots(&mut stations, &unplaced);
    Start { stations, ranges, unplaced }
}

/// Chooses the stage of each task within those its rules and its station allow.
///
/// Work that no rule concerns goes where its head works anyway, so that heads are swapped less.
pub fn settle_stages(p: &Problem<'_>, given: &mut Given, range: Stages) {
    let mut bound: BTreeMap<usize, BTreeMap<u8, usize>> = BTreeMap::new();
    for (head, stage, t) in &mut given.tasks {
        let wish = p.order.tasks[t.index()];
        *stage = range.from.max(wish.from);
        if wish.from == wish.to {
            *bound.entry(*head).or_default().entry(*stage).or_default() += 1;
        }
    }
    for (head, stage, t) in &mut given.tasks {
        let wish = p.order.tasks[t.index()];
        if wish.from < wish.to {
            let most = bound.get(head).and_then(|b| b.iter().max_by_key(|(s, n)| (**n, std::cmp::Reverse(**s))).map(|(s, _)| *s));
            *stage = most.unwrap_or(range.to).clamp(range.from.max(wish.from), range.to.min(wish.to));
        }
    }
}

/// Why a group found no column: the order rules left none, or all are full.
fn no_room(p: &Problem<'_>, estimate: &Estimate, ranges: &StageRanges, g: usize, t: TaskId) -> Unplaced {
    let number = &p.job.part(t).number;
    let open = estimate.within(p, ranges).time[g].iter().any(Option::is_some);
    if open {
        let what = if p.in_trays(p.part_of(t)) { "tray place" } else { "slot" };
        p.unplaced_task(t, codes::plan::NO_SLOT, format!("no {what} is left for `{number}` on the line"))
    } else {
        p.unplaced_task(t, codes::plan::ORDER_NO_HEAD, format!("no station that takes `{number}` comes at the right point of the order"))
    }
}

/// Dots of parts that are not placed are not set.
pub fn drop_dots(stations: &mut [StationState], unplaced: &[Unplaced]) {
    let gone: std::collections::BTreeSet<TaskId> = unplaced.iter().map(|u| u.task).collect();
    for station in stations {
        for pass in &mut station.passes {
            if let crate::station::state::PassWork::Dots(tasks) = &mut pass.work {
                tasks.retain(|t| !gone.contains(t));
            }
        }
        station.passes.retain(|p| !matches!(&p.work, crate::station::state::PassWork::Dots(t) if t.is_empty()));
    }
}
