//! Ways of every station's axes, looked up instead of computed.
//!
//! Short distances are asked for millions of times; each is computed once by the clock's own axis and kept.
//! Stations with alike axes share what is kept. What is kept never differs from what would be computed, so
//! threads may fill it side by side without changing any plan.

use domain::line::{Axis, Line};
use motion::AxisTimer;
use std::sync::OnceLock;
use std::sync::atomic::{AtomicU32, Ordering};
use units::{Length, Point};

/// Distances below this are kept [µm].
const KEPT: usize = 1 << 16;

/// Times of one axis.
struct AxisWays {
    timer: AxisTimer,
    /// For each percent, once asked for, the time of each short distance [µs]; 0 where not asked for yet.
    kept: Vec<OnceLock<Box<[AtomicU32]>>>,
}

impl AxisWays {
    fn new(axis: &Axis) -> Self {
        Self { timer: AxisTimer::new(axis), kept: (0..=100).map(|_| OnceLock::new()).collect() }
    }

    #[inline]
    fn time(&self, distance: i64, percent: u8) -> i64 {
        let d = distance.unsigned_abs() as usize;
        if d == 0 {
            return 0;
        }
        if d >= KEPT {
            return self.timer.time(Length(d as i64), percent).0;
        }
        let kept = self.kept[usize::from(percent.min(100))].get_or_init(|| (0..KEPT).map(|_| AtomicU32::new(0)).collect());
        match kept[d].load(Ordering::Relaxed) {
            0 => {
                let time = self.timer.time(Length(d as i64), percent).0;
                // A time too long for the table is computed each time.
                if let Ok(short) = u32::try_from(time) {
                    kept[d].store(short, Ordering::Relaxed);
                }
                time
            }
            time => i64::from(time),
        }
    }
}

/// Ways of all stations of a line.
pub struct Ways {
    axes: Vec<AxisWays>,
    /// For each station its X and Y axis.
    of_station: Vec<(usize, usize)>,
}

/// Ways of one station.
#[derive(Clone, Copy)]
pub struct StationWays<'w> {
    x: &'w AxisWays,
    y: &'w AxisWays,
}

impl Ways {
    /// Nothing is kept yet.
    pub fn new(line: &Line) -> Self {
        let mut sheets: Vec<&Axis> = Vec::new();
        let mut index = |axis| {
            sheets.iter().position(|a| *a == axis).unwrap_or_else(|| {
                sheets.push(axis);
                sheets.len() - 1
            })
        };
        let of_station = line.station.iter().map(|s| (index(&s.axes.x), index(&s.axes.y))).collect();
        Self { axes: sheets.into_iter().map(AxisWays::new).collect(), of_station }
    }

    /// Those of a station.
    pub fn station(&self, station: usize) -> StationWays<'_> {
        let (x, y) = self.of_station[station];
        StationWays { x: &self.axes[x], y: &self.axes[y] }
    }
}

impl StationWays<'_> {
    /// As `StationClock::travel` [µs].
    #[inline]
    pub fn travel(&self, from: Point, to: Point, percent: u8) -> i64 {
        self.x.time(to.x.0 - from.x.0, percent).max(self.y.time(to.y.0 - from.y.0, percent))
    }
}
