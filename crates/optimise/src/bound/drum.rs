//! The figures of a turret [ns]: `docs/planning.md` §3.2.

use super::figures::{HeadFigures, settled};
use super::neighbours::Grid;
use domain::job::TaskId;
use domain::line::{Line, SightMode};
use motion::Clock;
use units::Time;

/// The figures of a drum; `mine` are the items it can do.
pub(super) fn figures(line: &Line, clock: &Clock<'_>, (s, row): (usize, usize), items: usize, mine: &[(usize, TaskId)]) -> HeadFigures {
    let (head, table) = (&line.station[s].head[0], clock.station(s));
    let gap = table.drum().map_or(0, |d| d.gap() as i64);
    let sight = head.sight.as_ref().filter(|x| x.mode == SightMode::InFlight).map_or(Time::ZERO, |x| *x.time);
    let (put, take) = (sight.max(*head.place), sight.max(*head.pick));
    let all = put.max(take);
    let turned = |turn: i64, p: u8| table.drum().map_or(Time::ZERO, |d| d.indexed(turn, p));
    let index = turned(0, 100);
    // What a placing beat is shorter by when its pick is done in a beat of its own, and what that beat takes.
    let (shorter, own) = (all - put, index + take);
    let grid = Grid::new(mine.iter().map(|(_, t)| clock.tasks()[t.index()].at));
    let mut figures = HeadFigures::free((s, 0), row, items, mine);
    let mut most_late = 0;
    for (k, (i, t)) in mine.iter().enumerate() {
        let row = &clock.tasks()[t.index()];
        let p = if gap == 0 { 100 } else { row.percent };
        let turning = turned(row.turn, p);
        let way = if mine.len() == 1 { Time::ZERO } else { grid.nearest(table, row.at, k, 100) };
        let late = 1000 * (settled(way, table.settles().1) - turning).0.max(0);
        let sure = if shorter > Time::ZERO { scaled(late, own - shorter, own) } else { late };
        most_late = most_late.max(sure);
        figures.base[*i] = 1000 * (turning + all).0 + sure;
    }
    let filling = if gap == 0 { Time::ZERO } else { (index + sight) * gap + take - sight - shorter };
    figures.enter_mark = 1000 * filling.0 - most_late;
    figures
}

/// `ns · share / whole`, rounded down.
fn scaled(ns: i64, share: Time, whole: Time) -> i64 {
    (i128::from(ns) * i128::from(share.0) / i128::from(whole.0.max(1))) as i64
}
