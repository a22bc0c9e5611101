//! Bounding boxes of outlines made of lines and arcs.

/// A bounding box that grows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Extent {
    low: (f64, f64),
    high: (f64, f64),
    /// Where the outline has come to.
    at: Option<(f64, f64)>,
}

impl Default for Extent {
    fn default() -> Self {
        Self { low: (f64::INFINITY, f64::INFINITY), high: (f64::NEG_INFINITY, f64::NEG_INFINITY), at: None }
    }
}

impl Extent {
    /// Goes on to a point in a straight line.
    pub(crate) fn line_to(&mut self, x: f64, y: f64) {
        if x.is_finite() && y.is_finite() {
            self.low = (self.low.0.min(x), self.low.1.min(y));
            self.high = (self.high.0.max(x), self.high.1.max(y));
            self.at = Some((x, y));
        }
    }

    /// Goes on to a point round a centre.
    pub(crate) fn arc_to(&mut self, x: f64, y: f64, centre: (f64, f64), clockwise: bool) {
        let from = self.at.unwrap_or((x, y));
        let radius = (x - centre.0).hypot(y - centre.1);
        let angle = |p: (f64, f64)| (p.1 - centre.1).atan2(p.0 - centre.0);
        let (begin, end) = if clockwise { (angle((x, y)), angle(from)) } else { (angle(from), angle((x, y))) };
        let turn = std::f64::consts::TAU;
        let sweep = (end - begin).rem_euclid(turn);
        // A full circle ends where it begins.
        let sweep = if sweep < 1e-9 { turn } else { sweep };
        for quarter in 0..4 {
            let direction = f64::from(quarter) * turn / 4.0;
            if (direction - begin).rem_euclid(turn) <= sweep {
                self.line_to(centre.0 + radius * direction.cos(), centre.1 + radius * direction.sin());
            }
        }
        self.line_to(x, y);
    }

    /// Takes a rectangle round the origin in.
    pub(crate) fn around_origin(&mut self, width: f64, height: f64) {
        self.line_to(-width / 2.0, -height / 2.0);
        self.line_to(width / 2.0, height / 2.0);
    }

    /// Width and height; `None` while nothing was drawn.
    pub(crate) fn size(&self) -> Option<(f64, f64)> {
        self.at.is_some().then_some((self.high.0 - self.low.0, self.high.1 - self.low.1))
    }

    /// The lower left corner.
    pub(crate) fn corner(&self) -> (f64, f64) {
        self.low
    }

    /// The middle.
    pub(crate) fn middle(&self) -> (f64, f64) {
        ((self.low.0 + self.high.0) / 2.0, (self.low.1 + self.high.1) / 2.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_arc_reaches_beyond_its_ends() {
        let mut half = Extent::default();
        half.line_to(0.0, -1.0);
        half.arc_to(0.0, 1.0, (0.0, 0.0), false);
        assert_eq!(half.size().map(|s| (s.0.round(), s.1.round())), Some((1.0, 2.0)));
        let mut other = Extent::default();
        other.line_to(0.0, -1.0);
        other.arc_to(0.0, 1.0, (0.0, 0.0), true);
        assert!((other.corner().0 + 1.0).abs() < 1e-9, "clockwise it goes round the left");
        let mut whole = Extent::default();
        whole.line_to(2.0, 0.0);
        whole.arc_to(2.0, 0.0, (0.0, 0.0), false);
        assert_eq!(whole.size().map(|s| (s.0.round(), s.1.round())), Some((4.0, 4.0)));
    }
}
