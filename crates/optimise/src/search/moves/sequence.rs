//! Turns the tasks of a stretch of spindles round by one, or reverses them: the order of picking and of
//! placing changes at once, as a drum likes it.

use crate::search::screen::Other;
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
        let mut turned = Other::none();
        stretch.iter().zip(cells).for_each(|(s, c)| turned.set(*s, c));
        if turned.each().any(|(spindle, cell)| !self.may(cell.task, At { spindle, ..at })) {
            return false;
        }
        self.give(&[(at, turned)])
    }
}
