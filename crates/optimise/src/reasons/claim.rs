//! What one more of something would be worth, without planning anew.
//!
//! Two figures, both quick. The *balance* is the linear program of `docs/planning.md` §4 with the times that
//! the stations of the plan really took; its difference with and without the change estimates the worth. The
//! *bound* of the changed line says what can be gained at most. What is not short in the plan (slots, trays,
//! feeders, nozzles left over) is worth nothing and is said to be so, with the count.

use super::change::{Change, changes};
use crate::balance::{Linear, relax};
use crate::bound::{Costs, Effort, best_weights};
use crate::kinds::StandIns;
use crate::problem::Problem;
use crate::start::Estimate;
use crate::start::chosen_model;
use diag::Finding;
use domain::job::{Job, TaskId};
use domain::line::Line;
use domain::plan::{Plan, SupplyPlace, Work};
use domain::rules::Rules;
use units::Time;

/// What a change is said to be worth.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Claim {
    /// The change.
    pub change: Change,
    /// In plain words with figures.
    pub text: String,
    /// By the balance: how much shorter the takt would be about [µs]; `None` if only planning anew tells.
    pub estimate: Option<Time>,
    /// No plan of the same placements with the change can gain more [µs]; `None` if not worked out.
    pub at_most: Option<Time>,
}

/// Less than this share of the takt is next to nothing [per mille].
const NOTABLE: i64 = 4;
/// Modes and groups above which the linear program is left out: it would take too long for a quick answer.
const MOST_CELLS: usize = 12_000;
/// A head that did nothing yet takes this much longer than its least time.
const USUAL: f64 = 1.15;

/// Says of every change that makes sense what it is worth; the weightiest first.
///
/// The plan is one the checker accepts; of another one nothing is said.
///
/// # Errors
/// As [`crate::plan`].
pub fn claims(plan: &Plan) -> Result<Vec<Claim>, Vec<Finding>> {
    if plan.stations.len() != plan.line.station.len() {
        return Ok(Vec::new());
    }
    let job = plan.job().map_err(|f| vec![*f])?;
    let spare = Spare::new(plan);
    let factors = factors(plan, &job)?;
    let now = look(&job, &plan.line, &plan.rules, &|s| factors[s], None)?;
    let mut found: Vec<Claim> =
        changes(&plan.line, &plan.rules).into_iter().map(|c| claim(plan, &job, c, &spare, &factors, &now)).collect();
    found.sort_by_key(|c| std::cmp::Reverse((c.estimate.unwrap_or(Time::ZERO), c.at_most.unwrap_or(Time::ZERO))));
    Ok(found)
}

fn claim(plan: &Plan, job: &Job<'_>, change: Change, spare: &Spare, factors: &[f64], now: &Look) -> Claim {
    let (subject, verb) = change.words(&plan.line, &plan.rules);
    let say = |text: String, estimate, at_most| Claim { change, text, estimate, at_most };
    if let Some(left) = spare.of(plan, change) {
        return say(format!("{subject} {verb} nothing: {left}."), Some(Time::ZERO), None);
    }
    if matches!(change, Change::Nozzle { .. } | Change::Feeder { .. } | Change::Rack { .. }) {
        return say(format!("{subject}: only planning anew tells."), None, None);
    }
    let (line, rules) = change.carried_out(&plan.line, &plan.rules);
    let factor = |s: usize| factors[change.old_station(s)];
    // A new head does as it does elsewhere, among banks as here: the slower of both figures is the safer.
    let fresh = if let Change::Head { station, like, .. } = change { Some((station, factors[like].max(factors[station]))) } else { None };
    let then = match look(job, &line, &rules, &factor, fresh) {
        Ok(then) => then,
        Err(findings) => {
            let codes: Vec<&str> = findings.iter().map(|f| f.code.as_str()).collect();
            return say(format!("{subject}: nothing can be said ({}).", codes.join(" ")), None, None);
        }
    };
    if then.tasks != now.tasks {
        return say(
            format!("{subject}: {} placements could be done instead of {}; only planning anew tells the takt.", then.tasks, now.tasks),
            None,
            None,
        );
    }
    let at_most = then.bound.map(|b| (plan.takt_us - b).max(Time::ZERO));
    let estimate = match (now.balance, then.balance) {
        (Some(a), Some(b)) => Some(Time((a - b).round() as i64).max(Time::ZERO)),
        _ => None,
    };
    let limit = at_most.map_or(String::new(), |m| format!("; no plan can gain more than {:.2} s by it", m.to_s()));
    let text = match estimate {
        None => format!("{subject}: only planning anew tells{limit}."),
        Some(e) if e.0 * 1000 < plan.takt_us.0 * NOTABLE => format!("{subject} {verb} next to nothing by the balance{limit}."),
        Some(e) => format!("{subject} {verb} about {:.2} s by the balance{limit}.", e.to_s()),
    };
    say(text, estimate, at_most)
}

