//! The first spreading of the work over the line.

use crate::balance::{Group, Linear, Machine, level, longest_first, spread};
use crate::bound::Costs;
use crate::problem::Problem;
use crate::station::StationState;
use crate::station::construct::{Given, Stock, construct, fair_share};
use diag::codes;
use domain::job::TaskId;
use domain::plan::Unplaced;
use std::collections::{BTreeMap, BTreeSet};

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
    /// Groups that no station can take at the right point of the order.
    pub hopeless: Vec<bool>,
    /// The model; columns are the modes.
    pub model: Linear,
}

impl Estimate {
    /// Groups alike tasks and estimates their times from least costs, each mode's stretched by `factor`.
    pub fn new(p: &Problem<'_>, costs: &Costs, factor: &[f64]) -> Self {
        let mut groups: BTreeMap<(usize, Stages, u8), Vec<usize>> = BTreeMap::new();
        for (i, t) in p.tasks.iter().enumerate() {
            groups.entry((p.part_of(*t), p.order.tasks[t.index()], role(p, *t))).or_default().push(i);
        }
        let columns: Vec<usize> = p.cap.modes.iter().map(|m| m.station).collect();
        let cost_column: Vec<usize> = p
            .cap
            .modes
            .iter()
            .map(|m| costs.columns.iter().position(|c| c.station == m.station && c.head == m.head).unwrap_or(0))
            .collect();
        let model = Linear { columns, ..Linear::default() };
        let mut estimate = Self { members: Vec::new(), stages: Vec::new(), hopeless: Vec::new(), model };
        for ((part, stages, _), items) in groups {
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
        for s in 0..p.line.station.len() {
            estimate.model.stations.push(Machine {
                fixed: costs.fixed[s] as f64 / 1000.0,
                slots: p.slots_up(s),
                places: p.levels_up(s),
                swap: costs.swap[s] as f64 / 1000.0,
                alternate: costs.alternate[s],
            });
        }
        estimate.pair_groups(p);
        estimate
    }

    /// Pairs of groups from pairs of tasks, and the stations they leave to each group.
    fn pair_groups(&mut self, p: &Problem<'_>) {
        let mut group_of = vec![usize::MAX; p.job.tasks.len()];
        for (g, members) in self.members.iter().enumerate() {
            members.iter().for_each(|t| group_of[t.index()] = g);
        }
        let mut after: Vec<BTreeSet<usize>> = vec![BTreeSet::new(); self.members.len()];
        for (g, members) in self.members.iter().enumerate() {
            let then = members.iter().flat_map(|t| p.order.after(*t)).map(|a| group_of[a.index()]);
            after[g] = then.filter(|h| *h != usize::MAX && *h != g).collect();
        }
        // What follows a follower follows too, so that groups in between are not squeezed out.
        for g in 0..after.len() {
            let mut open: Vec<usize> = after[g].iter().copied().collect();
            while let Some(h) = open.pop() {
                let more: Vec<usize> = after[h].iter().copied().filter(|x| *x != g && !after[g].contains(x)).collect();
                after[g].extend(&more);
                open.extend(more);
            }
        }
        let pairs: Vec<(usize, usize)> = after.iter().enumerate().flat_map(|(g, then)| then.iter().map(move |h| (g, *h))).collect();
        self.hopeless = vec![false; self.members.len()];
        narrow(&mut self.model, &pairs, &mut self.hopeless);
        let hopeless = &self.hopeless;
        self.model.pairs = pairs.into_iter().filter(|(a, b)| !hopeless[*a] && !hopeless[*b]).collect();
    }

    /// The groups cut into pieces of one column each, as counted: placements of each group in each column.
    fn divided(&self, counts: &[Vec<u32>]) -> (Self, Vec<Option<usize>>) {
        let (from, mut to) = (self, self.clone());
        (to.members, to.stages, to.model.groups, to.model.time) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
        to.hopeless.clear();
        let mut columns = Vec::new();
        let mut pieces: Vec<Vec<usize>> = vec![Vec::new(); from.members.len()];
        for (g, members) in from.members.iter().enumerate() {
            let mut left = members.as_slice();
            let shares = counts.get(g).into_iter().flatten().enumerate().map(|(c, n)| (Some(c), *n as usize));
            for (column, n) in shares.chain([(None, usize::MAX)]) {
                let (piece, rest) = left.split_at(n.min(left.len()));
                left = rest;
                if piece.is_empty() {
                    continue;
                }
                pieces[g].push(to.members.len());
                to.members.push(piece.to_vec());
                to.hopeless.push(from.hopeless[g]);
                to.stages.push(from.stages[g]);
                to.model.groups.push(Group { count: piece.len() as u32, ..from.model.groups[g] });
                to.model.time.push(from.model.time[g].clone());
                columns.push(column.filter(|c| from.model.time[g].get(*c).is_some_and(Option::is_some)));
            }
        }
        let of = |(a, b): &(usize, usize)| {
            let (a, b) = (&pieces[*a], &pieces[*b]);
            a.iter().flat_map(|x| b.iter().map(|y| (*x, *y))).collect::<Vec<_>>()
        };
        to.model.pairs = from.model.pairs.iter().flat_map(of).collect();
        (to, columns)
    }

    /// The model when stations work only in these stages.
    pub fn within(&self, p: &Problem<'_>, ranges: &StageRanges) -> Linear {
        self.framed(p, ranges, &extras(p, ranges, 0).unwrap_or_default())
    }

    /// The model when stations work only in these stages, with dots and looks done where `extra` says.
    fn framed(&self, p: &Problem<'_>, ranges: &StageRanges, extra: &Extras) -> Linear {
        let mut model = self.model.clone();
        for (g, row) in model.time.iter_mut().enumerate() {
            let first = self.members[g].iter().map(|t| extra.first_station(p, *t)).max().unwrap_or(0);
            let columns = &self.model.columns;
            row.iter_mut().enumerate().filter(|(m, _)| columns[*m] < first).for_each(|(_, t)| *t = None);
        }
        for (s, work) in extra.work(p, ranges.len()).into_iter().enumerate() {
            model.stations[s].fixed += work;
        }
        let pairs = model.pairs.clone();
        narrow(&mut model, &pairs, &mut self.hopeless.clone());
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

/// What the order rules ask of a task beside its stage: tasks of one part with different roles are different
/// groups, so that the many free ones may go where the few bound ones may not.
fn role(p: &Problem<'_>, t: TaskId) -> u8 {
    let bits = [!p.order.before(t).is_empty(), !p.order.after(t).is_empty(), p.order.dots.contains_key(&t), !p.order.looks(t).is_empty()];
    bits.iter().enumerate().filter(|(_, b)| **b).map(|(k, _)| 1 << k).sum()
}

/// Leaves each group only stations where all groups paired with it still find one; a group left with none is
/// hopeless and binds the others no more.
fn narrow(model: &mut Linear, pairs: &[(usize, usize)], hopeless: &mut [bool]) {
    let ends = |model: &Linear, g: usize| {
        let open = || model.time[g].iter().zip(&model.columns).filter(|(t, _)| t.is_some()).map(|(_, s)| *s);
        Some((open().min()?, open().max()?))
    };
    let mut changed = !pairs.is_empty();
    while changed {
        changed = false;
        for (a, b) in pairs.iter().filter(|(a, b)| !hopeless[*a] && !hopeless[*b]).copied().collect::<Vec<_>>() {
            let (Some((first, _)), Some((_, last))) = (ends(model, a), ends(model, b)) else { continue };
            if hopeless[a] || hopeless[b] {
                continue;
            }
            if first > last {
                // Both cannot be placed; the smaller group is given up.
                let lost = if model.groups[a].count < model.groups[b].count { a } else { b };
                model.time[lost].fill(None);
                hopeless[lost] = true;
                changed = true;
                continue;
            }
            let Linear { time, columns, .. } = &mut *model;
            for (g, out) in [(a, &(|s: usize| s > last) as &dyn Fn(usize) -> bool), (b, &|s: usize| s < first)] {
                for (t, _) in time[g].iter_mut().zip(columns.iter()).filter(|(t, s)| t.is_some() && out(**s)) {
                    *t = None;
                    changed = true;
                }
            }
            for g in [a, b] {
                hopeless[g] |= model.time[g].iter().all(Option::is_none);
            }
        }
    }
}

/// Most ways of cutting the line into stages that are compared.
const MOST_CUTS: usize = 300;

/// Moves tried on the linear model to choose the cut of the line into stages.
const CUT_TRIES: u32 = 4_000;

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
#[derive(Clone, Debug, Default)]
struct Extras {
    dots: Vec<(usize, usize, u8, TaskId)>,
    areas: Vec<(usize, u8, usize)>,
}

impl Extras {
    /// The first station a task may be placed at: that of its dots and of looks at its area.
    fn first_station(&self, p: &Problem<'_>, t: TaskId) -> usize {
        let dots = if p.order.dots.contains_key(&t) { self.dots.iter().find(|d| d.3 == t).map_or(0, |d| d.0) } else { 0 };
        let looks = p.order.looks(t).iter().filter_map(|k| self.areas.iter().find(|a| a.2 == *k as usize)).map(|a| a.0).max();
        dots.max(looks.unwrap_or(0))
    }

    /// About what they take each station [µs]: dots, a swap there and back, looks.
    fn work(&self, p: &Problem<'_>, stations: usize) -> Vec<f64> {
        let mut work = vec![0.0; stations];
        for (s, head, _, t) in &self.dots {
            let swap = p.line.station[*s].head_swap.as_ref().map_or(0.0, |w| 2.0 * w.time.0.0 as f64);
            let dot = p.line.station[*s].head[*head].dot.map_or(0.0, |d| d.0.0 as f64);
            work[*s] += dot * f64::from(p.job.part(*t).adhesive_dots.value) + if work[*s] == 0.0 { swap } else { 0.0 };
        }
        for (s, _, area) in &self.areas {
            work[*s] += crate::station::construct::views(p, *s, *area).len() as f64
                * p.line.station[*s].inspection.as_ref().map_or(0.0, |i| i.time.0.0 as f64);
        }
        work
    }
}

/// Finds a station for dots and areas within the stages of the line, dots not before station `from`; `None` if
/// there is none.
fn extras(p: &Problem<'_>, ranges: &StageRanges, from: usize) -> Option<Extras> {
    let mut found = Extras::default();
    for t in &p.tasks {
        let Some(stage) = p.order.dots.get(t) else { continue };
        let at = (from..ranges.len()).filter(|s| ranges[*s].holds(*stage)).find_map(|s| p.dispenser(s).map(|h| (s, h)))?;
        found.dots.push((at.0, at.1, *stage, *t));
    }
    for (k, stage) in p.order.inspections.iter().enumerate() {
        let s = (0..ranges.len()).find(|s| ranges[*s].holds(*stage) && p.can_look(*s))?;
        found.areas.push((s, *stage, k));
    }
    Some(found)
}

/// All that is decided before the balance: stages of the stations, and where dots and looks are done.
fn frames(p: &Problem<'_>) -> Vec<(StageRanges, Extras)> {
    let stations = p.line.station.len();
    let dispensers = |s: &usize| p.dispenser(*s).is_some();
    let dotted = p.tasks.iter().any(|t| p.order.dots.contains_key(t));
    let starts: Vec<usize> = if dotted { (0..stations).filter(dispensers).collect() } else { vec![0] };
    let all = cuts(stations, p.order.stages);
    let frames = all.iter().flat_map(|ranges| starts.iter().map(move |from| (ranges, *from)));
    frames.filter_map(|(ranges, from)| extras(p, ranges, from).map(|extra| (ranges.clone(), extra))).take(MOST_CUTS).collect()
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

/// As [`start`], with part types split over stations where that levels the line.
pub fn start_levelled(p: &Problem<'_>, estimate: &Estimate, tries: u32, rng: &mut fastrand::Rng) -> Start {
    let counts = level(&chosen_model(p, estimate), tries, rng);
    start_from_counts(p, estimate, &counts)
}

/// Spreads all work as these counts say, placements of each group in each column; those not counted are left out.
pub fn start_from_counts(p: &Problem<'_>, estimate: &Estimate, counts: &[Vec<u32>]) -> Start {
    let (divided, columns) = estimate.divided(counts);
    spread_by(p, &divided, |model, _| {
        let open = |(g, c): (usize, &Option<usize>)| c.filter(|c| model.time[g][*c].is_some());
        columns.iter().enumerate().map(open).collect()
    })
}

/// The model of the cut of the line into stages that the planner's own spreading chooses.
pub(crate) fn chosen_model(p: &Problem<'_>, estimate: &Estimate) -> Linear {
    let all = frames(p);
    if let [(ranges, extra)] = &all[..] {
        return estimate.framed(p, ranges, extra);
    }
    let mut rng = fastrand::Rng::with_seed(1);
    let mut last = estimate.model.clone();
    spread_by(p, estimate, |model, share| {
        last = model.clone();
        spread(model, (CUT_TRIES / share).max(50), &mut rng)
    });
    last
}

/// Spreads all work by the hand method.
pub fn start_by_hand(p: &Problem<'_>, estimate: &Estimate) -> Start {
    spread_by(p, estimate, |model, _| longest_first(model))
}

/// Spreads by a method that is told over how many calls its effort is shared. The last calls are for the
/// cut of the line that is chosen.
pub fn spread_by(p: &Problem<'_>, estimate: &Estimate, mut method: impl FnMut(&Linear, u32) -> Vec<Option<usize>>) -> Start {
    let all = frames(p);
    let share = all.len() as u32;
    let (mut chosen, mut rated) = (None, (usize::MAX, f64::INFINITY));
    for (k, (ranges, extra)) in all.iter().enumerate() {
        let model = estimate.framed(p, ranges, extra);
        let columns = method(&model, share);
        let rating = rate(&model, &columns);
        if rating < rated {
            (chosen, rated) = (Some((k, columns)), rating);
        }
    }
    let Some((k, mut columns)) = chosen else { return nothing(p) };
    let (ranges, extra) = all[k].clone();
    let model = estimate.framed(p, &ranges, &extra);
    for _ in 0..if share > 1 { AGAIN } else { AGAIN - 1 } {
        let other = method(&model, 1);
        if rate(&model, &other) < rate(&model, &columns) {
            columns = other;
        }
    }
    build(p, estimate, &model, ranges, &extra, &columns)
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

fn build(p: &Problem<'_>, estimate: &Estimate, model: &Linear, ranges: StageRanges, extra: &Extras, columns: &[Option<usize>]) -> Start {
    let mut given: Vec<Given> = vec![Given::default(); p.line.station.len()];
    let mut unplaced = Vec::new();
    for (g, column) in columns.iter().enumerate() {
        for t in &estimate.members[g] {
            match column {
                Some(m) => {
                    let mode = p.cap.modes[*m];
                    given[mode.station].tasks.push((mode.head, 0, *t));
                }
                None => unplaced.push(no_room(p, model, columns, g, *t)),
            }
        }
    }
    for (given, range) in given.iter_mut().zip(&ranges) {
        settle_stages(p, given, *range);
    }
    let gone: BTreeSet<TaskId> = unplaced.iter().map(|u: &Unplaced| u.task).collect();
    for (s, head, stage, t) in extra.dots.iter().filter(|d| !gone.contains(&d.3)) {
        given[*s].dots.push((*head, *stage, *t));
    }
    for (s, stage, area) in &extra.areas {
        given[*s].areas.push((*stage, *area));
    }
    let mut stock = Stock::full(p);
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
        // Tasks in pairs keep to the first stage they may be done in, which keeps them in order.
        if wish.from < wish.to && !p.order.is_paired(*t) {
            let most = bound.get(head).and_then(|b| b.iter().max_by_key(|(s, n)| (**n, std::cmp::Reverse(**s))).map(|(s, _)| *s));
            *stage = most.unwrap_or(range.to).clamp(range.from.max(wish.from), range.to.min(wish.to));
        }
    }
}

/// Why a group found no column: the order rules left none, or all are full.
fn no_room(p: &Problem<'_>, model: &Linear, columns: &[Option<usize>], g: usize, t: TaskId) -> Unplaced {
    let number = &p.job.part(t).number;
    let at = |o: usize| columns[o].map(|c| model.columns[c]);
    let in_order = |s: usize| {
        let mut mine = model.pairs.iter().filter(|(a, b)| *a == g || *b == g);
        mine.all(|(a, b)| if *a == g { at(*b).is_none_or(|x| s <= x) } else { at(*a).is_none_or(|x| x <= s) })
    };
    let open = model.time[g].iter().zip(&model.columns).any(|(t, s)| t.is_some() && in_order(*s));
    if open {
        let what = if p.in_trays(p.part_of(t)) { "tray place" } else { "slot" };
        p.unplaced_task(t, codes::plan::NO_SLOT, format!("no {what} is left for `{number}` on the line"))
    } else {
        p.unplaced_task(t, codes::plan::ORDER_NO_HEAD, format!("no station that takes `{number}` comes at the right point of the order"))
    }
}

/// Dots of parts that are not placed are not set.
pub fn drop_dots(stations: &mut [StationState], unplaced: &[Unplaced]) {
    let gone: BTreeSet<TaskId> = unplaced.iter().map(|u| u.task).collect();
    for station in stations {
        for pass in &mut station.passes {
            if let crate::station::state::PassWork::Dots(tasks) = &mut pass.work {
                tasks.retain(|t| !gone.contains(t));
            }
        }
        station.passes.retain(|p| !matches!(&p.work, crate::station::state::PassWork::Dots(t) if t.is_empty()));
    }
}
