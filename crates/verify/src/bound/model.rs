//! The line as the bound sees it: stations, heads, and the columns work may be given to (§3.1).

use super::NS;
use super::figures::{self, Figures};
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
    pub(crate) figures: Figures,
}

/// One station's figures [ns].
pub(crate) struct StationModel {
    pub(crate) fixed: i64,
    /// One swap; `None` without a head changer.
    pub(crate) swap: Option<i64>,
    pub(crate) alternates: bool,
}

/// The whole line.
pub(crate) struct Model {
    pub(crate) stations: Vec<StationModel>,
    pub(crate) heads: Vec<HeadModel>,
    pub(crate) columns: Vec<Column>,
    /// Number of pieces of work.
    pub(crate) items: usize,
    /// For each area its time at each station, `None` where it cannot be done.
    pub(crate) areas: Vec<Vec<Option<i64>>>,
    /// Work that comes before other work, by the columns that can do the two; each pair of lists once.
    pub(crate) orders: BTreeSet<(Vec<usize>, Vec<usize>)>,
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
            stations: plan.line.station.iter().enumerate().map(|(s, station)| station_model(station, clock, s)).collect(),
            heads: Vec::new(),
            columns: Vec::new(),
            items: work.len(),
            areas: views::times(plan, job),
            orders: BTreeSet::new(),
        };
        let mut all: Vec<(usize, usize)> = dotters.iter().chain(&placers).copied().collect();
        all.sort_unstable();
        for (s, h) in all {
            let dispenses = dotters.contains(&(s, h));
            let row = takes.iter().find(|x| x.station == s && x.head == h);
            let mine = work.iter().enumerate().filter(|(_, (t, is_dots))| *is_dots == dispenses && row.is_none_or(|row| can(row, *t)));
            let mine: Vec<(usize, TaskId)> = mine.map(|(i, (t, _))| (i, *t)).collect();
            let tasks: Vec<TaskId> = mine.iter().map(|m| m.1).collect();
            let Some(figures) = figures::of(&plan.line, job, clock, s, h, &tasks) else { continue };
            let head = model.heads.len();
            model.heads.push(HeadModel { station: s, index: h, figures });
            model.add_columns(plan, job, head, &mine);
        }
        let mut doers: Vec<Vec<usize>> = vec![Vec::new(); model.items];
        for (c, column) in model.columns.iter().enumerate() {
            column.does.iter().for_each(|(_, i)| doers[*i].push(c));
        }
        model.orders = orders::of(plan, job, &work).into_iter().map(|(a, b)| (doers[a].clone(), doers[b].clone())).collect();
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
        let is_gantry = plan.line.station[at.station].kind == StationKind::Gantry;
        if sheet.kind == HeadKind::Dispense || sheet.spindles > 1 || !is_gantry {
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

fn station_model(station: &Station, clock: &Clock<'_>, s: usize) -> StationModel {
    if station.kind == StationKind::TwoBeam {
        // Only the fixed time counts: all heads may work, at no cost.
        return StationModel { fixed: clock.fixed(s).total().0 * NS, swap: Some(0), alternates: true };
    }
    StationModel {
        fixed: clock.fixed(s).total().0 * NS,
        swap: station.head_swap.as_ref().map(|x| x.time.0.0 * NS),
        alternates: station.head_swap.as_ref().is_some_and(|x| x.alternate),
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
