//! §5 of the page: the marks that are looked at.

use domain::plan::Plan;
use domain::product::Side;

/// The two of the side that lie farthest apart over the panel, with the first other mark between
/// them; two assumed ones if the product names fewer than two.
pub fn of(plan: &Plan) -> Vec<(i64, i64)> {
    let product = &plan.product;
    let last = (plan.panel.pitch_x_um.0 * i64::from(plan.panel.columns - 1), plan.panel.pitch_y_um.0 * i64::from(plan.panel.rows - 1));
    let turned = |x: i64| if plan.side == Side::Bottom { product.width_um.0 - x } else { x };
    let marks: Vec<(i64, i64)> = product.fiducials.iter().filter(|f| f.side == plan.side).map(|f| (turned(f.at.x.0), f.at.y.0)).collect();
    if marks.len() < 2 {
        let (width, depth) = (product.width_um.0 + last.0, product.depth_um.0 + last.1);
        let (x, y) = ((width / 2).min(6_000), (depth / 2).min(6_000));
        return vec![(x, y), (width - x, depth - y)];
    }
    let mut farthest = (0, 0, -1);
    for (i, a) in marks.iter().enumerate() {
        for (k, b) in marks.iter().enumerate() {
            let (dx, dy) = (b.0 + last.0 - a.0, b.1 + last.1 - a.1);
            if dx * dx + dy * dy > farthest.2 {
                farthest = (i, k, dx * dx + dy * dy);
            }
        }
    }
    let mut chosen = vec![marks[farthest.0]];
    chosen.extend((0..marks.len()).find(|m| *m != farthest.0 && *m != farthest.1).map(|m| marks[m]));
    chosen.push((marks[farthest.1].0 + last.0, marks[farthest.1].1 + last.1));
    chosen
}
