//! The passes a station needs, in an order that keeps the rules with few swaps.

use super::construct::Given;
use super::state::{PassWork, StationState};
use crate::problem::Problem;
use domain::job::TaskId;
use std::collections::{BTreeMap, BTreeSet};

/// What a pass is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// Looks at areas.
    Views,
    /// Sets dots.
    Dots,
    /// Places parts.
    Place,
}

/// A pass to be built.
#[derive(Clone, Debug)]
pub struct Step {
    /// Its head.
    pub head: usize,
    /// Its stage.
    pub stage: u8,
    /// What it is for.
    pub kind: Kind,
    /// Its tasks (those whose dots are set); none for views.
    pub tasks: Vec<TaskId>,
}

/// Work of one head in one stage that is still to be done.
type Open = BTreeMap<(usize, Kind), Vec<TaskId>>;

/// The passes of a station: stage by stage, in each stage one head after the other, beginning with the head
/// fitted last. A head is taken up a second time only where pairs of the rules ask for it.
pub fn schedule(p: &Problem<'_>, station: usize, given: &Given) -> Vec<Step> {
    let mut steps: Vec<Step> = Vec::new();
    let heads_in = |stage: u8| -> BTreeSet<usize> {
        let tasks = given.tasks.iter().chain(&given.dots).filter(|t| t.1 == stage);
        tasks.map(|t| t.0).collect()
    };
    for stage in 0..p.order.stages {
        let mut open = Open::new();
        for (kind, list) in [(Kind::Place, &given.tasks), (Kind::Dots, &given.dots)] {
            for t in list.iter().filter(|t| t.1 == stage) {
                open.entry((t.0, kind)).or_default().push(t.2);
            }
        }
        let next = heads_in(stage + 1);
        if given.areas.iter().any(|a| a.0 == stage) {
            // Any head can look; the one fitted at that moment spares a swap.
            let head = steps.last().map(|l| l.head).or(open.keys().next().map(|k| k.0)).or(p.first_head(station)).unwrap_or(0);
            steps.push(Step { head, stage, kind: Kind::Views, tasks: Vec::new() });
        }
        while !open.is_empty() {
            let fitted = steps.last().map(|l| l.head);
            let step = next_step(p, &open, stage, fitted, &next);
            let left = open.get_mut(&(step.head, step.kind)).expect("a step of open work");
            let done: BTreeSet<TaskId> = step.tasks.iter().copied().collect();
            left.retain(|t| !done.contains(t));
            if left.is_empty() {
                open.remove(&(step.head, step.kind));
            }
            steps.push(step);
        }
    }
    steps
}

/// The head to go on with, of those that can do anything now: one that can finish its work of the stage, rather the one
/// fitted, rather not one that the next stage begins with; else the one that can do most.
fn next_step(p: &Problem<'_>, open: &Open, stage: u8, fitted: Option<usize>, next: &BTreeSet<usize>) -> Step {
    let steps = open.iter().map(|((head, kind), tasks)| {
        let (head, kind) = (*head, *kind);
        let tasks = if kind == Kind::Dots { tasks.clone() } else { available(p, open, head, tasks) };
        Step { head, stage, kind, tasks }
    });
    let rank = |s: &Step| {
        let whole = s.tasks.len() == open[&(s.head, s.kind)].len();
        (
            !s.tasks.is_empty(),
            whole,
            fitted == Some(s.head),
            !next.contains(&s.head),
            s.kind != Kind::Place,
            if whole { 0 } else { s.tasks.len() },
        )
    };
    steps.max_by_key(|s| (rank(s), std::cmp::Reverse(s.head))).expect("some work is open")
}

