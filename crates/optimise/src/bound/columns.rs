//! Everything the bound is made of: the figures of all heads, and the columns work may be given to
//! (`docs/planning.md` §3.1).

use super::figures::{HeadFigures, NEVER};
use super::{drum, looks, pairs};
use crate::capability::Capability;
use domain::job::{Job, TaskId};
use domain::line::{HeadKind, Line, StationKind};
use domain::rules::Rules;
use motion::Clock;

/// Everything the bound is made of.
#[derive(Clone, Debug)]
pub struct Costs {
    /// Number of items: tasks, then dots.
    pub items: usize,
    /// Each head of each station, dispense heads too.
    pub columns: Vec<Column>,
    /// For each area to be looked at, its time at each station [ns]; [`NEVER`] where it cannot be done.
    pub areas: Vec<Vec<i64>>,
    /// Least time of each item at each head with an even share of its trip [ns], row by row; [`NEVER`] where it cannot be done.
    pub time: Vec<i64>,
    /// What every panel costs each station [ns].
    pub fixed: Vec<i64>,
    /// One head swap at each station [ns].
    pub swap: Vec<i64>,
    /// Whether passes may alternate at each station.
    pub alternate: Vec<bool>,
    /// Whether heads can be changed at each station.
    pub(super) changer: Vec<bool>,
    /// The heads that can do anything.
    pub(super) heads: Vec<HeadFigures>,
    /// What work may be given to, station by station and head by head.
    pub(super) uses: Vec<Use>,
    /// Work that must come before other work, by what can do the two: lists of indices into `uses`.
    pub(super) orders: Vec<(Vec<u32>, Vec<u32>)>,
}

/// A head.
#[derive(Clone, Copy, Debug)]
pub struct Column {
    /// Index of the station.
    pub station: usize,
    /// Index of the head.
    pub head: usize,
}

/// A head, for heads of one spindle with one kind of nozzle.
#[derive(Clone, Debug)]
pub(super) struct Use {
    /// Index into [`Costs::heads`].
    pub head: usize,
    /// Nozzle kind, for placing heads of one spindle.
    pub nozzle: Option<u32>,
    /// Items it can do, rising.
    pub does: Vec<u32>,
}

impl Costs {
    /// Least time of an item at a head with an even share of its trip [ns].
    pub fn at(&self, item: usize, column: usize) -> i64 {
        self.time[item * self.columns.len() + column]
    }

    /// Works out all costs. `placed` are the tasks that count.
    pub fn new(job: &Job<'_>, line: &Line, rules: &Rules, clock: &Clock<'_>, cap: &Capability, placed: &[TaskId]) -> Self {
        let dotted = placed.iter().copied().filter(|t| job.part(*t).adhesive_dots.value > 0);
        let dots: Vec<(usize, TaskId)> = (placed.len()..).zip(dotted).collect();
        let items = placed.len() + dots.len();
        let (mut columns, mut heads, mut uses) = (Vec::new(), Vec::new(), Vec::new());
        let mut cells: Vec<Vec<i64>> = Vec::new();
        for (s, station) in line.station.iter().enumerate() {
            for (h, head) in station.head.iter().enumerate() {
                columns.push(Column { station: s, head: h });
                let mine: Vec<(usize, TaskId)> = if head.kind == HeadKind::Dispense {
                    dots.clone()
                } else {
                    let mode = cap.mode(s, h);
                    let takes = |t: &TaskId| mode.is_some_and(|m| cap.can(job.tasks[t.index()].part.index(), m));
                    placed.iter().copied().enumerate().filter(|(_, t)| takes(t)).collect()
                };
                if mine.is_empty() {
                    cells.push(vec![NEVER; items]);
                    continue;
                }
                let figures = if station.kind == StationKind::TwoBeam {
                    HeadFigures::free((s, h), items, &mine)
                } else if station.kind == StationKind::Turret {
                    drum::figures(line, clock, s, items, &mine)
                } else if head.kind == HeadKind::Dispense {
                    HeadFigures::dispense(job, line, clock, (s, h), items, &mine)
                } else {
                    HeadFigures::placing(job, line, clock, (s, h), items, &mine)
                };
                let prices = figures.plain_prices();
                cells.push((0..items).map(|i| figures.time(i, &prices)).collect());
                uses.extend(uses_of(job, line, (s, h), heads.len(), &mine));
                heads.push(figures);
            }
        }
        let width = columns.len();
        let time = (0..items * width).map(|k| cells[k % width][k / width]).collect();
        // At stations of two beams all heads may work, at no cost.
        let free = |s: &domain::line::Station| s.kind == StationKind::TwoBeam;
        let swap = |s: &domain::line::Station| if free(s) { 0 } else { s.head_swap.as_ref().map_or(0, |w| 1000 * w.time.0.0) };
        let mut costs = Self {
            items,
            columns,
            time,
            areas: looks::times(job, line, rules),
            fixed: (0..line.station.len()).map(|s| 1000 * clock.fixed(s).total().0).collect(),
            swap: line.station.iter().map(swap).collect(),
            alternate: line.station.iter().map(|s| free(s) || s.head_swap.as_ref().is_some_and(|w| w.alternate)).collect(),
            changer: line.station.iter().map(|s| free(s) || s.head_swap.is_some()).collect(),
            heads,
            uses,
            orders: Vec::new(),
        };
        if costs.alternate.contains(&true) {
            costs.orders = costs.orders_of(pairs::pairs(job, line, rules, placed, &dots));
        }
        costs
    }

    /// Pairs of items as pairs of what can do them, each once.
    fn orders_of(&self, pairs: Vec<(u32, u32)>) -> Vec<(Vec<u32>, Vec<u32>)> {
        let mut can: Vec<Vec<u32>> = vec![Vec::new(); self.items];
        for (c, column) in self.uses.iter().enumerate() {
            column.does.iter().for_each(|i| can[*i as usize].push(c as u32));
        }
        let mut orders: Vec<_> = pairs.into_iter().map(|(a, b)| (can[a as usize].clone(), can[b as usize].clone())).collect();
        orders.sort_unstable();
        orders.dedup();
        orders
    }
}

/// The columns of one head.
fn uses_of(job: &Job<'_>, line: &Line, (s, h): (usize, usize), head: usize, mine: &[(usize, TaskId)]) -> Vec<Use> {
    let sheet = &line.station[s].head[h];
    if sheet.kind == HeadKind::Dispense || sheet.spindles > 1 || line.station[s].kind != StationKind::Gantry {
        return vec![Use { head, nozzle: None, does: mine.iter().map(|(i, _)| *i as u32).collect() }];
    }
    let kinds = line.nozzle.iter().enumerate().filter(|(_, n)| sheet.nozzles.contains(&n.name));
    let of_kind = |(k, nozzle): (usize, &domain::line::NozzleKind)| {
        let served = mine.iter().filter(|(_, t)| nozzle.classes.contains(&job.part(*t).nozzle_class.value));
        let does: Vec<u32> = served.map(|(i, _)| *i as u32).collect();
        (!does.is_empty()).then_some(Use { head, nozzle: Some(k as u32), does })
    };
    kinds.filter_map(of_kind).collect()
}
