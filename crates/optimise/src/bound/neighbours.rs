//! The nearest other point by time, found in square cells.

use motion::StationClock;
use std::collections::BTreeMap;
use units::{Length, Point, Time};

/// Points in square cells, to find the nearest by time.
pub(super) struct Grid {
    points: Vec<Point>,
    cells: BTreeMap<(i64, i64), Vec<u32>>,
    cell: i64,
    rings: i64,
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
        Self { points, cells, cell, rings: longest / cell + 2 }
    }

    /// Least way from any point but `without` to `to`.
    pub(super) fn nearest(&self, clock: &StationClock, to: Point, without: usize, percent: u8) -> Time {
        let home = (to.x.0.div_euclid(self.cell), to.y.0.div_euclid(self.cell));
        let mut best = Time(i64::MAX);
        for ring in 0.. {
            // Whatever lies in this ring is at least (ring − 1) cells away along one axis.
            let far = Length((ring - 1).max(0) * self.cell);
            let least = clock.travel(Point::default(), Point { x: far, y: Length::ZERO }, percent).min(clock.travel(
                Point::default(),
                Point { x: Length::ZERO, y: far },
                percent,
            ));
            let beyond = ring > self.rings && best < Time(i64::MAX);
            if beyond || (best < Time(i64::MAX) && least >= best) || ring > self.rings * 64 {
                break;
            }
            for cx in home.0 - ring..=home.0 + ring {
                let edge = (cx - home.0).abs() == ring;
                let ys: Vec<i64> = if edge { (home.1 - ring..=home.1 + ring).collect() } else { vec![home.1 - ring, home.1 + ring] };
                for cy in ys {
                    for i in self.cells.get(&(cx, cy)).into_iter().flatten().filter(|i| **i as usize != without) {
                        best = best.min(clock.travel(self.points[*i as usize], to, percent));
                    }
                }
            }
        }
        if best == Time(i64::MAX) { Time::ZERO } else { best }
    }
}
