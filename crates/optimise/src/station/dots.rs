//! The order in which dots are set.

use crate::engine::{order::walk, ways::Ways};
use crate::problem::Problem;
use domain::job::TaskId;
use units::Point;

/// Most rounds of the order engine; most of the gain comes before the first.
const ROUNDS: u64 = 100;

/// Tasks in an order with short ways on the clock, from where the head first stands: as they come if that is shorter than a walk to the
/// nearest (then they have been ordered before), else that walk improved by the order engine.
pub fn short_walk(p: &Problem<'_>, station: usize, tasks: Vec<TaskId>) -> Vec<TaskId> {
    let begin = p.job.fiducials.last().copied().unwrap_or_default();
    let at: Vec<Point> = std::iter::once(begin).chain(tasks.iter().map(|t| p.job.tasks[t.index()].at)).collect();
    let ways = Ways::new(at.len(), |i, j| p.clock.station(station).travel(at[i], at[j], 100).0);
    let length = |order: &[u32]| order.windows(2).map(|w| ways.way(w[0] as usize, w[1] as usize)).sum::<i64>();
    let given: Vec<u32> = (0..at.len() as u32).collect();
    let near = nearest_first(&ways);
    if length(&given) < length(&near) {
        return tasks;
    }
    let work = ROUNDS.min(tasks.len() as u64);
    let order = walk(&ways, Some(&near), work, &mut fastrand::Rng::with_seed(0));
    order.into_iter().skip(1).map(|s| tasks[s as usize - 1]).collect()
}

/// Stops in the order a walk to the nearest one visits them, from stop 0.
fn nearest_first(ways: &Ways) -> Vec<u32> {
    let mut left: Vec<u32> = (1..ways.stops() as u32).collect();
    let mut order = vec![0];
    while !left.is_empty() {
        let at = order[order.len() - 1] as usize;
        let i = (0..left.len()).min_by_key(|i| (ways.way(at, left[*i] as usize), left[*i])).unwrap_or(0);
        order.push(left.swap_remove(i));
    }
    order
}
