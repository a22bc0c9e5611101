//! The line as the bound sees it: stations, heads, and the columns work may be given to (§3.1).

use super::NS;
use super::figures::{self, Figures, Share};
use super::{orders, views};
use crate::capability::{HeadTakes, is_on_panel, table};
use domain::job::{Job, TaskId};
use domain::line::{HeadKind, Station, StationKind};
use domain::plan::Plan;
use motion::Clock;
use std::collections::BTreeSet;

/// A head, for placing heads of one spindle with one nozzle kind.
pub(crate) struct Column {
    /// Index into [`Model::heads`].
    pub(crate) head: usize,
    pub(crate) nozzle: Option<u32>,
    /// Index into the head's figures, and the item, for each piece of work it can do.
    pub(crate) does: Vec<(usize, usize)>,
}

/// A head that can do anything.
pub(crate) struct HeadModel {
    pub(crate) station: usize,
    /// Index in the station's list.
    pub(crate) index: usize,
    /// Index into [`Model::rows`].
    pub(crate) row: usize,
    pub(crate) figures: Figures,
    /// Of a beam of two: the row of the board, and what the beam holds it for.
    pub(crate) board: Option<(usize, Figures)>,
}

/// What has a weight [ns]: a station; of two beams either beam, and the board.
pub(crate) struct RowModel {
    /// Index of the station.
    pub(crate) station: usize,
    pub(crate) fixed: i64,
    /// One swap; `None` without a head changer.
    pub(crate) swap: Option<i64>,
    pub(crate) alternates: bool,
}

/// The whole line.
pub(crate) struct Model {
    /// Station by station in the order of the line; of two beams beam 1, beam 2, the board.
    pub(crate) rows: Vec<RowModel>,
    pub(crate) heads: Vec<HeadModel>,
    pub(crate) columns: Vec<Column>,
    /// Number of pieces of work.
    pub(crate) items: usize,
    /// For each area its time in each row, `None` where it cannot be done.
    pub(crate) areas: Vec<Vec<Option<i64>>>,
    /// Columns that can do a piece of work; each list once.
    pub(crate) doers: Vec<Vec<usize>>,
    /// Work that comes before other work, by who can do the two: indices into `doers`, each pair once.
    pub(crate) orders: BTreeSet<(usize, usize)>,
    /// For each piece of work who can do what it stands in a pair with: indices into `doers`.
    pub(crate) partners: Vec<BTreeSet<usize>>,
}

impl Model {
    /// Work that no head can do is left out and adds nothing, which makes no bound larger.
    pub(crate) fn new(plan: &Plan, job: &Job<'_>, clock: &Clock<'_>) -> Self {
        let placed = placed(plan, job);
        let takes = table(&plan.line, &plan.rules, job);
        let dots = |t: &TaskId| job.part(*t).adhesive_dots.value > 0;
        let dotters: Vec<(usize, usize)> = heads_of(plan, true);
        let placers: Vec<(usize, usize)> = heads_of(plan, false);
        let can = |row: &HeadTakes, t: TaskId| row.takes[job.tasks[t.index()].part.index()] && is_on_panel(job, t);
        let placeable = placed.iter().filter(|t| takes.iter().any(|row| can(row, **t))).map(|t| (*t, false));
        let dotted = placed.iter().filter(|t| dots(t) && !dotters.is_empty()).map(|t| (*t, true));
        let work: Vec<(TaskId, bool)> = placeable.chain(dotted).collect();
        let mut model = Self {
            rows: plan.line.station.iter().enumerate().flat_map(|(s, station)| rows_of(station, clock, s)).collect(),
            heads: Vec::new(),
            columns: Vec::new(),
            items: work.len(),
            areas: Vec::new(),
            doers: Vec::new(),
            orders: BTreeSet::new(),
            partners: vec![BTreeSet::new(); work.len()],
        };
        let of_rows = |area: Vec<Option<i64>>| model.rows.iter().map(|row| area[row.station]).collect();
        model.areas = views::times(plan, job).into_iter().map(of_rows).collect();
        let mut all: Vec<(usize, usize)> = dotters.iter().chain(&placers).copied().collect();
        all.sort_unstable();
        for (s, h) in all {
            let dispenses = dotters.contains(&(s, h));
            let row = takes.iter().find(|x| x.station == s && x.head == h);
            let mine = work.iter().enumerate().filter(|(_, (t, is_dots))| *is_dots == dispenses && row.is_none_or(|row| can(row, *t)));
            let mine: Vec<(usize, TaskId)> = mine.map(|(i, (t, _))| (i, *t)).collect();
            let tasks: Vec<TaskId> = mine.iter().map(|m| m.1).collect();
            let figures = |share| figures::of(&plan.line, job, clock, (s, h), &tasks, share);
            let Some(own) = figures(Share::Own) else { continue };
            let head = model.heads.len();
            let beam = usize::from(plan.line.station[s].head[h].beam.unwrap_or(1));
            let Some(first) = model.rows.iter().position(|row| row.station == s) else { continue };
            let board = if plan.line.station[s].kind == StationKind::TwoBeam { figures(Share::Board) } else { None };
            model.heads.push(HeadModel { station: s, index: h, row: first + beam - 1, figures: own, board: board.map(|f| (first + 2, f)) });
            model.add_columns(plan, job, head, &mine);
        }
        let mut doers: Vec<Vec<usize>> = vec![Vec::new(); model.items];
        for (c, column) in model.columns.iter().enumerate() {
            column.does.iter().for_each(|(_, i)| doers[*i].push(c));
        }
        model.doers = doers.iter().cloned().collect::<BTreeSet<_>>().into_iter().collect();
        let list: Vec<usize> = doers.iter().map(|d| model.doers.partition_point(|x| x < d)).collect();
        orders::each(plan, job, &work, |a, b| {
            model.orders.insert((list[a], list[b]));
            model.partners[a].insert(list[b]);
            model.partners[b].insert(list[a]);
        });
        model
    }

