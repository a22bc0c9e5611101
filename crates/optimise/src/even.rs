//! Evening out: work goes from the slowest station to others while the slower of the two gets faster.

use crate::bound::Costs;
use crate::kinds;
use crate::order::Stages;
use crate::planner::{LineState, Run, mix, parallel};
use crate::problem::Problem;
use crate::search::polish::QUICK;
use crate::search::{Heat, Search};
use crate::station::StationState;
use crate::station::construct::Stock;
use crate::station::redeal::redeal;
use crate::station::state::PassWork;
use crate::transfer::{dissolve, insert, remove};
use domain::job::TaskId;
use std::collections::{BTreeMap, BTreeSet};

/// Work that goes from one station to another, and perhaps other work back.
#[derive(Clone, Debug)]
struct Exchange {
    to: usize,
    there: Vec<TaskId>,
    there_head: usize,
    back: Vec<TaskId>,
    back_head: usize,
    /// Estimated time of the slower of the two afterwards [µs].
    estimate: f64,
}

/// Exchanges drawn by estimate in one go.
const DRAWN: usize = 150;
/// The same on a large line, where few draws find a station with time to spare.
const DRAWN_LARGE: usize = 600;
/// Of these, how many are looked at for room, and how many that have it are really tried.
const LOOKED_AT: usize = 40;
const TRIED: usize = 4;

/// Relieves the slowest station up to `steps` times, as long as that helps; returns the moves tried.
pub(crate) fn even_out(run: &Run<'_>, state: &mut LineState, costs: &Costs, steps: usize, seed: u64, threads: usize) -> u64 {
    let mut work = 0;
    if run.p.cap.modes.len() < 2 || state.stations.is_empty() {
        return work;
    }
    let mut rng = fastrand::Rng::with_seed(seed);
    for step in 0..steps {
        if run.share() >= 1.0 || !relieve(run, state, costs, &mut rng, mix(seed, 11, step as u64), threads, &mut work) {
            break;
        }
    }
    work
}

/// One exchange out of the slowest station; whether it helped.
fn relieve(
    run: &Run<'_>,
    state: &mut LineState,
    costs: &Costs,
    rng: &mut fastrand::Rng,
    seed: u64,
    threads: usize,
    work: &mut u64,
) -> bool {
    let p = run.p;
    let slowest = (0..state.stations.len()).max_by_key(|s| (state.stations[*s].time, std::cmp::Reverse(*s))).unwrap_or(0);
    let draw = Draw::new(p, state, costs, slowest);
    let now = state.stations[slowest].time.0 as f64;
    let draws = if p.is_large() { DRAWN_LARGE } else { DRAWN };
    let mut drawn: Vec<Exchange> = (0..draws).filter_map(|_| draw.exchange(rng)).filter(|e| e.estimate < now).collect();
    drawn.sort_by(|a, b| a.estimate.total_cmp(&b.estimate));
    drawn.dedup_by(|a, b| a.to == b.to && a.there == b.there && a.back == b.back);
    let here: &LineState = state;
    let made: Vec<Made> = drawn.iter().take(LOOKED_AT).filter_map(|e| carry_out(p, here, slowest, e)).take(TRIED).collect();
    if made.is_empty() {
        return false;
    }
    *work += made.iter().flat_map(|m| &m.changed).map(|(_, s)| u64::from(effort(s))).sum::<u64>();
    let results = parallel(threads, made.into_iter().enumerate().collect(), |(k, made): (usize, Made)| {
        let seed = mix(seed, 13, k as u64);
        let settled = |(i, (place, s)): (usize, (usize, StationState))| (place, settle(p, s, &made.spare, mix(seed, 1, i as u64)));
        let changed: Vec<(usize, StationState)> = made.changed.into_iter().enumerate().map(settled).collect();
        (kinds::longest(p, &here.stations, &changed), changed)
    });
    match results.into_iter().min_by_key(|(longest, _)| *longest) {
        Some((longest, changed)) if longest < state.stations[slowest].time => {
            changed.into_iter().for_each(|(s, station)| state.stations[s] = station);
            kinds::time(p, &mut state.stations);
            true
        }
        _ => false,
    }
}

/// Moves tried on a station after its work changed.
fn effort(station: &StationState) -> u32 {
    (station.placed() as u32 * 12).clamp(600, 25_000)
}

