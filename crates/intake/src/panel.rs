//! Panels listed as one board: every reference again for every board, without a number for the board.

use std::collections::BTreeSet;

/// Boards in a grid.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Grid {
    pub(crate) columns: usize,
    pub(crate) rows: usize,
    /// From board to board along X and Y [µm]; 0 where there is only one.
    pub(crate) pitch: (i64, i64),
}

/// Places nearer than this are the same [µm].
const SAME: i64 = 60;

/// The grid that the places of most references make, each given with all its places [µm]; `None` where copies are not only
/// shifted, such as turned boards.
pub(crate) fn grid(places: &[Vec<(i64, i64)>]) -> Option<Grid> {
    let steps = shifts(places.first()?);
    let of_all = |p: &&Vec<(i64, i64)>| p.len() == steps.len() && alike(&shifts(p), &steps);
    if places.iter().filter(of_all).count() * 10 < places.len() * 9 {
        return None;
    }
    let axis = |pick: fn(&(i64, i64)) -> i64| {
        let mut distinct: Vec<i64> = Vec::new();
        let sorted: BTreeSet<i64> = steps.iter().map(pick).collect();
        sorted.into_iter().for_each(|v| {
            if distinct.last().is_none_or(|l| v - l > SAME) {
                distinct.push(v)
            }
        });
        let pitch = distinct.get(1).map_or(0, |second| second - distinct[0]);
        let even = distinct.windows(2).all(|w| (w[1] - w[0] - pitch).abs() <= SAME);
        even.then_some((distinct.len(), pitch))
    };
    let ((columns, x), (rows, y)) = (axis(|p| p.0)?, axis(|p| p.1)?);
    (columns * rows == steps.len()).then_some(Grid { columns, rows, pitch: (x, y) })
}

/// Places from the lowest, leftmost one.
fn shifts(places: &[(i64, i64)]) -> Vec<(i64, i64)> {
    let low = places.iter().map(|p| p.0).min().zip(places.iter().map(|p| p.1).min()).unwrap_or_default();
    let mut shifts: Vec<(i64, i64)> = places.iter().map(|p| (p.0 - low.0, p.1 - low.1)).collect();
    shifts.sort_unstable();
    shifts
}

fn alike(a: &[(i64, i64)], b: &[(i64, i64)]) -> bool {
    a.iter().all(|p| b.iter().any(|q| (p.0 - q.0).abs() <= SAME && (p.1 - q.1).abs() <= SAME))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shifted_copies_make_a_grid_and_turned_ones_do_not() {
        let copies = |x: i64, y: i64| -> Vec<(i64, i64)> { (0..6).map(|k| (x + k % 3 * 40_000, y + k / 3 * 25_400)).collect() };
        let places: Vec<_> = (0..10).map(|k| copies(k * 1_700, k * 900 % 5_000)).collect();
        assert_eq!(grid(&places), Some(Grid { columns: 3, rows: 2, pitch: (40_000, 25_400) }));
        let turned: Vec<Vec<(i64, i64)>> = (0..10).map(|k| vec![(k * 1_700, k * 900), (90_000 - k * 1_700, 60_000 - k * 900)]).collect();
        assert_eq!(grid(&turned), None);
    }
}
