//! A job as the planner sees it: everything it looks up again and again, in one place.

use crate::capability::{Capability, feeder_fits, head_nozzles, off_panel, tray_fits};
use crate::order::Order;
use crate::station::timing::StationFigures;
use crate::station::ways::Ways;
use diag::{Code, Finding, codes};
use domain::job::{Job, TaskId};
use domain::line::{Line, StationKind};
use domain::plan::{SupplyAt, Unplaced};
use domain::rules::{Lock, Rules};
use motion::Clock;

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
}

impl<'a> Problem<'a> {
    /// Prepares a job for planning on a set-up that is held; heads take only what is supplied at their station.
    ///
    /// # Errors
    /// As [`Problem::new`].
    pub fn holding(job: &'a Job<'a>, line: &'a Line, rules: &'a Rules, held: Vec<Vec<SupplyAt>>) -> Result<Self, Vec<Finding>> {
        let mut problem = Self::new(job, line, rules)?;
        let supplied = |part: usize, station: usize| held.get(station).is_some_and(|all| all.iter().any(|s| s.part.index() == part));
        problem.cap.limit(supplied, |part| {
            format!("no slot is left for `{}` beside the supplies of other products", job.product.parts[part].number)
        });
        (problem.tasks, problem.unplaced) = (Vec::new(), Vec::new());
        problem.held = Some(held);
        problem.sort_out();
        Ok(problem)
    }

    /// Prepares a job for planning.
    ///
    /// # Errors
    /// Findings that forbid any plan: a station of a kind that is not planned yet, locks that contradict, order
    /// rules that contradict.
    pub fn new(job: &'a Job<'a>, line: &'a Line, rules: &'a Rules) -> Result<Self, Vec<Finding>> {
        if let Some(s) = line.station.iter().find(|s| s.kind != StationKind::Gantry) {
            let message = format!("station `{}` is of kind {}, which is timed and checked, but not planned yet", s.name, s.kind);
            return Err(vec![Finding::new(codes::plan::NOT_PLANNED_YET, message).value(s.kind.word())]);
        }
        let clock = Clock::new(line, job);
        let wrong = check_rules(job, line, rules);
        if !wrong.is_empty() {
            return Err(wrong);
        }
        let order = Order::new(job, line, rules).map_err(|f| vec![*f])?;
        let cap = Capability::new(job, line, rules);
        let parts = &job.product.parts;
        let feeders = parts
            .iter()
            .map(|p| {
                let mut kinds: Vec<u32> = (0..line.feeder.len() as u32).filter(|k| feeder_fits(&line.feeder[*k as usize], p)).collect();
                kinds.sort_by_key(|k| (line.feeder[*k as usize].slots, line.feeder[*k as usize].advance, *k));
                kinds
            })
            .collect();
        let nozzles = parts
            .iter()
            .map(|p| cap.modes.iter().map(|m| head_nozzles(line, &line.station[m.station].head[m.head], p).collect()).collect())
            .collect();
        let (ways, figures) = (Ways::new(line), StationFigures::of_line(line, &clock, parts.len()));
        let (tasks, unplaced) = (Vec::new(), Vec::new());
        let mut problem = Self { job, line, rules, clock, cap, order, feeders, nozzles, ways, figures, tasks, unplaced, held: None };
        problem.sort_out();
        Ok(problem)
    }

    /// Parts tasks into those to be planned and those nobody can take.
    fn sort_out(&mut self) {
        let dispensers = self.line.station.iter().flat_map(|s| &s.head).any(|h| h.kind == domain::line::HeadKind::Dispense);
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
        self.line.station[station].tray.iter().enumerate().filter(|(_, t)| tray_fits(t, part)).map(|(i, _)| i)
    }

    /// Whether a part comes in trays.
    pub fn in_trays(&self, part: usize) -> bool {
        self.job.product.parts[part].supply.value == domain::part::Supply::Tray
    }
}

/// Everything wrong with locks: unknown names and contradictions.
fn check_rules(job: &Job<'_>, line: &Line, rules: &Rules) -> Vec<Finding> {
    let mut found = Vec::new();
    let mut unknown =
        |what: &str, name: &str| found.push(Finding::new(codes::plan::LOCK_UNKNOWN, format!("no {what} is called `{name}`")).value(name));
    let known = |number: &str| job.product.parts.iter().any(|p| p.number == number);
    for l in &rules.lock {
        if !known(&l.part) {
            unknown("part", &l.part);
        }
        let station = l.station.as_ref().map(|s| (s, line.station_named(s)));
        match station {
            Some((name, None)) => unknown("station", name),
            Some((_, Some(s))) => {
                let s = &line.station[s];
                if let Some(h) = l.head.as_ref().filter(|h| !s.head.iter().any(|x| x.name == **h)) {
                    unknown("head", h);
                }
                match l.bank.as_ref().map(|b| (b, s.bank.iter().find(|x| x.name == *b))) {
                    Some((b, None)) => unknown("bank", b),
                    Some((_, Some(bank))) => {
                        if let Some(slot) = l.slot.filter(|n| *n < 1 || *n > bank.slots) {
                            unknown("slot", &slot.to_string());
                        }
                    }
                    None => {}
                }
            }
            None => {}
        }
    }
    for f in &rules.forbid {
        if !known(&f.part) {
            unknown("part", &f.part);
        }
        match line.station_named(&f.station).map(|s| &line.station[s]) {
            None => unknown("station", &f.station),
            Some(s) => {
                if let Some(h) = f.head.as_ref().filter(|h| !s.head.iter().any(|x| x.name == **h)) {
                    unknown("head", h);
                }
            }
        }
    }
    found.extend(contradictions(rules));
    found
}

fn contradictions(rules: &Rules) -> Vec<Finding> {
    let mut found = Vec::new();
    let mut conflict = |text: String, value: &str| found.push(Finding::new(codes::plan::LOCK_CONFLICT, text).value(value));
    for (i, a) in rules.lock.iter().enumerate() {
        if (a.bank.is_some() && a.station.is_none()) || (a.slot.is_some() && a.bank.is_none()) || (a.head.is_some() && a.station.is_none())
        {
            conflict(format!("the lock of `{}` needs the station (and for a slot the bank) too", a.part), &a.part);
        }
        for b in &rules.lock[i + 1..] {
            if a.part == b.part {
                conflict(format!("`{}` is locked twice", a.part), &a.part);
            } else if a.slot.is_some() && (&a.station, &a.bank, a.slot) == (&b.station, &b.bank, b.slot) {
                conflict(format!("`{}` and `{}` are locked to the same slot", a.part, b.part), &b.part);
            }
        }
        let forbids = |f: &&domain::rules::Forbid| {
            f.part == a.part && Some(&f.station) == a.station.as_ref() && (f.head.is_none() || f.head == a.head)
        };
        if rules.forbid.iter().any(|f| forbids(&f)) {
            conflict(format!("`{}` is locked to a place that is forbidden to it", a.part), &a.part);
        }
    }
    found
}
