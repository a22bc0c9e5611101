//! What a change is really worth: planned with it and without it, with the same effort.

use super::claim::Claim;
use crate::planner::{Limits, Progress, Watch, plan as plan_anew};
use diag::Finding;
use domain::job::Job;
use domain::line::Line;
use domain::plan::Plan;
use domain::rules::Rules;
use units::Time;

/// Two plannings compared.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Replanned {
    /// Takt without the change [µs].
    pub before: Time,
    /// Takt with it [µs]. Every change only allows more, so a plan without it is one with it: never longer.
    pub after: Time,
    /// Placements more than without the change.
    pub more_placed: usize,
    /// How much the search itself varies: between its seeds, without the change [µs].
    pub noise: Time,
}

impl Replanned {
    /// How much shorter the takt is with the change [µs]; negative only where more is placed.
    pub fn worth(&self) -> Time {
        self.before - self.after
    }

    /// In plain words.
    pub fn words(&self) -> String {
        let worth = self.worth();
        let found = if self.more_placed > 0 {
            format!("{} placements more, takt {:.2} s instead of {:.2} s", self.more_placed, self.after.to_s(), self.before.to_s())
        } else if worth == Time::ZERO {
            "no shorter plan was found with the same effort".to_owned()
        } else if worth <= self.noise {
            format!("{:.2} s, no more than the search varies by itself ({:.2} s)", worth.to_s(), self.noise.to_s())
        } else {
            format!("{:.2} s ({:.2} s instead of {:.2} s)", worth.to_s(), self.after.to_s(), self.before.to_s())
        };
        format!("Planned anew: {found}.")
    }
}

/// Seeds that each side is planned with; the better plan counts.
pub const SEEDS: u64 = 2;

/// Plans anew without and with each change, each time with the same effort: `limits.work` moves, or an equal
/// share of `limits.seconds`. What is not reached before somebody stops stays `None`.
///
/// # Errors
/// When the plan's own inputs cannot be planned.
pub fn replanned(plan: &Plan, claims: &[&Claim], limits: Limits, watch: &dyn Watch) -> Result<Vec<Option<Replanned>>, Vec<Finding>> {
    let job = plan.job().map_err(|f| vec![*f])?;
    let runs = (claims.len() as u64 + 1) * SEEDS;
    let mut done = 0;
    let mut side = |line: &Line, rules: &Rules| -> Result<Option<Side>, Vec<Finding>> {
        let mut best: Option<Side> = None;
        for seed in 0..SEEDS {
            let part = Part { outer: watch, begun: watch.seconds(), done: done as f64 / runs as f64, share: 1.0 / runs as f64 };
            let each = Limits { seconds: limits.seconds.map(|s| s / runs as f64), seed: limits.seed + seed, ..limits };
            let run = one(&job, line, rules, each, &part)?;
            done += 1;
            if watch.stopped() {
                return Ok(None);
            }
            best = Some(best.map_or(run, |b| b.and(run)));
        }
        Ok(best)
    };
    let Some(before) = side(&plan.line, &plan.rules)? else { return Ok(vec![None; claims.len()]) };
    let mut found = Vec::new();
    for claim in claims {
        let (line, rules) = claim.change.carried_out(&plan.line, &plan.rules);
        // A change that cannot be planned has no worth; that its line is unsound is no fault of the plan.
        let after = if watch.stopped() { None } else { side(&line, &rules).ok().flatten() };
        found.push(after.map(|a| {
            // What was found without the change still holds with it.
            let best = if (a.unplaced, a.takt) < (before.unplaced, before.takt) { a } else { before };
            Replanned { before: before.takt, after: best.takt, more_placed: before.unplaced - best.unplaced, noise: before.spread }
        }));
    }
    Ok(found)
}

/// The best of several plans of one line.
#[derive(Clone, Copy)]
struct Side {
    unplaced: usize,
    takt: Time,
    /// Between the takts of the seeds.
    spread: Time,
}

impl Side {
    fn and(self, other: Self) -> Self {
        let spread = self.spread.max(Time((self.takt - other.takt).0.abs()));
        let better = if (other.unplaced, other.takt) < (self.unplaced, self.takt) { other } else { self };
        Self { spread, ..better }
    }
}

fn one(job: &Job<'_>, line: &Line, rules: &Rules, limits: Limits, watch: &dyn Watch) -> Result<Side, Vec<Finding>> {
    let plan = plan_anew(job, line, rules, limits, watch)?.plan;
    Ok(Side { unplaced: plan.unplaced.len(), takt: plan.takt_us, spread: Time::ZERO })
}

/// One planning among several, as the outside sees it.
struct Part<'w> {
    outer: &'w dyn Watch,
    begun: f64,
    done: f64,
    share: f64,
}

impl Watch for Part<'_> {
    fn seconds(&self) -> f64 {
        self.outer.seconds() - self.begun
    }

    fn stopped(&self) -> bool {
        self.outer.stopped()
    }

    fn progress(&self, p: &Progress) {
        self.outer.progress(&Progress { share: (self.done + self.share * p.share).min(1.0), ..*p });
    }
}
