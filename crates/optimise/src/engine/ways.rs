//! Ways between stops, as a square table.

/// What it costs to go from one stop to another [any unit], not necessarily the same way back.
#[derive(Clone, Debug)]
pub struct Ways {
    stops: usize,
    cost: Vec<i64>,
}

impl Ways {
    /// The table for `stops` stops; `way(i, j)` is asked once for every ordered pair.
    pub fn new(stops: usize, way: impl Fn(usize, usize) -> i64) -> Self {
        let way = &way;
        Self { stops, cost: (0..stops).flat_map(|i| (0..stops).map(move |j| way(i, j))).collect() }
    }

    /// Number of stops.
    pub fn stops(&self) -> usize {
        self.stops
    }

    /// From stop `i` to stop `j`.
    #[inline]
    pub fn way(&self, i: usize, j: usize) -> i64 {
        self.cost[i * self.stops + j]
    }

    /// The other stops, nearest first (going there, or there and back where `both`), at most `most` of them.
    pub fn near(&self, i: usize, most: usize, both: bool) -> Vec<u32> {
        let key = |j: u32| (self.way(i, j as usize) + if both { self.way(j as usize, i) } else { 0 }, j);
        let mut others: Vec<u32> = (0..self.stops as u32).filter(|j| *j as usize != i).collect();
        if others.len() > most && most > 0 {
            others.select_nth_unstable_by_key(most - 1, |j| key(*j));
            others.truncate(most);
        }
        others.sort_unstable_by_key(|j| key(*j));
        others.truncate(most);
        others
    }

    /// As [`Self::near`] both ways, and up to `around` stops more that lie in other directions: nearer to this stop than to any
    /// such stop chosen before (the relative neighbourhood of G. Toussaint 1980, from memory, greedily). Groups of stops far from
    /// each other are joined by these.
    pub fn near_and_around(&self, i: usize, near: usize, around: usize) -> Vec<u32> {
        let far = |a: usize, b: usize| self.way(a, b) + self.way(b, a);
        let all = self.near(i, self.stops - 1, true);
        let mut directions: Vec<u32> = Vec::new();
        for j in &all {
            if directions.len() >= around {
                break;
            }
            if directions.iter().all(|k| far(*k as usize, *j as usize) >= far(i, *j as usize)) {
                directions.push(*j);
            }
        }
        let chosen = |(rank, j): (usize, &u32)| (rank < near || directions.contains(j)).then_some(*j);
        all.iter().enumerate().filter_map(chosen).collect()
    }
}
