//! How the time to a small gap grows with the number of placements, against n·log n.

use crate::Trouble;
use crate::campaign::{Setting, run};
use crate::generate::{Kind, Recipe};
use crate::instance::Instance;
use crate::plot::{Plot, scene};
use crate::row::Row;
use crate::summary::median;
use std::path::Path;

/// Sizes measured.
pub const SIZES: [u32; 7] = [500, 1_000, 2_000, 3_500, 5_000, 7_000, 10_000];

/// What was found.
#[derive(Clone, Debug, PartialEq)]
pub struct Growth {
    /// For each size: median seconds to a 5 % gap over the seeds that reached it, and how many did.
    pub points: Vec<(u32, f64, usize, usize)>,
    /// Factor of the best curve factor·n·ln n through the points [s].
    pub factor: f64,
    /// Exponent b of the best curve (n·ln n)^b: 1 grows as n·log n, less is slower growth.
    pub exponent: f64,
}

/// A panel of a size on the line that is the same for all sizes.
fn recipe(placements: u32, stations: usize, seed: u64) -> Recipe {
    Recipe { kind: Kind::FixedRoles, stations, placements, images: 1, part_types: Recipe::usual_part_types(placements), seed }
}

/// The instances of one line length.
pub fn instances(stations: usize, seeds: &[u64]) -> Vec<Instance> {
    SIZES.iter().flat_map(|n| seeds.iter().map(|s| Instance::generated(recipe(*n, stations, *s)))).collect()
}

/// Measures; a picture goes to `picture` if given.
///
/// # Errors
/// As [`run`].
pub fn measure(stations: usize, seeds: &[u64], setting: &Setting, picture: Option<&Path>) -> Result<Growth, Trouble> {
    let rows = run(&instances(stations, seeds), &[1], setting)?;
    let growth = fit(&rows);
    if let Some(path) = picture {
        let svg = draw::svg::write(&picture_of(&growth, stations));
        std::fs::write(path, svg).map_err(|e| format!("{}: {e}", path.display()))?;
    }
    Ok(growth)
}

/// Fits the rows of one line length.
pub fn fit(rows: &[Row]) -> Growth {
    let mut points = Vec::new();
    for n in SIZES {
        let prefix = format!("n{n}-");
        let of: Vec<&Row> = rows.iter().filter(|r| r.instance.starts_with(&prefix) && r.outcome == "planned").collect();
        let reached: Vec<f64> = of.iter().filter_map(|r| r.to_5_percent_gap_s).collect();
        if !of.is_empty() {
            points.push((n, median(reached.clone()), reached.len(), of.len()));
        }
    }
    let logs: Vec<(f64, f64)> = points.iter().filter(|p| p.2 > 0 && p.1 > 0.0).map(|p| (n_log_n(f64::from(p.0)).ln(), p.1.ln())).collect();
    let count = logs.len().max(1) as f64;
    let (mx, my) = (logs.iter().map(|l| l.0).sum::<f64>() / count, logs.iter().map(|l| l.1).sum::<f64>() / count);
    let (sxy, sxx) = logs.iter().fold((0.0, 0.0), |a, l| (a.0 + (l.0 - mx) * (l.1 - my), a.1 + (l.0 - mx).powi(2)));
    Growth { points, factor: if logs.is_empty() { 0.0 } else { (my - mx).exp() }, exponent: if sxx > 0.0 { sxy / sxx } else { 0.0 } }
}

fn n_log_n(n: f64) -> f64 {
    n * n.ln()
}

fn picture_of(g: &Growth, stations: usize) -> draw::Scene {
    let points: Vec<(f64, f64)> = g.points.iter().filter(|p| p.2 > 0 && p.1 > 0.0).map(|p| (f64::from(p.0), p.1)).collect();
    scene(&Plot {
        title: &format!("Time to a certified gap of 5 %, generated panels on {stations} stations"),
        x: "placements",
        y: "seconds",
        points: &points,
        curve_name: "a factor times n log n",
        curve: &|n| g.factor * n_log_n(n),
    })
}

/// As a Markdown table with the verdict.
pub fn table(g: &Growth) -> String {
    let mut text = "| placements | to 5 % gap, median [s] | reached |\n|---|---|---|\n".to_owned();
    for (n, seconds, reached, of) in &g.points {
        let seconds = if *reached > 0 { format!("{seconds:.2}") } else { "-".to_owned() };
        text += &format!("| {n} | {seconds} | {reached} of {of} |\n");
    }
    text + &format!("\nBest fit: (n log n)^{:.2}; 1 is n log n, less is slower growth.\n", g.exponent)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rows(time: impl Fn(f64) -> f64) -> Vec<Row> {
        let one = |n: &u32| Row {
            instance: recipe(*n, 8, 1).name(),
            outcome: "planned".to_owned(),
            to_5_percent_gap_s: Some(time(f64::from(*n))),
            ..Row::default()
        };
        SIZES.iter().map(one).collect()
    }

    #[test]
    fn n_log_n_is_found_again_and_squares_are_told_apart() {
        let g = fit(&rows(|n| 0.001 * n_log_n(n)));
        assert!((g.exponent - 1.0).abs() < 1e-9 && (g.factor - 0.001).abs() < 1e-9, "{g:?}");
        assert!(fit(&rows(|n| 1e-6 * n * n)).exponent > 1.5);
    }

    #[test]
    fn sizes_that_do_not_reach_the_gap_are_counted_as_such() {
        let mut r = rows(|n| n);
        r[6].to_5_percent_gap_s = None;
        let g = fit(&r);
        assert_eq!(g.points[6], (10_000, 0.0, 0, 1));
        assert!(table(&g).contains("| 10000 | - | 0 of 1 |"));
    }

    #[test]
    fn the_picture_shows_every_point() {
        let svg = draw::svg::write(&picture_of(&fit(&rows(|n| 0.001 * n_log_n(n))), 8));
        assert_eq!(svg.matches("<circle").count(), SIZES.len());
    }
}
