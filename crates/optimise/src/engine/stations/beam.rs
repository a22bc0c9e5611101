//! Lines filled station by station, the most promising ones kept.

use super::Tasks;

/// Loads tried for each partial line.
const LOADS: usize = 48;
/// Weights of the tasks that must follow and of their number, against the time, in the rating of a load: what is tried in turn.
const RATINGS: [(f64, f64); 3] = [(0.01, 0.0), (0.0, 0.005), (0.1, 0.1)];

/// Tasks with their rules worked out, forward and backward.
pub struct Beam<'t> {
    time: &'t [i64],
    ways: [Way; 2],
}

/// Rules seen from one end of the line.
struct Way {
    words: usize,
    /// Tasks right before each task, as bits.
    before: Vec<u64>,
    after: Vec<Vec<u32>>,
    /// Time of all tasks that must follow, and their number.
    follow: Vec<(i64, usize)>,
}

/// A partial line.
struct Line {
    done: Vec<u64>,
    idle: i64,
    rating: f64,
    parent: usize,
    load: Vec<u32>,
}

impl<'t> Beam<'t> {
    /// `None` if the rules contradict each other.
    pub fn new(tasks: &'t Tasks) -> Option<Self> {
        let back: Vec<(u32, u32)> = tasks.before.iter().map(|(a, b)| (*b, *a)).collect();
        Some(Self { time: &tasks.time, ways: [Way::new(&tasks.time, &tasks.before)?, Way::new(&tasks.time, &back)?] })
    }

    /// A dealing to at most this many stations of this cycle time, if one is found.
    pub fn fill(&self, stations: usize, cycle: i64, width: usize, rng: &mut fastrand::Rng) -> Option<Vec<u32>> {
        let slack = stations as i64 * cycle - self.time.iter().sum::<i64>();
        if slack < 0 {
            return None;
        }
        // Narrow beams first: most lines are easy.
        for width in [width.div_ceil(8), width] {
            for rating in RATINGS {
                for (w, way) in self.ways.iter().enumerate() {
                    let Some(mut station) = way.fill(self.time, stations, cycle, slack, width.max(1), rating, rng) else { continue };
                    if w == 1 {
                        let last = station.iter().copied().max().unwrap_or(0);
                        station.iter_mut().for_each(|s| *s = last - *s);
                    }
                    return Some(station);
                }
            }
        }
        None
    }
}

impl Way {
    fn new(time: &[i64], rules: &[(u32, u32)]) -> Option<Self> {
        let (n, words) = (time.len(), time.len().div_ceil(64).max(1));
        let mut new = Self { words, before: vec![0; n * words], after: vec![Vec::new(); n], follow: vec![(0, 0); n] };
        for (a, b) in rules {
            new.before[*b as usize * words + *a as usize / 64] |= 1 << (a % 64);
            new.after[*a as usize].push(*b);
        }
        // Tasks in an order that keeps the rules; all must be in it.
        let mut order: Vec<usize> = Vec::with_capacity(n);
        let mut done = vec![0u64; words];
        while order.len() < n {
            let free = (0..n).find(|j| done[j / 64] >> (j % 64) & 1 == 0 && new.free(*j, &done))?;
            done[free / 64] |= 1 << (free % 64);
            order.push(free);
        }
        let mut all = vec![vec![0u64; words]; n];
        for j in order.into_iter().rev() {
            for b in new.after[j].clone() {
                let row = all[b as usize].clone();
                all[j].iter_mut().zip(row).for_each(|(x, y)| *x |= y);
                all[j][b as usize / 64] |= 1 << (b % 64);
            }
            let bits = (0..n).filter(|i| all[j][i / 64] >> (i % 64) & 1 == 1);
            new.follow[j] = bits.fold((0, 0), |(t, c), i| (t + time[i], c + 1));
        }
        Some(new)
    }

    fn free(&self, j: usize, done: &[u64]) -> bool {
        (0..self.words).all(|w| self.before[j * self.words + w] & !done[w] == 0)
    }

