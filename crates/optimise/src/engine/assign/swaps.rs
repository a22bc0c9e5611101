//! Shifts of jobs to other agents and swaps between agents, annealed.

use super::{Jobs, prices::Prices};

/// How often the price of excess is looked at.
const LOOK: u64 = 200;
/// Lowest price of excess, in prices of the room: at first hardly above, so that the search crosses excess; towards the end well above.
const LEAST_EXCESS: (f64, f64) = (1.05, 3.05);
/// Share of the work after which excess gets dearer.
const DEARER_FROM: f64 = 0.6;
/// Share of the work after which it stays cold.
const COLD_FROM: f64 = 0.7;
/// Heat at the beginning, in reduced costs of second choices, and the cold as a share of that.
const HEAT: (f64, f64) = (0.25, 0.01);

/// Most jobs a chain moves.
const LINKS: usize = 6;
/// Agents tried for each job of a chain after the first.
const CHOICES: usize = 5;

/// An assignment under change, excess of the rooms allowed at a price.
pub struct Swaps<'a> {
    jobs: &'a Jobs,
    prices: &'a Prices,
    agent: Vec<u32>,
    load: Vec<i64>,
    /// Jobs of each agent, and where each job stands among them.
    members: Vec<Vec<u32>>,
    place: Vec<u32>,
    /// Price of a unit of excess of each agent's room.
    excess_price: Vec<f64>,
    cost: i64,
    /// Moves tried by the last annealing.
    pub tried: u64,
    /// Mean need, for the scale of prices.
    mean_need: f64,
    /// Mean reduced cost of the second choice.
    mean_second: f64,
}

impl<'a> Swaps<'a> {
    /// Every job where it is cheapest at the prices, those that do not fit where they do.
    pub fn new(jobs: &'a Jobs, prices: &'a Prices, rng: &mut fastrand::Rng) -> Self {
        let (n, m) = (jobs.jobs(), jobs.agents);
        let mut order: Vec<usize> = (0..n).collect();
        rng.shuffle(&mut order);
        // Jobs with most to lose first.
        let regret = |j: &usize| prices.ranked[*j].get(1).map_or(f64::INFINITY, |r| r.0);
        order.sort_by(|a, b| regret(b).total_cmp(&regret(a)));
        let mut new = Self {
            jobs,
            prices,
            agent: vec![0; n],
            load: vec![0; m],
            members: vec![Vec::new(); m],
            place: vec![0; n],
            excess_price: vec![0.0; m],
            cost: 0,
            tried: 0,
            mean_need: 0.0,
            mean_second: 0.0,
        };
        let seconds: Vec<f64> = prices.ranked.iter().filter_map(|r| r.get(1)).map(|r| r.0).collect();
        new.mean_second = seconds.iter().sum::<f64>() / seconds.len().max(1) as f64;
        for j in order {
            let fits = |i: usize| new.load[i] + jobs.need(j, i) <= jobs.room[i];
            let row = &prices.ranked[j];
            let i = row.iter().find(|r| fits(r.1 as usize)).unwrap_or(&row[0]).1 as usize;
            new.agent[j] = i as u32;
            new.place[j] = new.members[i].len() as u32;
            new.members[i].push(j as u32);
            new.load[i] += jobs.need(j, i);
            new.cost += jobs.cost(j, i);
        }
        new.mean_need = (new.load.iter().sum::<i64>() as f64 / n.max(1) as f64).max(1e-9);
        // At first excess costs somewhat more than room does.
        let least = (new.mean_second / new.mean_need).max(if jobs.cost.is_empty() { 1.0 } else { 1e-6 });
        new.excess_price = prices.room.iter().map(|p| p.max(least)).collect();
        new
    }

    fn over(&self, i: usize) -> i64 {
        (self.load[i] - self.jobs.room[i]).max(0)
    }

    fn fits(&self) -> bool {
        (0..self.jobs.agents).all(|i| self.over(i) == 0)
    }

    /// What changing an agent's load by `by` does to the price of its excess.
    #[inline]
    fn excess(&self, i: usize, by: i64) -> f64 {
        let over = |load: i64| (load - self.jobs.room[i]).max(0) as f64;
        (over(self.load[i] + by) - over(self.load[i])) * self.excess_price[i]
    }

    fn put(&mut self, j: usize, to: usize) {
        let from = self.agent[j] as usize;
        self.load[from] -= self.jobs.need(j, from);
        self.load[to] += self.jobs.need(j, to);
        self.cost += self.jobs.cost(j, to) - self.jobs.cost(j, from);
        self.agent[j] = to as u32;
        let at = self.place[j] as usize;
        self.members[from].swap_remove(at);
        if let Some(moved) = self.members[from].get(at) {
            self.place[*moved as usize] = at as u32;
        }
        self.place[j] = self.members[to].len() as u32;
        self.members[to].push(j as u32);
    }

