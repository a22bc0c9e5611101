//! What a turret spends on a placement, and on filling its drum: `docs/planning.md` §3.2.

use super::NS;
use super::figures::{Figures, TaskFigures};
use super::neighbours::Neighbours;
use motion::{DrumClock, StationClock, TaskRow};
use units::{Length, Point, Time};

/// Figures of the drum for the tasks it takes; `None` if these are none.
pub(super) fn of(drum: &DrumClock, table: &StationClock, rows: &[&TaskRow]) -> Option<Figures> {
    let strokes = |places, picks| {
        let (place, pick, sight) = drum.strokes(places, picks, true);
        place + pick + sight
    };
    let (both, put, take, carry) = (strokes(true, true), strokes(true, false), strokes(false, true), strokes(false, false));
    let step = drum.indexed(0, 100);
    // A beat that only picks shortens the placing beat it spares a pick by this.
    let spared = both - put;
    let points: Vec<Point> = rows.iter().map(|row| row.at).collect();
    let neighbours = Neighbours::new(&points);
    let settle = table.settles().1;
    let mut tasks = Vec::new();
    let mut longest = 0;
    for (j, row) in rows.iter().enumerate() {
        // A part that is placed in the beat of its pick is not aboard while the drum turns.
        let turning = drum.indexed(row.turn, if drum.gap() > 0 { row.percent } else { 100 });
        let way = neighbours.least(j, &[Length::ZERO], table, 100, Time::ZERO, settle).unwrap_or(Time::ZERO);
        let late = beyond((way - turning).max(Time::ZERO), step + take, spared);
        longest = longest.max(late);
        tasks.push(TaskFigures { base: (turning + both).0 * NS + late, first: 0, last: 0 });
    }
    let beats = i64::try_from(drum.gap()).ok()?;
    let filling = if beats > 0 { ((step + carry) * beats + (take - carry - spared)).0 * NS } else { 0 };
    (!rows.is_empty()).then(|| Figures { tasks, enter_mark: filling - longest, ..Figures::free(0) })
}

/// What of a table that comes late is sure [ns]: beats that only pick may be done meanwhile, each of which takes
/// `beat` and spares `spared` elsewhere.
fn beyond(late: Time, beat: Time, spared: Time) -> i64 {
    if spared == Time::ZERO {
        return late.0 * NS;
    }
    let sure = i128::from(late.0) * i128::from(NS) * i128::from((beat - spared).0) / i128::from(beat.0);
    // No more than what is late.
    i64::try_from(sure).unwrap_or(i64::MAX / 4)
}
