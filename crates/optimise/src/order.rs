//! Order rules as pairs of work, and as stages of the line where they part everything in two.
//!
//! A rule of `docs/planning.md` §1 that concerns single placements (a low part beside a tall one, what lies
//! under a shield, the engineer's short orders) is kept as *pairs*: this task before that one. Pairs hold
//! when the earlier task comes first along station, pass, trip and place, and with alternating passes only
//! inside one pass. Most tasks are in no pair, so moves ask about few.
//!
//! A rule that parts all work in two (ranks, orders with long lists on both sides) becomes a *stage*
//! boundary instead of millions of pairs: work of a lower stage is finished on the whole line before work
//! of a higher stage begins.

mod geometry;

use diag::{Finding, codes};
use domain::job::{Job, TaskId};
use domain::line::Line;
use domain::rules::{OrderRule, Rules, matches};
use std::collections::BTreeMap;
use units::Length;

/// Stages a piece of work may be done in, both ends included.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Stages {
    /// First.
    pub from: u8,
    /// Last.
    pub to: u8,
}

impl Stages {
    /// Whether a stage is among them.
    pub fn holds(self, stage: u8) -> bool {
        self.from <= stage && stage <= self.to
    }
}

/// The order of all work of a job.
#[derive(Clone, Debug)]
pub struct Order {
    /// Number of stages, at least 1.
    pub stages: u8,
    /// For each task.
    pub tasks: Vec<Stages>,
    /// Stage of setting each task's dots, for tasks with dots.
    pub dots: BTreeMap<TaskId, u8>,
    /// Stage of each inspection of the rules.
    pub inspections: Vec<u8>,
    /// For each task those that come before it by a pair.
    before: Vec<Vec<TaskId>>,
    /// For each task those that come after it by a pair.
    after: Vec<Vec<TaskId>>,
    /// For each task the inspections that come before it.
    looks: Vec<Vec<u32>>,
    /// For each task whether a pair concerns it.
    paired: Vec<bool>,
}

/// Ball-grid parts from this shorter side on are large [µm]; common practice, no source.
const LARGE_BALL_GRID: Length = Length(10_000);
/// More stages than this are refused: no line could keep them apart.
const MOST_STAGES: usize = 12;
/// An order of the engineer with more pairs than this becomes a stage boundary.
const MOST_PAIRS: usize = 4_000;

impl Order {
    /// Derives pairs and stages.
    ///
    /// # Errors
    /// `plan.order-cycle` when the engineer's orders contradict each other or are too deep.
    pub fn new(job: &Job<'_>, line: &Line, rules: &Rules) -> Result<Self, Box<Finding>> {
        let n = job.tasks.len();
        let dotted: Vec<TaskId> = (0..n as u32).map(TaskId).filter(|t| job.part(*t).adhesive_dots.value > 0).collect();
        let mut g = Graph::new(n + dotted.len() + rules.inspect.len());
        let rank = ranks(job, line, rules, &dotted);
        ranked(&rank, &mut g);
        let stated = Stated::new(job, rules);
        let mut pairs = stated.pairs(&mut g);
        for (k, t) in dotted.iter().enumerate() {
            g.edge(n + k, t.index(), 0);
        }
        let looks = inspected(job, rules);
        for (t, areas) in looks.iter().enumerate() {
            areas.iter().for_each(|a| g.edge(n + dotted.len() + *a as usize, t, 0));
        }
        let rule = rules.order_rule();
        if rule != OrderRule::None {
            let alike =
                |a: usize, b: usize| rank.as_ref().is_none_or(|r| r[a] == r[b] && (rule != OrderRule::Operation || r[a] == Some(3)));
            let kept = |p: &(usize, usize)| alike(p.0, p.1) && !stated.says_before(p.1, p.0);
            pairs.extend(geometry::pairs(job, line, rule).into_iter().filter(kept));
        }
        pairs.sort_unstable();
        pairs.dedup();
        let (mut before, mut after) = (vec![Vec::new(); n], vec![Vec::new(); n]);
        for (a, b) in &pairs {
            g.edge(*a, *b, 0);
            before[*b].push(TaskId(*a as u32));
            after[*a].push(TaskId(*b as u32));
        }
        let (from, to) = g.levels().map_err(|node| cycle(job, node))?;
        let stages = from.iter().copied().max().unwrap_or(0) + 1;
        if stages > MOST_STAGES {
            let text = format!("the order rules ask for {stages} stages of work one after the other");
            return Err(Box::new(Finding::new(codes::plan::ORDER_CYCLE, text)));
        }
        Ok(Self {
            stages: stages as u8,
            tasks: (0..n).map(|i| Stages { from: from[i] as u8, to: (stages - 1 - to[i]) as u8 }).collect(),
            dots: dotted.iter().enumerate().map(|(k, t)| (*t, from[n + k] as u8)).collect(),
            inspections: (0..rules.inspect.len()).map(|k| from[n + dotted.len() + k] as u8).collect(),
            paired: before.iter().zip(&after).map(|(b, a)| !b.is_empty() || !a.is_empty()).collect(),
            before,
            after,
            looks,
        })
    }

