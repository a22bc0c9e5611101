//! One axis against figures from outside: a published worked example, computed vectors, and a second
//! method of solution (bisection on the peak speed).
//!
//! Sources: `reference/motion_benchmarks.csv` and `reference/motion.md` §1 of the project's reference
//! tables (the unequal-ramp row is a handbook's worked example; the others were integrated back to the
//! distance there); `reference/literature.md` W6 (parameters of a public research model). All rows are
//! copied here, so the checks need no other file.

use domain::line::Axis;
use motion::AxisTimer;
use proptest::prelude::*;
use units::{Acceleration, Jerk, Length, Speed, Text, Time};

/// An axis in metres and seconds.
fn axis(v: f64, a: f64, j: Option<f64>) -> Axis {
    let micro = |x: f64| (x * 1e6).round() as i64;
    Axis { speed: Text(Speed(micro(v))), acceleration: Text(Acceleration(micro(a))), jerk: j.map(|j| Text(Jerk(micro(j)))) }
}

fn micros(axis: &Axis, metres: f64) -> i64 {
    AxisTimer::new(axis).time(Length((metres * 1e6).round() as i64), 100).0
}

/// The clock rounds up and a table rounds to nearest, so the clock is equal or at most `step` above,
/// where `step` [µs] is one unit of the table's last digit.
fn agrees(clock: i64, table_seconds: f64, step: i64) -> bool {
    let table = (table_seconds * 1e6).round() as i64;
    (table - step / 2..=table + step.max(1)).contains(&clock)
}

/// `motion_benchmarks.csv`, all rows with equal ramps: distance [m], v, a, jerk, time [s].
const VECTORS: [(f64, f64, f64, Option<f64>, f64); 14] = [
    (0.005, 1.5, 20.0, None, 0.031_623),
    (0.02, 1.5, 20.0, None, 0.063_246),
    (0.05, 1.5, 20.0, None, 0.1),
    (0.1, 1.5, 20.0, None, 0.141_421),
    (0.3, 1.5, 20.0, None, 0.275),
    (0.0005, 1.5, 20.0, Some(1000.0), 0.025_198),
    (0.005, 1.5, 20.0, Some(1000.0), 0.054_288),
    (0.05, 1.5, 20.0, Some(1000.0), 0.121_980),
    (0.2, 1.5, 20.0, Some(1000.0), 0.228_333),
    (0.4, 1.5, 20.0, Some(1000.0), 0.361_667),
    (0.005, 1.5, 50.0, Some(1000.0), 0.054_288),
    (0.02, 1.5, 50.0, Some(1000.0), 0.086_177),
    (0.05, 1.5, 50.0, Some(1000.0), 0.116_961),
    (0.3, 1.5, 50.0, Some(1000.0), 0.277_460),
];

#[test]
fn every_vector_of_the_table() {
    for (d, v, a, j, seconds) in VECTORS {
        let clock = micros(&axis(v, a, j), d);
        assert!(agrees(clock, seconds, 1), "d {d} m, v {v}, a {a}, j {j:?}: clock {clock} µs, table {seconds} s");
    }
}

/// The copy above is the table, where the table is at hand.
#[test]
fn the_copy_is_the_table() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../../shared/reference/motion_benchmarks.csv");
    let Ok(text) = std::fs::read_to_string(path) else {
        println!("the reference tables are not beside this clone: the copy is not compared with its source");
        return;
    };
    // The profile's name may hold a comma in quotes; everything after it is plain.
    let fields = |line: &str| -> Vec<String> {
        let rest = line.strip_prefix('"').and_then(|l| l.split_once("\",")).or_else(|| line.split_once(',')).map_or("", |x| x.1);
        rest.split(',').map(str::to_owned).collect()
    };
    let number = |s: &str| s.parse::<f64>().ok();
    let rows: Vec<Vec<String>> = text.lines().skip(1).map(fields).filter(|f| f[2] == f[3]).collect();
    assert_eq!(rows.len(), VECTORS.len());
    for (row, (d, v, a, j, seconds)) in rows.iter().zip(VECTORS) {
        assert_eq!(
            [number(&row[0]), number(&row[1]), number(&row[2]), number(&row[4]), number(&row[5])],
            [Some(d), Some(v), Some(a), j, Some(seconds)]
        );
    }
}

/// The published worked example: 100 mm at 0.4 m/s, 0.2 g up and 0.5 g down, 0.393 s, full speed only
/// above 57.1 mm (a handbook, by way of `reference/motion.md` §1; g = 9.8 m/s²).
///
/// Axes of a line sheet have one acceleration for both ramps, so the example cannot be entered as it
/// stands. Its formula gives the published figure; the two axes with one of its ramps each bracket it;
/// and an axis with the harmonic mean of both ramps gives exactly its time.
#[test]
fn the_published_example_with_unequal_ramps() {
    let (d, v, up, down) = (0.1f64, 0.4f64, 0.2 * 9.8, 0.5 * 9.8);
    let full_speed_from = v * v / 2.0 * (1.0 / up + 1.0 / down);
    assert!((full_speed_from - 0.0571).abs() < 5e-5);
    let seconds = d / v + v / 2.0 * (1.0 / up + 1.0 / down);
    assert!((seconds - 0.393).abs() < 5e-4 && (seconds - 0.392_857).abs() < 5e-7);

    let (quick, slow) = (micros(&axis(v, down, None), d), micros(&axis(v, up, None), d));
    assert!(quick < 392_857 && 392_857 < slow, "{quick} < 392857 < {slow}");
    let mean = 2.0 / (1.0 / up + 1.0 / down);
    assert!(agrees(micros(&axis(v, mean, None), d), 0.392_857, 1));
    // The same holds below full speed: √(2d(1/a + 1/b)) = 2√(d/mean).
    let short = (2.0f64 * 0.03 * (1.0 / up + 1.0 / down)).sqrt();
    assert!((micros(&axis(v, mean, None), 0.03) as f64 - short * 1e6).abs() < 1.1);
}

