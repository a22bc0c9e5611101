//! Order: in which order stops are visited, so that the ways between them are shortest.
//!
//! [`round_trip`] for ways that cost the same both ways (dots, views, stops of a table), [`sequence`] for ways that do not,
//! with stops that must come before others. Few stops are ordered exactly by [`crate::tour`].
//!
//! Method: local search ([`round`], [`path`]) begun again from the best order after small random exchanges of stretches
//! (iterated local search; O. Martin, S. Otto, E. Felten, Operations Research Letters 11, 1992, from memory).

mod path;
mod ring;
mod round;

use super::ways::Ways;
use crate::tour::best_order;
use path::{Before, Path};
use round::Round;

/// Near stops looked at from each stop.
const NEAR: usize = 7;
/// Stops looked at in other directions.
const AROUND: usize = 6;
/// Longest stretches exchanged at random.
const KICK: usize = 50;

/// Walks over so few stops are found exactly.
const EXACTLY: usize = 9;
/// Heat at the beginning, as a share of the mean way; it falls evenly to nothing.
const HEAT: f64 = 0.1;

/// Length of a round trip.
pub fn round_length(ways: &Ways, order: &[u32]) -> i64 {
    let all = order.iter().zip(order.iter().cycle().skip(1));
    all.map(|(a, b)| ways.way(*a as usize, *b as usize)).sum()
}

/// A short round trip over all stops, for ways that cost the same both ways.
///
/// `work` counts rounds of exchanging two stretches and improving; the same `rng` and work give the same order.
/// Never longer than `begin`, if given.
///
/// ```
/// use optimise::engine::{order::{round_length, round_trip}, ways::Ways};
/// let at = [(0i64, 0i64), (9, 9), (9, 0), (0, 9)];
/// let ways = Ways::new(4, |i, j| (at[i].0 - at[j].0).abs().max((at[i].1 - at[j].1).abs()) * 10 + (at[i].0 - at[j].0).abs());
/// let order = round_trip(&ways, None, 10, &mut fastrand::Rng::with_seed(1));
/// assert_eq!(round_length(&ways, &order), 378);
/// ```
pub fn round_trip(ways: &Ways, begin: Option<&[u32]>, work: u64, rng: &mut fastrand::Rng) -> Vec<u32> {
    let n = ways.stops();
    if n < 4 {
        return begin.map_or_else(|| (0..n as u32).collect(), <[u32]>::to_vec);
    }
    let near: Vec<Vec<u32>> = (0..n).map(|i| ways.near_and_around(i, NEAR, AROUND)).collect();
    let leg = |order: Vec<u32>, work: u64, heat: (f64, f64), rng: &mut fastrand::Rng| {
        let mut round = Round::new(ways, &near, order);
        (0..n).rev().for_each(|s| round.wait(s));
        round.improve();
        round.ring.keep();
        kick_and_improve(&mut round, ways, work, heat, rng)
    };
    if let Some(begin) = begin {
        return leg(begin.to_vec(), work, (HEAT, 0.0), rng).1;
    }
    // Two unlike beginnings: which groups of stops are joined is seldom put right later.
    let half = HEAT / 2.0;
    let one = leg(shortest_ways_first(ways, &near), work / 3, (HEAT, half), rng);
    let two = leg(nearest_first(ways), work / 3, (HEAT, half), rng);
    leg(one.min(two).1, work - work / 3 * 2, (half, 0.0), rng).1
}

/// The search itself: its best order and the length of that.
fn kick_and_improve(round: &mut Round<'_>, ways: &Ways, work: u64, heat: (f64, f64), rng: &mut fastrand::Rng) -> (i64, Vec<u32>) {
    let n = ways.stops();
    let mut length = round_length(ways, round.ring.stops());
    let mut best = (length, round.ring.stops().to_vec());
    for k in 0..if n < 8 { 0 } else { work } {
        let now = (heat.0 + (heat.1 - heat.0) * k as f64 / work as f64) * length as f64 / n as f64;
        // Mostly near each other; now and then anywhere.
        let longest = if rng.u32(..8) == 0 { n / 4 } else { KICK.min(n / 4) };
        let lost = round.kick(rng.usize(..n), rng.usize(1..=longest), rng.usize(1..=longest));
        let more = lost - round.improve();
        if (more as f64) <= -now * rng.f64().max(1e-300).ln() {
            round.ring.keep();
            length += more;
            if length < best.0 {
                best.0 = length;
                best.1.copy_from_slice(round.ring.stops());
            }
        } else {
            round.ring.take_back(0);
        }
    }
    best
}