    /// Anneals over `work` moves; the cheapest assignment without excess that was met. Ends early when `enough` of one.
    pub fn anneal(&mut self, work: u64, enough: impl Fn(i64) -> bool, rng: &mut fastrand::Rng) -> Option<Vec<u32>> {
        let mut best: Option<(i64, Vec<u32>)> = None;
        self.tried = 0;
        let n = self.agent.len();
        let hot = if self.jobs.cost.is_empty() { 0.3 * self.mean_need } else { HEAT.0 * self.mean_second.max(1.0) };
        let cold = if self.jobs.cost.is_empty() { (0.01 * self.mean_need).min(0.2) } else { HEAT.1 * hot };
        let cooling = (cold / hot).powf(1.0 / (work.max(1) as f64 * COLD_FROM));
        let mut heat = hot;
        for k in 0..work {
            self.tried += 1;
            heat = (heat * cooling).max(cold);
            if self.fits() && best.as_ref().is_none_or(|b| self.cost < b.0) {
                best = Some((self.cost, self.agent.clone()));
                if enough(self.cost) {
                    break;
                }
            }
            if k % LOOK == 0 {
                self.look(k as f64 / work as f64);
            }
            let j = rng.usize(..n);
            if rng.u32(..3) > 0 {
                self.try_chain(j, heat, rng);
                continue;
            }
            // With a job of an agent that is good for this one.
            let row = &self.prices.ranked[j];
            let others = &self.members[row[rng.usize(..row.len().min(4))].1 as usize];
            if !others.is_empty() {
                let other = others[rng.usize(..others.len())] as usize;
                self.try_swap(j, other, heat, rng);
            }
        }
        best.map(|b| b.1)
    }

    /// Excess that stays gets dearer; where there is none it gets cheaper.
    fn look(&mut self, done: f64) {
        if self.jobs.cost.is_empty() {
            return;
        }
        let late = ((done - DEARER_FROM) / (1.0 - DEARER_FROM)).max(0.0);
        let least = LEAST_EXCESS.0 + (LEAST_EXCESS.1 - LEAST_EXCESS.0) * late;
        for i in 0..self.jobs.agents {
            let factor = if self.over(i) > 0 { 1.1 } else { 0.97 };
            self.excess_price[i] = (self.excess_price[i] * factor).max(self.prices.room[i] * least).max(1e-9);
        }
    }

    fn accepts(worse: f64, heat: f64, rng: &mut fastrand::Rng) -> bool {
        worse <= 0.0 || rng.f64() < (-worse / heat).exp()
    }

    /// What moving a job to another agent adds.
    #[inline]
    fn worse(&self, j: usize, to: usize) -> f64 {
        let from = self.agent[j] as usize;
        (self.jobs.cost(j, to) - self.jobs.cost(j, from)) as f64
            + self.excess(from, -self.jobs.need(j, from))
            + self.excess(to, self.jobs.need(j, to))
    }

    /// Moves a job to another agent, from there the job that goes best to a third one, and so on while that gains
    /// (ejection chains; M. Yagiura, T. Ibaraki, F. Glover, INFORMS J. Computing 16, 2004, from memory).
    fn try_chain(&mut self, j: usize, heat: f64, rng: &mut fastrand::Rng) {
        let row = &self.prices.ranked[j];
        // Good agents more often than bad ones.
        let rank = if rng.bool() { rng.usize(..row.len().min(3)) } else { rng.usize(..row.len()) };
        let mut to = row[rank].1 as usize;
        if to == self.agent[j] as usize {
            return;
        }
        let mut undo = [(0usize, 0usize); LINKS];
        let (mut links, mut worse) = (1, self.worse(j, to));
        undo[0] = (j, self.agent[j] as usize);
        self.put(j, to);
        while links < LINKS {
            let mut best: Option<(f64, usize, usize)> = None;
            for b in &self.members[to] {
                let b = *b as usize;
                if undo[..links].iter().any(|u| u.0 == b) {
                    continue;
                }
                for (_, k) in self.prices.ranked[b].iter().take(CHOICES).filter(|r| r.1 as usize != to) {
                    let adds = self.worse(b, *k as usize);
                    if best.is_none_or(|x| adds < x.0) {
                        best = Some((adds, b, *k as usize));
                    }
                }
            }
            let Some((adds, b, k)) = best.filter(|b| b.0 < 0.0) else { break };
            worse += adds;
            undo[links] = (b, to);
            links += 1;
            self.put(b, k);
            to = k;
        }
        if !Self::accepts(worse, heat, rng) {
            undo[..links].iter().rev().for_each(|(j, from)| self.put(*j, *from));
        }
    }

    fn try_swap(&mut self, a: usize, b: usize, heat: f64, rng: &mut fastrand::Rng) {
        let (i, k) = (self.agent[a] as usize, self.agent[b] as usize);
        let need = |j: usize, agent: usize| self.jobs.need(j, agent);
        if i == k || need(a, k) == Jobs::NEVER || need(b, i) == Jobs::NEVER {
            return;
        }
        let cost = |j: usize, agent: usize| self.jobs.cost(j, agent);
        let worse = (cost(a, k) + cost(b, i) - cost(a, i) - cost(b, k)) as f64
            + self.excess(i, need(b, i) - need(a, i))
            + self.excess(k, need(a, k) - need(b, k));
        if Self::accepts(worse, heat, rng) {
            self.put(a, k);
            self.put(b, i);
        }
    }
}