/// An exchange carried out on copies that are still to be searched.
struct Made {
    /// The stations changed, with their places on the line.
    changed: Vec<(usize, StationState)>,
    /// Nozzles each of them may take beyond what it holds.
    spare: Vec<u32>,
}

/// Carries an exchange out on copies; `None` where there is no room.
fn carry_out(p: &Problem<'_>, line: &LineState, from: usize, e: &Exchange) -> Option<Made> {
    let stands = Stands::new(p, line);
    let at = |o: TaskId| {
        if e.there.contains(&o) {
            Some(e.to)
        } else if e.back.contains(&o) {
            Some(from)
        } else {
            None
        }
    };
    let goes = |tasks: &[TaskId], to: usize| tasks.iter().all(|t| stands.may_with(p, *t, to, &at));
    if e.to != from && !(goes(&e.there, e.to) && goes(&e.back, from)) {
        return None;
    }
    let mut stock = Stock::full(p);
    for (s, other) in line.stations.iter().enumerate() {
        if s != from && s != e.to {
            stock.take(p.line, other);
        }
    }
    if e.to == from {
        return within(p, line, from, e, &stock);
    }
    let (mut a, mut b) = (line.stations[from].clone(), line.stations[e.to].clone());
    remove(p, &mut a, &e.there.iter().copied().collect());
    remove(p, &mut b, &e.back.iter().copied().collect());
    let mut left = stock.clone();
    left.take(p.line, &b);
    // What stands at a is needed there; b is taken off again below for its own share.
    let stage = stage_for(p, &a, line.ranges[from], e.back_head, &e.back)?;
    if !e.back.is_empty() && !insert(p, &mut a, e.back_head, stage, &e.back, &left) {
        return None;
    }
    let mut left = stock;
    left.take(p.line, &a);
    let stage = stage_for(p, &b, line.ranges[e.to], e.there_head, &e.there)?;
    if !insert(p, &mut b, e.there_head, stage, &e.there, &left) {
        return None;
    }
    if !in_stock(p, line, from, e.to, &a, &b) {
        return None;
    }
    let spare = spare_beside(p, line, &[from, e.to], &[&a, &b]);
    Some(Made { changed: vec![(from, a), (e.to, b)], spare })
}

/// Gives tasks to another head of the same station.
fn within(p: &Problem<'_>, line: &LineState, at: usize, e: &Exchange, stock: &Stock) -> Option<Made> {
    let mut s = line.stations[at].clone();
    remove(p, &mut s, &e.there.iter().copied().collect());
    let stage = stage_for(p, &s, line.ranges[at], e.there_head, &e.there)?;
    if !insert(p, &mut s, e.there_head, stage, &e.there, stock) || !in_stock(p, line, at, at, &s, &s) {
        return None;
    }
    let spare = spare_beside(p, line, &[at], &[&s]);
    Some(Made { changed: vec![(at, s)], spare })
}

/// Nozzles each of the changed stations may take beyond what it holds; the others of the line keep theirs.
fn spare_beside(p: &Problem<'_>, line: &LineState, places: &[usize], changed: &[&StationState]) -> Vec<u32> {
    let mut stock = Stock::full(p);
    let others = line.stations.iter().enumerate().filter(|(s, _)| !places.contains(s)).map(|(_, s)| s);
    others.chain(changed.iter().copied()).for_each(|s| stock.take(p.line, s));
    stock.nozzles.iter().map(|n| n / changed.len().max(1) as u32).collect()
}

/// A short, cool search after work has changed, nozzles dealt anew where that spares trips.
pub(crate) fn settle(p: &Problem<'_>, mut s: StationState, spare: &[u32], seed: u64) -> StationState {
    let tries = effort(&s);
    let heat = Heat { from: 4_000.0, to: 300.0 };
    if kinds::is_turret(p, s.station) {
        return kinds::search(p, s, tries, heat, seed);
    }
    redeal(p, &mut s, spare);
    dissolve(p, &mut s);
    let mut search = Search::new(p, s, seed);
    search.anneal(tries, heat);
    search.finish(QUICK)
}

