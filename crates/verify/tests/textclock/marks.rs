//! §1 and §5 of the page: where boards lie on the panel, and the marks that are looked at.

use domain::job::Turned;
use domain::plan::Plan;
use domain::product::Side;

/// Whether an image lies turned by half a turn.
pub fn is_turned(plan: &Plan, image: i64) -> bool {
    let (column, row) = (image % i64::from(plan.panel.columns), image / i64::from(plan.panel.columns));
    let odd = match plan.panel.turned {
        Turned::None => 0,
        Turned::Columns => column,
        Turned::Rows => row,
        Turned::Both => column + row,
    };
    odd % 2 == 1
}

/// A point of a board as placed on an image of the panel.
pub fn on_image(plan: &Plan, image: i64, (x, y): (i64, i64)) -> (i64, i64) {
    let (column, row) = (image % i64::from(plan.panel.columns), image / i64::from(plan.panel.columns));
    let (x, y) = if is_turned(plan, image) { (plan.product.width_um.0 - x, plan.product.depth_um.0 - y) } else { (x, y) };
    let p = &plan.panel;
    (p.rail_x_um.0 + column * p.pitch_x_um.0 + x, p.rail_y_um.0 + row * p.pitch_y_um.0 + y)
}

/// The panel's own marks or those of its boards; then, row by row and back and forth, the spots that tell bad boards.
pub fn of(plan: &Plan) -> Vec<(i64, i64)> {
    let panel = &plan.panel;
    let (columns, rows) = (i64::from(panel.columns), i64::from(panel.rows));
    let width = plan.product.width_um.0 + panel.pitch_x_um.0 * (columns - 1) + 2 * panel.rail_x_um.0;
    let depth = plan.product.depth_um.0 + panel.pitch_y_um.0 * (rows - 1) + 2 * panel.rail_y_um.0;
    let mut all = match panel.marks {
        Some(m) => vec![(m.x.0, m.y.0), (width - m.x.0, m.y.0), (width - m.x.0, depth - m.y.0)],
        None => of_boards(plan, width, depth),
    };
    if let Some(spot) = panel.bad_mark {
        for row in 0..rows {
            let mut images: Vec<i64> = (0..columns).map(|column| row * columns + column).collect();
            if row % 2 == 1 {
                images.reverse();
            }
            all.extend(images.into_iter().map(|i| on_image(plan, i, (spot.x.0, spot.y.0))));
        }
    }
    all
}

/// The two of the side that lie farthest apart over the panel, with the first other mark between
/// them; two assumed ones if the product names fewer than two.
fn of_boards(plan: &Plan, width: i64, depth: i64) -> Vec<(i64, i64)> {
    let product = &plan.product;
    let last = i64::from(plan.panel.columns * plan.panel.rows) - 1;
    let over = |x: i64| if plan.side == Side::Bottom { product.width_um.0 - x } else { x };
    let marks: Vec<(i64, i64)> = product.fiducials.iter().filter(|f| f.side == plan.side).map(|f| (over(f.at.x.0), f.at.y.0)).collect();
    if marks.len() < 2 {
        let (x, y) = ((width / 2).min(6_000), (depth / 2).min(6_000));
        return vec![(x, y), (width - x, depth - y)];
    }
    let mut farthest = (0, 0, -1);
    for (i, a) in marks.iter().enumerate() {
        for (k, b) in marks.iter().enumerate() {
            let (a, b) = (on_image(plan, 0, *a), on_image(plan, last, *b));
            let (dx, dy) = (b.0 - a.0, b.1 - a.1);
            if dx * dx + dy * dy > farthest.2 {
                farthest = (i, k, dx * dx + dy * dy);
            }
        }
    }
    let mut chosen = vec![on_image(plan, 0, marks[farthest.0])];
    chosen.extend((0..marks.len()).find(|m| *m != farthest.0 && *m != farthest.1).map(|m| on_image(plan, 0, marks[m])));
    chosen.push(on_image(plan, last, marks[farthest.1]));
    chosen
}
