//! The anytime loop: start, search every station, even them out, repeat while there is budget.

mod document;

use crate::bound::{Costs, Dual};
use crate::even::even_out;
use crate::kinds::{self, StandIns};
use crate::problem::Problem;
use crate::proof::Proof;
use crate::search::across;
use crate::search::groups::anneal_in_groups;
use crate::search::polish::{QUICK, THOROUGH};
use crate::search::{Heat, Search};
use crate::start::{Estimate, StageRanges, Start, start, start_levelled};
use crate::station::construct::Stock;
use crate::station::export::export;
use crate::station::redeal::redeal;
use crate::station::{StationState, state::PassWork};
use diag::Finding;
use domain::job::Job;
use domain::line::Line;
use domain::plan::{Method, Plan, Unplaced};
use domain::rules::Rules;
use motion::line_time;
use std::ops::Range;
use units::Time;

/// When to stop, and how to run.
#[derive(Clone, Copy, Debug)]
pub struct Limits {
    /// Seconds of planning, if limited by time.
    pub seconds: Option<f64>,
    /// Moves tried, if limited by work: the same work gives the same plan on any machine.
    pub work: Option<u64>,
    /// Seed of the search.
    pub seed: u64,
    /// Threads used; the plan does not depend on it.
    pub threads: usize,
}

/// What the planner asks the outside world.
pub trait Watch: Sync {
    /// Seconds since planning began. Only time limits depend on it.
    fn seconds(&self) -> f64;
    /// Whether somebody wants to stop.
    fn stopped(&self) -> bool;
    /// Told whenever something changes.
    fn progress(&self, progress: &Progress);
    /// Whether the best plan so far is wanted now, to go on from if planning is broken off; asked beside [`Watch::progress`].
    fn wants_plan(&self) -> bool {
        false
    }
    /// Takes the best plan so far: valid, but without bound, certificate and reasons.
    fn keep(&self, _plan: Plan) {}
}

/// How far planning is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Progress {
    /// Share of the budget used, 0 to 1.
    pub share: f64,
    /// Best takt so far.
    pub takt: Time,
    /// Bound, once known.
    pub bound: Option<Time>,
}

/// A plan, and how planning went.
#[derive(Clone, Debug)]
pub struct Planned {
    /// The plan.
    pub plan: Plan,
    /// Seconds until the first valid plan.
    pub first_plan_seconds: f64,
    /// Whether it was stopped before its limit.
    pub stopped: bool,
}

/// All stations of a line under search.
#[derive(Clone)]
pub(crate) struct LineState {
    pub stations: Vec<StationState>,
    pub ranges: StageRanges,
    pub unplaced: Vec<Unplaced>,
}

impl LineState {
    /// Whether no station takes much longer than their mean.
    fn is_level(&self) -> bool {
        let times = || self.stations.iter().filter(|s| s.placed() > 0).map(|s| s.time.0 as f64);
        let slowest = times().fold(0.0, f64::max);
        slowest * (1.0 - UNEVEN) <= times().sum::<f64>() / times().count().max(1) as f64
    }

    /// Fewer unplaced first, then the takt, then the sum of all times.
    pub fn key(&self, p: &Problem<'_>) -> (usize, Time, Time) {
        let times: Vec<Time> = self.stations.iter().map(|s| s.time).collect();
        (self.unplaced.len(), line_time(p.sheet(), &kinds::of_sheet(p, &times)).takt, times.into_iter().sum())
    }
}

/// Plans a job.
///
/// # Errors
/// Findings that forbid any plan (see [`Problem::on`]).
pub fn plan(job: &Job<'_>, line: &Line, rules: &Rules, limits: Limits, watch: &dyn Watch) -> Result<Planned, Vec<Finding>> {
    plan_from(job, line, rules, None, limits, watch)
}

/// Plans a job, beginning with an existing plan where that is better than a fresh start.
///
/// `old` may be of another revision of the product or the line. What it places where the new inputs still allow
/// it stays there; the search goes on from there, so the result is no worse than that.
///
/// # Errors
/// As [`plan`].
pub fn plan_from(
    job: &Job<'_>,
    line: &Line,
    rules: &Rules,
    old: Option<&Plan>,
    limits: Limits,
    watch: &dyn Watch,
) -> Result<Planned, Vec<Finding>> {
    let stand_ins = StandIns::of(line, job, rules);
    Ok(planned(&Problem::on(job, line, stand_ins.as_ref(), rules)?, old, limits, watch))
}