/// The stage in which tasks are best added: theirs, or the one their head works in most. `None` if
/// they have no stage in common.
pub(crate) fn stage_for(p: &Problem<'_>, state: &StationState, range: Stages, head: usize, tasks: &[TaskId]) -> Option<u8> {
    let mut wish = range;
    for t in tasks {
        let s = p.order.tasks[t.index()];
        wish = Stages { from: wish.from.max(s.from), to: wish.to.min(s.to) };
    }
    if wish.from > wish.to {
        return None;
    }
    let most = state.passes.iter().filter(|x| x.head == head && wish.holds(x.stage)).max_by_key(|x| x.trips().len());
    let stage = most.or(state.passes.last()).map_or(wish.to, |x| x.stage);
    Some(stage.clamp(wish.from, wish.to))
}

/// Whether feeders and nozzles of the whole line are still in stock.
fn in_stock(p: &Problem<'_>, line: &LineState, from: usize, to: usize, a: &StationState, b: &StationState) -> bool {
    let full = Stock::full(p);
    let mut feeders: Vec<i64> = full.feeders.into_iter().map(i64::from).collect();
    let mut nozzles: Vec<i64> = full.nozzles.into_iter().map(i64::from).collect();
    let others = line.stations.iter().enumerate().filter(|(s, _)| *s != from && *s != to).map(|(_, s)| s);
    // A change within one station names it twice; it counts once.
    let changed = if from == to { vec![a] } else { vec![a, b] };
    for s in others.chain(changed) {
        feeders.iter_mut().zip(s.setup.feeders_used(p.line)).for_each(|(l, u)| *l -= i64::from(u));
        nozzles.iter_mut().zip(crate::station::construct::nozzles_used(p.line, s)).for_each(|(l, u)| *l -= i64::from(u));
    }
    feeders.iter().chain(&nozzles).all(|l| *l >= 0)
}

/// Where all work of the line is done, for pairs of the order rules between stations.
pub(crate) struct Stands {
    /// Station of each task; [`usize::MAX`] where it is not placed.
    of_task: Vec<usize>,
    /// Station after whose beginning each task's dots are set and its areas looked at.
    first: Vec<usize>,
}

impl Stands {
    /// Where everything is done now.
    pub(crate) fn new(p: &Problem<'_>, line: &LineState) -> Self {
        let mut all = Self { of_task: vec![usize::MAX; p.job.tasks.len()], first: vec![0; p.job.tasks.len()] };
        for (s, station) in line.stations.iter().enumerate() {
            station.tasks().for_each(|(_, t)| all.of_task[t.index()] = s);
            for pass in &station.passes {
                match &pass.work {
                    PassWork::Dots(tasks) => tasks.iter().for_each(|t| all.first[t.index()] = all.first[t.index()].max(s)),
                    PassWork::Views(_) => {
                        let looked = p.tasks.iter().filter(|t| !p.order.looks(**t).is_empty());
                        looked.for_each(|t| all.first[t.index()] = all.first[t.index()].max(s));
                    }
                    PassWork::Trips(_) => {}
                }
            }
        }
        all
    }

    /// Whether a task may be done at a station; tasks of `along` go there too.
    pub(crate) fn may(&self, p: &Problem<'_>, t: TaskId, station: usize, along: &dyn Fn(TaskId) -> bool) -> bool {
        self.may_with(p, t, station, &|o| along(o).then_some(station))
    }

    /// Whether a task may be done at a station; others stand where `moved` says, or where they are.
    fn may_with(&self, p: &Problem<'_>, t: TaskId, station: usize, moved: &dyn Fn(TaskId) -> Option<usize>) -> bool {
        let at = |o: &TaskId| moved(*o).unwrap_or(self.of_task[o.index()]);
        self.first[t.index()] <= station
            && p.order.before(t).iter().all(|b| at(b) == usize::MAX || at(b) <= station)
            && p.order.after(t).iter().all(|a| at(a) >= station)
    }
}

/// What exchanges are drawn from.
struct Draw<'d> {
    p: &'d Problem<'d>,
    line: &'d LineState,
    from: usize,
    /// For each station: tasks by (head, part, stages alike).
    work: Vec<Vec<(usize, usize, Vec<TaskId>)>>,
    /// Time a task of a part takes in a mode, by estimate [µs].
    each: BTreeMap<(usize, usize), f64>,
    stands: Stands,
}

