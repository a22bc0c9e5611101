//! A round trip as an array of stops, changed by reversing stretches, with the way back.

/// Stops in the order of a round trip.
pub struct Ring {
    stops: Vec<u32>,
    at: Vec<u32>,
    /// Reversals made since the last [`Self::keep`], as positions.
    made: Vec<(u32, u32)>,
}

impl Ring {
    pub fn new(stops: Vec<u32>) -> Self {
        let mut at = vec![0; stops.len()];
        stops.iter().enumerate().for_each(|(i, s)| at[*s as usize] = i as u32);
        Self { stops, at, made: Vec::new() }
    }

    pub fn stops(&self) -> &[u32] {
        &self.stops
    }

    #[inline]
    pub fn at(&self, stop: usize) -> usize {
        self.at[stop] as usize
    }

    #[inline]
    pub fn stop(&self, position: usize) -> usize {
        self.stops[position] as usize
    }

    #[inline]
    pub fn next(&self, stop: usize) -> usize {
        let i = self.at[stop] as usize + 1;
        self.stops[if i == self.stops.len() { 0 } else { i }] as usize
    }

    #[inline]
    pub fn before(&self, stop: usize) -> usize {
        let i = self.at[stop] as usize;
        self.stops[if i == 0 { self.stops.len() - 1 } else { i - 1 }] as usize
    }

    /// Reverses the stretch from one stop to another, or the rest of the ring, whichever is shorter: as a ring both are the same.
    pub fn reverse(&mut self, from: usize, to: usize) {
        let n = self.stops.len();
        let (i, j) = (self.at[from] as usize, self.at[to] as usize);
        let inside = (j + n - i) % n + 1;
        let (i, j) = if inside * 2 <= n { (i, j) } else { ((j + 1) % n, (i + n - 1) % n) };
        self.made.push((i as u32, j as u32));
        self.turn(i, j);
    }

    /// Leaves the ways a-b and c-d and goes a-c and b-d instead; b follows a as d follows c, in either direction.
    pub fn exchange(&mut self, a: usize, b: usize, c: usize, d: usize) {
        if self.next(a) == b && self.next(c) == d {
            self.reverse(b, c);
        } else {
            self.reverse(a, d);
        }
    }

    fn turn(&mut self, mut i: usize, mut j: usize) {
        let n = self.stops.len();
        let mut left = ((j + n - i) % n).div_ceil(2);
        while left > 0 {
            let (a, b) = (self.stops[i], self.stops[j]);
            self.stops[i] = b;
            self.stops[j] = a;
            self.at[b as usize] = i as u32;
            self.at[a as usize] = j as u32;
            i = if i + 1 == n { 0 } else { i + 1 };
            j = if j == 0 { n - 1 } else { j - 1 };
            left -= 1;
        }
    }

    /// How many reversals were made since the last [`Self::keep`].
    pub fn made(&self) -> usize {
        self.made.len()
    }

    /// Takes back reversals until only `left` are left.
    pub fn take_back(&mut self, left: usize) {
        while self.made.len() > left {
            let (i, j) = self.made.pop().expect("more than none");
            self.turn(i as usize, j as usize);
        }
    }

    /// Keeps what was made.
    pub fn keep(&mut self) {
        self.made.clear();
    }
}
