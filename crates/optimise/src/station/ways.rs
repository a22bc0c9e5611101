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

    /// Time of a distance that is not negative [µs].
    #[inline]
    fn time(&self, distance: i64, percent: u8) -> i64 {
        let d = distance as usize;
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

/// Bits after the point of [`StationWays::beside_x`] and [`StationWays::beside_y`].
const BITS: u32 = 16;

/// The share of a distance along one axis that another covers at least as fast, somewhat less of it to stay clear of rounding [2^-16].
///
/// An axis that is at least `r` times as fast, as quick and as free of jerk covers `r` times the distance in no more time, for the time
/// stays the same when lengths are stretched.
fn share_beside(axis: &Axis, other: &Axis) -> i64 {
    let ratio = |of_other: i64, of_axis: i64| of_other as f64 / of_axis as f64;
    let jerk = match (axis.jerk, other.jerk) {
        (_, None) => f64::INFINITY,
        (None, Some(_)) => 0.0,
        (Some(axis), Some(other)) => ratio(other.0.0, axis.0.0),
    };
    let share = ratio(other.speed.0.0, axis.speed.0.0).min(ratio(other.acceleration.0.0, axis.acceleration.0.0)).min(jerk);
    (share.min(1_000.0) * f64::from(1u32 << BITS) * 63.0 / 64.0) as i64
}

/// Ways of all stations of a line.
pub struct Ways {
    axes: Vec<AxisWays>,
    /// For each station its X and Y axis, and what each covers beside the other.
    of_station: Vec<(usize, usize, i64, i64)>,
}

/// Ways of one station.
#[derive(Clone, Copy)]
pub struct StationWays<'w> {
    x: &'w AxisWays,
    y: &'w AxisWays,
    /// Share of a way along X that Y covers meanwhile, whatever the distance; and of a way along Y, X [2^-16].
    beside_x: i64,
    beside_y: i64,
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
        let of_station = line
            .station
            .iter()
            .map(|s| {
                let (x, y) = (&s.axes.x, &s.axes.y);
                (index(x), index(y), share_beside(x, y), share_beside(y, x))
            })
            .collect();
        Self { axes: sheets.into_iter().map(AxisWays::new).collect(), of_station }
    }

    /// Those of a station.
    pub fn station(&self, station: usize) -> StationWays<'_> {
        let (x, y, beside_x, beside_y) = self.of_station[station];
        StationWays { x: &self.axes[x], y: &self.axes[y], beside_x, beside_y }
    }
}

impl StationWays<'_> {
    /// As `StationClock::travel` [µs].
    #[inline]
    pub fn travel(&self, from: Point, to: Point, percent: u8) -> i64 {
        let (x, y) = ((to.x.0 - from.x.0).abs(), (to.y.0 - from.y.0).abs());
        let (x_rules, y_rules) = (y << BITS <= x * self.beside_x, x << BITS <= y * self.beside_y);
        // One axis is looked up, mostly: this is asked all the time.
        if !(x_rules | y_rules) {
            return self.x.time(x, percent).max(self.y.time(y, percent));
        }
        let (axis, distance) = if x_rules { (self.x, x) } else { (self.y, y) };
        axis.time(distance, percent)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::random_lines::sheet;
    use units::{Acceleration, Jerk, Speed, Text};

    #[test]
    fn a_way_takes_as_long_as_its_slower_axis() {
        let mut rng = fastrand::Rng::with_seed(20);
        let mut ruled = [0; 3];
        for _ in 0..300 {
            let mut line = sheet(&mut rng);
            let axis = |rng: &mut fastrand::Rng| Axis {
                speed: Text(Speed(rng.i64(100_000..3_000_000))),
                acceleration: Text(Acceleration(rng.i64(1_000_000..50_000_000))),
                jerk: rng.bool().then(|| Text(Jerk(rng.i64(100_000_000..2_000_000_000)))),
            };
            let axes = &mut line.station[0].axes;
            (axes.x, axes.y) = (axis(&mut rng), axis(&mut rng));
            let timers = [AxisTimer::new(&axes.x), AxisTimer::new(&axes.y)];
            let ways = Ways::new(&line);
            let ways = ways.station(0);
            for _ in 0..300 {
                let most = 10_i64.pow(rng.u32(1..7));
                let x = rng.i64(-most..most);
                // Often about as far as the share that makes one axis rule.
                let beside = (x.abs() * ways.beside_x) >> BITS;
                let y = if rng.bool() { rng.i64(-most..most) } else { (beside + rng.i64(-2..3)) * [1, -1][rng.usize(..2)] };
                let from = Point { x: Length(rng.i64(-9..9)), y: Length(rng.i64(-9..9)) };
                let to = Point { x: Length(from.x.0 + x), y: Length(from.y.0 + y) };
                let percent = [100, 100, 60, 5][rng.usize(..4)];
                let times = [x, y].map(|d| d.abs()).iter().zip(&timers).map(|(d, t)| t.time(Length(*d), percent).0).collect::<Vec<_>>();
                assert_eq!(
                    ways.travel(from, to, percent),
                    times[0].max(times[1]),
                    "{x} by {y} um at {percent} %: {:?}",
                    line.station[0].axes
                );
                let rules = [y.abs() << BITS <= x.abs() * ways.beside_x, x.abs() << BITS <= y.abs() * ways.beside_y];
                ruled[rules.iter().position(|r| *r).unwrap_or(2)] += 1;
            }
        }
        assert!(ruled.iter().all(|n| *n > 3_000), "X, Y, neither rules: {ruled:?}");
    }
}
