//! Views that the areas of the rules need at least (`docs/planning.md` §3, inspection).

use super::figures::NEVER;
use domain::job::Job;
use domain::line::{Inspection, Line};
use domain::rules::{Inspect, Rules};
use units::Length;

/// For each area, its time at each station [ns]; [`NEVER`] where a station cannot look.
pub(super) fn times(job: &Job<'_>, line: &Line, rules: &Rules) -> Vec<Vec<i64>> {
    let looking: Vec<Option<&Inspection>> = line.station.iter().map(|s| s.inspection.as_ref()).collect();
    let widest = |side: fn(&Inspection) -> Length| looking.iter().flatten().map(|i| 2 * ((side(i).0 + 1) / 2)).max().unwrap_or(1);
    let view = (widest(|i| *i.field.x), widest(|i| *i.field.y));
    let mut counted: Vec<&Inspect> = Vec::new();
    let mut all = Vec::new();
    for area in &rules.inspect {
        let views = if counted.iter().any(|other| meet(job, area, other, view)) { 0 } else { needed(job, area, view) };
        if views > 0 {
            counted.push(area);
        }
        all.push(looking.iter().map(|i| i.map_or(NEVER, |i| 1000 * views * i.time.0.0)).collect());
    }
    all
}

/// Views one area needs on the whole panel.
fn needed(job: &Job<'_>, area: &Inspect, view: (i64, i64)) -> i64 {
    let panel = &job.panel;
    let along = |length: Length, pitch: Length, count: u32, view: i64| {
        let (mut pieces, mut covered) = (0, -1);
        for begin in (0..i64::from(count)).map(|k| k * pitch.0) {
            let end = begin + length.0;
            if covered >= end {
                continue;
            }
            let from = begin.max(covered);
            let more = ((end - from + view - 1) / view).max(1);
            pieces += more;
            covered = from + more * view;
        }
        pieces
    };
    along(*area.width, panel.pitch_x_um, panel.columns, view.0) * along(*area.depth, panel.pitch_y_um, panel.rows, view.1)
}

/// Whether one view may see two areas, on whichever boards.
fn meet(job: &Job<'_>, a: &Inspect, b: &Inspect, view: (i64, i64)) -> bool {
    let panel = &job.panel;
    let near = |a: (Length, Length), b: (Length, Length), pitch: Length, count: u32, view: i64| {
        let apart = i64::from(count) - 1;
        (-apart..=apart).any(|d| {
            let b_from = b.0.0 + d * pitch.0;
            b_from - (a.0.0 + a.1.0) <= view && a.0.0 - (b_from + b.1.0) <= view
        })
    };
    near((*a.x, *a.width), (*b.x, *b.width), panel.pitch_x_um, panel.columns, view.0)
        && near((*a.y, *a.depth), (*b.y, *b.depth), panel.pitch_y_um, panel.rows, view.1)
}
