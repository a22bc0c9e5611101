//! Shorter round trips by chained exchanges, where the way back costs the same.
//!
//! Chains of two-exchanges after S. Lin and B. W. Kernighan (Operations Research 21, 1973) over lists of near stops, with
//! don't-look marks (J. Bentley, ORSA Journal on Computing 4, 1992), and stretches of up to three stops moved elsewhere
//! (I. Or 1976); all from memory.

use super::ring::Ring;
use crate::engine::ways::Ways;

/// Stops looked at from each stop, in the first links of a chain; one in all further links.
const BREADTH: [usize; 3] = [5, 3, 1];
/// Most links of a chain.
const DEPTH: usize = 3;
/// Most stops moved elsewhere at once.
const STRETCH: usize = 3;

/// A round trip under improvement.
pub struct Round<'w> {
    ways: &'w Ways,
    near: &'w [Vec<u32>],
    pub ring: Ring,
    /// Stops still to be looked at.
    waiting: Vec<u32>,
    waits: Vec<bool>,
    touched: Vec<u32>,
}

impl<'w> Round<'w> {
    pub fn new(ways: &'w Ways, near: &'w [Vec<u32>], stops: Vec<u32>) -> Self {
        let n = stops.len();
        Self { ways, near, ring: Ring::new(stops), waiting: Vec::new(), waits: vec![false; n], touched: Vec::new() }
    }

    #[inline]
    fn way(&self, i: usize, j: usize) -> i64 {
        self.ways.way(i, j)
    }

    pub fn wait(&mut self, stop: usize) {
        if !self.waits[stop] {
            self.waits[stop] = true;
            self.waiting.push(stop as u32);
        }
    }

    /// Improves until no stop waits; what was gained.
    pub fn improve(&mut self) -> i64 {
        let mut gained = 0;
        while let Some(stop) = self.waiting.pop() {
            self.waits[stop as usize] = false;
            loop {
                let gain = self.chain(stop as usize).or_else(|| self.move_stretch(stop as usize));
                let Some(gain) = gain else { break };
                gained += gain;
            }
        }
        gained
    }

    /// Exchanges the two stretches of `a` and `b` stops that follow position `i`; what is lost by it.
    ///
    /// (As a ring this is the exchange of four ways that chains of two-exchanges do not find: the double bridge.)
    pub fn kick(&mut self, i: usize, a: usize, b: usize) -> i64 {
        let n = self.ring.stops().len();
        let at = |k: usize| self.ring.stop((i + k) % n);
        let (p, a1, a2, b1, b2, q) = (at(0), at(1), at(a), at(a + 1), at(a + b), at(a + b + 1));
        let lost = self.way(p, b1) + self.way(b2, a1) + self.way(a2, q) - self.way(p, a1) - self.way(a2, b1) - self.way(b2, q);
        self.ring.reverse(a1, b2);
        self.ring.reverse(b2, b1);
        self.ring.reverse(a2, a1);
        [p, a1, a2, b1, b2, q].into_iter().for_each(|s| self.wait(s));
        lost
    }

    /// A chain of exchanges that begins by leaving the way from a stop to its next or from the one before.
    fn chain(&mut self, first: usize) -> Option<i64> {
        for forward in [true, false] {
            let start = self.ring.made();
            self.touched.clear();
            let second = if forward { self.ring.next(first) } else { self.ring.before(first) };
            if let Some(gain) = self.link(first, second, self.way(first, second), 0) {
                let mut touched = std::mem::take(&mut self.touched);
                touched.extend([first as u32, second as u32]);
                touched.iter().for_each(|t| self.wait(*t as usize));
                self.touched = touched;
                return Some(gain);
            }
            self.ring.take_back(start);
        }
        None
    }

    /// One more link: `last` stands beside `first`, and leaving the way between them gains `open` in all. The gain of the chain,
    /// if it ends in one; else the ring is as it was.
    fn link(&mut self, first: usize, last: usize, open: i64, depth: usize) -> Option<i64> {
        let near = self.near;
        let breadth = BREADTH.get(depth).copied().unwrap_or(1);
        let forward = self.ring.next(first) == last;
        // Value, stop to go to, stop left behind it; best first.
        let mut found = [(0i64, 0u32, 0u32); BREADTH[0]];
        let mut count = 0;
        for third in &near[last] {
            let gain = open - self.way(last, *third as usize);
            if gain <= 0 {
                break;
            }
            let fourth = if forward { self.ring.before(*third as usize) } else { self.ring.next(*third as usize) };
            if *third as usize == first || fourth == last {
                continue;
            }
            let value = gain + self.way(*third as usize, fourth);
            let mut k = count;
            while k > 0 && found[k - 1].0 < value {
                k -= 1;
            }
            if k < breadth {
                count = (count + 1).min(breadth);
                found.copy_within(k..count - 1, k + 1);
                found[k] = (value, *third, fourth as u32);
            }
        }
        for (value, third, fourth) in found.into_iter().take(count) {
            let (third, fourth) = (third as usize, fourth as usize);
            let before = self.ring.made();
            self.ring.exchange(first, last, fourth, third);
            let closed = value - self.way(fourth, first);
            let gain = if closed > 0 {
                Some(closed)
            } else if depth + 1 < DEPTH {
                self.link(first, fourth, value, depth + 1)
            } else {
                None
            };
            if gain.is_some() {
                self.touched.extend([last as u32, third as u32, fourth as u32]);
                return gain;
            }
            self.ring.take_back(before);
        }
        None
    }

    /// Moves a stretch that begins with this stop beside a near stop; the gain, if there is one.
    fn move_stretch(&mut self, s: usize) -> Option<i64> {
        let near = self.near;
        for forward in [true, false] {
            let step = |ring: &Ring, i: usize, ahead: bool| if ahead == forward { ring.next(i) } else { ring.before(i) };
            let p = step(&self.ring, s, false);
            let mut e = s;
            for length in 1..=STRETCH.min(self.ring.stops().len().saturating_sub(3)) {
                if length > 1 {
                    e = step(&self.ring, e, true);
                }
                let q = step(&self.ring, e, true);
                let taken = self.way(p, s) + self.way(e, q) - self.way(p, q);
                let n = self.ring.stops().len();
                for c in &near[s] {
                    let c = *c as usize;
                    if self.way(s, c) >= taken {
                        break;
                    }
                    let ahead = |i: usize| {
                        (if forward { self.ring.at(i) + n - self.ring.at(s) } else { self.ring.at(s) + n - self.ring.at(i) }) % n
                    };
                    if ahead(c) < length {
                        continue;
                    }
                    let (d, b) = (step(&self.ring, c, true), step(&self.ring, c, false));
                    // Between c and d with s beside c, or between b and c likewise.
                    let kept = taken - (self.way(c, s) + self.way(e, d) - self.way(c, d));
                    let turned = taken - (self.way(c, s) + self.way(e, b) - self.way(b, c));
                    if c != p && kept > 0 {
                        self.ring.exchange(p, s, c, d);
                        self.ring.exchange(p, c, q, e);
                        self.ring.exchange(c, e, s, d);
                        [p, s, e, q, c, d].into_iter().for_each(|i| self.wait(i));
                        return Some(kept);
                    }
                    if c != q && turned > 0 {
                        self.ring.exchange(p, s, b, c);
                        self.ring.exchange(p, b, q, e);
                        [p, s, e, q, c, b].into_iter().for_each(|i| self.wait(i));
                        return Some(turned);
                    }
                }
            }
        }
        None
    }
}
