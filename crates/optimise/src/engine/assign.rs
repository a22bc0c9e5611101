//! Assignment: jobs to agents of limited room, at least cost ([`assign`]) or so that the busiest agent is done soonest ([`level`]).
//!
//! Generalised assignment and makespan on unrelated machines: part types to stations with their slots, or with their times.
//! Method: the Lagrangian dual of the rooms by subgradient steps ([`prices`]; M. Fisher, Management Science 27, 1981, from memory) gives
//! a bound and prices of the rooms, which tell the pairs worth trying; annealing over shifts and swaps with a price on excess that
//! adapts ([`swaps`]) finds the assignment.

mod prices;
mod swaps;

use prices::{Prices, level_weights};
use swaps::Swaps;

/// Jobs and agents. Tables go job by job.
#[derive(Clone, Debug)]
pub struct Jobs {
    /// Number of agents.
    pub agents: usize,
    /// What each job costs with each agent; empty if nothing.
    pub cost: Vec<i64>,
    /// What each job needs of each agent's room; [`Jobs::NEVER`] where the agent cannot do it.
    pub need: Vec<i64>,
    /// Room of each agent.
    pub room: Vec<i64>,
}

impl Jobs {
    /// The need of a job that an agent cannot do.
    pub const NEVER: i64 = i64::MAX;

    /// Number of jobs.
    pub fn jobs(&self) -> usize {
        self.need.len() / self.agents.max(1)
    }

    /// The need of a job with an agent.
    #[inline]
    pub fn need(&self, job: usize, agent: usize) -> i64 {
        self.need[job * self.agents + agent]
    }

    /// The cost of a job with an agent.
    #[inline]
    pub fn cost(&self, job: usize, agent: usize) -> i64 {
        if self.cost.is_empty() { 0 } else { self.cost[job * self.agents + agent] }
    }

    /// What every agent's room is filled with.
    pub fn loads(&self, agent: &[u32]) -> Vec<i64> {
        let mut load = vec![0; self.agents];
        agent.iter().enumerate().for_each(|(j, i)| load[*i as usize] += self.need(j, *i as usize));
        load
    }

    /// Agents that can do a job.
    fn able(&self, job: usize) -> impl Iterator<Item = usize> + '_ {
        (0..self.agents).filter(move |i| self.need(job, *i) != Self::NEVER)
    }
}

/// An assignment.
#[derive(Clone, Debug, PartialEq)]
pub struct Assigned {
    /// Agent of each job.
    pub agent: Vec<u32>,
    /// Its cost; for [`level`] the load of the busiest agent.
    pub cost: i64,
    /// No assignment costs less.
    pub bound: i64,
}

/// Subgradient steps.
const STEPS: u32 = 400;

/// The cheapest assignment found in which no agent's room is exceeded; `None` if none was found, or a job has no agent.
///
/// `work` counts shifts and swaps tried; the same `rng` and work give the same assignment.
///
/// ```
/// use optimise::engine::assign::{Jobs, assign};
/// // Both jobs are cheaper with agent 0, which has room for one.
/// let jobs = Jobs { agents: 2, cost: vec![1, 5, 1, 9], need: vec![3, 3, 3, 3], room: vec![4, 4] };
/// let found = assign(&jobs, 1_000, &mut fastrand::Rng::with_seed(1)).unwrap();
/// assert_eq!((found.agent, found.cost), (vec![1, 0], 6));
/// ```
pub fn assign(jobs: &Jobs, work: u64, rng: &mut fastrand::Rng) -> Option<Assigned> {
    if (0..jobs.jobs()).any(|j| jobs.able(j).next().is_none()) {
        return None;
    }
    let prices = Prices::new(jobs, STEPS);
    let mut swaps = Swaps::new(jobs, &prices, rng);
    let agent = swaps.anneal(work, |_| false, rng)?;
    let cost = agent.iter().enumerate().map(|(j, i)| jobs.cost(j, *i as usize)).sum();
    Some(Assigned { agent, cost, bound: prices.bound })
}

/// The assignment found whose busiest agent has least to do; rooms and costs do not count. `None` if a job has no agent.
///
/// Looks for an assignment one better than the best so far, again and again, among the pairs that the bound leaves open.
/// `work` counts shifts and swaps tried; the same `rng` and work give the same assignment.
pub fn level(jobs: &Jobs, work: u64, rng: &mut fastrand::Rng) -> Option<Assigned> {
    let (n, m) = (jobs.jobs(), jobs.agents);
    let fastest = |j: usize| jobs.able(j).min_by_key(|i| (jobs.need(j, *i), *i));
    let mut agent: Vec<u32> = (0..n).map(|j| fastest(j).map(|i| i as u32)).collect::<Option<_>>()?;
    let busiest = |agent: &[u32]| jobs.loads(agent).into_iter().max().unwrap_or(0);
    let (weights, dual) = level_weights(jobs, STEPS);
    let bound = (dual - 1e-6).ceil() as i64;
    let longest_step = (0..n).filter_map(|j| fastest(j).map(|i| jobs.need(j, i))).max().unwrap_or(0);
    let bound = bound.max(longest_step);
    let mut best = busiest(&agent);
    let mut left = work;
    let round = (work / 12).max(1);
    while best > bound && left > 0 {
        let target = best - 1;
        let value = |j: usize, i: usize| weights[i] * jobs.need(j, i) as f64;
        // A pair whose reduced cost exceeds what is left up to the target is in no assignment that reaches the target.
        let mut need = jobs.need.clone();
        for j in 0..n {
            let least = jobs.able(j).map(|i| value(j, i)).fold(f64::INFINITY, f64::min);
            for i in 0..m {
                if need[j * m + i] != Jobs::NEVER && (need[j * m + i] > target || value(j, i) - least > target as f64 - dual + 1e-6) {
                    need[j * m + i] = Jobs::NEVER;
                }
            }
        }
        let cut = Jobs { agents: m, cost: Vec::new(), need, room: vec![target; m] };
        if (0..n).any(|j| cut.able(j).next().is_none()) {
            break;
        }
        let prices = Prices::of_level(&cut, &weights);
        let tries = round.min(left);
        let mut swaps = Swaps::new(&cut, &prices, rng);
        left -= tries;
        if let Some(found) = swaps.anneal(tries, |_| true, rng) {
            left += tries - swaps.tried.min(tries);
            agent = found;
            best = busiest(&agent);
        }
    }
    Some(Assigned { agent, cost: best, bound: bound.min(best) })
}
