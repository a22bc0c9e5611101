//! Bodies on the board as rectangles along the axes.

use domain::job::Task;
use domain::part::Part;
use units::Point;

/// A body as placed. Sides and centre are kept doubled [half µm], so that odd sides stay exact.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Body {
    centre: (i64, i64),
    /// Whole sides, which are half sides doubled.
    half: (i64, i64),
    /// Height above the board [µm].
    pub(crate) height: i64,
}

impl Body {
    pub(crate) fn new(task: &Task, part: &Part) -> Self {
        let (x, y) = (part.body_x_um.value.0, part.body_y_um.value.0);
        let half = match task.rotation.normalised().0 {
            0 | 180_000 => (x, y),
            90_000 | 270_000 => (y, x),
            other => bounding(x, y, other),
        };
        Self { centre: (2 * task.at.x.0, 2 * task.at.y.0), half, height: part.height_um.value.0 }
    }

    /// Whether the edges of two bodies are less than `reach` [µm] apart, straight across.
    pub(crate) fn is_within(&self, other: &Self, reach: i64) -> bool {
        let gap = |a: i64, b: i64, sides: i64| i128::from(((a - b).abs() - sides).max(0));
        let (x, y) = (
            gap(self.centre.0, other.centre.0, self.half.0 + other.half.0),
            gap(self.centre.1, other.centre.1, self.half.1 + other.half.1),
        );
        x * x + y * y < 4 * i128::from(reach) * i128::from(reach)
    }

    /// Whether a point [µm] lies under the body, its edge included.
    pub(crate) fn covers(&self, p: Point) -> bool {
        (2 * p.x.0 - self.centre.0).abs() <= self.half.0 && (2 * p.y.0 - self.centre.1).abs() <= self.half.1
    }

    /// Lower left and upper right corner, widened by `by` [µm], rounded outward [µm].
    pub(crate) fn box_widened(&self, by: i64) -> [i64; 4] {
        let low = |c: i64, h: i64| (c - h).div_euclid(2) - by;
        let high = |c: i64, h: i64| (c + h + 1).div_euclid(2) + by;
        [
            low(self.centre.0, self.half.0),
            low(self.centre.1, self.half.1),
            high(self.centre.0, self.half.0),
            high(self.centre.1, self.half.1),
        ]
    }
}

/// Sides of the rectangle around a turned one, to the nearest micrometre.
fn bounding(x: i64, y: i64, mdeg: i64) -> (i64, i64) {
    let (sin, cos) = (mdeg as f64 / 1_000.0).to_radians().sin_cos();
    let (x, y) = (x as f64, y as f64);
    let side = |a: f64, b: f64| (a.abs() + b.abs()).round() as i64;
    (side(x * cos, y * sin), side(x * sin, y * cos))
}
