//! What every exchange of two feeders would change, kept up to date.

use super::Arrangement;
use std::cmp::Ordering;

/// An arrangement, and the gain or loss of every exchange.
pub struct Exchanges<'a> {
    asked: &'a Arrangement,
    /// Slot of each feeder.
    pub slot: Vec<u32>,
    /// Cost of the arrangement.
    pub cost: i64,
    /// For i < j, what exchanging feeders i and j adds.
    change: Vec<i64>,
    /// For each feeder and slot, the round until which it may not go back there.
    forbidden: Vec<u64>,
    /// Whether flows and distances are the same both ways, with nothing on the diagonal.
    even: bool,
}

impl<'a> Exchanges<'a> {
    pub fn new(asked: &'a Arrangement, slot: Vec<u32>, cost: i64) -> Self {
        let n = asked.feeders;
        let same = |m: &[i64]| (0..n).all(|i| m[i * n + i] == 0 && (0..i).all(|j| m[i * n + j] == m[j * n + i]));
        let even = same(&asked.flow) && same(&asked.distance);
        let mut new = Self { asked, slot, cost, change: vec![0; n * n], forbidden: vec![0; n * n], even };
        new.refresh();
        new
    }

    fn refresh(&mut self) {
        for i in 0..self.asked.feeders {
            for j in i + 1..self.asked.feeders {
                self.change[i * self.asked.feeders + j] = self.full(i, j);
            }
        }
    }

    #[inline]
    fn flow(&self, i: usize, j: usize) -> i64 {
        self.asked.flow[i * self.asked.feeders + j]
    }

    #[inline]
    fn far(&self, i: usize, j: usize) -> i64 {
        self.asked.distance[self.slot[i] as usize * self.asked.feeders + self.slot[j] as usize]
    }

    fn own(&self, i: usize, j: usize) -> i64 {
        let (si, sj) = (self.slot[i] as usize, self.slot[j] as usize);
        let own = |f: usize, s: usize| self.asked.own_cost(f, s);
        own(i, sj) + own(j, si) - own(i, si) - own(j, sj)
    }

    /// What exchanging feeders r and s adds, from scratch.
    fn full(&self, r: usize, s: usize) -> i64 {
        let mut d = (self.flow(r, r) - self.flow(s, s)) * (self.far(s, s) - self.far(r, r))
            + (self.flow(r, s) - self.flow(s, r)) * (self.far(s, r) - self.far(r, s));
        for k in (0..self.asked.feeders).filter(|k| *k != r && *k != s) {
            d += (self.flow(k, r) - self.flow(k, s)) * (self.far(k, s) - self.far(k, r))
                + (self.flow(r, k) - self.flow(s, k)) * (self.far(s, k) - self.far(r, k));
        }
        d + self.own(r, s)
    }

    /// What exchanging i and j adds after r and s have been exchanged, all four different.
    #[inline]
    fn updated(&self, i: usize, j: usize, r: usize, s: usize) -> i64 {
        let old = self.change[i * self.asked.feeders + j];
        if self.even {
            let flow = self.flow(r, i) - self.flow(r, j) + self.flow(s, j) - self.flow(s, i);
            return if flow == 0 { old } else { old + 2 * flow * (self.far(s, i) - self.far(s, j) + self.far(r, j) - self.far(r, i)) };
        }
        old + (self.flow(r, i) - self.flow(r, j) + self.flow(s, j) - self.flow(s, i))
            * (self.far(s, i) - self.far(s, j) + self.far(r, j) - self.far(r, i))
            + (self.flow(i, r) - self.flow(j, r) + self.flow(j, s) - self.flow(i, s))
                * (self.far(i, s) - self.far(j, s) + self.far(j, r) - self.far(i, r))
    }

    /// Makes the best exchange that is not forbidden, or one that gives an arrangement below `best`.
    pub fn step(&mut self, round: u64, best: i64, rng: &mut fastrand::Rng) {
        let n = self.asked.feeders;
        let mut chosen: Option<(bool, i64, usize, usize)> = None;
        let mut equals = 0;
        // Exchanges not made for very long are made at last.
        let long_ago = round.saturating_sub(2 * (n * n) as u64);
        for i in 0..n {
            for j in i + 1..n {
                let add = self.change[i * n + j];
                let back = [self.forbidden[i * n + self.slot[j] as usize], self.forbidden[j * n + self.slot[i] as usize]];
                let allowed = back[0] <= round || back[1] <= round;
                let old = long_ago > 0 && back[0] < long_ago && back[1] < long_ago;
                let wished = old || (!allowed && self.cost + add < best);
                if !(allowed || wished) {
                    continue;
                }
                let order = chosen.map_or(Ordering::Less, |c| (!wished, add).cmp(&(!c.0, c.1)));
                // Equals are chosen at random: where most exchanges change nothing, the first one leads nowhere.
                equals = if order == Ordering::Less { 1 } else { equals + u32::from(order == Ordering::Equal) };
                if order == Ordering::Less || (order == Ordering::Equal && rng.u32(..equals) == 0) {
                    chosen = Some((wished, add, i, j));
                }
            }
        }
        let Some((_, _, r, s)) = chosen else { return };
        // Forbidden for about n rounds (symmetric choice of the tenure: 0.9 n to 1.1 n).
        let tenure = |rng: &mut fastrand::Rng| (n as u64 * 9 / 10).max(1) + rng.u64(0..=(n as u64 / 5 + 2));
        self.forbidden[r * n + self.slot[r] as usize] = round + tenure(rng);
        self.forbidden[s * n + self.slot[s] as usize] = round + tenure(rng);
        self.exchange(r, s);
    }

    fn exchange(&mut self, r: usize, s: usize) {
        let n = self.asked.feeders;
        self.cost += self.change[r * n + s];
        self.slot.swap(r, s);
        for i in 0..n {
            for j in i + 1..n {
                self.change[i * n + j] = if i != r && i != s && j != r && j != s { self.updated(i, j, r, s) } else { self.full(i, j) };
            }
        }
    }

    /// Begins anew from an arrangement, with some feeders in each other's slots.
    pub fn shake(&mut self, from: Vec<u32>, rng: &mut fastrand::Rng) {
        let n = self.asked.feeders;
        self.slot = from;
        let some = rng.usize(n.div_ceil(3)..=n);
        let mut chosen: Vec<usize> = (0..n).collect();
        rng.shuffle(&mut chosen);
        for pair in chosen[..some].windows(2) {
            self.slot.swap(pair[0], pair[1]);
        }
        self.cost = self.asked.cost(&self.slot);
        self.refresh();
        self.forbidden.fill(0);
    }
}
