//! What geometry forces: low parts before tall neighbours within a nozzle's reach, covered parts before
//! their shield.

use domain::job::{Job, TaskId};
use domain::line::Line;
use domain::product::PartId;
use domain::rules::OrderRule;

/// A body as placed: its centre and its sides, all doubled [half µm], so that odd sides stay exact.
struct Body {
    x: i64,
    y: i64,
    wide: i64,
    deep: i64,
}

/// Sides of a body as placed [µm], which are its half sides doubled; for odd angles those of its bounding
/// rectangle.
fn sides(job: &Job<'_>, part: PartId, rotation: units::Angle) -> (i64, i64) {
    let part = &job.product.parts[part.index()];
    let (x, y) = (part.body_x_um.value.0, part.body_y_um.value.0);
    match rotation.normalised().0 {
        0 | 180_000 => (x, y),
        90_000 | 270_000 => (y, x),
        mdeg => {
            let (sin, cos) = (mdeg as f64 / 1000.0).to_radians().sin_cos();
            let turned = |a: i64, b: i64| ((a as f64 * cos).abs() + (b as f64 * sin).abs()).ceil() as i64;
            (turned(x, y), turned(y, x))
        }
    }
}

/// Pairs (first, then) of tasks over all images, by index.
pub(super) fn pairs(job: &Job<'_>, line: &Line, rule: OrderRule) -> Vec<(usize, usize)> {
    let reach = 2 * line.clearance.reach.0.0;
    // Images are alike, so pairs are found on the first and repeated.
    let per_image = job.tasks.iter().take_while(|t| t.image == 0).count();
    let body = |t: &domain::job::Task| {
        let (wide, deep) = sides(job, t.part, t.rotation);
        Body { x: 2 * t.at.x.0, y: 2 * t.at.y.0, wide, deep }
    };
    let bodies: Vec<Body> = job.tasks[..per_image].iter().map(body).collect();
    let mut by_x: Vec<usize> = (0..per_image).collect();
    by_x.sort_by_key(|i| (bodies[*i].x - bodies[*i].wide, *i));
    let mut pairs = Vec::new();
    for (k, &a) in by_x.iter().enumerate() {
        let right = bodies[a].x + bodies[a].wide + reach;
        for &b in by_x[k + 1..].iter().take_while(|b| bodies[**b].x - bodies[**b].wide <= right) {
            pairs.extend(pair(job, line, rule, &bodies, a, b));
        }
    }
    let images = job.panel.images() as usize;
    (0..images).flat_map(|i| pairs.iter().map(move |(a, b)| (i * per_image + a, i * per_image + b))).collect()
}

/// Which of two neighbours comes first, if it matters.
fn pair(job: &Job<'_>, line: &Line, rule: OrderRule, bodies: &[Body], a: usize, b: usize) -> Option<(usize, usize)> {
    let (pa, pb) = (job.part(TaskId(a as u32)), job.part(TaskId(b as u32)));
    let (dx, dy) = ((bodies[a].x - bodies[b].x).abs(), (bodies[a].y - bodies[b].y).abs());
    let covers = |over: usize, part: &domain::part::Part| part.shield.value && dx <= bodies[over].wide && dy <= bodies[over].deep;
    match (covers(a, pa), covers(b, pb)) {
        (true, false) => return Some((b, a)),
        (false, true) => return Some((a, b)),
        // Two shields over each other's middle: no order keeps both.
        (true, true) => return None,
        (false, false) => {}
    }
    if rule == OrderRule::LowBeforeTall {
        return None;
    }
    let gap_x = i128::from((dx - bodies[a].wide - bodies[b].wide).max(0));
    let gap_y = i128::from((dy - bodies[a].deep - bodies[b].deep).max(0));
    let reach = i128::from(2 * line.clearance.reach.0.0);
    let step = pa.height_um.value.0 - pb.height_um.value.0;
    if gap_x * gap_x + gap_y * gap_y < reach * reach && step.abs() > line.clearance.height_step.0.0 {
        return Some(if step > 0 { (b, a) } else { (a, b) });
    }
    None
}