/// A line as the quick figures see it.
struct Look {
    /// Slowest station of the balance [µs].
    balance: Option<f64>,
    /// The bound, not branched.
    bound: Option<Time>,
    /// Tasks that some station can take.
    tasks: usize,
}

/// Looks at a line. `fresh` is a station whose last head is new, with its factor: using it costs its swaps.
fn look(
    job: &Job<'_>,
    line: &Line,
    rules: &Rules,
    factor: &dyn Fn(usize) -> f64,
    fresh: Option<(usize, f64)>,
) -> Result<Look, Vec<Finding>> {
    let stand_ins = StandIns::of(line, job, rules);
    let p = Problem::on(job, line, stand_ins.as_ref(), rules)?;
    let costs = Costs::new(job, p.line, rules, &p.clock, &p.cap, &p.tasks);
    let equipment = line.equipment.iter().map(|e| *e.time).max().unwrap_or(Time::ZERO);
    let bound = best_weights(&p.least_times(&p.tasks), Effort::QUICK, &|| false).map(|d| Time(d.bound_us.max(0)).max(equipment));
    let mut stretch: Vec<f64> = (0..p.cap.modes.len()).map(|m| factor(p.of_sheet(m).0)).collect();
    let new = fresh.and_then(|(s, f)| (0..p.cap.modes.len()).rfind(|m| p.of_sheet(*m).0 == s).map(|mode| (mode, f)));
    if let Some((mode, f)) = new {
        stretch[mode] = f;
    }
    let estimate = Estimate::new(&p, &costs, &stretch);
    let small = estimate.members.len() * p.cap.modes.len() <= MOST_CELLS;
    let balance = small.then(|| balance_of(&p, &estimate, new.map(|n| n.0))).flatten().map(|b| b.max(equipment.0 as f64));
    Ok(Look { balance, bound, tasks: p.tasks.len() })
}

/// Slowest station by the linear program; `fresh` is the mode of a new head.
fn balance_of(p: &Problem<'_>, estimate: &Estimate, fresh: Option<usize>) -> Option<f64> {
    let model = if p.order.stages > 1 { chosen_model(p, estimate) } else { estimate.model.clone() };
    let slowest = |m: &Linear| relax(m).map(|s| s.slowest);
    let Some(new) = fresh else { return slowest(&model) };
    // The linear program knows no swaps; a new head is used with its swaps, or not at all.
    let s = model.columns[new];
    let (mut with, mut without) = (model.clone(), model);
    let station = &mut with.stations[s];
    station.fixed += station.swaps(2);
    without.time.iter_mut().for_each(|row| row[new] = None);
    match (slowest(&with), slowest(&without)) {
        (Some(a), Some(b)) => Some(a.min(b)),
        (a, b) => a.or(b),
    }
}

/// How much longer than their least times the placements of each station took.
fn factors(plan: &Plan, job: &Job<'_>) -> Result<Vec<f64>, Vec<Finding>> {
    let stand_ins = StandIns::of(&plan.line, job, &plan.rules);
    let p = Problem::on(job, &plan.line, stand_ins.as_ref(), &plan.rules)?;
    let costs = Costs::new(job, p.line, &plan.rules, &p.clock, &p.cap, &p.tasks);
    // Column of every head of the sheet.
    let columns: Vec<((usize, usize), usize)> = (0..p.cap.modes.len())
        .filter_map(|m| {
            let mode = p.cap.modes[m];
            let column = costs.columns.iter().position(|c| c.station == mode.station && c.head == mode.head)?;
            Some((p.of_sheet(m), column))
        })
        .collect();
    let mut item = vec![None; job.tasks.len()];
    p.tasks.iter().enumerate().for_each(|(i, t)| item[t.index()] = Some(i));
    let mut least = vec![0i64; plan.line.station.len()];
    for (s, head, task) in placed(plan) {
        let column = columns.iter().find(|c| c.0 == (s, head)).map(|c| c.1);
        if let (Some(i), Some(c)) = (item.get(task.index()).copied().flatten(), column) {
            least[s] += costs.at(i, c).min(i64::MAX / 1_000_000) / 1000;
        }
    }
    let factor = |(s, least): (usize, i64)| {
        let b = &plan.stations[s].breakdown;
        let other = b.transfer_us + b.fiducials_us + b.head_swap_us + b.dispense_us + b.inspection_us;
        let work = plan.stations[s].time_us - other;
        if least > 0 { (work.0 as f64 / least as f64).clamp(1.0, 3.0) } else { USUAL }
    };
    Ok(least.into_iter().enumerate().map(factor).collect())
}

