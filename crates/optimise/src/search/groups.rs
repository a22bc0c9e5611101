//! All stations of a line annealed together: at once, or in groups side by side so that several threads share the work.

use super::Heat;
use super::across::{Across, Beside};
use super::polish::QUICK;
use crate::planner::{mix, parallel};
use crate::problem::Problem;
use crate::station::StationState;
use crate::station::construct::Stock;

/// Stations of one group, each with its place on the line.
type Group = Vec<(usize, StationState)>;

/// Tries `tries` moves on stations that are parted at random into `groups`; work changes hands inside a group.
///
/// Each group may add its share of the feeders that are left. The number of threads changes nothing but the time it takes.
pub(crate) fn anneal_in_groups(
    p: &Problem<'_>,
    stations: Vec<StationState>,
    groups: usize,
    tries: u64,
    heat: Heat,
    seed: u64,
    threads: usize,
) -> Vec<StationState> {
    let mut stock = Stock::full(p);
    stations.iter().for_each(|s| stock.take(p.line, s));
    let times: Vec<i64> = stations.iter().map(|s| s.time.0).collect();
    let placed: usize = stations.iter().map(StationState::placed).sum();
    let mut jobs: Vec<(usize, Group)> = (0..groups).map(|g| (g, Group::new())).collect();
    let mut all: Group = stations.into_iter().enumerate().collect();
    if groups > 1 {
        fastrand::Rng::with_seed(seed).shuffle(&mut all);
    }
    all.into_iter().enumerate().for_each(|(k, station)| jobs[k % groups].1.push(station));
    jobs.iter_mut().for_each(|(_, group)| group.sort_by_key(|(place, _)| *place));

    let done = parallel(threads, jobs, |(g, group)| {
        let (places, stations): (Vec<usize>, Vec<StationState>) = group.into_iter().unzip();
        let here: usize = stations.iter().map(StationState::placed).sum();
        let others = times.iter().enumerate().filter(|(place, _)| !places.contains(place)).map(|(_, t)| *t);
        let beside = Beside {
            feeders: stock.feeders.iter().map(|n| n / groups as u32 + u32::from(*n as usize % groups > g)).collect(),
            slowest: others.max().unwrap_or(0),
        };
        let mut across = Across::new(p, stations, beside, mix(seed, 1, g as u64));
        across.anneal((tries * here as u64 / placed.max(1) as u64).min(u64::from(u32::MAX)) as u32, heat);
        places.into_iter().zip(across.finish(QUICK)).collect::<Group>()
    });
    let mut all = done.concat();
    all.sort_by_key(|(place, _)| *place);
    all.into_iter().map(|(_, s)| s).collect()
}
