//! The check list for the first panel: every reference in the order of work, with a box to tick.

use crate::present::Report;
use crate::table::{Cell, Table};
use domain::job::{Task, TaskId};
use domain::part::Part;
use draw::lookup;
use units::{Angle, Point};

/// Stands above the check list.
pub(crate) const FIRST: &str = "For the first panel: look at every part, compare part number, side, angle and polarity with the drawing, tick the box. \
    Angles turn against the clock, seen from the side placed. Where pin one is empty nobody has stated it: take it from the drawing.";

/// Every placement by station and order of work, then what the line leaves out.
pub(crate) fn first_panel(report: &Report<'_>) -> Table {
    let mut table = Table::new(&[
        "station",
        ">order",
        "reference",
        "part",
        "value",
        "package",
        "side",
        ">x mm",
        ">y mm",
        ">angle °",
        "pin one as placed, from the middle",
        "right",
    ]);
    for planned in &report.plan.stations {
        for (i, id) in planned.passes.iter().flat_map(|p| p.work.placed()).enumerate() {
            table.row(row(report, planned.station.clone().into(), (i + 1).into(), report.task(id), id));
        }
    }
    for left in &report.plan.unplaced {
        table.row(row(report, "not placed by the line".into(), Cell::Empty, left.reference.clone(), left.task));
    }
    table
}

fn row(report: &Report<'_>, station: Cell, order: Cell, reference: String, id: TaskId) -> Vec<Cell> {
    let task = report.job.as_ref().ok().and_then(|j| j.tasks.get(id.index()));
    let part = task.and_then(|t| lookup::part(report.plan, t.part));
    let mm = |pick: fn(&Task) -> units::Length| task.map_or(Cell::Empty, |t| Cell::Number(pick(t).to_mm(), 2));
    vec![
        station,
        order,
        reference.into(),
        task.map_or(Cell::Empty, |t| lookup::part_number(report.plan, t.part).into()),
        part.map_or(Cell::Empty, |p| p.value.clone().into()),
        part.map_or(Cell::Empty, |p| p.package.clone().into()),
        report.plan.side.word().into(),
        mm(|t| t.at.x),
        mm(|t| t.at.y),
        task.map_or(Cell::Empty, |t| Cell::Number(t.rotation.to_deg(), if t.rotation.0 % 1000 == 0 { 0 } else { 2 })),
        task.zip(part).and_then(|(t, p)| pin_one(p, t.rotation)).map_or(Cell::Empty, Cell::from),
        super::BOX.into(),
    ]
}

/// Where pin one, or the mark, of a part placed at this angle lies from its middle, in words and mm; `None` where nobody stated it.
fn pin_one(part: &Part, rotation: Angle) -> Option<String> {
    let at = turned(part.handling.pin_one.value?, rotation);
    let far = at.0.abs().max(at.1.abs());
    // Within a fifth of the longer way it lies straight left, right, up or down.
    let word = |v: f64, below: &'static str, above: &'static str| match v {
        v if v.abs() <= 0.2 * far => "",
        v if v < 0.0 => below,
        _ => above,
    };
    let words = [word(at.1, "lower", "upper"), word(at.0, "left", "right")].into_iter().filter(|w| !w.is_empty()).collect::<Vec<_>>();
    let words = if words.is_empty() { "in the middle".to_owned() } else { words.join(" ") };
    Some(format!("{words} ({:.2}, {:.2}) mm", at.0, at.1))
}

/// A point of the part at zero rotation, turned with it [mm].
fn turned(at: Point, rotation: Angle) -> (f64, f64) {
    let (sin, cos) = rotation.normalised().to_deg().to_radians().sin_cos();
    let (x, y) = (at.x.to_mm(), at.y.to_mm());
    // No negative zero, which would print as `-0.00`.
    let clean = |v: f64| if v.abs() < 0.005 { 0.0 } else { v };
    (clean(x * cos - y * sin), clean(x * sin + y * cos))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pin_turns_with_its_part() {
        let at = Point::from_um(-2_000, 1_000);
        assert_eq!(turned(at, Angle::ZERO), (-2.0, 1.0));
        let quarter = turned(at, Angle::from_deg(90.0));
        assert!((quarter.0 + 1.0).abs() < 1e-9 && (quarter.1 + 2.0).abs() < 1e-9, "{quarter:?}");
        assert_eq!(turned(Point::from_um(0, 1_000), Angle::from_deg(180.0)).0, 0.0);
    }
}