/// Every placement of a plan with its station and head.
fn placed(plan: &Plan) -> impl Iterator<Item = (usize, usize, TaskId)> + '_ {
    plan.stations.iter().enumerate().flat_map(|(s, station)| {
        station.passes.iter().flat_map(move |pass| pass.work.placed().map(move |task| (s, pass.head as usize, task)))
    })
}

/// What a plan leaves over.
struct Spare {
    /// Feeders in use, by kind.
    feeders: Vec<u32>,
    /// Nozzles in use, by kind.
    nozzles: Vec<u32>,
    /// Free slots in one piece of each station.
    slots: Vec<u32>,
    /// Tray places and levels in use, of each station.
    trays: Vec<u32>,
}

impl Spare {
    fn new(plan: &Plan) -> Self {
        let line = &plan.line;
        let mut spare =
            Self { feeders: vec![0; line.feeder.len()], nozzles: vec![0; line.nozzle.len()], slots: Vec::new(), trays: Vec::new() };
        for (sheet, station) in line.station.iter().zip(&plan.stations) {
            let mut taken: Vec<Vec<bool>> = sheet.bank.iter().map(|b| vec![false; b.slots as usize]).collect();
            let mut trays = 0;
            for supply in &station.supplies {
                match supply.place {
                    SupplyPlace::Tray { .. } => trays += 1,
                    SupplyPlace::Feeder { bank, slot, feeder } => {
                        let Some(kind) = line.feeder.get(feeder as usize) else { continue };
                        spare.feeders[feeder as usize] += 1;
                        for k in domain::plan::covered_slots(slot, kind) {
                            taken
                                .get_mut(bank as usize)
                                .and_then(|b| b.get_mut((k as usize).wrapping_sub(1)))
                                .into_iter()
                                .for_each(|t| *t = true);
                        }
                    }
                }
            }
            let longest = |bank: &Vec<bool>| bank.split(|t| *t).map(<[bool]>::len).max().unwrap_or(0) as u32;
            spare.slots.push(taken.iter().map(longest).max().unwrap_or(0));
            spare.trays.push(trays);
            spare.add_nozzles(station, sheet.head.len());
        }
        spare
    }

    /// For each head the most that any of its layouts holds.
    fn add_nozzles(&mut self, station: &domain::plan::StationPlan, heads: usize) {
        for head in 0..heads {
            let mut most = vec![0u32; self.nozzles.len()];
            for pass in station.passes.iter().filter(|p| p.head as usize == head) {
                let layouts = match &pass.work {
                    Work::Place { layouts, .. } => layouts.clone(),
                    // All that a drum holds is one layout.
                    Work::Turret { nozzles, .. } => vec![nozzles.iter().flatten().map(|n| Some(*n)).collect()],
                    Work::Dispense { .. } | Work::Inspect { .. } => continue,
                };
                for layout in &layouts {
                    let count = |kind: usize| layout.iter().filter(|n| **n == Some(kind as u32)).count() as u32;
                    most.iter_mut().enumerate().for_each(|(kind, m)| *m = (*m).max(count(kind)));
                }
            }
            self.nozzles.iter_mut().zip(most).for_each(|(all, m)| *all += m);
        }
    }

    /// Why a change gains nothing: more is left over than one could use. `None` if it is short.
    fn of(&self, plan: &Plan, change: Change) -> Option<String> {
        let line = &plan.line;
        let widest = line.feeder.iter().filter(|f| f.stock > 0).map(|f| f.slots).max().unwrap_or(1);
        match change {
            Change::Feeder { kind } => {
                let (used, stock) = (self.feeders[kind], line.feeder[kind].stock);
                (used < stock).then(|| format!("{used} of {stock} are in use"))
            }
            Change::Nozzle { kind } => {
                let (used, stock) = (self.nozzles[kind], line.nozzle[kind].stock);
                (used < stock).then(|| format!("{used} of {stock} are in use"))
            }
            // So long a free stretch takes any feeder.
            Change::Slot { station, .. } => {
                let free = self.slots[station];
                (free >= widest).then(|| format!("{free} slots in a row are free there"))
            }
            Change::TrayPlace { station, .. } => {
                let (used, all) =
                    (self.trays[station], line.station[station].tray.iter().map(domain::line::TrayPlace::levels).sum::<u32>());
                (used < all).then(|| format!("{used} of {all} places and levels are in use there"))
            }
            _ => None,
        }
    }
}
