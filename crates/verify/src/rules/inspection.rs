//! Areas to be looked at: the views cover each area on every board, and they do so before
//! anything is placed on it, in both directions of alternating passes.

use crate::context::Context;
use crate::sequence::{Moment, View};
use crate::verdict::Log;
use diag::codes::verify as code;
use domain::rules::Inspect;
use units::{Length, Point};

pub(crate) fn check(ctx: &Context<'_>, log: &mut Log) {
    let panel = &ctx.job.panel;
    for (k, area) in ctx.plan.rules.inspect.iter().enumerate() {
        for image in 0..panel.images() {
            check_area(ctx, &Area::of(area, panel.corner(image)), &format!("area {} `{}` of board {}", k + 1, area.name, image + 1), log);
        }
    }
}

/// A rectangle: lower left and upper right corner.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Area {
    low: Point,
    high: Point,
}

impl Area {
    pub(crate) fn of(area: &Inspect, shift: Point) -> Self {
        let low = Point { x: *area.x, y: *area.y } + shift;
        Self { low, high: low + Point { x: *area.width, y: *area.depth } }
    }

    pub(crate) fn holds(&self, p: Point) -> bool {
        (self.low.x..=self.high.x).contains(&p.x) && (self.low.y..=self.high.y).contains(&p.y)
    }

    /// Whether the rectangles together cover this one.
    fn is_covered_by(&self, views: &[Self]) -> bool {
        let mut cuts: Vec<Length> =
            views.iter().flat_map(|v| [v.low.x, v.high.x]).filter(|x| self.low.x < *x && *x < self.high.x).collect();
        cuts.extend([self.low.x, self.high.x]);
        cuts.sort_unstable();
        // A view's edges are cuts, so over each strip between cuts a view lies wholly or not at all.
        // An area without width is one strip of no width.
        let strips = cuts.windows(2).filter(|w| w[0] < w[1] || self.low.x == self.high.x);
        let mut rows: Vec<(Length, Length)> = Vec::new();
        for strip in strips {
            rows.clear();
            rows.extend(views.iter().filter(|v| v.low.x <= strip[0] && strip[1] <= v.high.x).map(|v| (v.low.y, v.high.y)));
            rows.sort_unstable();
            let mut reached = self.low.y;
            let mut touched = false;
            for (low, high) in &rows {
                if *low > reached {
                    break;
                }
                touched |= *high >= reached;
                reached = reached.max(*high);
            }
            if !touched || reached < self.high.y {
                return false;
            }
        }
        true
    }
}

fn check_area(ctx: &Context<'_>, area: &Area, name: &str, log: &mut Log) {
    let views: Vec<(Area, &View)> = ctx.sequence.views.iter().filter_map(|v| Some((seen(ctx, v)?, v))).collect();
    let near: Vec<&(Area, &View)> = views.iter().filter(|(v, _)| overlaps(v, area)).collect();
    let all: Vec<Area> = near.iter().map(|(v, _)| *v).collect();
    if !area.is_covered_by(&all) {
        log.add(code::INSPECTION, format!("{name} is not covered by the views"));
        return;
    }
    for direction in 0..2 {
        let inside = |(i, t): (usize, &domain::job::Task)| {
            let when = ctx.sequence.placed[i]?;
            area.holds(t.at).then(|| when.both()[direction])
        };
        let Some(first) = ctx.job.tasks.iter().enumerate().filter_map(inside).min() else { return };
        let before = |when: Moment| when < first;
        let early: Vec<Area> = near.iter().filter(|(_, v)| before(v.when.both()[direction])).map(|(v, _)| *v).collect();
        if !area.is_covered_by(&early) {
            log.add(code::ORDER_INSPECTION, format!("{name} is placed on before it is looked at"));
            return;
        }
    }
}

/// What a view sees; nothing at a station that cannot look.
fn seen(ctx: &Context<'_>, view: &View) -> Option<Area> {
    let field = ctx.station(view.station).inspection.as_ref()?.field;
    // A field of an odd number of micrometres reaches half of one further than its whole half.
    let half = Point { x: Length((field.x.0.0 + 1) / 2), y: Length((field.y.0.0 + 1) / 2) };
    Some(Area { low: view.at - half, high: view.at + half })
}

fn overlaps(a: &Area, b: &Area) -> bool {
    a.low.x <= b.high.x && b.low.x <= a.high.x && a.low.y <= b.high.y && b.low.y <= a.high.y
}
