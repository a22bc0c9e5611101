//! The anytime loop of a family.

use super::alone::Alone;
use super::budget::{Phase, Stretch, parts};
use super::compose::compose;
use super::held::{rehang, solve};
use super::model::{Counts, Joint};
use super::setup::{SharedSupplies, place_all};
use super::spread::{Heat, spread};
use super::{FamilyPlanned, Wanted, slots};
use crate::bound::Costs;
use crate::kinds::StandIns;
use crate::planner::{Limits, LineState, Progress, Watch, measured, mix, parallel};
use crate::problem::Problem;
use crate::start::Estimate;
use diag::{Finding, codes};
use domain::line::Line;
use units::Time;

/// Every product by itself.
const ALONE: Phase = Phase { from: 0.0, to: 0.2 };
/// The programs on the first shared set-ups.
const FIRST: Phase = Phase { from: 0.2, to: 0.5 };
/// How many are tried: what the joint model finds equally good differs by some per cent once programs stand on it.
const SET_UPS: u64 = 3;
/// Rounds of supplies, places and programs.
const REST: Phase = Phase { from: 0.5, to: 1.0 };
/// How many of them share that time.
const ROUNDS: u64 = 2;
/// Of a round, where the programs on a richer set-up end, and where the places: programs on those follow.
const SUPPLIES_END: f64 = 0.3;
const SLOTS_END: f64 = 0.6;
/// Heat of the programs [µs]: on the first shared set-up, on a richer one, after places have changed.
const HEATS: [f64; 3] = [40_000.0, 15_000.0, 8_000.0];
/// Prices of a slot too many that are tried one after the other, until a spreading finds room.
const PRICES: [f64; 3] = [1.0, 20.0, 400.0];
/// Moves tried on the joint model while no product has more than so many groups times modes; fewer beyond that, for every
/// move is levelled at that price.
const SPREAD_TRIES: u32 = 200_000;
const SPREAD_CELLS: u32 = 1_000;

/// A shared set-up with programs on it.
#[derive(Clone)]
pub(super) struct Family<'a> {
    pub(super) supplies: SharedSupplies<'a>,
    pub(super) states: Vec<LineState>,
}

/// All that does not change while a family is planned.
struct Plant<'a, 'w> {
    products: &'w [Wanted<'a>],
    stand_ins: &'a [Option<StandIns<'a>>],
    alone: Vec<Alone<'a>>,
    panels: Vec<f64>,
    /// Share of each product in every phase.
    parts: Vec<f64>,
    line: &'a Line,
    limits: Limits,
    watch: &'w dyn Watch,
}

pub(super) fn run<'a>(
    name: &str,
    products: &[Wanted<'a>],
    stand_ins: &'a [Option<StandIns<'a>>],
    line: &'a Line,
    limits: Limits,
    watch: &dyn Watch,
) -> Result<FamilyPlanned, Vec<Finding>> {
    let prepared = parallel(limits.threads, products.iter().zip(stand_ins).collect(), |(w, s): (&Wanted<'a>, &'a Option<StandIns<'a>>)| {
        Alone::new(w, line, s.as_ref(), watch)
    });
    let mut wrong = Vec::new();
    let alone: Vec<Alone<'a>> = prepared.into_iter().filter_map(|p| p.map_err(|f| wrong.extend(f)).ok()).collect();
    if !wrong.is_empty() {
        return Err(wrong);
    }
    let panels: Vec<f64> = products.iter().map(|w| w.panels() as f64).collect();
    let placements: Vec<usize> = alone.iter().map(|a| a.problem.tasks.len()).collect();
    let wanted: Vec<f64> = alone.iter().zip(&panels).map(|(a, n)| a.bound.to_s() * n).collect();
    let plant = Plant { products, stand_ins, alone, panels, parts: parts(&placements, &wanted), line, limits, watch };
    plant.plan(name)
}

