//! Order rules as stages of the line.
//!
//! Every rule of `docs/planning.md` §1 says that some work comes before other work. The planner
//! keeps them all with one device: a *stage* number. Work of a lower stage is finished on the whole
//! line before work of a higher stage begins; work that no rule concerns may be done in any stage.
//! A stage is the length of the longest chain of rules that leads to the work, so the device is
//! sufficient (it may ask a little more than the rules; the checker tests the rules themselves).

use diag::{Finding, codes};
use domain::job::{Job, TaskId};
use domain::line::Line;
use domain::product::PartId;
use domain::rules::{OrderRule, Rules, matches};
use std::collections::{BTreeMap, BTreeSet};
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

/// The stages of all work of a job.
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
}

/// Ball-grid parts from this shorter side on are large [µm]; common practice, no source.
const LARGE_BALL_GRID: Length = Length(10_000);
/// More stages than this are refused: no line could keep them apart.
const MOST_STAGES: usize = 12;

/// The graph of rules: nodes are tasks, then dots, then inspections.
struct Graph {
    before: Vec<BTreeSet<u32>>,
}

impl Order {
    /// Derives the stages.
    ///
    /// # Errors
    /// `plan.order-cycle` when the engineer's orders contradict each other or are too deep.
    pub fn new(job: &Job<'_>, line: &Line, rules: &Rules) -> Result<Self, Box<Finding>> {
        let n = job.tasks.len();
        let dotted: Vec<TaskId> = (0..n as u32).map(TaskId).filter(|t| job.part(*t).adhesive_dots.value > 0).collect();
        let nodes = n + dotted.len() + rules.inspect.len();
        let mut g = Graph { before: vec![BTreeSet::new(); nodes] };
        let ranks = ranks(job, line, rules, &dotted, nodes);
        stated(job, rules, &mut g);
        for (k, t) in dotted.iter().enumerate() {
            g.before[t.index()].insert((n + k) as u32);
        }
        inspected(job, rules, &mut g, n + dotted.len());
        if rules.order_rule() != OrderRule::None {
            geometric(job, line, rules.order_rule(), &ranks, &mut g);
        }
        let level = levels(job, &g, &ranks, nodes)?;
        let stages = level.iter().copied().max().unwrap_or(0) + 1;
        if stages > MOST_STAGES {
            let text = format!("the order rules ask for {stages} stages of work one after the other");
            return Err(Box::new(Finding::new(codes::plan::ORDER_CYCLE, text)));
        }
        let free = free_of_rules(&g, nodes);
        let all = Stages { from: 0, to: stages as u8 - 1 };
        let interval = |i: usize| {
            let one = Stages { from: level[i] as u8, to: level[i] as u8 };
            if ranks.is_some() || !free[i] { one } else { all }
        };
        Ok(Self {
            stages: stages as u8,
            tasks: (0..n).map(interval).collect(),
            dots: dotted.iter().enumerate().map(|(k, t)| (*t, level[n + k] as u8)).collect(),
            inspections: (0..rules.inspect.len()).map(|k| level[n + dotted.len() + k] as u8).collect(),
        })
    }
}

/// Rank of every node under a ranking rule.
fn ranks(job: &Job<'_>, line: &Line, rules: &Rules, dotted: &[TaskId], nodes: usize) -> Option<Vec<u8>> {
    let n = job.tasks.len();
    let of_task = |i: usize| {
        let part = job.part(TaskId(i as u32));
        match rules.order_rule() {
            OrderRule::Operation if part.ball_grid.value && part.short_side() >= LARGE_BALL_GRID => 1,
            OrderRule::Operation => 3,
            _ => 1 + line.clearance.steps.iter().filter(|s| part.height_um.value > ***s).count() as u8,
        }
    };
    match rules.order_rule() {
        OrderRule::Clearance | OrderRule::None => None,
        // Dots have their own rank under `operation`; else they only come before their part.
        rule => Some(
            (0..nodes)
                .map(|i| {
                    if i < n {
                        of_task(i)
                    } else if i < n + dotted.len() && rule == OrderRule::Operation {
                        2
                    } else {
                        0
                    }
                })
                .collect(),
        ),
    }
}

