//! Planning anew after a failure, with as few feeders moved as pays.
//!
//! The objective is takt + price × supplies that do not stand where they stood (`docs/replan.md`). What still
//! stands is taken up again and held there; tasks that lost their head or their feeder are put where they cost
//! least; then trips and orders are searched on the exact clock, and work and single feeders go elsewhere where
//! the takt gains more than the moves cost.

mod relieve;

use crate::bound::{Costs, Dual, Effort, best_weights};
use crate::kinds::{StandIns, apart};
use crate::planner::{Limits, LineState, Planned, Run, Watch, bound_time, mix};
use crate::problem::Problem;
use crate::search::Heat;
use crate::start::{Estimate, start};
use crate::warm;
use diag::Finding;
use domain::job::Job;
use domain::line::Line;
use domain::plan::{Method, Plan};
use domain::rules::Rules;
use units::Time;

/// A plan after a failure, and what it cost.
#[derive(Clone, Debug)]
pub struct Replanned {
    /// The plan, and how planning went.
    pub planned: Planned,
    /// Supplies that do not stand where they stood.
    pub moved: u32,
    /// Fewest supplies that any plan has to move: parts that stand nowhere any more where they could be placed from.
    pub least_moved: u32,
}

/// Plans anew from a plan whose line has lost what the `down` entries of `rules` name.
///
/// `price` is what one moved supply may cost in takt.
///
/// # Errors
/// As [`crate::plan`].
pub fn replan(
    job: &Job<'_>,
    line: &Line,
    rules: &Rules,
    base: &Plan,
    price: Time,
    limits: Limits,
    watch: &dyn Watch,
) -> Result<Replanned, Vec<Finding>> {
    let stand_ins = StandIns::of(line, job, rules);
    let mut p = Problem::on(job, line, stand_ins.as_ref(), rules)?;
    if price > Time::ZERO {
        p.standing = warm::standing(&p, base);
        let mut run = Run { p: &p, limits, watch, work: 0 };
        let costs = Costs::new(job, p.line, rules, &p.clock, &p.cap, &p.tasks);
        let ones = vec![1.15; p.cap.modes.len()];
        let mut fresh = run.timed(start(&p, &Estimate::new(&p, &costs, &ones), 4_000, &mut fastrand::Rng::with_seed(limits.seed)));
        warm::rescue(&p, &mut fresh);
        let taken = warm::line_state(&p, base, price);
        let best = match taken {
            Some(t) if t.cost(&p, price) < fresh.cost(&p, price) => t,
            _ => fresh,
        };
        let first_plan_seconds = watch.seconds();
        let least = p.least_times(&p.tasks);
        let dual = best_weights(&least, Effort::FULL, &|| false);
        let bound = bound_time(line, dual.as_ref());
        run.tell(&best, bound);
        let mut best = improve(&mut run, best, price, bound);
        warm::rescue(&p, &mut best);
        return Ok(done(&run, &best, &least, dual, first_plan_seconds));
    }
    let planned = crate::plan_from(job, line, rules, Some(base), limits, watch)?;
    p.standing = warm::standing(&p, base);
    let moved = moved(&p, &planned.plan);
    Ok(Replanned { least_moved: least_moved(&p, &planned.plan), planned, moved })
}

fn done(run: &Run<'_>, best: &LineState, costs: &Costs, dual: Option<Dual>, first_plan_seconds: f64) -> Replanned {
    let plan = run.compose(best, costs, dual, Method::Search);
    let (moved, least_moved) = (moved(run.p, &plan), least_moved(run.p, &plan));
    Replanned { planned: Planned { plan, first_plan_seconds, stopped: run.watch.stopped() }, moved, least_moved }
}

fn moved(p: &Problem<'_>, plan: &Plan) -> u32 {
    let Some(plan) = apart(plan) else { return 0 };
    plan.stations.iter().enumerate().map(|(s, x)| x.supplies.iter().filter(|y| !p.stands(s, y)).count() as u32).sum()
}

/// Parts placed by the plan of which nothing stands at a place and station from which they may be placed.
fn least_moved(p: &Problem<'_>, plan: &Plan) -> u32 {
    let mut placed = vec![false; p.job.product.parts.len()];
    for x in plan.stations.iter().flat_map(|s| &s.supplies) {
        placed[x.part.index()] = true;
    }
    let able = |s: usize, part: usize| p.cap.modes.iter().enumerate().any(|(m, mode)| mode.station == s && p.cap.can(part, m));
    let usable = |part: usize| {
        (0..p.standing.len()).any(|s| {
            able(s, part)
                && crate::station::setup::Setup::new(p, s).standing(p, part, &p.feeder_stock()).is_some_and(|x| {
                    // A kept supply covers its own place in an empty set-up.
                    p.may_stand(s, part, &x)
                })
                || p.kept.iter().any(|(k, at)| *k == part && at.station == s)
        })
    };
    (0..placed.len()).filter(|part| placed[*part] && !usable(*part)).count() as u32
}

/// Searches trips and orders, relieves the slowest station, and keeps the cheapest state, until the budget is used.
fn improve(run: &mut Run<'_>, first: LineState, price: Time, bound: Option<Time>) -> LineState {
    let p = run.p;
    let mut best = first.clone();
    let mut current = first;
    let mut round = 0;
    while run.share() < 1.0 && !current.stations.is_empty() {
        let (_, takt, _) = best.key(p);
        if bound.is_some_and(|b| takt <= b) && best.moved(p) == 0 {
            break;
        }
        // From 40 ms down to 0.2 ms, evenly in ratio.
        let now = 40_000.0 * (200.0f64 / 40_000.0).powf(run.share());
        run.work += run.search_all(&mut current, Heat { from: now, to: now * 0.8 }, mix(run.limits.seed, 9, round), run.limits.threads);
        relieve::relieve(run, &mut current, price, mix(run.limits.seed, 5, round));
        if current.cost(p, price) < best.cost(p, price) {
            best = current.clone();
        } else if round % 8 == 7 {
            // Now and then back to the best, so that moves that did not pay are forgotten.
            current = best.clone();
        }
        run.tell(&best, bound);
        round += 1;
    }
    best
}
