//! Where the decisions of a generated plan come from: dice, dice whose rolls are kept, or every possibility in turn.

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
#[derive(Clone)]
pub struct Dice(u64);

impl Dice {
    /// Seeds that follow each other roll nothing alike.
    pub fn new(seed: u64) -> Self {
        let mut dice = Self(seed.wrapping_add(1).wrapping_mul(0x9E37_79B9_7F4A_7C15));
        dice.below(1);
        dice
    }
}

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

/// Decisions kept, so that some of them can be changed and all others stay; further ones are rolled.
#[derive(Clone)]
pub struct Tape {
    rolls: Vec<usize>,
    next: usize,
    dice: Dice,
}

impl Tape {
    /// An empty one, whose rolls come from this seed.
    pub fn new(seed: u64) -> Self {
        Self { rolls: Vec::new(), next: 0, dice: Dice::new(seed) }
    }

    /// Another one, in which a few of the decisions made so far are rolled again.
    pub fn changed(&self, dice: &mut Dice) -> Self {
        let mut other = Self { rolls: self.rolls[..self.next].to_vec(), next: 0, dice: Dice::new(dice.below(1 << 31) as u64) };
        if !other.rolls.is_empty() {
            for _ in 0..1 + dice.below(3) {
                let at = dice.below(other.rolls.len());
                other.rolls[at] = dice.below(1 << 31);
            }
        }
        other
    }

    /// Back to the first decision.
    pub fn rewind(&mut self) {
        self.next = 0;
    }
}

impl Choice for Tape {
    fn below(&mut self, n: usize) -> usize {
        if self.next == self.rolls.len() {
            self.rolls.push(self.dice.below(1 << 31));
        }
        self.next += 1;
        self.rolls[self.next - 1] % n
    }
}
