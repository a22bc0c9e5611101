//! Stations in a line: tasks with rules what comes before what, dealt to stations that the product passes in order.
//!
//! Simple assembly line balancing: the fewest stations for a cycle time ([`fewest_stations`]), the shortest cycle time for a number of
//! stations ([`shortest_cycle`]). Stations are filled one after another; of the partial lines only the most promising are kept (beam
//! search; loads and their rating after T. Hoffmann 1963 and E. Sewell, S. Jacobson, INFORMS J. Computing 24, 2012, from memory), from
//! the front and from the back of the line in turn.

mod beam;

use beam::Beam;

/// Tasks of a line.
#[derive(Clone, Debug)]
pub struct Tasks {
    /// Time of each task.
    pub time: Vec<i64>,
    /// Pairs: the first task is done at the station of the second one or before it.
    pub before: Vec<(u32, u32)>,
}

impl Tasks {
    /// Whether a dealing keeps the rules and no station takes longer than `cycle`.
    pub fn holds(&self, station: &[u32], cycle: i64) -> bool {
        let stations = station.iter().max().map_or(0, |s| *s as usize + 1);
        let mut load = vec![0; stations];
        station.iter().zip(&self.time).for_each(|(s, t)| load[*s as usize] += t);
        load.iter().all(|l| *l <= cycle) && self.before.iter().all(|(a, b)| station[*a as usize] <= station[*b as usize])
    }

    /// No fewer stations will do: times by the cycle, and tasks that share no station two by two.
    pub fn least_stations(&self, cycle: i64) -> usize {
        let sum: i64 = self.time.iter().sum();
        let over = |part: i64, of: i64| self.time.iter().filter(|t| **t * of > cycle * part).count();
        let just = |part: i64, of: i64| self.time.iter().filter(|t| **t * of == cycle * part).count();
        let halves = over(1, 2) + just(1, 2).div_ceil(2);
        // Tasks over a third: two thirds count whole, halves half and more (bounds 2 and 3 of the literature, in sixths).
        let sixths = 6 * over(2, 3) + 4 * just(2, 3) + 3 * (over(1, 3) - over(2, 3) - just(2, 3)) + 2 * just(1, 3);
        (sum as usize).div_ceil(cycle.max(1) as usize).max(halves).max(sixths.div_ceil(6))
    }
}

/// The station of each task, counted from 0, on as few stations as were found for this cycle time; `None` if a task takes longer, or
/// the rules contradict each other.
///
/// `work` is the number of partial lines kept at each station; the same `rng` and work give the same dealing.
///
/// ```
/// use optimise::engine::stations::{Tasks, fewest_stations};
/// let tasks = Tasks { time: vec![4, 3, 3, 2], before: vec![(0, 1), (1, 2)] };
/// assert_eq!(fewest_stations(&tasks, 6, 10, &mut fastrand::Rng::with_seed(1)), Some(vec![0, 1, 1, 0]));
/// ```
pub fn fewest_stations(tasks: &Tasks, cycle: i64, work: usize, rng: &mut fastrand::Rng) -> Option<Vec<u32>> {
    let beam = Beam::new(tasks)?;
    if tasks.time.iter().any(|t| *t > cycle) {
        return None;
    }
    (tasks.least_stations(cycle)..=tasks.time.len()).find_map(|m| beam.fill(m, cycle, work, rng))
}

/// The station of each task so that the longest station takes as short as was found, and that time; `None` if there is no station
/// or the rules contradict each other.
///
/// `work` as in [`fewest_stations`].
pub fn shortest_cycle(tasks: &Tasks, stations: usize, work: usize, rng: &mut fastrand::Rng) -> Option<(Vec<u32>, i64)> {
    if stations == 0 {
        return None;
    }
    let beam = Beam::new(tasks)?;
    let sum: i64 = tasks.time.iter().sum();
    let longest = tasks.time.iter().copied().max().unwrap_or(0);
    // Below this there are no cycles; the next ones are tried in growing steps, those stepped over afterwards.
    let mut low = longest.max((sum + stations as i64 - 1) / stations as i64);
    while tasks.least_stations(low) > stations {
        low += 1;
    }
    let (mut cycle, mut step) = (low, 1);
    let mut found = loop {
        if let Some(found) = beam.fill(stations, cycle, work, rng) {
            break found;
        }
        low = cycle + 1;
        cycle += step;
        step = (step * 2).min((cycle / 400).max(1));
    };
    let mut best = busiest(tasks, &found);
    while low < best {
        let middle = low + (best - low) / 2;
        match beam.fill(stations, middle, work, rng) {
            Some(better) => {
                best = busiest(tasks, &better);
                found = better;
            }
            None => low = middle + 1,
        }
    }
    Some((found, best))
}

fn busiest(tasks: &Tasks, station: &[u32]) -> i64 {
    let mut load = vec![0; tasks.time.len()];
    station.iter().zip(&tasks.time).for_each(|(s, t)| load[*s as usize] += t);
    load.into_iter().max().unwrap_or(0)
}