    /// Tasks that come before this one by a pair.
    pub fn before(&self, task: TaskId) -> &[TaskId] {
        &self.before[task.index()]
    }

    /// Tasks that come after this one by a pair.
    pub fn after(&self, task: TaskId) -> &[TaskId] {
        &self.after[task.index()]
    }

    /// Inspections (indices of the rules) that come before this task.
    pub fn looks(&self, task: TaskId) -> &[u32] {
        &self.looks[task.index()]
    }

    /// Whether a pair concerns the task.
    pub fn is_paired(&self, task: TaskId) -> bool {
        self.paired[task.index()]
    }

    /// Whether the rules leave the task exactly one of several stages.
    pub fn is_staged(&self, task: TaskId) -> bool {
        self.stages > 1 && self.tasks[task.index()].from == self.tasks[task.index()].to
    }
}

/// The graph of rules: nodes are tasks, then dots, then inspections, then boundaries.
struct Graph {
    /// For each node what follows, and whether a new stage begins with it (1) or not (0).
    after: Vec<Vec<(u32, u8)>>,
}

impl Graph {
    fn new(nodes: usize) -> Self {
        Self { after: vec![Vec::new(); nodes] }
    }

    fn edge(&mut self, a: usize, b: usize, stage: u8) {
        self.after[a].push((b as u32, stage));
    }

    /// A boundary: all of `first` before it, all of `then` in a later stage.
    fn boundary(&mut self, first: &[usize], then: &[usize]) {
        let node = self.after.len();
        self.after.push(Vec::new());
        first.iter().for_each(|a| self.edge(*a, node, 0));
        then.iter().for_each(|b| self.edge(node, *b, 1));
    }

    /// Stage boundaries on the longest way to each node and on the longest way from it; the node of a cycle
    /// if there is one.
    fn levels(&self) -> Result<(Vec<usize>, Vec<usize>), usize> {
        let nodes = self.after.len();
        let mut waiting = vec![0usize; nodes];
        self.after.iter().flatten().for_each(|(b, _)| waiting[*b as usize] += 1);
        let mut order: Vec<usize> = (0..nodes).filter(|i| waiting[*i] == 0).collect();
        let mut from = vec![0; nodes];
        let mut k = 0;
        while k < order.len() {
            let i = order[k];
            k += 1;
            for (b, stage) in &self.after[i] {
                let b = *b as usize;
                from[b] = from[b].max(from[i] + usize::from(*stage));
                waiting[b] -= 1;
                if waiting[b] == 0 {
                    order.push(b);
                }
            }
        }
        if order.len() < nodes {
            return Err((0..nodes).find(|i| waiting[*i] > 0).unwrap_or_default());
        }
        let mut to = vec![0; nodes];
        for i in order.into_iter().rev() {
            to[i] = self.after[i].iter().map(|(b, stage)| to[*b as usize] + usize::from(*stage)).max().unwrap_or(0);
        }
        Ok((from, to))
    }
}

/// Rank of a task under a ranking rule; all alike under the others.
pub(crate) fn rank_of(job: &Job<'_>, line: &Line, rules: &Rules, task: TaskId) -> u8 {
    let part = job.part(task);
    match rules.order_rule() {
        OrderRule::Clearance | OrderRule::None => 0,
        OrderRule::Operation if part.ball_grid.value && part.short_side() >= LARGE_BALL_GRID => 1,
        OrderRule::Operation => 3,
        OrderRule::LowBeforeTall => 1 + line.clearance.steps.iter().filter(|s| part.height_um.value > ***s).count() as u8,
    }
}