impl<'d> Draw<'d> {
    fn new(p: &'d Problem<'d>, line: &'d LineState, costs: &Costs, from: usize) -> Self {
        let work: Vec<Vec<(usize, usize, Vec<TaskId>)>> = line.stations.iter().map(|s| by_part(p, s)).collect();
        let mut item = vec![usize::MAX; p.job.tasks.len()];
        p.tasks.iter().enumerate().for_each(|(i, t)| item[t.index()] = i);
        let mut sample: BTreeMap<usize, TaskId> = BTreeMap::new();
        for (_, part, tasks) in work.iter().flatten() {
            sample.entry(*part).or_insert(tasks[0]);
        }
        let mut each = BTreeMap::new();
        for (m, mode) in p.cap.modes.iter().enumerate() {
            let Some(column) = costs.columns.iter().position(|c| c.station == mode.station && c.head == mode.head) else { continue };
            let station = &line.stations[mode.station];
            let took: i64 = station.passes.iter().filter(|x| x.head == mode.head).flat_map(|x| x.trips()).map(|t| t.time.0).sum();
            let least: i64 = station.tasks().filter(|(h, _)| *h == mode.head).map(|(_, t)| costs.at(item[t.index()], column) / 1000).sum();
            let stretch = if least > 0 { took as f64 / least as f64 } else { 1.2 };
            for (part, t) in sample.iter().filter(|(part, _)| p.cap.can(**part, m)) {
                each.insert((m, *part), costs.at(item[t.index()], column) as f64 / 1000.0 * stretch);
            }
        }
        Self { p, line, from, work, each, stands: Stands::new(p, line) }
    }

    /// Draws an exchange; `None` when the draw led to nothing possible.
    fn exchange(&self, rng: &mut fastrand::Rng) -> Option<Exchange> {
        let mode = rng.usize(..self.p.cap.modes.len());
        match rng.u32(..4) {
            // So much work would hardly find together anew.
            0 if self.p.is_large() => None,
            0 => self.whole_pass(mode, rng),
            _ => self.one_part(mode, rng),
        }
    }

    /// Work of one part of the slowest station goes to a mode of another one, perhaps in exchange for work of one of its parts.
    fn one_part(&self, mode: usize, rng: &mut fastrand::Rng) -> Option<Exchange> {
        let p = self.p;
        let (to, head) = (p.cap.modes[mode].station, p.cap.modes[mode].head);
        if to == self.from {
            return None;
        }
        let (mine, theirs) = (&self.work[self.from], &self.work[to]);
        let (here_head, part, tasks) = mine.get(rng.usize(..mine.len().max(1)))?;
        let here = p.cap.mode(self.from, *here_head)?;
        let (gain, cost) = (*self.each.get(&(here, *part))?, *self.each.get(&(mode, *part))?);
        let tasks = self.fitting(tasks, to);
        let slack = self.line.stations[self.from].time - self.line.stations[to].time;
        // All of it, or as much as evens the two out.
        let even = ((slack.0 as f64 / (gain + cost)).round() as usize).clamp(1, tasks.len().max(1));
        let n = if rng.bool() { tasks.len() } else { even.min(tasks.len()) };
        let there: Vec<TaskId> = tasks.into_iter().take(n).collect();
        if there.is_empty() {
            return None;
        }
        let mut e = Exchange { to, there_head: head, back: Vec::new(), back_head: 0, estimate: 0.0, there };
        let (mut a, mut b) = (self.line.stations[self.from].time.0 as f64, self.line.stations[to].time.0 as f64);
        a -= gain * e.there.len() as f64;
        b += cost * e.there.len() as f64 + self.new_pass(to, head);
        let has_room = self.has_room(to, *part);
        if !has_room || b > a && rng.bool() {
            let (their_head, part, tasks) = theirs.get(rng.usize(..theirs.len().max(1)))?;
            let (there, back) = (p.cap.mode(to, *their_head)?, self.best_mode(self.from, *part)?);
            let (gain, cost) = (*self.each.get(&(there, *part))?, *self.each.get(&(back, *part))?);
            if has_room {
                let tasks = self.fitting(tasks, self.from);
                let n = (((b - a) / (gain + cost)).round() as usize).clamp(1, tasks.len().max(1));
                e.back = tasks.into_iter().take(if rng.bool() { n } else { usize::MAX }).collect();
            } else {
                // All work of a part must make room.
                let all: Vec<TaskId> = theirs.iter().filter(|w| w.1 == *part).flat_map(|w| w.2.iter().copied()).collect();
                e.back = self.fitting(&all, self.from);
                if e.back.len() < all.len() {
                    return None;
                }
            }
            e.back_head = p.cap.modes[back].head;
            b -= gain * e.back.len() as f64;
            a += cost * e.back.len() as f64;
        }
        e.estimate = a.max(b);
        Some(e)
    }