/// A short walk over all stops from stop 0 to any last one, for ways that cost the same both ways.
///
/// `work` and `begin` (an order with stop 0 first) as in [`round_trip`].
///
/// ```
/// use optimise::engine::{order::walk, ways::Ways};
/// let at = [0i64, 30, -10, 20];
/// let ways = Ways::new(4, |i, j| (at[i] - at[j]).abs());
/// assert_eq!(walk(&ways, None, 10, &mut fastrand::Rng::with_seed(1)), [0, 2, 3, 1]);
/// ```
pub fn walk(ways: &Ways, begin: Option<&[u32]>, work: u64, rng: &mut fastrand::Rng) -> Vec<u32> {
    let n = ways.stops();
    if n < 3 {
        return (0..n as u32).collect();
    }
    if n <= EXACTLY {
        let step = |i: usize, j: usize| Some(ways.way(i, j + 1));
        let (order, _) = best_order(n - 1, |j, _| step(0, j), |i, j, _| step(i + 1, j), |_| 0).expect("every order is allowed");
        return std::iter::once(0).chain(order.into_iter().map(|s| s as u32 + 1)).collect();
    }
    // A round trip with one stop more, beside the first one and equally far from all others: what it is beside, besides, is the last.
    let far = 1 + (0..n).flat_map(|i| (0..n).map(move |j| (i, j))).map(|(i, j)| ways.way(i, j)).max().unwrap_or(0);
    let way = |i: usize, j: usize| match (i.max(j) == n, i.min(j)) {
        (false, _) => ways.way(i, j),
        (true, 0) => 0,
        (true, k) if k == n => 0,
        (true, _) => far * n as i64,
    };
    let begin = begin.map(|b| b.iter().copied().chain([n as u32]).collect::<Vec<u32>>());
    let mut order = round_trip(&Ways::new(n + 1, way), begin.as_deref(), work, rng);
    let first = order.iter().position(|s| *s == 0).unwrap_or(0);
    order.rotate_left(first);
    if order[1] == n as u32 {
        order[1..].reverse();
    }
    order.retain(|s| *s != n as u32);
    order
}

/// What a sequence must keep.
#[derive(Clone, Copy, Debug, Default)]
pub struct Rules<'r> {
    /// Pairs of stops: the first one comes before the second one.
    pub before: &'r [(u32, u32)],
    /// Whether the way from the last stop back to stop 0 counts.
    pub closed: bool,
}

/// A short sequence of all stops that begins with stop 0, for ways that may differ there and back.
///
/// `work` counts rounds of exchanging stretches at random and improving; the same `rng` and work give the same sequence.
/// Never longer than `begin`, if that keeps the rules. `None` if the rules contradict each other or put a stop before stop 0.
///
/// ```
/// use optimise::engine::{order::{Rules, sequence}, ways::Ways};
/// let at = [0i64, 30, 10, 20];
/// let ways = Ways::new(4, |i, j| (at[i] - at[j]).abs());
/// let rules = Rules { before: &[(1, 2)], closed: false };
/// let (order, length) = sequence(&ways, rules, None, 10, &mut fastrand::Rng::with_seed(1)).unwrap();
/// assert_eq!((order[0], length), (0, 50));
/// ```
pub fn sequence(ways: &Ways, rules: Rules<'_>, begin: Option<&[u32]>, work: u64, rng: &mut fastrand::Rng) -> Option<(Vec<u32>, i64)> {
    let n = ways.stops();
    let before = Before::new(n, rules.before)?;
    if (1..n).any(|i| before.is_before(i, 0)) {
        return None;
    }
    let begin = begin.filter(|b| b.first() == Some(&0) && before.holds(b));
    let order = begin.map_or_else(|| nearest_allowed(ways, &before), <[u32]>::to_vec);
    let mut path = Path::new(ways, &before, order, rules.closed);
    path.improve();
    let mut length = path.length();
    let (mut now, mut best) = (path.order.clone(), (path.order.clone(), length));
    for k in 0..if n < 4 { 0 } else { work } {
        let heat = 2.5 * length as f64 / n as f64 * (1.0 - k as f64 / work as f64);
        let mut lost = 0;
        for _ in 0..rng.u32(2..=3) {
            lost += random_exchange(&mut path, rng);
        }
        let more = lost - path.improve();
        if (more as f64) <= -heat * rng.f64().max(1e-300).ln() {
            length += more;
            now.copy_from_slice(&path.order);
            if length < best.1 {
                best = (now.clone(), length);
            }
        } else {
            path.order.copy_from_slice(&now);
        }
    }
    Some(best)
}

