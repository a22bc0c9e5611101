//! The nearest other point by time, found in square cells.

use motion::StationClock;
use std::collections::BTreeMap;
use units::{Length, Point, Time};

/// Points in square cells, to find the nearest by time.
pub(super) struct Grid {
    points: Vec<Point>,
    cells: BTreeMap<(i64, i64), Vec<u32>>,
    cell: i64,
    /// Least and largest cell along each axis.
    least: (i64, i64),
    most: (i64, i64),
}

impl Grid {
    pub(super) fn new(points: impl Iterator<Item = Point>) -> Self {
        let points: Vec<Point> = points.collect();
        let extent = |f: fn(&Point) -> i64| points.iter().map(f).max().unwrap_or(0) - points.iter().map(f).min().unwrap_or(0);
        let longest = extent(|p| p.x.0).max(extent(|p| p.y.0)).max(1);
        // About two points a cell keeps both the cells and the rings few.
        let cell = ((longest as f64) / (points.len() as f64 / 2.0).sqrt().max(1.0)).ceil().max(1.0) as i64;
        let mut cells: BTreeMap<(i64, i64), Vec<u32>> = BTreeMap::new();
        for (i, p) in points.iter().enumerate() {
            cells.entry((p.x.0.div_euclid(cell), p.y.0.div_euclid(cell))).or_default().push(i as u32);
        }
        let along = |of: fn(&(i64, i64)) -> i64| (cells.keys().map(of).min().unwrap_or(0), cells.keys().map(of).max().unwrap_or(0));
        let ((left, right), (low, high)) = (along(|c| c.0), along(|c| c.1));
        Self { points, cells, cell, least: (left, low), most: (right, high) }
    }

    /// Least way from any point but `without` to `to`, which may lie far from all of them; 0 without another point.
    pub(super) fn nearest(&self, clock: &StationClock, to: Point, without: usize, percent: u8) -> Time {
        let home = (to.x.0.div_euclid(self.cell), to.y.0.div_euclid(self.cell));
        let ((left, low), (right, high)) = (self.least, self.most);
        let from = (left - home.0).max(home.0 - right).max(low - home.1).max(home.1 - high).max(0);
        let until = (home.0 - left).abs().max((home.0 - right).abs()).max((home.1 - low).abs()).max((home.1 - high).abs());
        let mut best = Time(i64::MAX);
        for ring in from..=until {
            // Whatever lies in this ring is at least (ring - 1) cells away along one axis.
            let far = Length((ring - 1).max(0) * self.cell);
            let least = clock.travel(Point::default(), Point { x: far, y: Length::ZERO }, percent).min(clock.travel(
                Point::default(),
                Point { x: Length::ZERO, y: far },
                percent,
            ));
            if least >= best {
                break;
            }
            for cx in (home.0 - ring).max(left)..=(home.0 + ring).min(right) {
                let edge = (cx - home.0).abs() == ring;
                let ys = (home.1 - ring).max(low)..=(home.1 + ring).min(high);
                for cy in ys.filter(|cy| edge || (cy - home.1).abs() == ring) {
                    for i in self.cells.get(&(cx, cy)).into_iter().flatten().filter(|i| **i as usize != without) {
                        best = best.min(clock.travel(self.points[*i as usize], to, percent));
                    }
                }
            }
        }
        if best == Time(i64::MAX) { Time::ZERO } else { best }
    }
}
