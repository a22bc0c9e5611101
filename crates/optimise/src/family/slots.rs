//! Supplies change places for all products at once: one station, searched with all their programs together.

use super::budget::{Phase, Stretch};
use crate::kinds;
use crate::planner::{Limits, LineState, Watch, mix, parallel};
use crate::problem::Problem;
use crate::search::polish::QUICK;
use crate::search::{Heat, Search, anneal_together};
use crate::station::StationState;
use domain::plan::SupplyAt;

/// Moves tried before the clock is looked at.
const CHUNK: u32 = 4_000;

/// Searches every station of the line, programs and places together, weighted by panels. Returns the
/// supplies of each station and the moves tried.
pub(super) fn search(
    problems: &[Problem<'_>],
    states: &mut [LineState],
    panels: &[f64],
    limits: &Limits,
    phase: Phase,
    heat: (f64, f64),
    watch: &dyn Watch,
) -> (Vec<Vec<SupplyAt>>, u64) {
    let stations = states[0].stations.len();
    // The station's programs of all products, for each station.
    let mut jobs: Vec<(usize, Vec<StationState>)> =
        (0..stations).map(|s| (s, states.iter().map(|state| state.stations[s].clone()).collect())).collect();
    // Beats are in an order of their own for each product; what the first set-up gave a carriage stays.
    jobs.retain(|(s, _)| !kinds::is_turret(&problems[0], *s));
    let placed = |job: &(usize, Vec<StationState>)| job.1.iter().map(StationState::placed).sum::<usize>().max(1);
    let all: usize = jobs.iter().map(placed).sum();
    jobs.sort_by_key(|j| (std::cmp::Reverse(placed(j)), j.0));
    let mean = panels.iter().sum::<f64>() / panels.len() as f64;
    let weights: Vec<f64> = panels.iter().map(|p| p / mean).collect();
    let now = watch.seconds();
    let done = parallel(limits.threads, jobs, |(s, programs)| {
        let part = programs.iter().map(StationState::placed).sum::<usize>() as f64 / all.max(1) as f64;
        let limits = phase.slice(limits, now, part, mix(limits.seed, 31, s as u64));
        let (programs, work) = station(problems, programs, &weights, limits, heat, &Stretch::begin(watch));
        (s, programs, work)
    });
    let mut work = 0;
    for (s, programs, tried) in done {
        work += tried;
        for (state, program) in states.iter_mut().zip(programs) {
            state.stations[s] = program;
        }
    }
    problems.iter().zip(states.iter_mut()).for_each(|(p, state)| kinds::time(p, &mut state.stations));
    let supplies = states[0].stations.iter().map(|s| s.setup.supplies.clone()).collect();
    (supplies, work)
}

/// One station. The set-up that all programs stand on stays the same for all.
fn station(
    problems: &[Problem<'_>],
    programs: Vec<StationState>,
    weights: &[f64],
    limits: Limits,
    (from, to): (f64, f64),
    watch: &dyn Watch,
) -> (Vec<StationState>, u64) {
    let before = programs.clone();
    let mut searches: Vec<Search<'_>> = Vec::new();
    for (i, (p, mut state)) in problems.iter().zip(programs).enumerate() {
        let bound = |part: usize| p.lock(part).is_some_and(|l| l.bank.is_some());
        state.setup.locked = state.setup.supplies.iter().map(|s| bound(s.part.index())).collect();
        searches.push(Search::new(p, state, mix(limits.seed, 5, i as u64)));
    }
    let mut rng = fastrand::Rng::with_seed(limits.seed);
    let mut tried = 0u64;
    loop {
        let by_time = limits.seconds.map_or(0.0, |s| watch.seconds() / s.max(1e-6));
        let by_work = limits.work.map_or(0.0, |w| tried as f64 / w as f64);
        let done = by_time.max(by_work);
        if done >= 1.0 || watch.stopped() {
            break;
        }
        let now = from * (to / from).powf(done);
        let left = limits.work.map_or(CHUNK, |w| CHUNK.min(w.saturating_sub(tried).max(1) as u32));
        anneal_together(&mut searches, weights, left, Heat { from: now, to: now * 0.9 }, &mut rng);
        tried += u64::from(left);
    }
    let mut after: Vec<StationState> = searches.into_iter().map(|s| s.finish(QUICK)).collect();
    let sum = |all: &[StationState]| all.iter().zip(weights).map(|(s, w)| s.time.0 as f64 * w).sum::<f64>();
    if sum(&after) > sum(&before) {
        after = before;
    }
    for state in &mut after {
        state.setup.locked.fill(true);
    }
    (after, tried)
}