/// Tasks of a head that can be done before any other open work: each after those of the same head that come
/// before it.
fn available(p: &Problem<'_>, open: &Open, head: usize, tasks: &[TaskId]) -> Vec<TaskId> {
    let dots: BTreeSet<TaskId> = open.iter().filter(|(k, _)| k.1 == Kind::Dots).flat_map(|(_, t)| t.iter().copied()).collect();
    let others: BTreeSet<TaskId> =
        open.iter().filter(|(k, _)| k.1 == Kind::Place && k.0 != head).flat_map(|(_, t)| t.iter().copied()).collect();
    let mut blocked: BTreeSet<TaskId> = tasks.iter().copied().filter(|t| dots.contains(t)).collect();
    blocked.extend(tasks.iter().copied().filter(|t| p.order.before(*t).iter().any(|b| others.contains(b))));
    // Whatever follows a blocked task is blocked too.
    let mut reach: Vec<TaskId> = blocked.iter().copied().collect();
    let mine: BTreeSet<TaskId> = tasks.iter().copied().collect();
    while let Some(t) = reach.pop() {
        for a in p.order.after(t).iter().filter(|a| mine.contains(a)) {
            if blocked.insert(*a) {
                reach.push(*a);
            }
        }
    }
    tasks.iter().copied().filter(|t| !blocked.contains(t)).collect()
}

/// How deep each task lies in chains of pairs inside one pass: 0 for those that nothing of the pass precedes.
pub fn depths(p: &Problem<'_>, tasks: &[TaskId]) -> BTreeMap<TaskId, u32> {
    let paired: BTreeSet<TaskId> = tasks.iter().copied().filter(|t| p.order.is_paired(*t)).collect();
    let mut depth: BTreeMap<TaskId, u32> = paired.iter().map(|t| (*t, 0)).collect();
    let mut waiting: BTreeMap<TaskId, usize> =
        paired.iter().map(|t| (*t, p.order.before(*t).iter().filter(|b| paired.contains(b)).count())).collect();
    let mut ready: Vec<TaskId> = paired.iter().copied().filter(|t| waiting[t] == 0).collect();
    while let Some(t) = ready.pop() {
        for a in p.order.after(t).iter().filter(|a| paired.contains(a)) {
            let deeper = depth[&t] + 1;
            depth.entry(*a).and_modify(|d| *d = (*d).max(deeper));
            let left = waiting.get_mut(a).expect("a paired task of the pass");
            *left -= 1;
            if *left == 0 {
                ready.push(*a);
            }
        }
    }
    depth
}

/// Whether consecutive panels may run the passes of a station in alternating order: the sheet allows it,
/// every pass has a head of its own, and no rule orders work of two passes.
pub fn may_alternate(p: &Problem<'_>, state: &StationState) -> bool {
    let allowed = p.line.station[state.station].head_swap.as_ref().is_some_and(|w| w.alternate);
    let heads: BTreeSet<usize> = state.passes.iter().map(|x| x.head).collect();
    if !allowed || heads.len() < 2 || heads.len() < state.passes.len() {
        return false;
    }
    let mut pass_of = vec![usize::MAX; p.job.tasks.len()];
    for (k, pass) in state.passes.iter().enumerate() {
        pass.trips().iter().flat_map(|t| t.tasks()).for_each(|t| pass_of[t.index()] = k);
    }
    let here = |t: &TaskId| pass_of[t.index()] != usize::MAX;
    let mut stages: BTreeSet<u8> = BTreeSet::new();
    for (k, pass) in state.passes.iter().enumerate() {
        let ordered = match &pass.work {
            PassWork::Dots(tasks) => {
                stages.extend((p.order.stages > 1).then_some(pass.stage));
                tasks.iter().any(here)
            }
            PassWork::Views(_) => {
                stages.extend((p.order.stages > 1).then_some(pass.stage));
                p.tasks.iter().any(|t| here(t) && !p.order.looks(*t).is_empty())
            }
            PassWork::Trips(trips) => {
                let tasks = || trips.iter().flat_map(|t| t.tasks());
                stages.extend(tasks().filter(|t| p.order.is_staged(*t)).map(|t| p.order.tasks[t.index()].from));
                tasks().any(|t| p.order.before(t).iter().any(|b| here(b) && pass_of[b.index()] != k))
            }
        };
        if ordered {
            return false;
        }
    }
    stages.len() <= 1
}
