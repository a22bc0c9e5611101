//! One axis from rest to rest.
//!
//! Source: rest-to-rest trapezoid and seven-segment profiles with symmetric ramps,
//! `docs/timing.md` §2; the figures are checked against published and computed vectors in
//! `tests/axis_reference.rs`.

use domain::line::Axis;
use units::{Length, Time};

/// Shortest times of one axis at every allowed speed.
///
/// A part that allows p percent scales speed, acceleration and jerk by p/100.
#[derive(Clone, Debug)]
pub struct AxisTimer {
    /// Profile at each percent from 0 to 100; 0 stands for 1 and is never asked for.
    at_percent: Vec<Profile>,
}

/// A motion profile in float seconds and micrometres, ready to be asked.
#[derive(Clone, Copy, Debug)]
struct Profile {
    /// Peak speed [µm/s].
    speed: f64,
    /// Acceleration [µm/s²].
    acceleration: f64,
    /// Jerk [µm/s³], if limited.
    jerk: Option<f64>,
    /// From this distance on full speed is reached [µm].
    full_speed_from: f64,
    /// Time lost to ramps at full speed [s].
    ramps: f64,
}

impl Profile {
    fn new(speed: f64, acceleration: f64, jerk: Option<f64>) -> Self {
        let (v, a) = (speed, acceleration);
        let (full_speed_from, ramps) = match jerk {
            None => (v * v / a, v / a),
            Some(j) if v * j >= a * a => (v * (v / a + a / j), v / a + a / j),
            Some(j) => (2.0 * v * (v / j).sqrt(), 2.0 * (v / j).sqrt()),
        };
        Self { speed, acceleration, jerk, full_speed_from, ramps }
    }

    /// Rest to rest over `d` > 0 [s].
    #[inline]
    fn seconds(&self, d: f64) -> f64 {
        if d >= self.full_speed_from {
            return d / self.speed + self.ramps;
        }
        let a = self.acceleration;
        let Some(j) = self.jerk else { return 2.0 * (d / a).sqrt() };
        if self.speed * j >= a * a && d >= 2.0 * a * a * a / (j * j) {
            // Acceleration reaches its limit, speed does not.
            let k = a * a / j;
            let peak = ((k * k + 4.0 * a * d).sqrt() - k) / 2.0;
            2.0 * (peak / a + a / j)
        } else {
            4.0 * (d / (2.0 * j)).cbrt()
        }
    }
}

impl AxisTimer {
    /// The timer of an axis. Speed, acceleration and jerk must be positive, as a checked sheet has them.
    pub fn new(axis: &Axis) -> Self {
        let at_percent = (0..=100u32)
            .map(|p| {
                let f = f64::from(p.max(1)) / 100.0;
                Profile::new(axis.speed.0.0 as f64 * f, axis.acceleration.0.0 as f64 * f, axis.jerk.map(|j| j.0.0 as f64 * f))
            })
            .collect();
        Self { at_percent }
    }

    /// Shortest time to cover `distance`, signed, at `percent` of the speed [µs, rounded up].
    ///
    /// ```
    /// use domain::line::Axis;
    /// use units::{Length, Text, Time};
    /// let axis = Axis {
    ///     speed: Text("1.5 m/s".parse().unwrap()),
    ///     acceleration: Text("20 m/s2".parse().unwrap()),
    ///     jerk: None,
    /// };
    /// let timer = motion::AxisTimer::new(&axis);
    /// assert_eq!(timer.time(Length::from_mm(50.0), 100), Time::from_us(100_000)); // 2√(0.05/20)
    /// assert_eq!(timer.time(Length::from_mm(-300.0), 100), Time::from_us(275_000)); // 0.3/1.5 + 1.5/20
    /// ```
    #[inline]
    pub fn time(&self, distance: Length, percent: u8) -> Time {
        if distance.0 == 0 {
            return Time::ZERO;
        }
        let seconds = self.at_percent[usize::from(percent.min(100))].seconds(distance.0.abs() as f64);
        // A nanosecond of tolerance, so that exact results do not round up to the next microsecond.
        let us = seconds * 1e6 - 1e-3;
        // Rounded up by hand: on machines of the oldest kind `ceil` is a call, and this is asked all the time.
        let whole = us as i64;
        Time(whole + i64::from((whole as f64) < us))
    }
}
