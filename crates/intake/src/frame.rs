//! The board's frame: where its lower left corner is, how large it is, what lies off it.
//!
//! No list states the outline, so unless the engineer does, the board is the extent of the
//! bodies and a margin. Rows parked far off the board do not count.

use domain::Length;
use domain::part::{Certainty, Mount, Part};
use units::{Angle, Point};

/// Margin around the bodies when no size is stated [µm]: 3 mm, common practice for the
/// strip left free along conveyed edges, no source.
pub(crate) const MARGIN: i64 = 3_000;

/// Size and corner of the board in the coordinates of the files.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Frame {
    pub(crate) corner: Point,
    pub(crate) size: Point,
    /// Whether a file or the engineer states it.
    pub(crate) is_stated: bool,
}

impl Frame {
    /// Whether a place lies on the board, or hangs over its edge.
    pub(crate) fn holds(&self, at: Point) -> bool {
        let within = |at: i64, from: i64, size: i64| (from - OVERHANG..=from + size + OVERHANG).contains(&at);
        within(at.x.0, self.corner.x.0, self.size.x.0) && within(at.y.0, self.corner.y.0, self.size.y.0)
    }
}

/// Centres of connectors stand beyond the edge by so much at most [µm]; common practice, no source.
const OVERHANG: i64 = 10_000;

/// Half the sides of a body as it lies [µm]. Nothing for a guessed one, since a generous guess
/// at the edge would make the board larger than it is, nor for a through-hole part: connectors
/// hang over the edge. Of a size that is not certain the shorter side counts both ways, since
/// which way the longer one lies is less sure still.
pub(crate) fn half_body(part: &Part, rotation: Angle) -> (i64, i64) {
    let sure = part.body_x_um.certainty.min(part.body_y_um.certainty);
    if sure == Certainty::Guess || part.mount.value != Mount::Smt {
        return (0, 0);
    }
    if sure < Certainty::Certain {
        let half = part.short_side().0 / 2;
        return (half, half);
    }
    let (x, y) = (part.body_x_um.value.0 as f64 / 2.0, part.body_y_um.value.0 as f64 / 2.0);
    let (sin, cos) = rotation.to_deg().to_radians().sin_cos();
    ((x * cos.abs() + y * sin.abs()).round() as i64, (x * sin.abs() + y * cos.abs()).round() as i64)
}

/// The frame around boxes of (centre, half width, half depth); a margin square for none.
pub(crate) fn around(boxes: &[(Point, (i64, i64))]) -> Frame {
    let mut low = Point::from_um(i64::MAX, i64::MAX);
    let mut high = Point::from_um(i64::MIN, i64::MIN);
    for (at, (half_x, half_y)) in boxes {
        low = Point { x: low.x.min(Length(at.x.0 - half_x)), y: low.y.min(Length(at.y.0 - half_y)) };
        high = Point { x: high.x.max(Length(at.x.0 + half_x)), y: high.y.max(Length(at.y.0 + half_y)) };
    }
    if boxes.is_empty() {
        (low, high) = (Point::default(), Point::default());
    }
    let margin = Point::from_um(MARGIN, MARGIN);
    Frame { corner: low - margin, size: high - low + margin + margin, is_stated: false }
}

/// Which of the points lie far off the rest: beyond a gap wider than 25 mm and than 30 % of
/// what is left, with at most 1 % of the rows (or three) behind it.
pub(crate) fn parked(points: &[(i64, i64)]) -> Vec<bool> {
    let mut off = vec![false; points.len()];
    for pick in [|p: &(i64, i64)| p.0, |p: &(i64, i64)| p.1] {
        let mut order: Vec<usize> = (0..points.len()).collect();
        order.sort_by_key(|i| pick(&points[*i]));
        let values: Vec<i64> = order.iter().map(|i| pick(&points[*i])).collect();
        let (low, high) = core(&values);
        for (place, index) in order.into_iter().enumerate() {
            off[index] |= place < low || place >= high;
        }
    }
    off
}

/// Bounds of the main body of sorted values, as places.
fn core(values: &[i64]) -> (usize, usize) {
    const GAP: i64 = 25_000;
    let most = (values.len() / 100).max(3);
    let (mut low, mut high) = (0, values.len());
    // Few rows are no body to lie off from.
    if values.len() < 8 {
        return (low, high);
    }
    let wide = |gap: i64, span: i64| gap > GAP && gap * 10 > span * 3;
    for cut in 1..=most.min(values.len() / 4) {
        if wide(values[cut] - values[cut - 1], values[values.len() - 1 - most.min(values.len() / 4)] - values[cut]) {
            low = cut;
        }
        let top = values.len() - cut;
        if wide(values[top] - values[top - 1], values[top - 1] - values[low]) {
            high = top;
        }
    }
    (low, high)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parked_rows_lie_off_the_rest() {
        let mut points: Vec<(i64, i64)> = (0..200).map(|i| (i * 900, (i * 7_919) % 100_000)).collect();
        points.extend([(-100_000, -100_000), (-100_000, -100_000)]);
        let off = parked(&points);
        assert_eq!(off.iter().filter(|o| **o).count(), 2);
        assert!(off[200] && off[201]);
        // A long strip has gaps everywhere and no parked rows.
        let strip: Vec<(i64, i64)> = (0..25).map(|i| (i * 15_000, 0)).collect();
        assert!(parked(&strip).iter().all(|o| !o));
    }
}
