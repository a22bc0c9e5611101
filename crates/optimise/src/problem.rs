//! A job as the planner sees it: everything it looks up again and again, in one place.

use crate::bound::Costs;
use crate::capability::{Capability, feeder_fits, head_nozzles, off_panel, tray_fits};
use crate::check_rules::{Stand, check_rules, stand};
use crate::conflict::explain_cycle;
use crate::kinds::StandIns;
use crate::order::Order;
use crate::outage::{feeder_is_gone, feeders_left, head_is_down, may_add, nozzle_is_gone, nozzles_left, slots_up, tray_is_down};
use crate::station::timing::StationFigures;
use crate::station::ways::Ways;
use diag::{Code, Finding, codes};
use domain::job::{Job, TaskId};
use domain::line::Line;
use domain::plan::{SupplyAt, SupplyPlace, Unplaced};
use domain::rules::{Lock, Rules};
use motion::Clock;
use std::collections::BTreeSet;

/// A job on a line under rules, with all that follows from them before anything is chosen.
pub struct Problem<'a> {
    /// The job.
    pub job: &'a Job<'a>,
    /// The line.
    pub line: &'a Line,
    /// Order rules and locks.
    pub rules: &'a Rules,
    /// The clock.
    pub clock: Clock<'a>,
    /// Which head takes which part.
    pub cap: Capability,
    /// Order rules as pairs and stages.
    pub order: Order,
    /// Feeder kinds that take each part, narrowest first.
    pub feeders: Vec<Vec<u32>>,
    /// Nozzle kinds of each mode that serve each part: `[part][mode]`.
    pub nozzles: Vec<Vec<Vec<u32>>>,
    /// Ways of all stations, kept once asked for.
    pub ways: Ways,
    /// What timing needs of every station.
    pub figures: Vec<StationFigures>,
    /// Tasks that are to be planned.
    pub tasks: Vec<TaskId>,
    /// Tasks that no station can take, with the reason.
    pub unplaced: Vec<Unplaced>,
    /// A set-up that is held: what stands at each station, neither more nor less. Families plan each product on one.
    pub held: Option<Vec<Vec<SupplyAt>>>,
    /// For each station what stands there already and is better left there; empty unless a plan is re-planned.
    pub standing: Vec<Vec<SupplyAt>>,
    /// Parts whose feeder or tray the engineer keeps where it stands, with the place.
    pub kept: Vec<(usize, Stand)>,
    /// What stands in for stations of other kinds than gantry; then the line of the problem is that of the stand-ins.
    pub stand_ins: Option<&'a StandIns<'a>>,
}

/// Placements from which on a line is large.
const LARGE: usize = 4_000;

impl<'a> Problem<'a> {
    /// Whether there is so much work that only one line is searched, its stations by all threads.
    pub fn is_large(&self) -> bool {
        self.tasks.len() >= LARGE
    }

    /// Prepares a job for planning on a set-up that is held; heads take only what is supplied at their station.
    ///
    /// # Errors
    /// As [`Problem::on`].
    pub fn holding(
        job: &'a Job<'a>,
        line: &'a Line,
        stand_ins: Option<&'a StandIns<'a>>,
        rules: &'a Rules,
        held: Vec<Vec<SupplyAt>>,
    ) -> Result<Self, Vec<Finding>> {
        let mut problem = Self::on(job, line, stand_ins, rules)?;
        let supplied = |part: usize, station: usize| held.get(station).is_some_and(|all| all.iter().any(|s| s.part.index() == part));
        problem.cap.limit(supplied, |part| {
            format!("no slot is left for `{}` beside the supplies of other products", job.product.parts[part].number)
        });
        (problem.tasks, problem.unplaced) = (Vec::new(), Vec::new());
        problem.held = Some(held);
        problem.sort_out();
        Ok(problem)
    }

    /// Prepares a job for planning on any line, given what stands in for its stations of other kinds than gantry.
    ///
    /// # Errors
    /// Findings that forbid any plan: locks that contradict, order rules that contradict.
    pub fn on(job: &'a Job<'a>, line: &'a Line, stand_ins: Option<&'a StandIns<'a>>, rules: &'a Rules) -> Result<Self, Vec<Finding>> {
        let wrong = check_rules(job, line, rules);
        if !wrong.is_empty() {
            return Err(wrong);
        }
        let mut problem = Self::prepare(job, stand_ins.map_or(line, |s| &s.line), rules)?;
        problem.stand_ins = stand_ins;
        problem.shut_beams();
        Ok(problem)
    }

    /// What is kept at one beam of a closed station is of no use to the other.
    fn shut_beams(&mut self) {
        let Some(stand_ins) = self.stand_ins else { return };
        let kept: BTreeSet<(usize, usize)> = self.kept.iter().map(|(part, at)| (*part, at.station)).collect();
        let shut: Vec<bool> = (0..stand_ins.places.len()).map(|s| may_add(self.rules, &self.line.station[s].name) == Some(0)).collect();
        let parts = &self.job.product.parts;
        self.cap.limit(
            |part, s| !shut[s] || kept.contains(&(part, s)),
            |part| format!("`{}` has no supply at any station that could take it, and these are closed", parts[part].number),
        );
        (self.tasks, self.unplaced) = (Vec::new(), Vec::new());
        self.sort_out();
    }