fn planned(p: &Problem<'_>, old: Option<&Plan>, limits: Limits, watch: &dyn Watch) -> Planned {
    let mut run = Run { p, limits, watch, work: 0 };
    let costs = Costs::new(p.job, p.line, p.rules, &p.clock, &p.cap, &p.tasks);
    let ones = vec![1.15; p.cap.modes.len()];
    let first = start(p, &Estimate::new(p, &costs, &ones), 4_000, &mut fastrand::Rng::with_seed(limits.seed));
    let mut best = run.timed(first);
    crate::warm::rescue(p, &mut best);
    if let Some(warm) = old.and_then(|old| crate::warm::line_state(p, old, Time::ZERO))
        && warm.key(p) < best.key(p)
    {
        best = warm;
    }
    let first_plan_seconds = watch.seconds();
    run.tell(&best, None);
    // The bound is that of the line itself, whatever stands in for its stations.
    let least = p.stand_ins.map(|_| p.least_times(&p.tasks));
    let least = least.as_ref().unwrap_or(&costs);
    let proof = Proof::default();
    std::thread::scope(|scope| {
        let work_out = || proof.work_out(p.sheet(), least, &limits, watch);
        if limits.threads > 1 {
            scope.spawn(work_out);
        } else {
            work_out();
        }
        run.tell(&best, proof.bound());
        if !best.stations.is_empty() && run.share() < 1.0 {
            let islands = run.restarts(best.clone(), &costs, &proof);
            best = run.improve(islands, &costs, &proof);
        }
    });
    // The search may have given back a nozzle or a slot that was short at first.
    crate::warm::rescue(p, &mut best);
    let stopped = watch.stopped();
    Planned { plan: run.compose(&best, least, proof.into_dual(), Method::Search), first_plan_seconds, stopped }
}

/// Feeders and nozzles of each kind that every station may take beyond what it has, so that all may do so at once.
fn spare(p: &Problem<'_>, stations: &[StationState]) -> Stock {
    let mut left = Stock::full(p);
    stations.iter().for_each(|s| left.take(p.line, s));
    let each = stations.len().max(1) as u32;
    left.feeders.iter_mut().chain(&mut left.nozzles).for_each(|n| *n /= each);
    left
}

/// The bound with the other equipment of the line.
pub(crate) fn bound_time(line: &Line, dual: Option<&Dual>) -> Option<Time> {
    let equipment = line.equipment.iter().map(|e| *e.time).max().unwrap_or(Time::ZERO);
    dual.map(|d| Time(d.bound_us.max(0)).max(equipment))
}

pub(crate) struct Run<'r> {
    pub p: &'r Problem<'r>,
    pub limits: Limits,
    pub watch: &'r dyn Watch,
    pub work: u64,
}

/// A line under search, beside others that are searched at the same time.
///
/// There are always as many of them, each with its own seeds, so that the plan does not depend on the number of
/// threads and two threads have equal work: [`ISLANDS`], or one line whose stations are shared out.
pub(crate) struct Island {
    current: LineState,
    best: LineState,
    /// Moves that the last evening out took.
    evened: u64,
    /// Rounds made since it began.
    rounds_made: u64,
}

impl Island {
    fn new(state: LineState) -> Self {
        Self { best: state.clone(), current: state, evened: 0, rounds_made: 0 }
    }

    fn keep_if_better(&mut self, p: &Problem<'_>) {
        if self.current.key(p) < self.best.key(p) {
            self.best = self.current.clone();
        }
    }
}