/// Rank of every task and of the dots under a ranking rule; inspections and some dots have none.
fn ranks(job: &Job<'_>, line: &Line, rules: &Rules, dotted: &[TaskId]) -> Option<Vec<Option<u8>>> {
    let rule = rules.order_rule();
    let of_task = |t: TaskId| rank_of(job, line, rules, t);
    if matches!(rule, OrderRule::Clearance | OrderRule::None) {
        return None;
    }
    // Dots have their own rank under `operation`, but for those of large ball-grid parts.
    let of_dots = |t: &TaskId| (rule == OrderRule::Operation && of_task(*t) == 3).then_some(2);
    let tasks = (0..job.tasks.len() as u32).map(|t| Some(of_task(TaskId(t))));
    Some(tasks.chain(dotted.iter().map(of_dots)).collect())
}

/// A boundary between each rank and the next.
fn ranked(rank: &Option<Vec<Option<u8>>>, g: &mut Graph) {
    let Some(rank) = rank else { return };
    let mut members: BTreeMap<u8, Vec<usize>> = BTreeMap::new();
    for (i, r) in rank.iter().enumerate() {
        if let Some(r) = r {
            members.entry(*r).or_default().push(i);
        }
    }
    let ranks: Vec<Vec<usize>> = members.into_values().collect();
    ranks.windows(2).for_each(|w| g.boundary(&w[0], &w[1]));
}

/// The engineer's orders.
struct Stated {
    /// For each order the tasks that answer to `first` and to `then`.
    orders: Vec<(Vec<usize>, Vec<usize>)>,
    /// For each task the orders it comes first in, and those it comes then in.
    first: Vec<Vec<u32>>,
    then: Vec<Vec<u32>>,
}

impl Stated {
    fn new(job: &Job<'_>, rules: &Rules) -> Self {
        let n = job.tasks.len();
        let answers = |patterns: &[String]| -> Vec<usize> {
            (0..n).filter(|t| patterns.iter().any(|p| matches(p, job.reference(TaskId(*t as u32))))).collect()
        };
        let orders: Vec<_> = rules.order.iter().map(|o| (answers(&o.first), answers(&o.then))).collect();
        let (mut first, mut then) = (vec![Vec::new(); n], vec![Vec::new(); n]);
        for (k, (a, b)) in orders.iter().enumerate() {
            a.iter().for_each(|t| first[*t].push(k as u32));
            b.iter().for_each(|t| then[*t].push(k as u32));
        }
        Self { orders, first, then }
    }

    /// Short orders as pairs; long ones become boundaries of the graph.
    fn pairs(&self, g: &mut Graph) -> Vec<(usize, usize)> {
        let mut pairs = Vec::new();
        for (first, then) in &self.orders {
            if first.len() * then.len() > MOST_PAIRS {
                g.boundary(first, then);
            } else {
                pairs.extend(first.iter().flat_map(|a| then.iter().map(move |b| (*a, *b))));
            }
        }
        pairs
    }

    fn says_before(&self, a: usize, b: usize) -> bool {
        self.first[a].iter().any(|k| self.then[b].contains(k))
    }
}

/// For each task the inspections whose area its centre lies in.
fn inspected(job: &Job<'_>, rules: &Rules) -> Vec<Vec<u32>> {
    let inside = |task: &domain::job::Task, area: &domain::rules::Inspect| {
        let at = task.at - job.panel.corner(task.image);
        let (x, y) = (at.x - *area.x, at.y - *area.y);
        x.0 >= 0 && y.0 >= 0 && x <= *area.width && y <= *area.depth
    };
    let areas =
        |task: &domain::job::Task| rules.inspect.iter().enumerate().filter(|(_, a)| inside(task, a)).map(|(k, _)| k as u32).collect();
    job.tasks.iter().map(areas).collect()
}

fn cycle(job: &Job<'_>, node: usize) -> Box<Finding> {
    let name = if node < job.tasks.len() { job.name(TaskId(node as u32)) } else { "adhesive, inspection or a rank".to_owned() };
    Box::new(Finding::new(codes::plan::ORDER_CYCLE, format!("the order rules ask `{name}` to come before itself")).value(name))
}
