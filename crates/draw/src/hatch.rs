//! Hatches: parallel lines over a rectangle, the second cue beside colour.
//!
//! They are plain lines cut at the rectangle, not SVG patterns: those need names that must
//! not clash within a page, and print as bitmaps in some renderers.

use crate::scene::Step;

/// Direction of the lines.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Hatch {
    /// No lines.
    None,
    /// From lower left to upper right.
    Rising,
    /// From upper left to lower right.
    Falling,
    /// Along X.
    Level,
    /// Along Y.
    Upright,
    /// Rising and falling.
    Cross,
}

/// Most lines drawn over one rectangle: beyond it the spacing grows.
const MOST_LINES: f64 = 200.0;

/// Lines over the rectangle at `x`, `y` with size `w`, `h`; at least one whatever the spacing.
pub fn lines(hatch: Hatch, x: f64, y: f64, w: f64, h: f64, spacing: f64) -> Vec<Step> {
    if !(w > 0.0 && h > 0.0 && spacing > 0.0 && w.is_finite() && h.is_finite()) {
        return Vec::new();
    }
    let spacing = spacing.max((w + h) / MOST_LINES);
    match hatch {
        Hatch::None => Vec::new(),
        Hatch::Level => offsets(h, spacing).flat_map(|d| pair((x, y + d), (x + w, y + d))).collect(),
        Hatch::Upright => offsets(w, spacing).flat_map(|d| pair((x + d, y), (x + d, y + h))).collect(),
        Hatch::Falling => slanted(x, y, w, h, spacing, false),
        Hatch::Rising => slanted(x, y, w, h, spacing, true),
        Hatch::Cross => {
            let mut both = slanted(x, y, w, h, spacing, false);
            both.extend(slanted(x, y, w, h, spacing, true));
            both
        }
    }
}

fn pair(from: (f64, f64), to: (f64, f64)) -> [Step; 2] {
    [Step::Move(from.0, from.1), Step::Line(to.0, to.1)]
}

/// Evenly spread inside 0..`extent`, at most `spacing` apart.
fn offsets(extent: f64, spacing: f64) -> impl Iterator<Item = f64> {
    let count = (extent / spacing).ceil().max(1.0);
    (0..count as u32).map(move |i| extent * (f64::from(i) + 0.5) / count)
}

/// Lines at 45°: each leaves the left or top edge and ends at the bottom or right edge.
fn slanted(x: f64, y: f64, w: f64, h: f64, spacing: f64, rising: bool) -> Vec<Step> {
    let flip = |py: f64| if rising { y + h - py } else { y + py };
    // `d` is how far right of the left edge the line would cross the top edge.
    offsets(w + h, spacing * std::f64::consts::SQRT_2)
        .flat_map(|along| {
            let d = along - h;
            let start = if d < 0.0 { (0.0, -d) } else { (d, 0.0) };
            let reach = (w - start.0).min(h - start.1);
            pair((x + start.0, flip(start.1)), (x + start.0 + reach, flip(start.1 + reach)))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_stay_inside() {
        for hatch in [Hatch::Rising, Hatch::Falling, Hatch::Level, Hatch::Upright, Hatch::Cross] {
            let steps = lines(hatch, 10.0, 20.0, 30.0, 5.0, 4.0);
            assert!(steps.len() >= 2);
            for step in steps {
                let (Step::Move(x, y) | Step::Line(x, y)) = step else { panic!("a hatch closes nothing") };
                assert!((10.0..=40.0).contains(&x) && (20.0..=25.0).contains(&y), "{hatch:?} {x} {y}");
            }
        }
    }

    #[test]
    fn odd_sizes_draw_nothing_or_little() {
        assert!(lines(Hatch::Cross, 0.0, 0.0, f64::NAN, 1.0, 1.0).is_empty());
        assert!(lines(Hatch::Cross, 0.0, 0.0, 1e9, 1e9, 1.0).len() < 1000);
    }
}
