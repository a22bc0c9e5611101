//! Shorter sequences by exchanging two stretches that follow each other, and by turning one round.
//!
//! For ways that differ there and back, and for stops that must come before others. Source: L. Gambardella, M. Dorigo, An ant colony
//! system hybridized with a new local search for the sequential ordering problem, INFORMS J. Computing 12, 2000, from memory: the
//! exchange of three ways that keeps directions, extended stop by stop as long as no rule is broken.

use crate::engine::ways::Ways;

/// Rules which stop comes before which, closed under "and therefore".
pub struct Before {
    /// Row i, bit j: stop i comes before stop j.
    rows: Vec<u64>,
    words: usize,
    any: bool,
}

impl Before {
    /// `None` if the rules contradict each other.
    pub fn new(stops: usize, rules: &[(u32, u32)]) -> Option<Self> {
        let words = stops.div_ceil(64).max(1);
        let mut new = Self { rows: vec![0; stops * words], words, any: !rules.is_empty() };
        rules.iter().for_each(|(i, j)| new.rows[*i as usize * words + *j as usize / 64] |= 1 << (j % 64));
        for k in 0..stops {
            for i in 0..stops {
                if new.is_before(i, k) {
                    for w in 0..words {
                        new.rows[i * words + w] |= new.rows[k * words + w];
                    }
                }
            }
        }
        (0..stops).all(|i| !new.is_before(i, i)).then_some(new)
    }

    #[inline]
    pub fn is_before(&self, i: usize, j: usize) -> bool {
        self.rows[i * self.words + j / 64] >> (j % 64) & 1 == 1
    }

    /// Whether an order keeps every rule.
    pub fn holds(&self, order: &[u32]) -> bool {
        order.iter().enumerate().all(|(k, i)| order[..k].iter().all(|j| !self.is_before(*i as usize, *j as usize)))
    }
}

/// A sequence under improvement. Its first stop stays first; if `closed`, the way from the last back to the first counts.
pub struct Path<'w> {
    ways: &'w Ways,
    before: &'w Before,
    pub order: Vec<u32>,
    closed: bool,
    /// Stops whose surroundings changed.
    fresh: Vec<bool>,
    /// Ways there and back from the first stop to each position.
    there: Vec<i64>,
    back: Vec<i64>,
}

impl<'w> Path<'w> {
    pub fn new(ways: &'w Ways, before: &'w Before, order: Vec<u32>, closed: bool) -> Self {
        let n = order.len();
        Self { ways, before, order, closed, fresh: vec![true; n], there: vec![0; n], back: vec![0; n] }
    }

    /// Sums the ways there and back anew.
    fn sum(&mut self) {
        for i in 1..self.order.len() {
            let (a, b) = (self.order[i - 1] as usize, self.order[i] as usize);
            self.there[i] = self.there[i - 1] + self.ways.way(a, b);
            self.back[i] = self.back[i - 1] + self.ways.way(b, a);
        }
    }

    /// Way from the stop at one position to that at another; position n is the end, which is the first stop where closed.
    #[inline]
    fn way(&self, i: usize, j: usize) -> i64 {
        match (j == self.order.len(), self.closed) {
            (false, _) => self.ways.way(self.order[i] as usize, self.order[j] as usize),
            (true, true) => self.ways.way(self.order[i] as usize, self.order[0] as usize),
            (true, false) => 0,
        }
    }

    /// Length of the sequence.
    pub fn length(&self) -> i64 {
        (0..self.order.len()).map(|i| self.way(i, i + 1)).sum()
    }

    /// Exchanges stretches until no exchange of two that touches a changed stop shortens the sequence; what was gained.
    pub fn improve(&mut self) -> i64 {
        let n = self.order.len();
        let mut gained = 0;
        // Cut after position i: positions i+1.. move. The first stop stays.
        let mut i = 0;
        let mut idle = 0;
        self.sum();
        while n >= 3 && idle < n {
            if let Some(gain) = self.at(i).or_else(|| self.turn(i)) {
                self.sum();
                gained += gain;
                idle = 0;
                continue;
            }
            self.fresh[self.order[i] as usize] = false;
            idle += 1;
            i = (i + 1) % n;
            while idle < n && !self.fresh[self.order[i] as usize] {
                idle += 1;
                i = (i + 1) % n;
            }
        }
        gained
    }