    #[allow(clippy::too_many_arguments, reason = "one call, all of it the task of the search")]
    fn fill(
        &self,
        time: &[i64],
        stations: usize,
        cycle: i64,
        slack: i64,
        width: usize,
        rating: (f64, f64),
        rng: &mut fastrand::Rng,
    ) -> Option<Vec<u32>> {
        let n = time.len();
        let mean = time.iter().sum::<i64>() as f64 / n.max(1) as f64;
        let worth: Vec<f64> =
            (0..n).map(|j| time[j] as f64 + rating.0 * self.follow[j].0 as f64 + rating.1 * mean * self.follow[j].1 as f64).collect();
        let mut levels: Vec<Vec<Line>> = vec![vec![Line { done: vec![0; self.words], idle: 0, rating: 0.0, parent: 0, load: Vec::new() }]];
        for s in 0..stations {
            let mut next: Vec<Line> = Vec::new();
            for (parent, line) in levels[s].iter().enumerate() {
                for load in self.loads(time, line, cycle, &worth, rng) {
                    let idle = line.idle + cycle - load.iter().map(|j| time[*j as usize]).sum::<i64>();
                    let mut done = line.done.clone();
                    load.iter().for_each(|j| done[*j as usize / 64] |= 1 << (j % 64));
                    let all = done.iter().map(|w| w.count_ones() as usize).sum::<usize>() == n;
                    if all {
                        return Some(self.read(&levels, n, s, parent, &load));
                    }
                    if idle > slack {
                        continue;
                    }
                    let rating = line.rating + load.iter().map(|j| worth[*j as usize]).sum::<f64>();
                    next.push(Line { done, idle, rating, parent, load });
                }
            }
            // The same tasks done are the same partial line.
            next.sort_by(|a, b| b.rating.total_cmp(&a.rating).then_with(|| a.done.cmp(&b.done)));
            next.dedup_by(|a, b| a.done == b.done);
            next.truncate(width);
            if next.is_empty() {
                return None;
            }
            levels.push(next);
        }
        None
    }

    /// Full loads of the next station: chosen at random, worthy tasks more often; and the worthiest first.
    fn loads(&self, time: &[i64], line: &Line, cycle: i64, worth: &[f64], rng: &mut fastrand::Rng) -> Vec<Vec<u32>> {
        let n = time.len();
        let open = |j: &usize| line.done[j / 64] >> (j % 64) & 1 == 0 && self.free(*j, &line.done);
        let begin: Vec<u32> = (0..n).filter(open).map(|j| j as u32).collect();
        let mut loads: Vec<Vec<u32>> = Vec::with_capacity(LOADS);
        for k in 0..LOADS {
            let (mut done, mut free, mut room, mut load) = (line.done.clone(), begin.clone(), cycle, Vec::new());
            // From the strictly worthiest to nearly any.
            let spread = k as f64 / LOADS as f64;
            while let Some(i) = {
                let fits = (0..free.len()).filter(|i| time[free[*i] as usize] <= room);
                let mut best: Option<(f64, usize)> = None;
                for i in fits {
                    let j = free[i] as usize;
                    // What fills the station to the brim comes first.
                    let brim = if time[j] == room { 2.0 } else { 1.0 };
                    let key = worth[j] * brim * (1.0 - spread * rng.f64());
                    if best.is_none_or(|b| key > b.0) {
                        best = Some((key, i));
                    }
                }
                best.map(|b| b.1)
            } {
                let j = free.swap_remove(i);
                room -= time[j as usize];
                done[j as usize / 64] |= 1 << (j % 64);
                load.push(j);
                free.extend(self.after[j as usize].iter().filter(|b| self.free(**b as usize, &done)));
            }
            if load.is_empty() {
                break;
            }
            load.sort_unstable();
            loads.push(load);
        }
        loads.sort_unstable();
        loads.dedup();
        loads
    }

    fn read(&self, levels: &[Vec<Line>], n: usize, last: usize, mut parent: usize, load: &[u32]) -> Vec<u32> {
        let mut station = vec![0; n];
        load.iter().for_each(|j| station[*j as usize] = last as u32);
        for s in (1..=last).rev() {
            let line = &levels[s][parent];
            line.load.iter().for_each(|j| station[*j as usize] = s as u32 - 1);
            parent = line.parent;
        }
        station
    }
}
