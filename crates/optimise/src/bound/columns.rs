//! Everything the bound is made of: the figures of all heads, and the columns work may be given to
//! (`docs/planning.md` §3.1).

use super::figures::{HeadFigures, NEVER};
use super::{drum, looks, pairs};
use crate::capability::Capability;
use domain::job::{Job, TaskId};
use domain::line::{HeadKind, Line, StationKind};
use domain::rules::Rules;
use motion::Clock;
use std::collections::BTreeSet;

/// Everything the bound is made of.
#[derive(Clone, Debug)]
pub struct Costs {
    /// Number of items: tasks, then dots.
    pub items: usize,
    /// Each head of each station, dispense heads too.
    pub columns: Vec<Column>,
    /// What has a weight: station by station in the order of the line, of two beams beam 1, beam 2, the board.
    pub(super) rows: Vec<Row>,
    /// For each area to be looked at, its time in each row [ns]; [`NEVER`] where it cannot be done.
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
    /// What must come before what.
    pub(super) orders: Orders,
}

/// Pairs of items, by what can do the two.
#[derive(Clone, Debug, Default)]
pub(super) struct Orders {
    /// What can do some item: indices into [`Costs::uses`], rising; each list once.
    pub doers: Vec<Vec<u32>>,
    /// The pairs, each once: indices into `doers`.
    pub pairs: Vec<(u32, u32)>,
    /// What can do the items that each item stands in a pair with: indices into `doers`, each once.
    pub partners: Vec<Vec<u32>>,
}

/// What has a weight.
#[derive(Clone, Copy, Debug)]
pub(super) struct Row {
    /// Index of the station.
    pub station: usize,
    /// Of a beam of two: the row of the board.
    pub board: Option<usize>,
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

    /// Whether two beams share the board at a station.
    pub(super) fn is_shared(&self, station: usize) -> bool {
        self.rows.iter().any(|r| r.station == station && r.board.is_some())
    }

    /// Weights for every station, rounded up: more than one where there are stations of two beams.
    pub(super) fn rows_per_station(&self) -> u64 {
        self.rows.len().div_ceil(self.fixed.len().max(1)) as u64
    }

    /// Works out all costs. `placed` are the tasks that count.
    pub fn new(job: &Job<'_>, line: &Line, rules: &Rules, clock: &Clock<'_>, cap: &Capability, placed: &[TaskId]) -> Self {
        let dotted = placed.iter().copied().filter(|t| job.part(*t).adhesive_dots.value > 0);
        let dots: Vec<(usize, TaskId)> = (placed.len()..).zip(dotted).collect();
        let items = placed.len() + dots.len();
        let (mut columns, mut heads, mut uses) = (Vec::new(), Vec::new(), Vec::new());
        let mut cells: Vec<Vec<i64>> = Vec::new();
        let rows = rows_of(line);
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
                let row = rows.iter().position(|r| r.station == s).unwrap_or(0) + usize::from(head.beam == Some(2));
                let figures = match station.kind {
                    StationKind::Turret => drum::figures(line, clock, (s, row), items, &mine),
                    _ if head.kind == HeadKind::Dispense => HeadFigures::dispense(job, line, clock, (s, h, row), items, &mine),
                    _ => HeadFigures::placing(job, line, clock, (s, h, row), items, &mine),
                };
                let prices = figures.plain_prices();
                cells.push(figures.times(&prices));
                uses.extend(uses_of(job, line, (s, h), heads.len(), &mine));
                heads.push(figures);
            }
        }
        let width = columns.len();
        let time = (0..items * width).map(|k| cells[k % width][k / width]).collect();
        let swap = |s: &domain::line::Station| s.head_swap.as_ref().map_or(0, |w| 1000 * w.time.0.0);
        // A beam's first nozzle change may fall on the beginning of the panel, as with alternating passes.
        let alternate = |s: &domain::line::Station| s.kind == StationKind::TwoBeam || s.head_swap.as_ref().is_some_and(|w| w.alternate);
        let of_rows = |area: Vec<i64>| rows.iter().map(|r| area[r.station]).collect();
        let areas = looks::times(job, line, rules).into_iter().map(of_rows).collect();
        let mut costs = Self {
            items,
            columns,
            rows,
            time,
            areas,
            fixed: (0..line.station.len()).map(|s| 1000 * clock.fixed(s).total().0).collect(),
            swap: line.station.iter().map(swap).collect(),
            alternate: line.station.iter().map(alternate).collect(),
            changer: line.station.iter().map(|s| s.head_swap.is_some()).collect(),
            heads,
            uses,
            orders: Orders::default(),
        };
        if costs.alternate.contains(&true) {
            let mut orders = OrdersOf::new(costs.items, &costs.uses);
            pairs::pairs(job, line, rules, placed, &dots, |a, b| orders.add(a as usize, b as usize));
            costs.orders = orders.finish();
        }
        costs
    }
}

/// Orders under way.
struct OrdersOf {
    /// What can do each item: index into the lists.
    list: Vec<u32>,
    orders: Orders,
    pairs: BTreeSet<(u32, u32)>,
}

impl OrdersOf {
    fn new(items: usize, uses: &[Use]) -> Self {
        let mut can: Vec<Vec<u32>> = vec![Vec::new(); items];
        for (c, column) in uses.iter().enumerate() {
            column.does.iter().for_each(|i| can[*i as usize].push(c as u32));
        }
        let mut doers = can.clone();
        doers.sort_unstable();
        doers.dedup();
        let list = can.iter().map(|c| doers.binary_search(c).map_or(0, |k| k as u32)).collect();
        let orders = Orders { doers, pairs: Vec::new(), partners: vec![Vec::new(); items] };
        Self { list, orders, pairs: BTreeSet::new() }
    }

    fn add(&mut self, a: usize, b: usize) {
        self.pairs.insert((self.list[a], self.list[b]));
        for (i, other) in [(a, b), (b, a)] {
            let partners = &mut self.orders.partners[i];
            if !partners.contains(&self.list[other]) {
                partners.push(self.list[other]);
            }
        }
    }

    fn finish(self) -> Orders {
        Orders { pairs: self.pairs.into_iter().collect(), ..self.orders }
    }
}

fn rows_of(line: &Line) -> Vec<Row> {
    let mut rows = Vec::new();
    for (station, s) in line.station.iter().enumerate() {
        if s.kind == StationKind::TwoBeam {
            let board = Some(rows.len() + 2);
            rows.extend([Row { station, board }, Row { station, board }]);
        }
        rows.push(Row { station, board: None });
    }
    rows
}

/// The columns of one head.
fn uses_of(job: &Job<'_>, line: &Line, (s, h): (usize, usize), head: usize, mine: &[(usize, TaskId)]) -> Vec<Use> {
    let sheet = &line.station[s].head[h];
    if sheet.kind == HeadKind::Dispense || sheet.spindles > 1 || line.station[s].kind == StationKind::Turret {
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
