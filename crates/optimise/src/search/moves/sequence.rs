//! Turns the tasks of a stretch of spindles round by one, or reverses them: the order of picking and of
//! placing changes at once, as a drum likes it.

use crate::search::journal::ALL;
use crate::search::{At, Search};

impl Search<'_> {
    pub(super) fn turn_stretch(&mut self, at: At) -> bool {
        let busy: Vec<u8> = (0..self.trip(at).cells.len() as u8).filter(|s| self.cell(At { spindle: *s, ..at }).busy()).collect();
        if busy.len() < 3 {
            return false;
        }
        let (i, j) = (self.rng.usize(..busy.len()), self.rng.usize(..busy.len()));
        let stretch = &busy[i.min(j)..=i.max(j)];
        if stretch.len() < 3 {
            return false;
        }
        let mut cells: Vec<_> = stretch.iter().map(|s| self.cell(At { spindle: *s, ..at })).collect();
        match self.rng.u32(..3) {
            0 => cells.rotate_left(1),
            1 => cells.rotate_right(1),
            _ => cells.reverse(),
        }
        if stretch.iter().zip(&cells).any(|(s, c)| !self.may(c.task, At { spindle: *s, ..at })) {
            return false;
        }
        self.open(at.pass, at.trip, ALL);
        stretch.iter().zip(cells).for_each(|(s, c)| self.put(At { spindle: *s, ..at }, c));
        self.changed(at.pass, at.trip);
        true
    }
}