    /// All work of one pass of the slowest station goes to a mode, which may spare a head swap.
    fn whole_pass(&self, mode: usize, rng: &mut fastrand::Rng) -> Option<Exchange> {
        let p = self.p;
        let (to, head) = (p.cap.modes[mode].station, p.cap.modes[mode].head);
        let state = &self.line.stations[self.from];
        let k = rng.usize(..state.passes.len().max(1));
        let pass = state.passes.get(k)?;
        let tasks: Vec<TaskId> = pass.trips().iter().flat_map(|t| t.order.iter().map(|s| t.cells[usize::from(*s)].task)).collect();
        if tasks.is_empty() || (to == self.from && head == pass.head) || self.fitting(&tasks, to).len() < tasks.len() {
            return None;
        }
        let took: i64 = pass.trips().iter().map(|t| t.time.0).sum();
        let cost: f64 = tasks.iter().map(|t| self.each.get(&(mode, p.part_of(*t))).copied()).sum::<Option<f64>>()?;
        // Fewer passes mean fewer swaps, if this one stood between others.
        let swap = p.line.station[self.from].head_swap.as_ref().map_or(0.0, |w| w.time.0.0 as f64);
        let spared = if state.passes.len() > 1 { swap } else { 0.0 };
        let (a, b) = (state.time.0 as f64 - took as f64 - spared, self.line.stations[to].time.0 as f64 + cost + self.new_pass(to, head));
        let mut e = Exchange { to, there: tasks, there_head: head, back: Vec::new(), back_head: 0, estimate: a.max(b) };
        if to == self.from {
            e.estimate = a + cost + self.new_pass(to, head);
        } else if b > a {
            e.estimate = self.make_up(&mut e, a, b, rng);
        }
        Some(e)
    }

    /// Adds work that goes back until the two stations are even; the slower one's time then.
    fn make_up(&self, e: &mut Exchange, mut a: f64, mut b: f64, rng: &mut fastrand::Rng) -> f64 {
        let p = self.p;
        let mut groups: Vec<usize> = (0..self.work[e.to].len()).collect();
        rng.shuffle(&mut groups);
        let mut head = None;
        for (their_head, part, tasks) in groups.into_iter().map(|g| &self.work[e.to][g]) {
            let (Some(there), Some(back)) = (p.cap.mode(e.to, *their_head), self.best_mode(self.from, *part)) else { continue };
            let to_head = p.cap.modes[back].head;
            let (Some(gain), Some(cost)) = (self.each.get(&(there, *part)), self.each.get(&(back, *part))) else { continue };
            let uses = self.line.stations[self.from].passes.iter().any(|x| x.head == to_head);
            if b <= a || !uses || head.is_some_and(|h| h != to_head) {
                continue;
            }
            head = Some(to_head);
            let n = (((b - a) / (gain + cost)).round() as usize).max(1);
            let going: Vec<TaskId> = self.fitting(tasks, self.from).into_iter().take(n).collect();
            (a, b) = (a + cost * going.len() as f64, b - gain * going.len() as f64);
            e.back.extend(going);
        }
        e.back_head = head.unwrap_or(0);
        a.max(b)
    }

    /// Whether a part is supplied at a station, or its feeder finds room there.
    fn has_room(&self, station: usize, part: usize) -> bool {
        let (p, setup) = (self.p, &self.line.stations[station].setup);
        let finds_room = |f: &u32| !setup.free(p.line.feeder[*f as usize].slots).is_empty();
        p.in_trays(part) || setup.of_part(part).next().is_some() || p.feeders[part].iter().any(finds_room)
    }

    /// The mode of a station that takes a part fastest.
    fn best_mode(&self, station: usize, part: usize) -> Option<usize> {
        let modes = self.p.cap.modes.iter().enumerate().filter(|(_, m)| m.station == station).map(|(m, _)| m);
        modes.filter(|m| self.each.contains_key(&(*m, part))).min_by(|a, b| self.each[&(*a, part)].total_cmp(&self.each[&(*b, part)]))
    }

