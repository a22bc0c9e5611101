//! How many views the areas of the rules need at least, whichever stations look.
//!
//! One view may see several areas, areas of several boards, and an area may be shared between stations; so what is
//! counted are points no two of which one view can see.

use super::NS;
use domain::job::Job;
use domain::line::Station;
use domain::plan::Plan;

/// Stretches along one axis on the panel: first, length, and one a pitch further for every board.
#[derive(Clone, Copy)]
struct Stretches {
    first: i64,
    length: i64,
    pitch: i64,
    count: i64,
}

/// For each area of the rules, what it takes each station [ns]; `None` where a station cannot look.
pub(crate) fn times(plan: &Plan, job: &Job<'_>) -> Vec<Vec<Option<i64>>> {
    let seen = |side: fn(&domain::line::Extent) -> i64| {
        let sides = plan.line.station.iter().filter_map(|s| s.inspection.as_ref()).map(|i| side(&i.field));
        sides.map(|f| f + f % 2).max().unwrap_or(0)
    };
    let (x, y) = (seen(|f| f.x.0.0), seen(|f| f.y.0.0));
    let mut counted: Vec<(Stretches, Stretches)> = Vec::new();
    let mut times = Vec::new();
    for area in &plan.rules.inspect {
        let along =
            |first: i64, length: i64, pitch: units::Length, count: u32| Stretches { first, length, pitch: pitch.0, count: count.into() };
        let across = along(area.x.0.0, area.width.0.0, job.panel.pitch_x_um, job.panel.columns);
        let deep = along(area.y.0.0, area.depth.0.0, job.panel.pitch_y_um, job.panel.rows);
        let alone = counted.iter().all(|(a, d)| a.is_apart(&across, x) || d.is_apart(&deep, y));
        let views = if alone { i128::from(across.pieces(x)) * i128::from(deep.pieces(y)) } else { 0 };
        if alone {
            counted.push((across, deep));
        }
        let time = |s: &Station| s.inspection.as_ref().map(|i| i64::try_from(views * i128::from(i.time.0.0 * NS)).unwrap_or(i64::MAX / 2));
        times.push(plan.line.station.iter().map(time).collect());
    }
    times
}

impl Stretches {
    /// Pieces of this length that cover them, laid from left to right.
    fn pieces(&self, piece: i64) -> i64 {
        let mut reached = None;
        let mut pieces = 0;
        for k in 0..self.count {
            let from = self.first + k * self.pitch;
            let to = from + self.length;
            let start = reached.map_or(from, |r: i64| r.max(from));
            if reached.is_some_and(|r| r >= to) {
                continue;
            }
            let more = ((to - start + piece - 1) / piece.max(1)).max(1);
            pieces += more;
            reached = Some(start + more * piece);
        }
        pieces
    }

    /// Whether each of these lies more than `far` from each of the others, which lie a pitch apart likewise.
    fn is_apart(&self, other: &Self, far: i64) -> bool {
        (1 - self.count..self.count).all(|d| {
            let shift = d * self.pitch;
            let gap = (other.first + shift - self.first - self.length).max(self.first - other.first - other.length - shift);
            gap > far
        })
    }
}