/// Exchanges two stretches drawn at random, if the rules let it; what is lost.
fn random_exchange(path: &mut Path<'_>, rng: &mut fastrand::Rng) -> i64 {
    let n = path.order.len();
    let longest = if rng.u32(..8) == 0 { n } else { 10.min(n) };
    for _ in 0..20 {
        let i = rng.usize(..n - 2);
        let j = rng.usize(i + 1..(i + 1 + longest).min(n - 1));
        let k = rng.usize(j + 1..(j + 1 + longest).min(n));
        if path.allowed(i, j, k) {
            let lost = -path.gain(i, j, k);
            path.exchange(i, j, k);
            return lost;
        }
    }
    0
}

/// A walk to the nearest stop that may come next.
fn nearest_allowed(ways: &Ways, before: &Before) -> Vec<u32> {
    let mut left: Vec<u32> = (1..ways.stops() as u32).collect();
    let mut order = vec![0u32; ways.stops().min(1)];
    while !left.is_empty() {
        let at = order[order.len() - 1] as usize;
        let free = |s: u32| left.iter().all(|t| !before.is_before(*t as usize, s as usize));
        let open = (0..left.len()).filter(|i| free(left[*i]));
        let i = open.min_by_key(|i| (ways.way(at, left[*i] as usize), left[*i])).expect("rules without a ring leave one free");
        order.push(left.swap_remove(i));
    }
    order
}

/// Stops in the order a walk to the nearest one visits them, from stop 0.
fn nearest_first(ways: &Ways) -> Vec<u32> {
    let mut left: Vec<u32> = (1..ways.stops() as u32).collect();
    let mut order = vec![0u32; ways.stops().min(1)];
    while !left.is_empty() {
        let at = order[order.len() - 1] as usize;
        let i = (0..left.len()).min_by_key(|i| (ways.way(at, left[*i] as usize), left[*i])).unwrap_or(0);
        order.push(left.swap_remove(i));
    }
    order
}

/// Short ways first, as long as they form neither forks nor rings; the rest of the ends are joined likewise.
fn shortest_ways_first(ways: &Ways, near: &[Vec<u32>]) -> Vec<u32> {
    let n = ways.stops();
    let mut pairs: Vec<(i64, u32, u32)> = Vec::new();
    let pair = |i: u32, j: u32| (ways.way(i as usize, j as usize), i.min(j), i.max(j));
    near.iter().enumerate().for_each(|(i, row)| pairs.extend(row.iter().map(|j| pair(i as u32, *j))));
    let mut beside: Vec<Vec<u32>> = vec![Vec::new(); n];
    let mut group: Vec<u32> = (0..n as u32).collect();
    let mut left = n;
    while left > 1 {
        pairs.sort_unstable();
        for (_, i, j) in pairs.drain(..) {
            let (a, b) = (root(&mut group, i), root(&mut group, j));
            if beside[i as usize].len() < 2 && beside[j as usize].len() < 2 && a != b {
                beside[i as usize].push(j);
                beside[j as usize].push(i);
                group[a as usize] = b;
                left -= 1;
            }
        }
        let ends: Vec<u32> = (0..n as u32).filter(|i| beside[*i as usize].len() < 2).collect();
        for i in &ends {
            let far = ends.iter().filter(|j| root(&mut group, **j) != root(&mut group, *i)).copied();
            let mut others: Vec<(i64, u32, u32)> = far.map(|j| pair(*i, j)).collect();
            others.sort_unstable();
            pairs.extend(others.into_iter().take(5));
        }
    }
    let start = (0..n as u32).find(|i| beside[*i as usize].len() < 2).unwrap_or(0);
    let (mut order, mut before, mut at) = (vec![start], u32::MAX, start);
    while let Some(next) = beside[at as usize].iter().copied().find(|s| *s != before) {
        (before, at) = (at, next);
        order.push(at);
    }
    order
}

/// The group a stop belongs to.
fn root(group: &mut [u32], mut i: u32) -> u32 {
    while group[i as usize] != i {
        group[i as usize] = group[group[i as usize] as usize];
        i = group[i as usize];
    }
    i
}
