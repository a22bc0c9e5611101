//! Whether the X of the bottom side is negated.
//!
//! The sign alone proves nothing: an origin at the right edge makes all X negative. What
//! tells is that the two sides of one board lie over each other, so bottom parts that lie
//! beside the top parts, and over them once X is negated, were mirrored about X = 0.

use domain::product::Side;

/// What the coordinates say about mirroring.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Verdict {
    /// Both sides already lie over each other, or there is no bottom.
    AsSeenFromTop,
    /// They do so only when the bottom's X is negated.
    Negated,
    /// There is no top side to compare with, and all X are negative.
    Unknown,
}

/// Judges by the X of each side [µm].
pub(crate) fn judge(points: &[(i64, Side)]) -> Verdict {
    let range = |side: Side| {
        let mut xs: Vec<i64> = points.iter().filter(|p| p.1 == side).map(|p| p.0).collect();
        xs.sort_unstable();
        // A few rows parked off the board must not widen the range.
        let off = xs.len() / 25;
        Some((*xs.get(off)?, *xs.get(xs.len().checked_sub(1 + off)?)?))
    };
    match (range(Side::Top), range(Side::Bottom)) {
        (_, None) => Verdict::AsSeenFromTop,
        (None, Some((_, high))) => {
            if high < 0 {
                Verdict::Unknown
            } else {
                Verdict::AsSeenFromTop
            }
        }
        (Some(top), Some(bottom)) => {
            let as_is = shared(top, bottom);
            let negated = shared(top, (-bottom.1, -bottom.0));
            if as_is < 0.2 && negated > 0.6 { Verdict::Negated } else { Verdict::AsSeenFromTop }
        }
    }
}

/// Shared stretch of two ranges, as a part of the shorter.
fn shared(a: (i64, i64), b: (i64, i64)) -> f64 {
    let overlap = a.1.min(b.1) - a.0.max(b.0);
    let shorter = (a.1 - a.0).min(b.1 - b.0);
    // A side of one part only is a point: it lies inside the other range or not.
    if shorter == 0 { if overlap >= 0 { 1.0 } else { 0.0 } } else { overlap as f64 / shorter as f64 }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn points(top: &[i64], bottom: &[i64]) -> Vec<(i64, Side)> {
        top.iter().map(|x| (*x, Side::Top)).chain(bottom.iter().map(|x| (*x, Side::Bottom))).collect()
    }

    #[test]
    fn the_sign_alone_proves_nothing() {
        assert_eq!(judge(&points(&[-38, -20, -1], &[-36, -3])), Verdict::AsSeenFromTop);
        assert_eq!(judge(&points(&[5, 20, 46], &[-45, -30, -5])), Verdict::Negated);
        assert_eq!(judge(&points(&[5, 20, 46], &[-20])), Verdict::Negated);
        assert_eq!(judge(&points(&[-20, 20], &[-45, -30])), Verdict::AsSeenFromTop);
        assert_eq!(judge(&points(&[], &[-45, -30])), Verdict::Unknown);
        assert_eq!(judge(&points(&[1, 2], &[])), Verdict::AsSeenFromTop);
    }
}