/// Every round is cooled down to this before work is evened out: hot stations hide what an exchange gains [µs].
/// With a single head there is nothing to even out, and slow cooling finds more.
const COOL: f64 = 300.0;
/// Stations cooler than this are searched together, too: before that whole passes of work still find their station [µs].
const TOGETHER: f64 = 10_000.0;
/// Moves of a search of all stations together for each move of a round that searches them one by one.
const ACROSS: u64 = 3;
/// Lines searched side by side.
const ISLANDS: usize = 2;
/// Groups of stations that a large line is parted into when they are searched together.
const GROUPS: usize = 2;
/// How often these groups are drawn in a round.
const DRAWS: u64 = 3;
/// Share of the budget for trying several starts, and the same for a large line whose work may change hands: it needs the rest more.
const RESTARTS_SHARE: f64 = 0.25;
const RESTARTS_SHARE_OF_LARGE: f64 = 0.12;
/// How often the slowest station is relieved in a round.
const EVENED: usize = 3;
/// A large line whose slowest station is above the mean by this share is still evened out, after one round in so many: where no part of
/// the slowest stands at a faster one, work does not change hands move by move.
const UNEVEN: f64 = 0.004;
const EVENED_EVERY: u64 = 4;
/// Heat of an ordinary line's rounds from first to last [µs].
const BY_ROUNDS: (f64, f64) = (60_000.0, 200.0);
/// Heat of a large line whose stations are annealed together without a stop [µs]: hotter it loses what the starts have found,
/// cooler it gains nothing more.
const IN_ONE_GO: (f64, f64) = (8_000.0, 500.0);
/// Starts tried on each island.
const RESTARTS: u64 = 3;
/// Most rounds that an island makes before it waits for the others.
const AT_ONCE: f64 = 4.0;
/// Fewest times that islands wait for each other in what is left of the budget.
const LOOKS: f64 = 16.0;
/// Rounds that cool a start.
const ROUNDS: u64 = 6;
/// Shares of the budget at which the island that is behind goes on from the best.
const MEETINGS: [f64; 3] = [0.5, 0.7, 0.9];

