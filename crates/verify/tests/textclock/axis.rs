//! §2 of the page: one axis, and the way.

use domain::line::{Axis, Station};

/// Both axes start together, the slower counts [µs].
pub fn way(station: &Station, from: (i64, i64), to: (i64, i64), percent: i64) -> i64 {
    axis(&station.axes.x, (to.0 - from.0).abs(), percent).max(axis(&station.axes.y, (to.1 - from.1).abs(), percent))
}

fn axis(axis: &Axis, distance: i64, percent: i64) -> i64 {
    if distance == 0 {
        return 0;
    }
    let share = percent as f64 / 100.0;
    let (v, a) = (axis.speed.0.0 as f64 * share, axis.acceleration.0.0 as f64 * share);
    let seconds = match axis.jerk {
        None => without_jerk(distance as f64, v, a),
        Some(j) => with_jerk(distance as f64, v, a, j.0.0 as f64 * share),
    };
    // Rounded up; less than a nanosecond does not round up.
    let us = seconds * 1e6;
    let whole = us.floor();
    whole as i64 + i64::from(us - whole > 1e-3)
}

fn without_jerk(d: f64, v: f64, a: f64) -> f64 {
    if d < v * v / a { 2.0 * (d / a).sqrt() } else { d / v + v / a }
}

fn with_jerk(d: f64, v: f64, a: f64, j: f64) -> f64 {
    let short = 4.0 * (d / (2.0 * j)).cbrt();
    if v * j < a * a {
        let d1 = 2.0 * v * (v / j).sqrt();
        return if d >= d1 { d / v + 2.0 * (v / j).sqrt() } else { short };
    }
    let (d1, d2) = (v * (v / a + a / j), 2.0 * a * a * a / (j * j));
    if d >= d1 {
        d / v + v / a + a / j
    } else if d >= d2 {
        let p = (((a * a / j) * (a * a / j) + 4.0 * a * d).sqrt() - a * a / j) / 2.0;
        2.0 * (p / a + a / j)
    } else {
        short
    }
}

/// Stretched by 100/p, rounded up.
pub fn slowed(time: i64, percent: i64) -> i64 {
    let product = time * 100;
    product / percent + i64::from(product % percent > 0)
}