    /// The best exchange that leaves the way after position `c` first; carried out if it gains.
    ///
    /// Of the three ways left by an exchange, at least one costs more than the one gone instead from its beginning: only such
    /// are looked at, which loses nothing as every stop is looked at.
    fn at(&mut self, c: usize) -> Option<i64> {
        let n = self.order.len();
        let left = self.way(c, c + 1);
        let mut best = (0, 0, 0, 0);
        for j in (c + 1..n.saturating_sub(1)).filter(|j| self.way(c, j + 1) < left) {
            (j + 1..n).for_each(|k| self.note(c, j, k, &mut best));
        }
        for k in (c + 1..n).filter(|k| self.way(c, k + 1) < left) {
            (0..c).for_each(|i| self.note(i, c, k, &mut best));
        }
        for i in (0..c.saturating_sub(1)).filter(|i| self.way(c, i + 1) < left) {
            (i + 1..c).for_each(|j| self.note(i, j, c, &mut best));
        }
        let (gain, i, j, k) = best;
        (gain > 0).then(|| {
            self.exchange(i, j, k);
            gain
        })
    }

    /// The best stretch to turn round that begins after position `i`; carried out if it gains.
    fn turn(&mut self, i: usize) -> Option<i64> {
        let n = self.order.len();
        let mut best = (0, 0);
        for j in i + 2..n {
            if self.before.any && (i + 1..j).any(|a| self.before.is_before(self.order[a] as usize, self.order[j] as usize)) {
                break;
            }
            let inside = (self.there[j] - self.there[i + 1]) - (self.back[j] - self.back[i + 1]);
            let gain = self.way(i, i + 1) + self.way(j, j + 1) - self.way(i, j) - self.way(i + 1, j + 1) + inside;
            if gain > best.0 {
                best = (gain, j);
            }
        }
        let (gain, j) = best;
        (gain > 0).then(|| {
            self.freshen(&[i, j]);
            self.order[i + 1..=j].reverse();
            // Ways inside are new too.
            self.freshen(&(i..=j).collect::<Vec<_>>());
            gain
        })
    }

    fn freshen(&mut self, cuts: &[usize]) {
        for c in cuts {
            self.fresh[self.order[*c] as usize] = true;
            if c + 1 < self.order.len() {
                self.fresh[self.order[c + 1] as usize] = true;
            }
        }
    }

    /// Gain of exchanging (i+1..=j) and (j+1..=k).
    #[inline]
    pub fn gain(&self, i: usize, j: usize, k: usize) -> i64 {
        self.way(i, i + 1) + self.way(j, j + 1) + self.way(k, k + 1) - self.way(i, j + 1) - self.way(k, i + 1) - self.way(j, k + 1)
    }

    #[inline]
    fn note(&self, i: usize, j: usize, k: usize, best: &mut (i64, usize, usize, usize)) {
        let gain = self.gain(i, j, k);
        if gain > best.0 && self.allowed(i, j, k) {
            *best = (gain, i, j, k);
        }
    }

    /// Whether (i+1..=j) and (j+1..=k) may change places.
    pub fn allowed(&self, i: usize, j: usize, k: usize) -> bool {
        if !self.before.any {
            return true;
        }
        let words = self.before.words;
        (0..words).all(|w| {
            let rows = self.order[i + 1..=j].iter().map(|a| self.before.rows[*a as usize * words + w]);
            let after = rows.fold(0, |all, row| all | row);
            after == 0 || self.order[j + 1..=k].iter().all(|b| *b as usize / 64 != w || after >> (b % 64) & 1 == 0)
        })
    }

    /// Exchanges (i+1..=j) and (j+1..=k).
    pub fn exchange(&mut self, i: usize, j: usize, k: usize) {
        self.freshen(&[i, j, k]);
        self.order[i + 1..=k].rotate_left(j - i);
    }
}