impl Run<'_> {
    /// Share of the budget used, by whichever limit is nearer. Without any limit the default of
    /// [`Limits`] users applies; one of both is always set by the edges.
    pub fn share(&self) -> f64 {
        let by_time = self.limits.seconds.map_or(0.0, |s| self.watch.seconds() / s.max(1e-6));
        let by_work = self.limits.work.map_or(0.0, |w| self.work as f64 / w.max(1) as f64);
        if self.watch.stopped() || (self.limits.seconds.is_none() && self.limits.work.is_none()) {
            1.0
        } else {
            by_time.max(by_work).min(1.0)
        }
    }

    /// Tells the watch how far it is.
    pub fn tell(&self, state: &LineState, bound: Option<Time>) {
        let (_, takt, _) = state.key(self.p);
        self.watch.progress(&Progress { share: self.share(), takt, bound });
        if self.watch.wants_plan() {
            self.watch.keep(self.document(state, None, Method::Search));
        }
    }

    /// A start with its times by the full clock.
    pub fn timed(&self, start: Start) -> LineState {
        let mut stations = start.stations;
        for s in &mut stations {
            s.time = export(self.p, s).time_us;
        }
        kinds::time(self.p, &mut stations);
        LineState { stations, ranges: start.ranges, unplaced: start.unplaced }
    }

    /// Moves of one round at a station: enough to touch every trip, few enough to look at the clock often.
    fn tries(&self, station: &StationState) -> u32 {
        (station.placed() as u32 * 60).clamp(2_000, 60_000)
    }

    /// Searches every station once; returns the moves tried.
    pub fn search_all(&self, state: &mut LineState, heat: Heat, seed: u64, threads: usize) -> u64 {
        self.search_long(state, heat, 0, seed, threads)
    }

    /// As [`Run::search_all`], with about `least` moves in all if that is more than usual.
    fn search_long(&self, state: &mut LineState, heat: Heat, least: u64, seed: u64, threads: usize) -> u64 {
        let p = self.p;
        let spare = spare(p, &state.stations);
        let jobs: Vec<(usize, StationState)> = state.stations.drain(..).enumerate().collect();
        let usual: u64 = jobs.iter().map(|(_, s)| u64::from(self.tries(s))).sum();
        let tries = |s: &StationState| {
            let usual_here = u64::from(self.tries(s));
            (usual_here * least.max(usual) / usual.max(1)) as u32
        };
        let work: u64 = jobs.iter().map(|(_, s)| u64::from(tries(s))).sum();
        state.stations = parallel(threads, jobs, |(i, mut station)| {
            let tries = tries(&station);
            if kinds::is_turret(p, station.station) {
                return kinds::search(p, station, tries, heat, mix(seed, 5, i as u64));
            }
            if heat.from > TOGETHER {
                redeal(p, &mut station, &spare.nozzles);
            }
            crate::transfer::dissolve(p, &mut station);
            let mut search = Search::new(p, station, mix(seed, 5, i as u64)).with_stock(&spare.feeders);
            search.anneal(tries, heat);
            search.finish(QUICK)
        });
        kinds::time(p, &mut state.stations);
        work
    }

    /// Searches all stations together, work changing hands; those of a large line in groups that are drawn anew a few times.
    fn search_across(&self, state: &mut LineState, heat: Heat, least: u64, seed: u64, threads: usize) -> u64 {
        let usual: u64 = state.stations.iter().map(|s| u64::from(self.tries(s))).sum();
        let tries = (ACROSS * usual).max(least);
        let (groups, draws) = if self.p.is_large() { (GROUPS, DRAWS) } else { (1, 1) };
        for draw in 0..draws {
            let stations = std::mem::take(&mut state.stations);
            state.stations = anneal_in_groups(self.p, stations, groups, tries / draws, heat, mix(seed, 17, draw), threads);
        }
        tries
    }

    /// Whether all stations of a large line are annealed together once the starts are over, work changing hands all the time:
    /// cooled anew every round, a search of so much work would never get far, and little is left to even out (see [`UNEVEN`]).
    fn cools_in_one_go(&self, state: &LineState) -> bool {
        self.p.is_large() && across::is_possible(self.p, &state.stations)
    }

    /// Lines searched side by side.
    fn islands(&self) -> usize {
        if self.p.is_large() { 1 } else { ISLANDS }
    }

    /// Threads for the search: one less while the bound needs one.
    fn threads(&self, proof: &Proof) -> usize {
        self.limits.threads.saturating_sub(usize::from(proof.is_under_way())).max(1)
    }

    /// Some rounds on every island, of numbers `rounds` and heat `heat`; `across` if work may change hands meanwhile.
    ///
    /// Islands wait for each other only at the end, so that a short round of one makes up for a long one of the other.
    fn rounds(
        &mut self,
        islands: &mut Vec<Island>,
        rounds: Range<u64>,
        heat: impl Fn(u64) -> Heat + Sync,
        across: bool,
        costs: &Costs,
        threads: usize,
    ) {
        let inner = (threads / islands.len()).max(1);
        let jobs: Vec<(usize, Island)> = islands.drain(..).enumerate().collect();
        let (run, all): (&Run<'_>, u64) = (self, jobs.len() as u64);
        let done = parallel(threads, jobs, |(k, mut island)| {
            let mut work = 0;
            for round in rounds.clone() {
                // What the other islands do meanwhile is not known here, but about as much.
                let is_spent = |limit: u64| run.work + work * all >= limit;
                if round > rounds.start && (run.share() >= 1.0 || run.limits.work.is_some_and(is_spent)) {
                    break;
                }
                let seed = mix(run.limits.seed, round, k as u64 + 1);
                work += run.round(&mut island, heat(round), across, seed, costs, inner);
            }
            (island, work)
        });
        for (island, work) in done {
            islands.push(island);
            self.work += work;
        }
    }

    /// One round on an island; returns the moves tried.
    fn round(&self, island: &mut Island, heat: Heat, across: bool, seed: u64, costs: &Costs, threads: usize) -> u64 {
        let seed_across = mix(seed, 7, 1);
        island.rounds_made += 1;
        if across && self.cools_in_one_go(&island.current) {
            let mut work = self.search_across(&mut island.current, heat, 0, seed_across, threads);
            if island.rounds_made.is_multiple_of(EVENED_EVERY) && !island.current.is_level() {
                let steps = island.current.stations.len();
                work += even_out(self, &mut island.current, costs, steps, mix(seed, 3, 1), threads);
            }
            island.keep_if_better(self.p);
            return work;
        }
        let heat = if self.p.cap.modes.len() > 1 { Heat { to: heat.to.min(COOL), ..heat } } else { heat };
        let across = across && across::is_possible(self.p, &island.current.stations);
        let least = if across { 0 } else { island.evened };
        let mut work = self.search_long(&mut island.current, heat, least, seed, threads);
        if across {
            work += self.search_across(&mut island.current, heat, island.evened, seed_across, threads);
        }
        island.evened = even_out(self, &mut island.current, costs, EVENED, mix(seed, 3, 1), threads);
        work += island.evened;
        island.keep_if_better(self.p);
        work
    }

    fn best_of<'i>(&self, islands: &'i [Island]) -> &'i LineState {
        islands.iter().map(|i| &i.best).min_by_key(|s| s.key(self.p)).expect("there are islands")
    }

    /// Tries several spreadings, each corrected by what the stations really took, and keeps the best.
    pub fn restarts(&mut self, first: LineState, costs: &Costs, proof: &Proof) -> Vec<Island> {
        let ones = vec![1.15; self.p.cap.modes.len()];
        let in_one_go = self.cools_in_one_go(&first);
        let share_of_starts = if in_one_go { RESTARTS_SHARE_OF_LARGE } else { RESTARTS_SHARE };
        let mut found = vec![first.clone()];
        let mut starts = vec![first];
        starts.extend((1..self.islands()).map(|k| self.begin(costs, &ones, k as u64, k % 2 == 1)));
        for k in 0..RESTARTS {
            let until = share_of_starts * (k + 1) as f64 / RESTARTS as f64;
            let mut islands: Vec<Island> = starts.drain(..).map(Island::new).collect();
            let mut round = 0;
            loop {
                let first = 1_000 * (k + 1);
                let heat = |number: u64| {
                    let done = (number - first) as f64 / ROUNDS as f64;
                    Heat { from: 80_000.0 * (1.0 - done).max(0.1), to: 80_000.0 * (0.8 - done).max(0.05) }
                };
                let more = if self.p.is_large() { 1 } else { ROUNDS / 2 };
                self.rounds(&mut islands, first + round..first + round + more, heat, false, costs, self.threads(proof));
                self.tell(self.best_of(&islands), proof.bound());
                round += more;
                // A cool station tells its true time; before that a restart teaches nothing.
                if self.share() >= until && round >= ROUNDS || self.share() >= share_of_starts {
                    break;
                }
            }
            found.extend(islands.iter().map(|i| i.best.clone()));
            if self.share() >= share_of_starts || k + 1 == RESTARTS {
                break;
            }
            let factors: Vec<Vec<f64>> = islands.iter().map(|i| measured(self.p, costs, &i.current)).collect();
            let jobs: Vec<(usize, Vec<f64>)> = factors.into_iter().enumerate().collect();
            let run: &Run<'_> = self;
            starts = parallel(self.threads(proof), jobs, |(i, factor)| {
                let number = 10 * (k + 1) + i as u64;
                run.begin(costs, &factor, number, (k + i as u64).is_multiple_of(2))
            });
            if starts.iter().any(|s| s.stations.is_empty()) {
                break;
            }
        }
        found.sort_by_key(|s| {
            let (left_out, takt, sum) = s.key(self.p);
            // Where work goes on changing hands all stations get level; what they take together is hard to mend.
            if in_one_go { (left_out, sum, takt) } else { (left_out, takt, sum) }
        });
        (0..self.islands()).map(|i| Island::new(found[i.min(found.len() - 1)].clone())).collect()
    }

    /// A spreading from corrected times, with part types split where that levels the line or whole.
    fn begin(&self, costs: &Costs, factor: &[f64], number: u64, levelled: bool) -> LineState {
        let mut rng = fastrand::Rng::with_seed(mix(self.limits.seed, 77, number));
        let estimate = Estimate::new(self.p, costs, factor);
        let begin = if levelled { start_levelled } else { start };
        self.timed(begin(self.p, &estimate, 30_000, &mut rng))
    }

    /// Cools the best starts down over the rest of the budget.
    pub fn improve(&mut self, mut islands: Vec<Island>, costs: &Costs, proof: &Proof) -> LineState {
        if self.limits.work.is_some() {
            proof.wait();
        }
        let begun = self.share();
        let in_one_go = self.cools_in_one_go(&islands[0].current);
        let (hot, cold) = if in_one_go { IN_ONE_GO } else { BY_ROUNDS };
        let mut meetings = MEETINGS.iter().filter(|m| **m > begun).peekable();
        let (mut round, mut more) = (100_000, 1);
        while self.share() < 1.0 {
            let before = self.share();
            let (_, takt, _) = self.best_of(&islands).key(self.p);
            if proof.bound().is_some_and(|b| takt <= b) {
                break;
            }
            let done = ((self.share() - begun) / (1.0 - begun).max(1e-9)).clamp(0.0, 1.0);
            // From hot to cold, evenly in ratio.
            let now = hot * (cold / hot).powf(done);
            let heat = Heat { from: now, to: now * if in_one_go { 0.9 } else { 0.8 } };
            self.rounds(&mut islands, round..round + more, |_| heat, now <= TOGETHER, costs, self.threads(proof));
            if meetings.next_if(|m| self.share() >= **m).is_some() {
                let best = self.best_of(&islands).clone();
                let behind = (0..islands.len()).max_by_key(|i| islands[*i].best.key(self.p)).unwrap_or(0);
                islands[behind] = Island::new(best);
            }
            self.tell(self.best_of(&islands), proof.bound());
            round += more;
            let each = (self.share() - before) / more as f64;
            more = if self.p.is_large() { 1 } else { ((1.0 - self.share()) / (each * LOOKS).max(1e-9)).clamp(1.0, AT_ONCE) as u64 };
        }
        self.polished(self.best_of(&islands).clone())
    }

    /// Cools a state down over the limits from a heat [µs] that does not undo what it has already found; ends when the bound is
    /// reached.
    pub fn cool(&mut self, first: LineState, costs: &Costs, bound: Option<Time>, hot: f64) -> LineState {
        let (mut island, mut round) = (Island::new(first), 0);
        while self.share() < 1.0 && bound.is_none_or(|b| island.best.key(self.p).1 > b) {
            let now = hot * (BY_ROUNDS.1 / hot).powf(self.share());
            let heat = Heat { from: now, to: now * 0.8 };
            self.work += self.round(&mut island, heat, now <= TOGETHER, mix(self.limits.seed, 3, round), costs, self.limits.threads);
            round += 1;
        }
        island.best
    }

    /// Every trip in its exact order, as far as that is possible, and no further feeders at stations that are done soon enough without.
    /// Beams that share a board may wait longer for it; then feeders stay, or the state is left as it is.
    fn polished(&self, before: LineState) -> LineState {
        let p = self.p;
        let within = |time: Time| {
            let polish =
                |s: StationState| if kinds::is_turret(p, s.station) { s } else { Search::new(p, s, 0).finish_within(THOROUGH, time) };
            let mut state = before.clone();
            state.stations = parallel(self.limits.threads, std::mem::take(&mut state.stations), polish);
            kinds::time(p, &mut state.stations);
            state
        };
        let rank = |state: &LineState| (state.unplaced.len(), state.key(p).1);
        let (_, takt, _) = before.key(p);
        let polished = [takt, Time::ZERO].into_iter().map(within).find(|state| rank(state) <= rank(&before));
        polished.unwrap_or(before)
    }
}