impl<'a> Plant<'a, '_> {
    fn plan(&self, name: &str) -> Result<FamilyPlanned, Vec<Finding>> {
        let mut work = 0;
        let quick = self.quick()?;
        let (mut best, tried) = self.share_out(&quick, ALONE.part(0.0, 0.0), 0).map_err(|missing| self.no_room(missing))?;
        work += tried;
        let first_plan_seconds = self.watch.seconds();
        self.tell(&best);
        let alone = self.each(ALONE, 1, |i, limits, watch| self.alone[i].plan(limits, watch));
        work += alone.iter().map(|a| a.1).sum::<u64>();
        let alone: Vec<LineState> = alone.into_iter().map(|a| a.0).collect();
        let takts: Vec<Time> = alone.iter().zip(&self.alone).map(|(s, a)| s.key(&a.problem).1).collect();
        for k in 0..SET_UPS {
            let phase = FIRST.part(k as f64 / SET_UPS as f64, (k + 1) as f64 / SET_UPS as f64);
            if let Ok((family, tried)) = self.share_out(&alone, phase, 1 + k) {
                work += tried;
                best = self.better(best, family);
                self.tell(&best);
            }
        }
        for round in 0..ROUNDS {
            let phase = REST.part(round as f64 / ROUNDS as f64, (round + 1) as f64 / ROUNDS as f64);
            let (family, tried) = self.round(best.clone(), phase, round);
            work += tried;
            best = self.better(best, family);
            self.tell(&best);
        }
        let plan = compose(name, self.products, &self.alone, &takts, best, &self.limits, work);
        Ok(FamilyPlanned { plan, first_plan_seconds, stopped: self.watch.stopped() })
    }

    /// First, unsearched states of every product by itself.
    fn quick(&self) -> Result<Vec<LineState>, Vec<Finding>> {
        let states = parallel(self.limits.threads, self.alone.iter().enumerate().collect(), |(i, a): (usize, &Alone<'a>)| {
            let stop = Limits { seconds: None, work: Some(0), seed: mix(self.limits.seed, 2, i as u64), threads: 1 };
            solve(&a.problem, &a.costs, a.bound, stop, &Stretch::begin(self.watch), None).0
        });
        let mut wrong = Vec::new();
        for (state, w) in states.iter().zip(self.products) {
            if state.stations.is_empty() || state.stations.iter().all(|s| s.placed() == 0) {
                let why = state.unplaced.first().map_or(String::new(), |u| format!(": {}", u.message));
                let text = format!("no placement of `{}` can be planned{why}", w.job.product.name);
                wrong.push(Finding::new(codes::family::LEFT_OUT, text).value(&w.job.product.name));
            }
        }
        if wrong.is_empty() { Ok(states) } else { Err(wrong) }
    }

    fn no_room(&self, missing: u32) -> Vec<Finding> {
        let types: usize = {
            let mut used: Vec<usize> = self.alone.iter().flat_map(|a| a.problem.tasks.iter().map(|t| a.problem.part_of(*t))).collect();
            used.sort_unstable();
            used.dedup();
            used.len()
        };
        let text = format!(
            "the {types} part types of the family do not find room on the line together: {missing} slots, tray places or feeders are too few where they are needed"
        );
        vec![Finding::new(codes::plan::NO_SLOT, text)]
    }

    /// One job for each product, the longest first, within a phase of the budget.
    fn each<R: Send>(&self, phase: Phase, salt: u64, job: impl Fn(usize, Limits, &dyn Watch) -> R + Sync) -> Vec<R> {
        let mut order: Vec<usize> = (0..self.parts.len()).collect();
        order.sort_by(|a, b| self.parts[*b].total_cmp(&self.parts[*a]).then(a.cmp(b)));
        let now = self.watch.seconds();
        let done = parallel(self.limits.threads, order, |i| {
            let limits = phase.slice(&self.limits, now, self.parts[i], mix(self.limits.seed, salt, i as u64));
            (i, job(i, limits, self.watch))
        });
        let mut done = done;
        done.sort_by_key(|d| d.0);
        done.into_iter().map(|d| d.1).collect()
    }

    /// The joint model with times as some states really took them.
    fn model(&self, states: &[LineState]) -> (Joint, Vec<Counts>, Vec<Estimate>) {
        let estimates: Vec<Estimate> = states
            .iter()
            .zip(&self.alone)
            .map(|(state, a)| Estimate::new(&a.problem, &a.costs, &measured(&a.problem, &a.costs, state)))
            .collect();
        let counts: Vec<Counts> = estimates.iter().zip(states).zip(&self.alone).map(|((e, s), a)| counts(&a.problem, e, s)).collect();
        let models = estimates.iter().zip(states).zip(&self.alone).map(|((e, s), a)| e.within(&a.problem, &s.ranges)).collect();
        (Joint::new(models, self.panels.clone(), &self.alone[0].problem), counts, estimates)
    }

    /// A shared set-up after states of the products by themselves, and the programs on it.
    ///
    /// # Errors
    /// How many slots, tray places or feeders were too few.
    fn share_out(&self, states: &[LineState], phase: Phase, salt: u64) -> Result<(Family<'a>, u64), u32> {
        let share = if salt == 0 { 10 } else { 1 };
        let mut placed = Err(0);
        // On a short line one placement is a large share of the takt, and slots must cost more to be kept to.
        for (again, price) in PRICES.into_iter().enumerate() {
            let (mut model, counts, _) = self.model(states);
            let mut rng = fastrand::Rng::with_seed(mix(self.limits.seed, 41 + again as u64, salt));
            let heat = Heat { from: 0.01, to: 0.000_02, price };
            placed = place_all(&self.alone[0].problem, &mut model, |model| {
                spread(model, counts.clone(), spread_tries(model) / share, heat, &mut rng).map(|counts| wanted(model, &counts))
            });
            if placed.is_ok() {
                break;
            }
        }
        let supplies = placed?;
        self.programs(supplies, states, phase, salt, HEATS[0]).ok_or(0)
    }

    /// Programs on a set-up: those of the states where the set-up still serves them, else from the start.
    fn programs(
        &self,
        supplies: SharedSupplies<'a>,
        states: &[LineState],
        phase: Phase,
        salt: u64,
        heat: f64,
    ) -> Option<(Family<'a>, u64)> {
        let problems = self.problems(&supplies)?;
        let done = self.each(phase, 100 + salt, |i, limits, watch| {
            let (p, costs) = &problems[i];
            let watch = Stretch::begin(watch);
            let from = rehang(p, &states[i]).map(|s| (s, heat));
            solve(p, costs, self.alone[i].bound, limits, &watch, from)
        });
        let work = done.iter().map(|d| d.1).sum();
        Some((Family { supplies, states: done.into_iter().map(|d| d.0).collect() }, work))
    }

    /// The problem of each product on the held set-up, with its costs.
    fn problems(&self, supplies: &SharedSupplies<'a>) -> Option<Vec<(Problem<'a>, Costs)>> {
        let each = self.products.iter().zip(self.stand_ins).collect();
        let made = parallel(self.limits.threads, each, |(w, s): (&Wanted<'a>, &'a Option<StandIns<'a>>)| {
            let p = Problem::holding(w.job, self.line, s.as_ref(), w.rules, supplies.stations.clone()).ok()?;
            let costs = Costs::new(w.job, p.line, w.rules, &p.clock, &p.cap, &p.tasks);
            Some((p, costs))
        });
        made.into_iter().collect()
    }

    /// Supplies that the joint model wants beside those in use, now that times are measured; those that nobody picks
    /// from any more make room.
    fn enriched(&self, family: &Family<'a>, round: u64) -> Option<SharedSupplies<'a>> {
        let (model, counts, _) = self.model(&family.states);
        let in_use = wanted(&model, &counts);
        let mut rng = fastrand::Rng::with_seed(mix(self.limits.seed, 43, round));
        let counts = spread(&model, counts, spread_tries(&model) / 2, Heat { from: 0.002, to: 0.000_01, price: 1.0 }, &mut rng).ok()?;
        let wished = wanted(&model, &counts);
        let kept = family.supplies.thinned(|s, part| in_use[s][part] > 0.0 || wished[s][part] > 0.0);
        SharedSupplies::place(&self.alone[0].problem, &kept.stations, &wished, false).ok()
    }

    /// Supplies first, then places, then programs on the places found.
    fn round(&self, family: Family<'a>, phase: Phase, round: u64) -> (Family<'a>, u64) {
        let mut family = family;
        let mut work = 0;
        if let Some(supplies) = self.enriched(&family, round)
            && supplies.supplied() != family.supplies.supplied()
            && let Some((richer, tried)) = self.programs(supplies, &family.states, phase.part(0.0, SUPPLIES_END), 20 + round, HEATS[1])
        {
            work += tried;
            family = self.better(family, richer);
        }
        let (family, tried) = self.places(family, phase, round);
        (family, work + tried)
    }

    fn places(&self, family: Family<'a>, phase: Phase, round: u64) -> (Family<'a>, u64) {
        let Some(problems) = self.problems(&family.supplies) else { return (family, 0) };
        let mut states = family.states.clone();
        let bare: Vec<Problem<'a>> = problems.into_iter().map(|p| p.0).collect();
        let limits = Limits { seed: mix(self.limits.seed, 51, round), ..self.limits };
        let heat = (15_000.0 / (1 << round) as f64, 300.0);
        let (places, tried) =
            slots::search(&bare, &mut states, &self.panels, &limits, phase.part(SUPPLIES_END, SLOTS_END), heat, self.watch);
        let supplies = family.supplies.moved(places);
        let moved = Family { supplies: supplies.clone(), states: states.clone() };
        match self.programs(supplies, &states, phase.part(SLOTS_END, 1.0), 10 + round, HEATS[2]) {
            Some((family, work)) => (self.better(moved, family), tried + work),
            None => (moved, tried),
        }
    }

    /// Placements left out, and Σ panels × takt.
    fn key(&self, family: &Family<'_>) -> (usize, f64) {
        let each = family.states.iter().zip(&self.alone).zip(&self.panels).map(|((s, a), n)| {
            let (left, takt, _) = s.key(&a.problem);
            (left, takt.0 as f64 * n)
        });
        each.fold((0, 0.0), |sum, x| (sum.0 + x.0, sum.1 + x.1))
    }

    fn better(&self, a: Family<'a>, b: Family<'a>) -> Family<'a> {
        if self.key(&b) < self.key(&a) { b } else { a }
    }

    /// Progress is told per panel, as a mean over the demand.
    fn tell(&self, family: &Family<'_>) {
        let all: f64 = self.panels.iter().sum();
        let mean = |sum: f64| Time((sum / all.max(1.0)) as i64);
        let bound: f64 = self.alone.iter().zip(&self.panels).map(|(a, n)| a.bound.0 as f64 * n).sum();
        let share = self.limits.seconds.map_or(0.0, |s| (self.watch.seconds() / s.max(1e-6)).min(1.0));
        self.watch.progress(&Progress { share, takt: mean(self.key(family).1), bound: (bound > 0.0).then(|| mean(bound)) });
    }
}

