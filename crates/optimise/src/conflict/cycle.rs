//! Orders that lead back to where they began: the shortest such circle, with the rule of each arrow.

use crate::order::rank_of;
use diag::{Finding, codes};
use domain::job::{Job, TaskId};
use domain::line::Line;
use domain::rules::{Rules, matches};
use std::collections::VecDeque;

/// Why one task comes before another.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Why {
    /// An `[[order]]` entry, counted from 0.
    Stated(usize),
    /// The order rule's ranks.
    Rank,
}

/// Says which orders contradict each other; `None` when they form no circle of tasks.
///
/// Told are the engineer's orders and the ranks of the order rule; low parts and shields follow geometry, which
/// gives way to both.
pub(crate) fn explain(job: &Job<'_>, line: &Line, rules: &Rules) -> Option<Finding> {
    let n = job.tasks.len();
    let mut after: Vec<Vec<(usize, Why)>> = vec![Vec::new(); n];
    for (k, order) in rules.order.iter().enumerate() {
        let answers = |patterns: &[String]| -> Vec<usize> {
            (0..n).filter(|t| patterns.iter().any(|p| matches(p, job.reference(TaskId(*t as u32))))).collect()
        };
        let (first, then) = (answers(&order.first), answers(&order.then));
        for a in first {
            after[a].extend(then.iter().map(|b| (*b, Why::Stated(k))));
        }
    }
    let rank = |t: TaskId| rank_of(job, line, rules, t);
    let circle = against_ranks(&after, &rank).or_else(|| shortest(&after))?;
    let name = |t: usize| job.name(TaskId(t as u32));
    let arrows: Vec<String> = circle
        .iter()
        .enumerate()
        .map(|(i, (t, why))| format!("{} before {} ({})", name(*t), name(circle[(i + 1) % circle.len()].0), reason(rules, *why)))
        .collect();
    let mut cures: Vec<usize> = circle.iter().filter_map(|(_, w)| if let Why::Stated(k) = w { Some(*k) } else { None }).collect();
    cures.sort_unstable();
    cures.dedup();
    let members: Vec<String> = circle.iter().map(|(t, _)| name(*t)).collect();
    let hint = cures.iter().map(|k| format!("remove or relax {}", entry(rules, *k))).collect::<Vec<_>>().join("; or ");
    let text = format!("the orders lead in a circle: {}", arrows.join(", "));
    let finding = Finding::new(codes::plan::ORDER_CYCLE, text).value(members.join(" "));
    Some(if hint.is_empty() { finding } else { finding.hint(format!("{hint}.")) })
}

/// A stated order from a later rank to an earlier one; with the rank's own arrow it is a circle of two.
fn against_ranks(after: &[Vec<(usize, Why)>], rank: &dyn Fn(TaskId) -> u8) -> Option<Vec<(usize, Why)>> {
    let of = |t: usize| rank(TaskId(t as u32));
    let arrows = after.iter().enumerate().flat_map(|(a, list)| list.iter().map(move |(b, why)| (a, *b, *why)));
    arrows.into_iter().find(|(a, b, _)| of(*a) > of(*b)).map(|(a, b, why)| vec![(a, why), (b, Why::Rank)])
}

/// The shortest circle, by a breadth-first walk from every task that is in one.
fn shortest(after: &[Vec<(usize, Why)>]) -> Option<Vec<(usize, Why)>> {
    let mut best: Option<Vec<(usize, Why)>> = None;
    for start in 0..after.len() {
        if best.as_ref().is_some_and(|b| b.len() <= 1) {
            break;
        }
        let Some(found) = from(after, start) else { continue };
        if best.as_ref().is_none_or(|b| found.len() < b.len()) {
            best = Some(found);
        }
    }
    best
}

/// The shortest way from a task back to itself.
fn from(after: &[Vec<(usize, Why)>], start: usize) -> Option<Vec<(usize, Why)>> {
    let mut came: Vec<Option<(usize, Why)>> = vec![None; after.len()];
    let mut queue = VecDeque::from([start]);
    while let Some(t) = queue.pop_front() {
        for (next, why) in &after[t] {
            if *next == start {
                let mut circle = vec![(t, *why)];
                let mut at = t;
                while at != start {
                    let (before, why) = came[at]?;
                    circle.push((before, why));
                    at = before;
                }
                circle.reverse();
                return Some(circle);
            }
            if came[*next].is_none() {
                came[*next] = Some((t, *why));
                queue.push_back(*next);
            }
        }
    }
    None
}

fn entry(rules: &Rules, k: usize) -> String {
    let o = &rules.order[k];
    format!("order {}: first = [{}], then = [{}]", k + 1, o.first.join(", "), o.then.join(", "))
}

fn reason(rules: &Rules, why: Why) -> String {
    match why {
        Why::Stated(k) => entry(rules, k),
        Why::Rank => format!("order_rule = {}", rules.order_rule()),
    }
}
