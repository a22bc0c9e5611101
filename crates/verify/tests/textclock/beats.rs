//! §7 of the page: the beats of a turret.

use super::axis::{slowed, way};
use super::{Panel, ceil, percent};
use domain::line::{Axes, Axis, SightMode, Station};
use domain::part::Part;
use domain::plan::Beat;

impl Panel<'_> {
    /// All beats, the last `gap` only placing.
    pub(super) fn beats(&mut self, beats: &[Option<Beat>]) {
        let (sheet, drum) = (self.sheet, &self.sheet.head[0]);
        let turret = sheet.turret.as_ref().expect("a turret");
        let (n, gap) = (beats.len(), usize::from(turret.gap));
        // When each of them was last done with, and where the carriage then stood.
        let (mut table_since, mut carriage): (i64, Option<(i64, i64)>) = (self.spent.total(), None);
        for k in 0..if n == 0 { 0 } else { n + gap } {
            let picked = if k < n { beats[k] } else { None };
            let placed = if k >= gap && k - gap < n { beats[k - gap] } else { None };
            let between = |from: usize, to: usize| (from..to.min(n)).filter_map(|i| beats[i]).collect::<Vec<Beat>>();
            // 1: picked before this beat and not placed before it.
            let aboard = between(k.saturating_sub(gap), k);
            let parts: Vec<&Part> = aboard.iter().map(|b| self.tasks[b.task.index()].part).collect();
            let p = percent(&parts);
            let turn = placed.map_or(0, |b| ceil(drum.turn_90.0.0 * self.tasks[b.task.index()].turn, 90_000));
            self.spent.index += slowed(drum.index.expect("a drum turns").0.0, p).max(slowed(turn, p));
            // 2
            if let Some(b) = placed {
                let to = self.tasks[b.task.index()].at;
                let settle = if to == self.head_at { 0 } else { sheet.settle_place.0.0 };
                let there = table_since + way(sheet, self.head_at, to, 100) + settle;
                self.spent.place_travel += (there - self.spent.total()).max(0);
                self.head_at = to;
            }
            if let Some(b) = picked {
                // 3
                let x = self.pick_point(&self.program.supplies[b.supply as usize]).0;
                if let Some((from, since)) = carriage {
                    let settle = if x == from { 0 } else { sheet.settle_pick.0.0 };
                    let there = since + along(sheet, &turret.carriage, from, x) + settle;
                    self.spent.pick_travel += (there - self.spent.total()).max(0);
                }
                // 4
                let ready = self.picked_at[b.supply as usize].map_or(0, |t| t + self.advance(b.supply as usize));
                self.spent.feeder_wait += (ready - self.spent.total()).max(0);
            }
            // 5
            let mut longest = 0;
            if placed.is_some() {
                longest = drum.place.0.0;
                self.spent.place_strokes += longest;
            }
            if picked.is_some() {
                self.spent.pick_strokes += (drum.pick.0.0 - longest).max(0);
                longest = longest.max(drum.pick.0.0);
            }
            let sight = drum.sight.as_ref().filter(|s| s.mode == SightMode::InFlight).map_or(0, |s| s.time.0.0);
            if !between(k.saturating_sub(gap), k + 1).is_empty() {
                self.spent.sight += (sight - longest).max(0);
            }
            let end = self.spent.total();
            if placed.is_some() {
                table_since = end;
            }
            if let Some(b) = picked {
                self.picked_at[b.supply as usize] = Some(end);
                carriage = Some((self.pick_point(&self.program.supplies[b.supply as usize]).0, end));
            }
        }
    }
}

/// The way of the carriage alone: that of a station whose X axis it is.
fn along(sheet: &Station, carriage: &Axis, from: i64, to: i64) -> i64 {
    let axes = Axes { x: carriage.clone(), y: carriage.clone() };
    way(&Station { axes, ..sheet.clone() }, (from, 0), (to, 0), 100)
}