fn stated(job: &Job<'_>, rules: &Rules, g: &mut Graph) {
    let answers = |patterns: &[String]| -> Vec<u32> {
        (0..job.tasks.len() as u32).filter(|t| patterns.iter().any(|p| matches(p, job.reference(TaskId(*t))))).collect()
    };
    for order in &rules.order {
        let (first, then) = (answers(&order.first), answers(&order.then));
        for b in then {
            g.before[b as usize].extend(first.iter().copied());
        }
    }
}

fn inspected(job: &Job<'_>, rules: &Rules, g: &mut Graph, offset: usize) {
    for (k, area) in rules.inspect.iter().enumerate() {
        for (i, task) in job.tasks.iter().enumerate() {
            let at = task.at - image_origin(job, task.image);
            let (x, y) = (at.x - *area.x, at.y - *area.y);
            if x.0 >= 0 && y.0 >= 0 && x <= *area.width && y <= *area.depth {
                g.before[i].insert((offset + k) as u32);
            }
        }
    }
}

fn image_origin(job: &Job<'_>, image: u32) -> units::Point {
    let p = &job.panel;
    units::Point { x: p.pitch_x_um * i64::from(image % p.columns), y: p.pitch_y_um * i64::from(image / p.columns) }
}

/// Half extents of a body as placed: a rectangle, for odd angles its bounding rectangle.
fn half_extents(job: &Job<'_>, part: PartId, rotation: units::Angle) -> (i64, i64) {
    let part = &job.product.parts[part.index()];
    let (x, y) = (part.body_x_um.value.0, part.body_y_um.value.0);
    match rotation.normalised().0 {
        0 | 180_000 => (x / 2, y / 2),
        90_000 | 270_000 => (y / 2, x / 2),
        mdeg => {
            let (sin, cos) = (mdeg as f64 / 1000.0).to_radians().sin_cos();
            let turned = |a: i64, b: i64| (((a as f64 * cos).abs() + (b as f64 * sin).abs()) / 2.0).ceil() as i64;
            (turned(x, y), turned(y, x))
        }
    }
}

/// Low parts before tall neighbours within a nozzle's reach; covered parts before their shield.
fn geometric(job: &Job<'_>, line: &Line, rule: OrderRule, ranks: &Option<Vec<u8>>, g: &mut Graph) {
    let reach = line.clearance.reach.0.0;
    // Images are alike, so pairs are found on the first and repeated.
    let per_image = job.tasks.iter().take_while(|t| t.image == 0).count();
    let body: Vec<(i64, i64, i64, i64)> = job.tasks[..per_image]
        .iter()
        .map(|t| {
            let (hx, hy) = half_extents(job, t.part, t.rotation);
            (t.at.x.0, t.at.y.0, hx, hy)
        })
        .collect();
    let mut by_x: Vec<usize> = (0..per_image).collect();
    by_x.sort_by_key(|i| (body[*i].0 - body[*i].2, *i));
    let mut pairs = Vec::new();
    for (k, &a) in by_x.iter().enumerate() {
        let right = body[a].0 + body[a].2 + reach;
        for &b in by_x[k + 1..].iter().take_while(|b| body[**b].0 - body[**b].2 <= right) {
            pairs.extend(pair(job, line, rule, &body, a, b));
        }
    }
    for image in 0..job.panel.images() as usize {
        for (first, then) in &pairs {
            let (first, then) = (image * per_image + first, image * per_image + then);
            if ranks.as_ref().is_some_and(|r| r[first] > r[then]) || g.before[first].contains(&(then as u32)) {
                continue;
            }
            g.before[then].insert(first as u32);
        }
    }
}