/// W6: 1.4 m/s reached in 0.079 s, and 1.2 m/s reached in the same time; five digits, so one unit of
/// the last is 10 µs.
#[test]
fn the_axis_of_a_public_research_model() {
    for (v, d, seconds) in [(1.4, 0.05, 0.10623), (1.4, 0.1106, 0.158), (1.4, 0.3, 0.29329), (1.2, 0.05, 0.11475), (1.2, 0.3, 0.329)] {
        let clock = micros(&axis(v, v / 0.079, None), d);
        assert!(agrees(clock, seconds, 10), "{d} m at {v} m/s: clock {clock} µs, published {seconds} s");
    }
}

/// Rest to rest over `d` [m] by another way than the clock's closed formulas: the way of both ramps is a
/// rising function of the peak speed; its inverse is found by bisection. Needs no case for short moves.
fn by_bisection(v: f64, a: f64, j: Option<f64>, d: f64) -> f64 {
    let ramp = |p: f64| match j {
        None => p / a,
        Some(j) if p * j >= a * a => p / a + a / j,
        Some(j) => 2.0 * (p / j).sqrt(),
    };
    // Both ramps together cover p·ramp(p): mean speed p/2 over twice the ramp's time.
    if v * ramp(v) <= d {
        return 2.0 * ramp(v) + (d - v * ramp(v)) / v;
    }
    let (mut low, mut high) = (0.0, v);
    for _ in 0..200 {
        let p = (low + high) / 2.0;
        if p * ramp(p) <= d { low = p } else { high = p }
    }
    2.0 * ramp(high)
}

/// Speed, acceleration and jerk over and beyond the ranges of `reference/motion.md` §3.
fn any_axis() -> impl Strategy<Value = (f64, f64, Option<f64>)> {
    (100u32..5_000, 1_000u32..60_000, prop::option::of(50u32..5_000))
        .prop_map(|(v, a, j)| (f64::from(v) / 1e3, f64::from(a) / 1e3, j.map(f64::from)))
}

/// Distances that dwell on short moves too.
fn distance() -> impl Strategy<Value = i64> {
    prop_oneof![1i64..100, 100i64..10_000, 10_000i64..1_500_000]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2_000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn agrees_with_bisection((v, a, j) in any_axis(), d in distance(), percent in 1u8..=100) {
        let clock = AxisTimer::new(&axis(v, a, j)).time(Length(d), percent).0 as f64;
        let f = f64::from(percent) / 100.0;
        let exact = by_bisection(v * f, a * f, j.map(|j| j * f), d as f64 / 1e6) * 1e6;
        // Rounded up; a nanosecond, and a billionth for the floats.
        prop_assert!(clock >= exact * (1.0 - 1e-9) - 1.1e-3 && clock <= exact * (1.0 + 1e-9) + 1.0, "clock {}, bisection {}", clock, exact);
    }

    #[test]
    fn a_longer_way_takes_no_less((v, a, j) in any_axis(), d in distance(), more in distance(), percent in 1u8..=100) {
        let timer = AxisTimer::new(&axis(v, a, j));
        prop_assert!(timer.time(Length(d), percent) <= timer.time(Length(d + more), percent));
    }

    /// `reference/motion.md` §1: every stop is a full stop, so splitting a move adds ramps.
    #[test]
    fn a_stop_between_never_saves((v, a, j) in any_axis(), d in distance(), e in distance(), percent in 1u8..=100) {
        let timer = AxisTimer::new(&axis(v, a, j));
        prop_assert!(timer.time(Length(d + e), percent) <= timer.time(Length(d), percent) + timer.time(Length(e), percent));
    }

    #[test]
    fn both_ways_take_the_same((v, a, j) in any_axis(), d in distance(), percent in 1u8..=100) {
        let timer = AxisTimer::new(&axis(v, a, j));
        prop_assert_eq!(timer.time(Length(d), percent), timer.time(Length(-d), percent));
        prop_assert_eq!(timer.time(Length(0), percent), Time::ZERO);
    }

    #[test]
    fn less_percent_is_never_faster((v, a, j) in any_axis(), d in distance(), slow in 1u8..=100, quick in 1u8..=100) {
        let timer = AxisTimer::new(&axis(v, a, j));
        let (slow, quick) = (slow.min(quick), slow.max(quick));
        prop_assert!(timer.time(Length(d), slow) >= timer.time(Length(d), quick));
    }

    /// Next to each border between two formulas a micrometre more costs what it does at the peak speed
    /// there, and the rounding: no jump.
    #[test]
    fn no_jump_where_the_formula_changes((v, a, j) in any_axis()) {
        let timer = AxisTimer::new(&axis(v, a, j));
        let borders = match j {
            None => vec![v * v / a],
            Some(j) if v * j >= a * a => vec![v * (v / a + a / j), 2.0 * a * a * a / (j * j)],
            Some(j) => vec![2.0 * v * (v / j).sqrt()],
        };
        for border in borders {
            let d = ((border * 1e6) as i64).max(1);
            // Peak speed from the mean speed: a ramp never covers more than its time at the peak.
            let mean = d as f64 / timer.time(Length(d), 100).0 as f64;
            let (before, after) = (timer.time(Length(d - 1), 100), timer.time(Length(d + 1), 100));
            prop_assert!((after - before).0 as f64 <= 2.0 / mean + 2.0, "{before} then {after} at {d} µm");
        }
    }
}
