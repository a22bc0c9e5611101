//! What must come before what, as far as the bound uses it (`docs/planning.md` §3.3): dots before their part,
//! the engineer's orders, and what geometry forces under the rule `clearance`.

use domain::job::{Job, TaskId};
use domain::line::Line;
use domain::rules::{OrderRule, Rules, matches};
use std::collections::BTreeSet;

/// Tells pairs of items (first, then), some more than once; items are the `placed` tasks, then the `dots` with their tasks.
///
/// Of an order of the engineer every task is told with up to two of each part that it stands in a pair with.
pub(super) fn pairs(
    job: &Job<'_>,
    line: &Line,
    rules: &Rules,
    placed: &[TaskId],
    dots: &[(usize, TaskId)],
    mut tell: impl FnMut(u32, u32),
) {
    let mut item = vec![None; job.tasks.len()];
    placed.iter().enumerate().for_each(|(i, t)| item[t.index()] = Some(i as u32));
    dots.iter().filter_map(|(i, t)| Some((*i as u32, item[t.index()]?))).for_each(|(a, b)| tell(a, b));
    let answers = |patterns: &[String]| -> BTreeSet<u32> {
        let answering = |t: &u32| patterns.iter().any(|p| matches(p, job.reference(TaskId(*t))));
        (0..job.tasks.len() as u32).filter(|t| item[*t as usize].is_some()).filter(answering).collect()
    };
    let stated: Vec<(BTreeSet<u32>, BTreeSet<u32>)> = rules.order.iter().map(|o| (answers(&o.first), answers(&o.then))).collect();
    let mut tell_tasks = |a: u32, b: u32| {
        if let (Some(a), Some(b)) = (item[a as usize], item[b as usize]) {
            tell(a, b);
        }
    };
    for (first, then) in &stated {
        let (some_first, some_then) = (two_of_each_part(job, first), two_of_each_part(job, then));
        first.iter().for_each(|a| some_then.iter().filter(|b| a != *b).for_each(|b| tell_tasks(*a, *b)));
        then.iter().for_each(|b| some_first.iter().filter(|a| b != *a).for_each(|a| tell_tasks(*a, *b)));
    }
    if rules.order_rule() == OrderRule::Clearance {
        let overruled = |a: u32, b: u32| stated.iter().any(|(first, then)| first.contains(&b) && then.contains(&a));
        geometric(job, line).into_iter().filter(|(a, b)| !overruled(*a, *b)).for_each(|(a, b)| tell_tasks(a, b));
    }
}

/// Tasks of one part can be done by the same heads, so that two of each tell all, also of pairs among themselves.
fn two_of_each_part(job: &Job<'_>, tasks: &BTreeSet<u32>) -> Vec<u32> {
    let mut seen = vec![0; job.product.parts.len()];
    let first_two = |t: &&u32| {
        let n = &mut seen[job.tasks[**t as usize].part.index()];
        *n += 1;
        *n <= 2
    };
    tasks.iter().filter(first_two).copied().collect()
}

/// A body as placed. Centre and sides are doubled [half µm], so that odd sides stay exact.
struct Body {
    x: i64,
    y: i64,
    wide: i64,
    deep: i64,
    height: i64,
    shield: bool,
}

impl Body {
    fn new(job: &Job<'_>, t: u32) -> Self {
        let (task, part) = (&job.tasks[t as usize], job.part(TaskId(t)));
        let (x, y) = (part.body_x_um.value.0, part.body_y_um.value.0);
        let (wide, deep) = match task.rotation.normalised().0 {
            0 | 180_000 => (x, y),
            90_000 | 270_000 => (y, x),
            mdeg => {
                let (sin, cos) = (mdeg as f64 / 1000.0).to_radians().sin_cos();
                let side = |a: f64, b: f64| (a.abs() + b.abs()).round() as i64;
                (side(x as f64 * cos, y as f64 * sin), side(x as f64 * sin, y as f64 * cos))
            }
        };
        Self { x: 2 * task.at.x.0, y: 2 * task.at.y.0, wide, deep, height: part.height_um.value.0, shield: part.shield.value }
    }

    fn covers(&self, other: &Self) -> bool {
        self.shield && (self.x - other.x).abs() <= self.wide && (self.y - other.y).abs() <= self.deep
    }
}

/// All pairs of tasks that geometry orders, over all boards of the panel.
fn geometric(job: &Job<'_>, line: &Line) -> Vec<(u32, u32)> {
    let reach = 2 * line.clearance.reach.0.0;
    let per_image = job.tasks.iter().take_while(|t| t.image == 0).count() as u32;
    let bodies: Vec<Body> = (0..per_image).map(|t| Body::new(job, t)).collect();
    let mut by_x: Vec<u32> = (0..per_image).collect();
    by_x.sort_by_key(|i| (bodies[*i as usize].x - bodies[*i as usize].wide, *i));
    let mut found = Vec::new();
    for (k, &a) in by_x.iter().enumerate() {
        let one = &bodies[a as usize];
        let right = one.x + one.wide + reach;
        for &b in by_x[k + 1..].iter().take_while(|b| bodies[**b as usize].x - bodies[**b as usize].wide <= right) {
            let other = &bodies[b as usize];
            let (over, under) = (one.covers(other), other.covers(one));
            found.extend(over.then_some((b, a)));
            found.extend(under.then_some((a, b)));
            let gap = |a: i64, b: i64, sides: i64| i128::from(((a - b).abs() - sides).max(0));
            let (x, y) = (gap(one.x, other.x, one.wide + other.wide), gap(one.y, other.y, one.deep + other.deep));
            let near = x * x + y * y < i128::from(reach) * i128::from(reach);
            if !over && !under && near && (one.height - other.height).abs() > line.clearance.height_step.0.0 {
                found.push(if one.height < other.height { (a, b) } else { (b, a) });
            }
        }
    }
    (0..job.panel.images()).flat_map(|i| found.iter().map(move |(a, b)| (i * per_image + a, i * per_image + b))).collect()
}
