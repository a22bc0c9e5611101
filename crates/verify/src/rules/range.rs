//! Every figure is one a placement line can have, so that no sum of the clock or of the bound can
//! leave 64 bits (128 for the bound's weights) and no list is too long to lay out.
//!
//! The limits are far beyond any real line; they are chosen by the arithmetic, not by the trade.

use crate::verdict::Log;
use diag::codes::verify as code;
use domain::job::Turned;
use domain::line::{Axis, Head, Line, Station};
use domain::part::Part;
use domain::plan::{Plan, Work};
use domain::product::Status;
use units::{Length, Point, Text, Time};

/// Lengths and coordinates: 10 m [µm].
const LENGTH: i64 = 10_000_000;
/// Times on a sheet: an hour [µs].
const TIME: i64 = 3_600_000_000;
/// A time that the clock multiplies up: eleven days [µs].
const LONG: i128 = 1_000_000_000_000;
/// Slowest axis: 1 mm/s, 10 mm/s², 0.1 m/s³.
const SLOWEST: (i64, i64, i64) = (1_000, 10_000, 100_000);
/// Quickest axis: 10,000 m/s². Up to there two ways take no less than the one way over both, rounding included,
/// since the ramps of one of them are longer than the nanosecond that rounding up forgives.
const QUICKEST: i64 = 10_000_000_000;
/// Tasks of a panel.
const TASKS: u64 = 100_000;
/// Picks, placements, dots and views of a plan.
const STEPS: usize = 400_000;
/// Weights of a certificate.
const WEIGHT: u64 = 1 << 40;
/// Largest price of a place on a trip [ns].
const PRICE: u64 = 100_000_000_000;

/// Collects figures out of range.
struct Range<'a>(&'a mut Log);

impl Range<'_> {
    fn within(&mut self, what: impl Fn() -> String, value: i64, least: i64, most: i64) {
        if !(least..=most).contains(&value) {
            self.0.add(code::RANGE, format!("{}: {value} is outside {least} to {most}", what()));
        }
    }

    fn size(&mut self, what: impl Fn() -> String, value: Length) {
        self.within(what, value.0, 0, LENGTH);
    }

    fn point(&mut self, what: impl Fn() -> String, at: Point) {
        self.within(&what, at.x.0, -LENGTH, LENGTH);
        self.within(&what, at.y.0, -LENGTH, LENGTH);
    }

    fn time(&mut self, what: impl Fn() -> String, value: Text<Time>) {
        self.within(what, value.0.0, 0, TIME);
    }

    fn product_of(&mut self, what: impl Fn() -> String, factors: &[i64]) {
        let product = factors.iter().fold(1i128, |p, f| p.saturating_mul((*f).into()));
        if product > LONG {
            self.0.add(code::RANGE, format!("{}: {product} us is more than {LONG}", what()));
        }
    }
}

pub(crate) fn check(plan: &Plan, log: &mut Log) {
    // Only figures of a sound sheet are looked at; an unsound one has been refused already.
    if !log.is_empty() {
        return;
    }
    let mut range = Range(log);
    product(plan, &mut range);
    line(&plan.line, &mut range);
    for (place, i) in plan.rules.inspect.iter().enumerate() {
        let what = || format!("inspection {}", place + 1);
        range.point(what, Point { x: *i.x, y: *i.y });
        range.size(what, *i.width);
        range.size(what, *i.depth);
    }
    programs(plan, &mut range);
    if range.0.is_empty() {
        multiplied(plan, &mut range);
    }
}

