//! The best order of a few stops, exactly: dynamic programming over subsets.
//!
//! Source: M. Held and R. M. Karp, A dynamic programming approach to sequencing problems,
//! J. SIAM 10 (1962), from memory. Used for the order inside a trip, where the cost of a step may
//! depend on what is still to be done (the most delicate part on the head rules).

/// Most stops that are ordered exactly; memory grows with n·2ⁿ.
pub const MOST_STOPS: usize = 20;

/// Cheapest order of `n` stops and its cost.
///
/// `first(j, left)` is the cost of going to stop j first, `step(i, j, left)` from i to j, where `left` is
/// the set of stops not done yet, j included (bit k = stop k); `last(j)` what follows after j.
/// `None` costs mean "not allowed". Returns `None` when no order is allowed.
///
/// ```
/// let at: [i64; 3] = [50, 10, 30];
/// let (order, cost) = optimise::tour::best_order(
///     3,
///     |j, _| Some(at[j]),
///     |i, j, _| Some((at[i] - at[j]).abs()),
///     |_| 0,
/// ).unwrap();
/// assert_eq!((order, cost), (vec![1, 2, 0], 50));
/// ```
///
/// # Panics
/// When `n` is 0 or more than [`MOST_STOPS`].
pub fn best_order(
    n: usize,
    first: impl Fn(usize, u32) -> Option<i64>,
    step: impl Fn(usize, usize, u32) -> Option<i64>,
    last: impl Fn(usize) -> i64,
) -> Option<(Vec<usize>, i64)> {
    assert!((1..=MOST_STOPS).contains(&n), "{n} stops are not ordered exactly");
    const NEVER: i64 = i64::MAX;
    let full = (1u32 << n) - 1;
    let mut cost = vec![NEVER; n << n];
    let mut from = vec![u8::MAX; n << n];
    let at = |done: u32, j: usize| done as usize * n + j;
    for j in 0..n {
        if let Some(c) = first(j, full) {
            cost[at(1 << j, j)] = c;
        }
    }
    for done in 1..full {
        let left = full & !done;
        for i in (0..n).filter(|i| done >> i & 1 == 1) {
            let so_far = cost[at(done, i)];
            if so_far == NEVER {
                continue;
            }
            for j in (0..n).filter(|j| left >> j & 1 == 1) {
                let Some(c) = step(i, j, left) else { continue };
                let next = at(done | 1 << j, j);
                if so_far + c < cost[next] {
                    cost[next] = so_far + c;
                    from[next] = i as u8;
                }
            }
        }
    }
    let (end, total) =
        (0..n).filter(|j| cost[at(full, *j)] < NEVER).map(|j| (j, cost[at(full, j)] + last(j))).min_by_key(|(j, c)| (*c, *j))?;
    let (mut order, mut done, mut j) = (Vec::with_capacity(n), full, end);
    loop {
        order.push(j);
        let before = from[at(done, j)];
        done &= !(1 << j);
        if done == 0 {
            break;
        }
        j = usize::from(before);
    }
    order.reverse();
    Some((order, total))
}