    fn add_columns(&mut self, plan: &Plan, job: &Job<'_>, head: usize, mine: &[(usize, TaskId)]) {
        let at = &self.heads[head];
        let sheet = &plan.line.station[at.station].head[at.index];
        let mut add = |nozzle: Option<u32>, does: Vec<(usize, usize)>| {
            if !does.is_empty() {
                self.columns.push(Column { head, nozzle, does });
            }
        };
        let is_drum = plan.line.station[at.station].kind == StationKind::Turret;
        if sheet.kind == HeadKind::Dispense || sheet.spindles > 1 || is_drum {
            add(None, mine.iter().enumerate().map(|(k, (i, _))| (k, *i)).collect());
            return;
        }
        for (q, nozzle) in (0..).zip(&plan.line.nozzle).filter(|(_, n)| sheet.nozzles.contains(&n.name)) {
            let served = mine.iter().enumerate().filter(|(_, (_, t))| nozzle.classes.contains(&job.part(*t).nozzle_class.value));
            add(Some(q), served.map(|(k, (i, _))| (k, *i)).collect());
        }
    }

    /// Index of a column.
    pub(crate) fn column(&self, station: u32, head: u32, nozzle: Option<u32>) -> Option<usize> {
        let is = |c: &Column| {
            let at = &self.heads[c.head];
            (at.station, at.index, c.nozzle) == (station as usize, head as usize, nozzle)
        };
        self.columns.iter().position(is)
    }
}

/// Station and index of every head that dispenses, or of every other.
fn heads_of(plan: &Plan, dispense: bool) -> Vec<(usize, usize)> {
    let stations = plan.line.station.iter().enumerate();
    let all = stations.flat_map(|(s, x)| x.head.iter().enumerate().map(move |(h, head)| (s, h, head.kind)));
    all.filter(|(.., kind)| (*kind == HeadKind::Dispense) == dispense).map(|(s, h, _)| (s, h)).collect()
}

fn rows_of(station: &Station, clock: &Clock<'_>, s: usize) -> Vec<RowModel> {
    let row = |alternates| RowModel {
        station: s,
        fixed: clock.fixed(s).total().0 * NS,
        swap: station.head_swap.as_ref().map(|x| x.time.0.0 * NS),
        alternates,
    };
    if station.kind == StationKind::TwoBeam {
        // A beam's first nozzle change may fall on the beginning of the panel, as with alternating passes.
        return vec![row(true), row(true), row(true)];
    }
    vec![row(station.head_swap.as_ref().is_some_and(|x| x.alternate))]
}

impl HeadModel {
    /// Whether its trips are counted and priced.
    pub(crate) fn has_trips(&self) -> bool {
        self.figures.spindles > 1
    }

    /// Its rows, each with its weight and figures.
    pub(crate) fn rows<'m>(&'m self, weights: &'m [i128]) -> impl Iterator<Item = (i128, &'m Figures)> {
        let board = self.board.as_ref().map(|(row, figures)| (weights[*row], figures));
        std::iter::once((weights[self.row], &self.figures)).chain(board)
    }

    /// A figure over all its rows, weighted.
    pub(crate) fn weighted(&self, weights: &[i128], of: impl Fn(&Figures) -> i64) -> i128 {
        self.rows(weights).map(|(w, figures)| w * i128::from(of(figures))).sum()
    }

    /// The weights of all its rows.
    pub(crate) fn weight(&self, weights: &[i128]) -> i128 {
        self.rows(weights).map(|(w, _)| w).sum()
    }
}

/// The tasks the plan places, each once, rising.
fn placed(plan: &Plan, job: &Job<'_>) -> Vec<TaskId> {
    let mut is_placed = vec![false; job.tasks.len()];
    for pass in plan.stations.iter().flat_map(|s| &s.passes) {
        for task in pass.work.placed() {
            if let Some(placed) = is_placed.get_mut(task.index()) {
                *placed = true;
            }
        }
    }
    (0..job.tasks.len() as u32).map(TaskId).filter(|t| is_placed[t.index()]).collect()
}