fn product(plan: &Plan, range: &mut Range<'_>) {
    let p = &plan.product;
    range.size(|| "width of the board".to_owned(), p.width_um);
    range.size(|| "depth of the board".to_owned(), p.depth_um);
    for part in &p.parts {
        check_part(part, range);
    }
    for row in &p.placements {
        range.point(|| format!("placement {}", row.reference), row.at);
        let known = row.part.is_none_or(|id| id.index() < p.parts.len());
        if !known || (row.status == Status::Fitted && row.part.is_none()) {
            range.0.add(code::REFERENCE, format!("placement {} has no part of the product", row.reference));
        }
    }
    for f in &p.fiducials {
        range.point(|| format!("fiducial {}", f.reference), f.at);
    }
    panel(plan, range);
}

fn panel(plan: &Plan, range: &mut Range<'_>) {
    let panel = &plan.panel;
    let images = u64::from(panel.columns) * u64::from(panel.rows);
    if images == 0 || images > 10_000 {
        range.0.add(code::PRODUCT, format!("a panel of {} x {} boards", panel.columns, panel.rows));
        return;
    }
    if panel.turned != Turned::None && !plan.rules.inspect.is_empty() {
        range.0.add(code::PRODUCT, "areas to be looked at on a panel with turned boards".to_owned());
    }
    for at in [panel.marks, panel.bad_mark].into_iter().flatten() {
        range.point(|| "mark of the panel".to_owned(), at);
    }
    let sides = [
        (panel.columns, panel.pitch_x_um, plan.product.width_um, panel.rail_x_um),
        (panel.rows, panel.pitch_y_um, plan.product.depth_um, panel.rail_y_um),
    ];
    for (count, pitch, board, rail) in sides {
        range.size(|| "pitch of the panel".to_owned(), pitch);
        range.size(|| "rail of the panel".to_owned(), rail);
        let extent = i128::from(pitch.0) * i128::from(count - 1) + i128::from(board.0) + 2 * i128::from(rail.0);
        range.size(|| "size of the panel".to_owned(), Length(i64::try_from(extent).unwrap_or(i64::MAX)));
    }
    let tasks = images * plan.product.fitted_on(plan.side) as u64;
    if tasks > TASKS {
        range.0.add(code::RANGE, format!("a panel of {tasks} placements, at most {TASKS} are checked"));
    }
}

fn check_part(part: &Part, range: &mut Range<'_>) {
    let figures = [
        part.body_x_um.value,
        part.body_y_um.value,
        part.height_um.value,
        part.tape_width_um.value,
        part.tape_pitch_um.value,
        part.tray_height_um.value,
        part.accuracy_um.value,
    ];
    for f in figures {
        range.size(|| format!("a length of part `{}`", part.number), f);
    }
    range.within(|| format!("speed of part `{}`", part.number), part.speed.value.0.into(), 1, 100);
}

fn line(line: &Line, range: &mut Range<'_>) {
    range.size(|| "clearance.reach".to_owned(), *line.clearance.reach);
    range.size(|| "clearance.height_step".to_owned(), *line.clearance.height_step);
    for f in &line.feeder {
        range.time(|| format!("advance of feeder `{}`", f.name), f.advance);
        range.size(|| format!("advance_step of feeder `{}`", f.name), *f.advance_step);
    }
    for e in &line.equipment {
        range.time(|| format!("equipment `{}`", e.name), e.time);
    }
    for s in &line.station {
        station(s, range);
    }
}

fn station(s: &Station, range: &mut Range<'_>) {
    let what = || format!("station `{}`", s.name);
    for t in [s.transfer, s.clamp, s.settle_pick, s.settle_place, s.fiducial] {
        range.time(what, t);
    }
    axis(what, &s.axes.x, range);
    axis(what, &s.axes.y, range);
    for h in &s.head {
        head(|| format!("station `{}`, head `{}`", s.name, h.name), h, range);
    }
    if let Some(swap) = &s.head_swap {
        range.time(what, swap.time);
        range.point(what, swap.at.point());
    }
    if let Some(rack) = &s.nozzle_rack {
        range.time(what, rack.change);
        range.point(what, rack.at.point());
    }
    if let Some(i) = &s.inspection {
        range.time(what, i.time);
        range.size(what, *i.field.x);
        range.size(what, *i.field.y);
    }
    if let Some(t) = &s.turret {
        axis(what, &t.carriage, range);
    }
    for b in &s.bank {
        range.point(what, b.first.point());
        range.within(what, b.pitch.0.0.saturating_mul(b.slots.into()), 0, LENGTH);
    }
    for t in &s.tray {
        range.point(what, t.at.point());
        range.time(what, t.change);
    }
}

