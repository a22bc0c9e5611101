//! The cheapest step from any other task to a task: a search in a grid, ring by ring.
//!
//! Exact: the search of a shift ends only when nothing in a farther ring can be cheaper.

use motion::StationClock;
use units::{Length, Point, Time};

/// Tasks in the cells of a grid.
pub(crate) struct Neighbours<'p> {
    points: &'p [Point],
    low: Point,
    /// Side of a cell [µm].
    cell: i64,
    columns: i64,
    rows: i64,
    /// Where each cell's tasks begin in `members`, and one end more.
    starts: Vec<u32>,
    members: Vec<u32>,
}

/// A step to one task: how fast, what is done beside the way, and what the search may stop at.
struct Step<'c> {
    clock: &'c StationClock,
    percent: u8,
    beside: Time,
    settle: Time,
}

impl Step<'_> {
    fn cost(&self, from: Point, to: Point) -> Time {
        let way = self.clock.travel(from, to, self.percent);
        if way > Time::ZERO { way.max(self.beside) + self.settle } else { self.beside }
    }

    /// No step from a point at least this far away along one axis is cheaper.
    fn least_beyond(&self, distance: i64) -> Time {
        if distance <= 0 {
            return Time::ZERO;
        }
        let along = |p: Point| self.cost(Point::default(), p);
        along(Point::from_um(distance, 0)).min(along(Point::from_um(0, distance)))
    }
}

impl<'p> Neighbours<'p> {
    /// Sorts the points into cells of about one each.
    pub(crate) fn new(points: &'p [Point]) -> Self {
        let least = |f: fn(&Point) -> i64| points.iter().map(f).min().unwrap_or(0);
        let most = |f: fn(&Point) -> i64| points.iter().map(f).max().unwrap_or(0);
        let low = Point::from_um(least(|p| p.x.0), least(|p| p.y.0));
        let (width, depth) = (most(|p| p.x.0) - low.x.0, most(|p| p.y.0) - low.y.0);
        let per_point = (width.max(1) as f64) * (depth.max(1) as f64) / points.len().max(1) as f64;
        // Points in one row still get no more cells than a few for each point.
        let cell = (per_point.sqrt() as i64).max((width.max(depth)) / (2 * points.len() as i64).max(1)).max(100);
        let (columns, rows) = (width / cell + 1, depth / cell + 1);
        let mut grid = Self { points, low, cell, columns, rows, starts: vec![0; (columns * rows) as usize + 1], members: Vec::new() };
        let cells: Vec<usize> = points.iter().map(|p| grid.index(grid.cell_of(*p))).collect();
        let mut order: Vec<u32> = (0..points.len() as u32).collect();
        order.sort_by_key(|i| cells[*i as usize]);
        cells.iter().for_each(|c| grid.starts[c + 1] += 1);
        for k in 1..grid.starts.len() {
            grid.starts[k] += grid.starts[k - 1];
        }
        grid.members = order;
        grid
    }

    fn cell_of(&self, p: Point) -> (i64, i64) {
        ((p.x.0 - self.low.x.0).div_euclid(self.cell), (p.y.0 - self.low.y.0).div_euclid(self.cell))
    }

    fn index(&self, (x, y): (i64, i64)) -> usize {
        (y * self.columns + x) as usize
    }

    /// Least of max(way, `beside`), plus `settle` after a way, over steps from any other task, shifted
    /// along X by any of `shifts`, to task `j`. `None` if there is no other task.
    pub(crate) fn least(&self, j: usize, shifts: &[Length], clock: &StationClock, percent: u8, beside: Time, settle: Time) -> Option<Time> {
        let step = Step { clock, percent, beside, settle };
        let mut best = None;
        for shift in shifts {
            self.search(j, *shift, &step, &mut best);
        }
        best
    }

    fn search(&self, j: usize, shift: Length, step: &Step<'_>, best: &mut Option<Time>) {
        let to = self.points[j];
        // Task i shifted by the pitch is as far from j as i is from j shifted back.
        let centre = self.cell_of(Point { x: to.x - shift, y: to.y });
        let beyond = |c: i64, n: i64| (-c).max(c - (n - 1)).max(0);
        let first = beyond(centre.0, self.columns).max(beyond(centre.1, self.rows));
        let last = centre.0.max(self.columns - 1 - centre.0).max(centre.1.max(self.rows - 1 - centre.1));
        for ring in first..=last {
            if best.is_some_and(|b| step.least_beyond((ring - 1) * self.cell) >= b) {
                return;
            }
            self.ring(centre, ring, |i| {
                if i != j {
                    let from = self.points[i];
                    let cost = step.cost(Point { x: from.x + shift, y: from.y }, to);
                    if best.is_none_or(|b| cost < b) {
                        *best = Some(cost);
                    }
                }
            });
        }
    }

    /// Every task in the cells exactly `ring` steps from the centre.
    fn ring(&self, centre: (i64, i64), ring: i64, mut visit: impl FnMut(usize)) {
        for y in (centre.1 - ring).max(0)..=(centre.1 + ring).min(self.rows - 1) {
            let edge = (y - centre.1).abs() == ring;
            let (left, right) = (centre.0 - ring, centre.0 + ring);
            let mut row = |x: i64| {
                if (0..self.columns).contains(&x) {
                    let cell = self.index((x, y));
                    self.members[self.starts[cell] as usize..self.starts[cell + 1] as usize].iter().for_each(|i| visit(*i as usize));
                }
            };
            if edge {
                (left.max(0)..=right.min(self.columns - 1)).for_each(&mut row);
            } else {
                row(left);
                if ring > 0 {
                    row(right);
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use domain::line::Line;

    /// Every other task, one after the other.
    fn slow(points: &[Point], j: usize, shifts: &[Length], step: &Step<'_>) -> Option<Time> {
        let shifted = |i: usize, s: &Length| Point { x: points[i].x + *s, y: points[i].y };
        let others = (0..points.len()).filter(|i| *i != j);
        others.flat_map(|i| shifts.iter().map(move |s| step.cost(shifted(i, s), points[j]))).min()
    }

    #[test]
    fn the_grid_finds_what_a_full_search_finds() {
        let line = Line::parse("line.toml", include_str!("../../tests/data/line.toml")).expect("the tests' line sheet is sound");
        let clock = StationClock::new(&line.station[0]);
        let mut state = 1u64;
        let mut below = |n: i64| {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            (state >> 33) as i64 % n
        };
        for round in 0..60 {
            let (width, depth) = (1 + below(200_000), 1 + below(if round % 3 == 0 { 10 } else { 200_000 }));
            let points: Vec<Point> = (0..1 + below(120)).map(|_| Point::from_um(below(width), below(depth))).collect();
            let shifts: Vec<Length> = if round % 2 == 0 { vec![Length(0)] } else { [-40, -20, 20, 40].map(|d| Length(d * 1_000)).to_vec() };
            let (beside, settle) = (Time(below(60_000)), Time(below(30_000)));
            let grid = Neighbours::new(&points);
            for j in 0..points.len() {
                let step = Step { clock: &clock, percent: 70, beside, settle };
                assert_eq!(grid.least(j, &shifts, &clock, 70, beside, settle), slow(&points, j, &shifts, &step));
            }
        }
    }
}