    /// A head not used yet costs a swap.
    fn new_pass(&self, station: usize, head: usize) -> f64 {
        let state = &self.line.stations[station];
        let new = !state.passes.is_empty() && !state.passes.iter().any(|x| x.head == head);
        let swap = self.p.line.station[station].head_swap.as_ref().map_or(0.0, |w| w.time.0.0 as f64);
        if new { swap } else { 0.0 }
    }

    /// Those of the tasks that a station may place by the order rules, if all of them go there.
    fn fitting(&self, tasks: &[TaskId], station: usize) -> Vec<TaskId> {
        let range = self.line.ranges[station];
        let fits = |t: &&TaskId| {
            let s = self.p.order.tasks[t.index()];
            s.from.max(range.from) <= s.to.min(range.to) && self.stands.may(self.p, **t, station, &|o| tasks.contains(&o))
        };
        tasks.iter().filter(fits).copied().collect()
    }
}

/// A station's tasks by head and part. Tasks of one group lie in the order of the trips.
fn by_part(p: &Problem<'_>, station: &StationState) -> Vec<(usize, usize, Vec<TaskId>)> {
    let mut groups: BTreeMap<(usize, usize, Stages, bool), Vec<TaskId>> = BTreeMap::new();
    let mut seen: BTreeSet<TaskId> = BTreeSet::new();
    for (head, t) in station.tasks() {
        if seen.insert(t) {
            groups.entry((head, p.part_of(t), p.order.tasks[t.index()], p.order.is_paired(t))).or_default().push(t);
        }
    }
    groups.into_iter().map(|((h, part, _, _), tasks)| (h, part, tasks)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::random_lines::{product, sheet};
    use crate::start::{Estimate, start};
    use crate::station::export::export;
    use domain::job::{Job, Panel};
    use domain::product::Side;
    use domain::rules::Rules;

    #[test]
    fn where_no_feeder_finds_room_all_work_of_a_part_makes_some() {
        let mut rng = fastrand::Rng::with_seed(19);
        let (mut crowded, mut roomy) = (0, 0);
        for case in 0..60 {
            let (mut line, product) = (sheet(&mut rng), product(&mut rng));
            (line.station[0].bank[0].slots, line.station[0].bank[1].slots) = (2, 2);
            let second = domain::line::Station { name: "gauge-2".to_owned(), ..line.station[0].clone() };
            line.station.push(second);
            let (job, rules) = (Job::new(&product, Side::Top, Panel::SINGLE).expect("a job"), Rules::default());
            let p = Problem::on(&job, &line, None, &rules).unwrap_or_else(|f| panic!("{f:#?}"));
            let costs = Costs::new(&job, &line, &rules, &p.clock, &p.cap, &p.tasks);
            let begun = start(&p, &Estimate::new(&p, &costs, &vec![1.0; p.cap.modes.len()]), 200, &mut rng);
            let mut stations = begun.stations;
            stations.iter_mut().for_each(|s| s.time = export(&p, s).time_us);
            let line = LineState { stations, ranges: begun.ranges, unplaced: begun.unplaced };
            for from in 0..line.stations.len() {
                let draw = Draw::new(&p, &line, &costs, from);
                for e in (0..100).filter_map(|_| draw.one_part(rng.usize(..p.cap.modes.len()), &mut rng)) {
                    let part = p.part_of(e.there[0]);
                    if draw.has_room(e.to, part) {
                        roomy += 1;
                        continue;
                    }
                    crowded += 1;
                    let other = p.part_of(*e.back.first().unwrap_or_else(|| panic!("case {case}: nothing goes back for {part}")));
                    let stays = |(_, t): (usize, TaskId)| p.part_of(t) == other && !e.back.contains(&t);
                    assert!(!line.stations[e.to].tasks().any(stays), "case {case}: some work of {other} stays");
                    let mut there = line.stations[e.to].clone();
                    let stage = stage_for(&p, &there, line.ranges[e.to], e.there_head, &e.there).expect("a stage");
                    assert!(!insert(&p, &mut there, e.there_head, stage, &e.there, &Stock::full(&p)), "case {case}: {part} finds room");
                }
            }
        }
        assert!(crowded > 100 && roomy > 100, "{crowded} without room, {roomy} with");
    }
}