/// Which of two neighbours comes first by geometry, if it matters.
fn pair(job: &Job<'_>, line: &Line, rule: OrderRule, body: &[(i64, i64, i64, i64)], a: usize, b: usize) -> Option<(usize, usize)> {
    let (pa, pb) = (job.part(TaskId(a as u32)), job.part(TaskId(b as u32)));
    let (dx, dy) = ((body[a].0 - body[b].0).abs(), (body[a].1 - body[b].1).abs());
    for (over, under, po, pu) in [(a, b, pa, pb), (b, a, pb, pa)] {
        if po.shield.value && !pu.shield.value && dx <= body[over].2 && dy <= body[over].3 {
            return Some((under, over));
        }
    }
    if rule == OrderRule::LowBeforeTall {
        return None;
    }
    let gap_x = (dx - body[a].2 - body[b].2).max(0);
    let gap_y = (dy - body[a].3 - body[b].3).max(0);
    let reach = line.clearance.reach.0.0;
    let near = gap_x < reach && gap_y < reach && gap_x * gap_x + gap_y * gap_y < reach * reach;
    let step = pa.height_um.value.0 - pb.height_um.value.0;
    if near && step.abs() > line.clearance.height_step.0.0 {
        return Some(if step > 0 { (b, a) } else { (a, b) });
    }
    None
}

/// Longest chain of rules to each node; ranks follow each other as wholes.
fn levels(job: &Job<'_>, g: &Graph, ranks: &Option<Vec<u8>>, nodes: usize) -> Result<Vec<usize>, Box<Finding>> {
    let mut after: Vec<Vec<u32>> = vec![Vec::new(); nodes];
    for (node, before) in g.before.iter().enumerate() {
        for b in before {
            after[*b as usize].push(node as u32);
        }
    }
    let rank = |i: usize| ranks.as_ref().map_or(0, |r| r[i]);
    let mut level = vec![0usize; nodes];
    let mut base = 0;
    let mut present: Vec<u8> = (0..nodes).map(rank).collect();
    present.sort_unstable();
    present.dedup();
    for r in present {
        let members: Vec<usize> = (0..nodes).filter(|i| rank(*i) == r).collect();
        // A rule that leads back to a rank already done contradicts the ranks.
        if let Some((node, _)) =
            members.iter().flat_map(|i| g.before[*i].iter().map(move |b| (*i, *b))).find(|(_, b)| rank(*b as usize) > r)
        {
            return Err(cycle(job, node));
        }
        let inner = |i: usize| g.before[i].iter().filter(|b| rank(**b as usize) == r).count();
        let mut waiting: BTreeMap<usize, usize> = members.iter().map(|i| (*i, inner(*i))).collect();
        let mut ready: Vec<usize> = members.iter().copied().filter(|i| waiting[i] == 0).collect();
        ready.iter().for_each(|i| level[*i] = base);
        let mut done = 0;
        let mut deepest = base;
        while let Some(i) = ready.pop() {
            done += 1;
            deepest = deepest.max(level[i]);
            for a in after[i].iter().map(|a| *a as usize).filter(|a| rank(*a) == r) {
                level[a] = level[a].max(level[i] + 1);
                let left = waiting.get_mut(&a).expect("a member of the rank");
                *left -= 1;
                if *left == 0 {
                    ready.push(a);
                }
            }
        }
        if done < members.len() {
            let node = members.into_iter().find(|i| waiting[i] > 0).unwrap_or_default();
            return Err(cycle(job, node));
        }
        base = deepest + 1;
    }
    Ok(level)
}

fn cycle(job: &Job<'_>, node: usize) -> Box<Finding> {
    let name = if node < job.tasks.len() { job.name(TaskId(node as u32)) } else { "adhesive or inspection".to_owned() };
    Box::new(Finding::new(codes::plan::ORDER_CYCLE, format!("the order rules ask `{name}` to come before itself")).value(name))
}

fn free_of_rules(g: &Graph, nodes: usize) -> Vec<bool> {
    let mut free = vec![true; nodes];
    for (node, before) in g.before.iter().enumerate() {
        if !before.is_empty() {
            free[node] = false;
            before.iter().for_each(|b| free[*b as usize] = false);
        }
    }
    free
}