/// How much longer each mode really takes than its least costs say.
pub(crate) fn measured(p: &Problem<'_>, costs: &Costs, state: &LineState) -> Vec<f64> {
    let column = |s: usize, h: usize| costs.columns.iter().position(|c| c.station == s && c.head == h).unwrap_or(0);
    let mut item = vec![usize::MAX; p.job.tasks.len()];
    p.tasks.iter().enumerate().for_each(|(i, t)| item[t.index()] = i);
    let factor = |m: &crate::capability::Mode| {
        let station = &state.stations[m.station];
        let passes = || station.passes.iter().filter(|x| x.head == m.head && matches!(x.work, PassWork::Trips(_)));
        let took: i64 = passes().flat_map(|x| x.trips()).map(|t| t.time.0).sum();
        let least: i64 =
            station.tasks().filter(|(h, _)| *h == m.head).map(|(_, t)| costs.at(item[t.index()], column(m.station, m.head)) / 1000).sum();
        // A head that did little says little; the usual stretch stands for it.
        if least > 500_000 { (took as f64 / least as f64).clamp(1.0, 3.0) } else { 1.15 }
    };
    p.cap.modes.iter().map(factor).collect()
}

/// One number of several, well mixed (SplitMix64; Steele, Lea, Flood 2014, from memory).
pub(crate) fn mix(a: u64, b: u64, c: u64) -> u64 {
    let mut z = a ^ b.wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ c.wrapping_mul(0xD1B5_4A32_D192_ED03);
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    z ^ (z >> 31)
}

/// Runs independent jobs on up to `threads` threads; results come in the order of the jobs.
pub(crate) fn parallel<J: Send, R: Send>(threads: usize, jobs: Vec<J>, run: impl Fn(J) -> R + Sync) -> Vec<R> {
    if threads <= 1 || jobs.len() <= 1 {
        return jobs.into_iter().map(run).collect();
    }
    let queue = std::sync::Mutex::new(jobs.into_iter().enumerate().rev().collect::<Vec<_>>());
    let done = std::sync::Mutex::new(Vec::new());
    let take = || queue.lock().expect("no job panics while it holds the queue").pop();
    std::thread::scope(|scope| {
        for _ in 0..threads {
            scope.spawn(|| {
                while let Some((i, job)) = take() {
                    let result = run(job);
                    done.lock().expect("no job panics while it holds the results").push((i, result));
                }
            });
        }
    });
    let mut done = done.into_inner().expect("all threads have ended");
    done.sort_by_key(|(i, _)| *i);
    done.into_iter().map(|(_, r)| r).collect()
}
