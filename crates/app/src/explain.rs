//! What holds a saved plan back, and what one more of something would be worth.

use domain::plan::{Plan, Reason};
use optimise::reasons::{Claim, Replanned, claims, replanned};
use optimise::{Limits, Watch};
use serde::Serialize;
use units::Time;

use diag::Finding;

/// What is said of a plan. The JSON fields are part of the command line's contract.
#[derive(Clone, Debug, Serialize)]
pub struct Explanation {
    /// Time per panel [µs].
    pub takt_us: Time,
    /// No plan has a smaller takt [µs].
    pub bound_us: Time,
    /// What holds it back, as the plan states it.
    pub reasons: Vec<Reason>,
    /// What one more of something, or one rule less, would be worth; the weightiest first. Empty if the checker refuses the plan.
    pub worth: Vec<Worth>,
}

/// The worth of a change.
#[derive(Clone, Debug, Serialize)]
pub struct Worth {
    /// In plain words with figures.
    pub text: String,
    /// By the balance [µs]; `null` if only planning anew tells.
    pub estimate_us: Option<Time>,
    /// No plan with the change gains more [µs]; `null` if not worked out.
    pub at_most_us: Option<Time>,
    /// By planning anew; `null` if that was not asked for, or not reached.
    pub replanned: Option<Anew>,
}

/// Two plannings with the same effort.
#[derive(Clone, Debug, Serialize)]
pub struct Anew {
    /// In plain words.
    pub text: String,
    /// Takt without the change [µs].
    pub before_us: Time,
    /// Takt with it [µs].
    pub after_us: Time,
    /// How much shorter [µs].
    pub worth_us: Time,
    /// How much the search varies by itself [µs].
    pub noise_us: Time,
    /// Placements more than without the change.
    pub more_placed: usize,
}

/// Changes said to be worth less than this are not planned anew [µs]: the search varies more by itself.
const LEAST: Time = Time(1_000);

/// Explains a plan. With `anew` every change that may be worth something is planned, too.
///
/// # Errors
/// When the plan's inputs cannot be planned.
pub fn explain(plan: &Plan, anew: Option<Limits>, watch: &dyn Watch) -> Result<Explanation, Vec<Finding>> {
    let mut worth: Vec<(Claim, Option<Replanned>)> = Vec::new();
    // Of a plan that breaks rules nothing can be said that helps; `verify` says what is wrong with it.
    if verify::verify(plan).accepted {
        worth.extend(claims(plan)?.into_iter().map(|c| (c, None)));
    }
    if let Some(limits) = anew {
        let open: Vec<usize> = (0..worth.len()).filter(|i| worth[*i].0.estimate.is_none_or(|e| e >= LEAST)).collect();
        let asked: Vec<&Claim> = open.iter().map(|i| &worth[*i].0).collect();
        let found = replanned(plan, &asked, limits, watch)?;
        open.into_iter().zip(found).for_each(|(i, r)| worth[i].1 = r);
    }
    Ok(Explanation {
        takt_us: plan.takt_us,
        bound_us: plan.bound_us,
        reasons: plan.reasons.clone(),
        worth: worth.into_iter().map(|(c, r)| shown(c, r)).collect(),
    })
}

fn shown(claim: Claim, replanned: Option<Replanned>) -> Worth {
    let anew = |r: Replanned| Anew {
        text: r.words(),
        before_us: r.before,
        after_us: r.after,
        worth_us: r.worth(),
        noise_us: r.noise,
        more_placed: r.more_placed,
    };
    Worth { text: claim.text, estimate_us: claim.estimate, at_most_us: claim.at_most, replanned: replanned.map(anew) }
}