/// Moves to be tried on a joint model.
fn spread_tries(model: &Joint) -> u32 {
    let cells = model.products.iter().map(|p| p.groups.len() * p.columns.len()).max().unwrap_or(0) as u32;
    SPREAD_TRIES / cells.div_ceil(SPREAD_CELLS).clamp(1, 20)
}

/// Placements of each group in each mode as a state has them.
fn counts(p: &Problem<'_>, estimate: &Estimate, state: &LineState) -> Counts {
    let mut mode = vec![None; p.job.tasks.len()];
    for station in &state.stations {
        for (head, t) in station.tasks() {
            mode[t.index()] = p.cap.mode(station.station, head);
        }
    }
    let row = |members: &Vec<domain::job::TaskId>| {
        let mut row = vec![0; p.cap.modes.len()];
        members.iter().filter_map(|t| mode[t.index()]).for_each(|m| row[m] += 1);
        row
    };
    estimate.members.iter().map(row).collect()
}

/// Placements picked over the whole demand: `[station][part]`.
fn wanted(model: &Joint, counts: &[Counts]) -> Vec<Vec<f64>> {
    let mut wanted = vec![vec![0.0; model.needs.len()]; model.stations()];
    for ((linear, counts), panels) in model.products.iter().zip(counts).zip(&model.panels) {
        for (group, row) in linear.groups.iter().zip(counts) {
            for (m, n) in row.iter().enumerate().filter(|(_, n)| **n > 0) {
                wanted[linear.columns[m]][group.part as usize] += f64::from(*n) * panels;
            }
        }
    }
    wanted
}
