//! An order that the line cannot keep: what must come first is placed only behind where the rest is placed.

use super::Conflict;
use crate::order::rank_of;
use crate::problem::Problem;
use diag::codes::conflict as code;
use domain::job::TaskId;
use domain::rules::matches;

/// Stations that take a task, first and last, as indices.
fn reach(p: &Problem<'_>, t: TaskId) -> Option<(usize, usize)> {
    let part = p.part_of(t);
    let mut stations = p.cap.modes.iter().enumerate().filter(|(m, _)| p.cap.can(part, *m)).map(|(_, mode)| mode.station);
    let first = stations.next()?;
    Some((first, stations.next_back().unwrap_or(first)))
}

/// Two placements and the order between them: the first to come is taken only by stations behind those of the other.
///
/// `unplaced` are tasks left out because of their order. `None` where no single order explains them.
pub(super) fn against_the_line(p: &Problem<'_>, unplaced: &[TaskId]) -> Option<Conflict> {
    let behind = |a: TaskId, b: TaskId| match (reach(p, a), reach(p, b)) {
        (Some((first, _)), Some((_, last))) => first > last,
        _ => false,
    };
    for (k, order) in p.rules.order.iter().enumerate() {
        let answers = |patterns: &[String]| -> Vec<TaskId> {
            p.tasks.iter().copied().filter(|t| patterns.iter().any(|x| matches(x, p.job.reference(*t)))).collect()
        };
        let (first, then) = (answers(&order.first), answers(&order.then));
        let pairs = first.iter().flat_map(|a| then.iter().map(move |b| (*a, *b)));
        let touched = |(a, b): &(TaskId, TaskId)| (unplaced.contains(a) || unplaced.contains(b)) && behind(*a, *b);
        if let Some((a, b)) = pairs.into_iter().find(touched) {
            let entry = format!("order {}: first = [{}], then = [{}]", k + 1, order.first.join(", "), order.then.join(", "));
            return Some(conflict(p, a, b, &entry));
        }
    }
    let rank = |t: TaskId| rank_of(p.job, p.line, p.rules, t);
    let ranked = unplaced.iter().flat_map(|t| p.tasks.iter().map(move |o| (*t, *o)));
    let mut both = ranked.flat_map(|(a, b)| [(a, b), (b, a)]);
    let (a, b) = both.find(|(a, b)| rank(*a) < rank(*b) && behind(*a, *b))?;
    Some(conflict(p, a, b, &format!("order_rule = {}", p.rules.order_rule())))
}

fn conflict(p: &Problem<'_>, a: TaskId, b: TaskId, entry: &str) -> Conflict {
    let station = |s: usize| p.line.station[s].name.as_str();
    let (first, last) = (reach(p, a).map_or(0, |r| r.0), reach(p, b).map_or(0, |r| r.1));
    let (name_a, name_b) = (p.job.name(a), p.job.name(b));
    let text = format!(
        "`{name_a}` must come before `{name_b}` ({entry}), but the first station that takes `{name_a}` is `{}` and the last that takes \
         `{name_b}` is `{}`",
        station(first),
        station(last)
    );
    let cures = vec![
        format!("remove or relax {entry}"),
        format!("a head that takes `{}` at `{}` or before", p.job.part(a).number, station(last)),
        format!("a head that takes `{}` at `{}` or behind", p.job.part(b).number, station(first)),
    ];
    Conflict { code: code::ORDER, members: vec![name_a, entry.to_owned(), name_b], text, cures }
}
