//! Trips while they are changed, with the way back to what they were.

use super::{Dealt, Visits};

/// No trip.
pub const NONE: u32 = u32::MAX;

/// Trips under change.
pub struct State<'v> {
    pub visits: &'v Visits,
    /// Stops of each trip; some trips may be empty.
    pub trips: Vec<Vec<u32>>,
    /// Weight aboard each trip.
    pub load: Vec<u32>,
    /// Trip of each stop, or [`NONE`].
    pub trip_of: Vec<u32>,
    /// Stops in no trip.
    pub absent: Vec<u32>,
    cost: i64,
    /// What a stop without a trip costs.
    penalty: i64,
    /// What was before: cost, absent stops, and the trips touched since.
    before: (i64, Vec<u32>),
    touched: Vec<bool>,
    journal: Vec<(u32, Vec<u32>, u32)>,
    spare: Vec<Vec<u32>>,
}

impl<'v> State<'v> {
    /// Nothing dealt yet.
    pub fn new(visits: &'v Visits) -> Self {
        let stops = visits.weight.len();
        let longest = (0..stops).flat_map(|i| (0..stops).map(move |j| (i, j))).map(|(i, j)| visits.ways.way(i, j)).max().unwrap_or(0);
        Self {
            visits,
            trips: Vec::new(),
            load: Vec::new(),
            trip_of: vec![NONE; stops],
            absent: Vec::new(),
            cost: 0,
            penalty: 4 * longest.max(1),
            before: (0, Vec::new()),
            touched: Vec::new(),
            journal: Vec::new(),
            spare: Vec::new(),
        }
    }

    /// Takes over trips; every stop they do not hold is absent.
    pub fn begin(&mut self, trips: &[Vec<u32>]) {
        for trip in trips.iter().filter(|t| !t.is_empty()) {
            let t = self.open();
            for (at, stop) in trip.iter().enumerate() {
                self.insert(*stop, t, at);
            }
        }
        self.absent = (1..self.trip_of.len() as u32).filter(|s| self.trip_of[*s as usize] == NONE).collect();
    }

    /// Sum of all ways.
    pub fn cost(&self) -> i64 {
        self.cost
    }

    /// Sum of all ways, stops without a trip counted dearly.
    pub fn rating(&self) -> i64 {
        self.cost + self.penalty * self.absent.len() as i64
    }

    /// Trips with a stop.
    pub fn used(&self) -> usize {
        self.trips.iter().filter(|t| !t.is_empty()).count()
    }

    /// An empty trip.
    pub fn open(&mut self) -> usize {
        if let Some(t) = self.trips.iter().position(Vec::is_empty) {
            return t;
        }
        self.trips.push(Vec::new());
        self.load.push(0);
        self.touched.push(false);
        self.trips.len() - 1
    }

    /// What inserting a stop before position `at` of a trip adds.
    #[inline]
    pub fn extra(&self, stop: u32, trip: usize, at: usize) -> i64 {
        let t = &self.trips[trip];
        let before = if at == 0 { 0 } else { t[at - 1] as usize };
        let after = if at == t.len() { 0 } else { t[at] as usize };
        let ways = &self.visits.ways;
        ways.way(before, stop as usize) + ways.way(stop as usize, after) - if t.is_empty() { 0 } else { ways.way(before, after) }
    }

    /// Puts a stop before position `at` of a trip.
    pub fn insert(&mut self, stop: u32, trip: usize, at: usize) {
        self.cost += self.extra(stop, trip, at);
        self.touch(trip);
        self.trips[trip].insert(at, stop);
        self.load[trip] += self.visits.weight[stop as usize];
        self.trip_of[stop as usize] = trip as u32;
    }

    /// Takes out the stops at positions `from..to` of a trip; they become absent.
    pub fn take_out(&mut self, trip: usize, from: usize, to: usize) {
        self.touch(trip);
        let ways = &self.visits.ways;
        let t = &mut self.trips[trip];
        let before = if from == 0 { 0 } else { t[from - 1] as usize };
        let after = if to == t.len() { 0 } else { t[to] as usize };
        let mut at = before;
        for stop in &t[from..to] {
            self.cost -= ways.way(at, *stop as usize);
            at = *stop as usize;
            self.load[trip] -= self.visits.weight[at];
            self.trip_of[at] = NONE;
            self.absent.push(*stop);
        }
        self.cost -= ways.way(at, after);
        t.drain(from..to);
        if !t.is_empty() {
            self.cost += ways.way(before, after);
        }
    }

    fn touch(&mut self, trip: usize) {
        if !self.touched[trip] {
            self.touched[trip] = true;
            let mut copy = self.spare.pop().unwrap_or_default();
            copy.clear();
            copy.extend_from_slice(&self.trips[trip]);
            self.journal.push((trip as u32, copy, self.load[trip]));
        }
    }

    /// Makes the present state the one that [`Self::restore`] goes back to.
    pub fn remember(&mut self) {
        for (trip, copy, _) in self.journal.drain(..) {
            self.touched[trip as usize] = false;
            self.spare.push(copy);
        }
        self.before.0 = self.cost;
        self.before.1.clone_from(&self.absent);
    }

    /// Goes back.
    pub fn restore(&mut self) {
        for (trip, mut copy, load) in self.journal.drain(..) {
            let t = trip as usize;
            self.touched[t] = false;
            for stop in &copy {
                self.trip_of[*stop as usize] = trip;
            }
            std::mem::swap(&mut self.trips[t], &mut copy);
            self.load[t] = load;
            self.spare.push(copy);
        }
        self.cost = self.before.0;
        self.absent.clone_from(&self.before.1);
        for stop in &self.absent {
            self.trip_of[*stop as usize] = NONE;
        }
    }

    /// The trips, without empty ones.
    pub fn dealt(&self) -> Dealt {
        let mut left_out = self.absent.clone();
        left_out.sort_unstable();
        Dealt { trips: self.trips.iter().filter(|t| !t.is_empty()).cloned().collect(), left_out, cost: self.cost }
    }
}