fn axis(what: impl Fn() -> String + Copy, axis: &Axis, range: &mut Range<'_>) {
    range.within(what, axis.speed.0.0, SLOWEST.0, i64::MAX);
    range.within(what, axis.acceleration.0.0, SLOWEST.1, QUICKEST);
    if let Some(jerk) = axis.jerk {
        range.within(what, jerk.0.0, SLOWEST.2, i64::MAX);
    }
}

fn head(what: impl Fn() -> String + Copy, h: &Head, range: &mut Range<'_>) {
    let times = [Some(h.turn_90), Some(h.pick), Some(h.place), h.index, h.dot, h.sight.as_ref().map(|s| s.time)];
    for t in times.into_iter().flatten() {
        range.time(what, t);
    }
    if let Some(pitch) = h.pitch {
        range.within(what, pitch.0.0.saturating_mul(h.spindles.into()), 0, LENGTH);
    }
    if let Some(at) = h.sight.as_ref().and_then(|s| s.at) {
        range.point(what, at.point());
    }
}

fn programs(plan: &Plan, range: &mut Range<'_>) {
    let mut steps = 0usize;
    for work in plan.stations.iter().flat_map(|s| &s.passes).map(|p| &p.work) {
        steps += match work {
            Work::Place { trips, .. } => trips.iter().map(|t| t.places.len() + t.strokes.iter().map(|s| s.0.len()).sum::<usize>()).sum(),
            Work::Dispense { tasks } => tasks.len(),
            // The drum is filled and emptied in no more beats than it has heads, at most 32.
            Work::Turret { beats, .. } => beats.len() + 32,
            Work::Inspect { views } => {
                for v in views {
                    range.point(|| "a view".to_owned(), *v);
                }
                views.len()
            }
        };
    }
    if steps > STEPS {
        range.0.add(code::RANGE, format!("{steps} steps of work, at most {STEPS} are checked"));
    }
    for w in plan.certificate.leaves.iter().flat_map(|l| &l.weights).filter(|w| **w > WEIGHT) {
        range.0.add(code::RANGE, format!("a weight of {w}, at most {WEIGHT} is checked"));
    }
    let heads = plan.certificate.leaves.iter().flat_map(|l| &l.heads);
    for price in heads.flat_map(|h| [h.seat_ns, h.first_ns, h.last_ns]).filter(|p| p.unsigned_abs() > PRICE) {
        range.0.add(code::RANGE, format!("a price of {price} ns, at most {PRICE} ns is checked"));
    }
}

/// Times that grow with a figure of a part: advances of a long pocket pitch, exposures of a long body.
fn multiplied(plan: &Plan, range: &mut Range<'_>) {
    let longest = |f: fn(&Part) -> Length| plan.product.parts.iter().map(|p| f(p).0).max().unwrap_or(0);
    let pitch = longest(|p| p.tape_pitch_um.value);
    for f in &plan.line.feeder {
        range.product_of(|| format!("advances of feeder `{}`", f.name), &[f.advance.0.0, pitch / f.advance_step.0.0.max(1) + 1]);
    }
    let side = longest(Part::long_side);
    for sight in plan.line.station.iter().flat_map(|s| &s.head).filter_map(|h| h.sight.as_ref()) {
        let fields = side / sight.field.map_or(LENGTH, |f| f.0.0).max(1) + 1;
        range.product_of(|| "exposures of a part".to_owned(), &[sight.time.0.0, fields, fields]);
    }
}
