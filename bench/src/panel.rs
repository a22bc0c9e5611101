//! Where the bodies of a generated board lie, and how boards repeat in a panel.

use crate::Trouble;
use fastrand::Rng;

/// A body on the board, at no rotation [µm].
#[derive(Clone, Copy, Debug)]
pub struct Body {
    /// Along X.
    pub x: i64,
    /// Along Y.
    pub y: i64,
}

/// Where bodies were laid.
pub struct Places {
    /// Size of the board [µm].
    pub size: (i64, i64),
    /// Centre [µm] and rotation [°] of each body, in the order given.
    pub at: Vec<((i64, i64), u16)>,
}

/// Cells that are kept free of other bodies [µm].
const CELL: i64 = 500;
/// Between neighbouring bodies [µm]; common practice, no source.
const SPACING: i64 = 400;
/// Along the edges [µm]; for the conveyor and the marks.
const MARGIN: i64 = 6_000;
/// Between the boards of a panel [µm]: a router's width.
pub const WEB: i64 = 2_000;
/// Largest panel of the example lines [µm].
pub const LARGEST: (i64, i64) = (460_000, 400_000);

/// Columns and rows of a panel, the nearest to a square that holds exactly so many boards.
pub fn columns_and_rows(images: u32) -> (u32, u32) {
    let rows = (1..=images).take_while(|r| r * r <= images).filter(|r| images.is_multiple_of(*r)).last().unwrap_or(1);
    (images.max(1) / rows, rows)
}

/// Lays bodies on the smallest board of a few that holds them: the largest first, two in three of the small
/// ones near a large one, as on boards where capacitors gather round their circuit.
///
/// # Errors
/// When `panel` boards of that size do not fit the largest panel.
pub fn lay_out(bodies: &[Body], panel: (u32, u32), rng: &mut Rng) -> Result<Places, Trouble> {
    let cells = |b: &Body| cells_of(b.x) * cells_of(b.y);
    let area: i64 = bodies.iter().map(cells).sum::<i64>() * CELL * CELL;
    let most = |largest: i64, n: u32| (largest - WEB * (i64::from(n) - 1)) / i64::from(n);
    let most = (most(LARGEST.0, panel.0), most(LARGEST.1, panel.1));
    // Half of a board is free, of a crowded one less.
    for free in [2.4, 2.0, 1.7, 1.5, 1.35] {
        let inside = (area as f64 * free).sqrt();
        let side = |aspect: f64, most: i64| ((inside * aspect) as i64 + 2 * MARGIN).clamp(30_000, most);
        let size = (side(1.15, most.0), side(1.0 / 1.15, most.1));
        let mut grid = Grid::new(size);
        if let Some(at) = place_all(bodies, &mut grid, rng) {
            return Ok(Places { size, at });
        }
    }
    Err(format!("{} bodies do not fit a panel of {} x {} boards", bodies.len(), panel.0, panel.1))
}

fn cells_of(um: i64) -> i64 {
    (um + SPACING + CELL - 1) / CELL
}

fn place_all(bodies: &[Body], grid: &mut Grid, rng: &mut Rng) -> Option<Vec<((i64, i64), u16)>> {
    let mut order: Vec<usize> = (0..bodies.len()).collect();
    rng.shuffle(&mut order);
    order.sort_by_key(|i| std::cmp::Reverse(bodies[*i].x.max(bodies[*i].y) / 2_500));
    let mut anchors: Vec<(i64, i64)> = Vec::new();
    let mut at = vec![((0, 0), 0); bodies.len()];
    for i in order {
        let b = bodies[i];
        let large = b.x.max(b.y) >= 5_000;
        // Three in a hundred stand askew, as counted on real boards; they take a square.
        let turn: u16 = if !large && rng.u32(..100) < 3 { 45 } else { 90 * rng.u16(..4) };
        let (w, d) = match turn {
            45 => (b.x.max(b.y) * 3 / 2, b.x.max(b.y) * 3 / 2),
            90 | 270 => (b.y, b.x),
            _ => (b.x, b.y),
        };
        let near = (!large && !anchors.is_empty() && rng.u32(..3) < 2).then(|| anchors[rng.usize(..anchors.len())]);
        let cell = grid.find((cells_of(w), cells_of(d)), near, rng)?;
        grid.fill(cell, (cells_of(w), cells_of(d)));
        let centre = (MARGIN + cell.0 * CELL + cells_of(w) * CELL / 2, MARGIN + cell.1 * CELL + cells_of(d) * CELL / 2);
        if large {
            anchors.push(cell);
        }
        at[i] = (centre, turn);
    }
    Some(at)
}

/// Which cells of the board are taken.
struct Grid {
    columns: i64,
    rows: i64,
    taken: Vec<bool>,
}

impl Grid {
    fn new(size: (i64, i64)) -> Self {
        let (columns, rows) = ((size.0 - 2 * MARGIN) / CELL, (size.1 - 2 * MARGIN) / CELL);
        Self { columns, rows, taken: vec![false; (columns * rows).max(0) as usize] }
    }

    fn free(&self, at: (i64, i64), size: (i64, i64)) -> bool {
        let inside = at.0 >= 0 && at.1 >= 0 && at.0 + size.0 <= self.columns && at.1 + size.1 <= self.rows;
        let row = |y: i64| (at.0..at.0 + size.0).all(|x| !self.taken[(y * self.columns + x) as usize]);
        inside && (at.1..at.1 + size.1).all(row)
    }

    fn fill(&mut self, at: (i64, i64), size: (i64, i64)) {
        for y in at.1..at.1 + size.1 {
            for x in at.0..at.0 + size.0 {
                self.taken[(y * self.columns + x) as usize] = true;
            }
        }
    }

    /// A free place, near a cell if asked: by chance at first, then the first from a chance row on.
    fn find(&self, size: (i64, i64), near: Option<(i64, i64)>, rng: &mut Rng) -> Option<(i64, i64)> {
        for k in 0..60 {
            let at = match near {
                Some(n) => (n.0 + rng.i64(-8 - k..=8 + k), n.1 + rng.i64(-8 - k..=8 + k)),
                None => (rng.i64(0..=self.columns.max(1)), rng.i64(0..=self.rows.max(1))),
            };
            if self.free(at, size) {
                return Some(at);
            }
        }
        let from = rng.i64(0..self.rows.max(1));
        let rows = (from..self.rows).chain(0..from);
        rows.flat_map(|y| (0..self.columns).map(move |x| (x, y))).find(|at| self.free(*at, size))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn panels_are_as_square_as_they_can_be() {
        assert_eq!([1, 2, 4, 6, 12, 7].map(columns_and_rows), [(1, 1), (2, 1), (2, 2), (3, 2), (4, 3), (7, 1)]);
    }

    #[test]
    fn what_fits_no_panel_is_refused() {
        let huge = vec![Body { x: 100_000, y: 100_000 }; 20];
        assert!(lay_out(&huge, (1, 1), &mut Rng::with_seed(1)).is_err());
    }
}
