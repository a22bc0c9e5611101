//! Where the decisions of a generated plan come from: dice, or every possibility in turn.

/// Something that decides among a number of possibilities.
pub trait Choice {
    /// A number below `n`, which must not be 0.
    fn below(&mut self, n: usize) -> usize;

    /// One of these.
    fn one_of<T: Copy>(&mut self, all: &[T]) -> T
    where
        Self: Sized,
    {
        all[self.below(all.len())]
    }

    /// True one time in `n`.
    fn one_in(&mut self, n: usize) -> bool {
        self.below(n) == 0
    }
}

/// A linear congruential generator; constants of Knuth's MMIX.
pub struct Dice(pub u64);

impl Choice for Dice {
    fn below(&mut self, n: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) % n as u64) as usize
    }
}

/// Goes through every sequence of decisions, one a round: the last one that has possibilities left moves on.
#[derive(Default)]
pub struct Odometer {
    /// For each decision of the round before: the possibility taken, and how many there were.
    taken: Vec<(usize, usize)>,
    next: usize,
}

impl Odometer {
    /// Begins the next round; `false` when all sequences have been.
    pub fn turn(&mut self) -> bool {
        self.next = 0;
        while let Some((k, n)) = self.taken.pop() {
            if k + 1 < n {
                self.taken.push((k + 1, n));
                return true;
            }
        }
        false
    }
}

impl Choice for Odometer {
    fn below(&mut self, n: usize) -> usize {
        if self.next == self.taken.len() {
            self.taken.push((0, n));
        }
        self.next += 1;
        self.taken[self.next - 1].0
    }
}
