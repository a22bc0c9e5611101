//! What every picture of a board has: a bar of a round length, and marks.

use crate::palette::INK;
use crate::scene::{Node, Paint, Role, Shape, Step};

/// A bar of a round length, about a sixth of `width` [mm], that begins at `left` and stands at `y`; `scale` is picture units
/// per mm.
pub(crate) fn scale_bar(left: f64, width: f64, scale: f64, y: f64) -> Vec<Node> {
    let aim = width / 6.0;
    let power = 10f64.powf(aim.log10().floor());
    let length = [5.0, 2.0, 1.0].into_iter().map(|k| k * power).find(|l| *l <= aim).unwrap_or(power);
    let (x0, x1) = (left, left + length * scale);
    let steps = vec![
        Step::Move(x0, y - 4.0),
        Step::Line(x0, y + 4.0),
        Step::Move(x0, y),
        Step::Line(x1, y),
        Step::Move(x1, y - 4.0),
        Step::Line(x1, y + 4.0),
    ];
    vec![
        Node::new(Shape::Path(steps), Paint::stroke(INK, 1.2)).role(Role::Ring),
        Node::text(x1 + 8.0, y + 4.0, 11.0, format!("{length} mm")).quiet(),
    ]
}

/// A mark as a ring with a dot; dashed when it was only assumed.
pub(crate) fn mark(x: f64, y: f64, assumed: bool, tip: &str) -> Vec<Node> {
    let outer = Paint { dashed: assumed, ..Paint::stroke(INK, 1.4) };
    vec![Node::circle(x, y, 5.5, outer).role(Role::Ring).tip(tip), Node::circle(x, y, 1.8, Paint::fill(INK)).role(Role::Ink).tip(tip)]
}
