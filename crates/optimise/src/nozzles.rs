//! How many spindles carry each kind of nozzle.
//!
//! The next spindle goes to the kind with the most placements per spindle, which gives the fewest
//! trips for one board (Raduly-Baka, Knuutila, Johnsson, Nevalainen, OR Spectrum 30, 2008: an efficient
//! greedy is optimal; known from its abstract).

/// Spindles for each kind of nozzle: `counts` are (kind, placements), none of them 0; `stock` tells how
/// many nozzles of a kind there are. Every kind gets one; the trips needed are the most of placements
/// per spindle, rounded up.
///
/// ```
/// // Ten placements of kind 1 and two of kind 2 on four spindles: four trips.
/// assert_eq!(optimise::nozzles::deal(&[(1, 10), (2, 2)], 4, |_| 9), vec![(1, 3), (2, 1)]);
/// ```
pub fn deal(counts: &[(u32, usize)], spindles: usize, stock: impl Fn(u32) -> u32) -> Vec<(u32, usize)> {
    let mut share: Vec<(u32, usize)> = counts.iter().map(|(k, _)| (*k, 1)).collect();
    for _ in counts.len()..spindles {
        let room = |i: &usize| share[*i].1 < counts[*i].1 && (share[*i].1 as u32) < stock(share[*i].0);
        // Compares counts[i]/share[i] without division.
        let next =
            (0..share.len()).filter(room).max_by(|a, b| (counts[*a].1 * share[*b].1).cmp(&(counts[*b].1 * share[*a].1)).then(b.cmp(a)));
        let Some(i) = next else { break };
        share[i].1 += 1;
    }
    share
}