    /// How many supplies may be added at a station beyond those kept there; `None` where it is not closed.
    pub fn may_add(&self, station: usize) -> Option<u32> {
        let add = may_add(self.rules, &self.line.station[station].name)?;
        Some(self.stand_ins.map_or(add, |s| s.share(station, add)))
    }

    /// Station and head of the sheet that a mode stands for.
    pub fn of_sheet(&self, mode: usize) -> (usize, usize) {
        let m = self.cap.modes[mode];
        self.stand_ins.map_or((m.station, m.head), |s| s.places[m.station].of_sheet(m.head))
    }

    /// The line that is planned, whatever stands in for its stations.
    pub fn sheet(&self) -> &'a Line {
        self.stand_ins.map_or(self.line, |s| s.real)
    }

    /// Least times of tasks at the line that is planned, for its bound.
    pub fn least_times(&self, placed: &[TaskId]) -> Costs {
        match self.stand_ins {
            None => Costs::new(self.job, self.line, self.rules, &self.clock, &self.cap, placed),
            Some(s) => {
                let cap = Capability::new(self.job, s.real, self.rules);
                Costs::new(self.job, s.real, self.rules, &s.clock, &cap, placed)
            }
        }
    }

    fn prepare(job: &'a Job<'a>, line: &'a Line, rules: &'a Rules) -> Result<Self, Vec<Finding>> {
        let clock = Clock::new(line, job);
        let order = Order::new(job, line, rules).map_err(|f| vec![explain_cycle(job, line, rules).unwrap_or(*f)])?;
        let cap = Capability::new(job, line, rules);
        let parts = &job.product.parts;
        let feeders = parts
            .iter()
            .map(|p| {
                let fits = |k: &u32| feeder_fits(&line.feeder[*k as usize], p) && !feeder_is_gone(rules, &line.feeder[*k as usize]);
                let mut kinds: Vec<u32> = (0..line.feeder.len() as u32).filter(fits).collect();
                kinds.sort_by_key(|k| (line.feeder[*k as usize].slots, line.feeder[*k as usize].advance, *k));
                kinds
            })
            .collect();
        let nozzles = parts
            .iter()
            .map(|p| {
                let left = |k: &u32| !nozzle_is_gone(rules, &line.nozzle[*k as usize]);
                cap.modes.iter().map(|m| head_nozzles(line, &line.station[m.station].head[m.head], p).filter(left).collect()).collect()
            })
            .collect();
        let number = |k: &domain::rules::Keep| parts.iter().position(|p| p.number == k.part);
        let kept = rules.keep.iter().filter_map(|k| Some((number(k)?, stand(job, line, rules, k).ok()?))).collect();
        let (ways, figures) = (Ways::new(line), StationFigures::of_line(line, &clock, parts.len()));
        let mut problem = Self {
            job,
            line,
            rules,
            clock,
            cap,
            order,
            feeders,
            nozzles,
            ways,
            figures,
            tasks: Vec::new(),
            unplaced: Vec::new(),
            held: None,
            standing: Vec::new(),
            kept,
            stand_ins: None,
        };
        problem.sort_out();
        Ok(problem)
    }

    /// Parts tasks into those to be planned and those nobody can take.
    fn sort_out(&mut self) {
        let dispensers = (0..self.line.station.len()).any(|s| self.dispenser(s).is_some());
        for t in (0..self.job.tasks.len() as u32).map(TaskId) {
            let part = self.job.tasks[t.index()].part.index();
            let needs_dots = self.job.part(t).adhesive_dots.value > 0;
            let why: Option<(&'static Code, String)> = if let Some((code, text)) = self.cap.why_none(part) {
                Some((code, text.clone()))
            } else if off_panel(self.job, t) {
                Some((codes::plan::OFF_BOARD, format!("`{}` lies outside the panel", self.job.name(t))))
            } else if needs_dots && !dispensers {
                Some((codes::plan::NO_ADHESIVE, format!("`{}` asks for adhesive dots", self.job.name(t))))
            } else {
                None
            };
            match why {
                None => self.tasks.push(t),
                Some((code, message)) => self.unplaced.push(self.unplaced_task(t, code, message)),
            }
        }
    }

    /// A task with the reason why it is not placed.
    pub fn unplaced_task(&self, task: TaskId, code: &'static Code, message: String) -> Unplaced {
        Unplaced { reference: self.job.name(task), task, code: code.id.to_owned(), message }
    }

    /// Part of a task, as an index.
    pub fn part_of(&self, task: TaskId) -> usize {
        self.job.tasks[task.index()].part.index()
    }

    /// The lock of a part, if the engineer set one.
    pub fn lock(&self, part: usize) -> Option<&Lock> {
        let number = &self.job.product.parts[part].number;
        self.rules.lock.iter().find(|l| l.part == *number)
    }

    /// Tray places of a station that take a part's trays, as indices.
    pub fn tray_places(&self, station: usize, part: usize) -> impl Iterator<Item = usize> {
        let part = &self.job.product.parts[part];
        let sheet = &self.line.station[station];
        let takes = move |t: &domain::line::TrayPlace| tray_fits(t, part) && !tray_is_down(self.rules, &sheet.name, &t.name);
        sheet.tray.iter().enumerate().filter(move |(_, t)| takes(t)).map(|(i, _)| i)
    }

    /// The head of a station that sets dots, if it has one that is not down.
    pub fn dispenser(&self, station: usize) -> Option<usize> {
        let sheet = &self.line.station[station];
        let sets = |h: &domain::line::Head| h.kind == domain::line::HeadKind::Dispense && !head_is_down(self.rules, &sheet.name, &h.name);
        sheet.head.iter().position(sets)
    }

    /// The first head of a station that is not down.
    pub fn first_head(&self, station: usize) -> Option<usize> {
        let sheet = &self.line.station[station];
        sheet.head.iter().position(|h| !head_is_down(self.rules, &sheet.name, &h.name))
    }

    /// Whether a station can look at areas: some head is fitted meanwhile.
    pub fn can_look(&self, station: usize) -> bool {
        self.line.station[station].inspection.is_some() && self.first_head(station).is_some()
    }

    /// Feeders of each kind that are in stock and not down.
    pub fn feeder_stock(&self) -> Vec<u32> {
        self.line.feeder.iter().map(|f| feeders_left(self.rules, f)).collect()
    }

    /// Nozzles of each kind that are in stock and not down.
    pub fn nozzle_stock(&self) -> Vec<u32> {
        self.line.nozzle.iter().map(|n| nozzles_left(self.rules, n)).collect()
    }

    /// Whether exactly this supply stands at a station already.
    pub fn stands(&self, station: usize, supply: &SupplyAt) -> bool {
        self.standing.get(station).is_some_and(|all| all.contains(supply))
    }

    /// Whether the lock of a part, if it has one, lets its supply stand at this place.
    pub fn may_stand(&self, station: usize, part: usize, place: &SupplyPlace) -> bool {
        let (Some(lock), sheet) = (self.lock(part), &self.line.station[station]) else { return true };
        if lock.station.as_ref().is_some_and(|n| *n != sheet.name) {
            return false;
        }
        match *place {
            SupplyPlace::Feeder { bank, slot, .. } => {
                lock.tray.is_none()
                    && lock.bank.as_ref().is_none_or(|b| sheet.bank.get(bank as usize).is_some_and(|x| x.name == *b))
                    && lock.slot.is_none_or(|n| n == slot)
            }
            SupplyPlace::Tray { tray, level } => {
                lock.bank.is_none()
                    && lock.tray.as_ref().is_none_or(|t| sheet.tray.get(tray as usize).is_some_and(|x| x.name == *t))
                    && lock.level.is_none_or(|n| n == level)
            }
        }
    }

    /// Most feeders a part may be given at a station: one where the set-up is held, where a re-plan spares what stands, and where a lock
    /// says where it stands.
    pub fn most_feeders(&self, part: usize) -> usize {
        if self.held.is_some() || !self.standing.is_empty() || self.lock(part).is_some_and(Lock::binds_supply) {
            return 1;
        }
        self.rules.most_feeders()
    }

    /// Whether a head of a station is not down.
    pub fn is_head_up(&self, station: usize, head: usize) -> bool {
        let sheet = &self.line.station[station];
        sheet.head.get(head).is_some_and(|h| !head_is_down(self.rules, &sheet.name, &h.name))
    }

    /// Slots of a station that are up and hold nothing that is kept for parts no head there takes.
    pub fn slots_up(&self, station: usize) -> u32 {
        let sheet = &self.line.station[station];
        let up: u32 = (0..sheet.bank.len()).map(|b| slots_up(self.rules, sheet, b).into_iter().filter(|up| *up).count() as u32).sum();
        let taken = |part: usize| self.cap.modes.iter().enumerate().any(|(m, x)| x.station == station && self.cap.can(part, m));
        let in_the_way = self.kept.iter().filter(|(part, at)| at.station == station && !at.tray && !taken(*part));
        up.saturating_sub(in_the_way.map(|(_, at)| at.width).sum())
    }

    /// Levels of the tray places of a station that are up.
    pub fn levels_up(&self, station: usize) -> u32 {
        let sheet = &self.line.station[station];
        sheet.tray.iter().filter(|t| !tray_is_down(self.rules, &sheet.name, &t.name)).map(|t| t.levels()).sum()
    }

    /// Whether a part comes in trays.
    pub fn in_trays(&self, part: usize) -> bool {
        self.job.product.parts[part].supply.value == domain::part::Supply::Tray
    }
}
