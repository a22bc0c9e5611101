//! What of an existing plan is to stay, and beginning with it.

use crate::check;
use diag::{Finding, codes};
use domain::plan::{Outcome, Plan};
use domain::product::Product;
use domain::rules::{Closed, Keep, Rules};

/// A plan to begin with.
#[derive(Clone, Debug)]
pub struct Begin {
    /// The plan; it may be of another revision of the product or the line.
    pub plan: Plan,
    /// What of its set-up is to stay.
    pub hold: Hold,
}

/// What of a plan's set-up is to stay.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Hold {
    /// Stations whose set-up stays: what stands there stands on, and nothing is added.
    pub stations: Vec<String>,
    /// The same for every station.
    pub whole_line: bool,
    /// Supplies that may be added at each of these stations all the same.
    pub add: u32,
    /// Parts whose feeders and trays stay where they stand.
    pub parts: Vec<String>,
}

/// Writes what is to stay into the rules; findings about what cannot.
pub(crate) fn hold(rules: &mut Rules, from: &Begin, product: &Product) -> Vec<Finding> {
    let (all, hold) = (Keep::all_of(&from.plan), &from.hold);
    let mut found = Vec::new();
    let unknown = |what: String, name: &str| Finding::new(codes::plan::LOCK_UNKNOWN, what).value(name);
    for name in hold.stations.iter().filter(|n| from.plan.line.station_named(n).is_none()) {
        found.push(unknown(format!("the plan to begin with has no station `{name}`"), name));
    }
    for part in hold.parts.iter().filter(|n| !all.iter().any(|k| k.part == **n)) {
        found.push(unknown(format!("nothing of part `{part}` stands in the plan to begin with"), part));
    }
    let stays = |k: &&Keep| hold.whole_line || hold.stations.contains(&k.station) || hold.parts.contains(&k.part);
    let (kept, gone): (Vec<&Keep>, Vec<&Keep>) = all.iter().filter(stays).partition(|k| product.parts.iter().any(|p| p.number == k.part));
    for keep in kept.into_iter().filter(|k| !rules.keep.contains(k)).collect::<Vec<_>>() {
        rules.keep.push(keep.clone());
    }
    if !gone.is_empty() {
        let places: Vec<String> = gone.iter().map(|k| format!("{} at {}", k.part, k.place())).collect();
        let text = "feeders of parts that the product no longer has are not kept; their places are free".to_owned();
        found.push(Finding::new(codes::plan::KEEP_GONE, text).value(places.join(", ")));
    }
    let closed = from.plan.line.station.iter().map(|s| &s.name).filter(|n| hold.whole_line || hold.stations.contains(n));
    rules.closed.extend(closed.map(|n| Closed { station: n.clone(), add: hold.add }));
    found
}

/// The plan, or the one it began with where that holds for the new inputs as it is and is faster.
///
/// The search begins with the old program, but may not be able to write every foreign program down exactly;
/// here the document itself is compared.
pub(crate) fn no_worse(plan: Plan, old: &Plan) -> Plan {
    let mut same = old.clone();
    (same.product, same.side, same.panel) = (plan.product.clone(), plan.side, plan.panel);
    (same.rules, same.line) = (plan.rules.clone(), plan.line.clone());
    (same.bound_us, same.certificate) = (plan.bound_us, plan.certificate.clone());
    (same.method, same.seed, same.work) = (plan.method, plan.seed, plan.work);
    let Ok(timing) = check::time(&same) else { return plan };
    for (station, timed) in same.stations.iter_mut().zip(&timing.stations) {
        (station.time_us, station.breakdown) = (timed.time_us, timed.breakdown);
    }
    same.takt_us = timing.takt_us;
    same.outcome = if same.takt_us == same.bound_us { Outcome::ProvenOptimal } else { Outcome::Feasible };
    let fewer = same.unplaced.len() < plan.unplaced.len();
    let faster = same.unplaced.len() == plan.unplaced.len() && same.takt_us < plan.takt_us;
    if (!fewer && !faster) || !check::check(&same).accepted {
        return plan;
    }
    let text = "the plan it began with was no slower, and is kept as it is";
    same.findings = plan.findings;
    same.findings.push(Finding::new(codes::plan::KEPT_AS_IT_WAS, text));
    same.reasons = plan.reasons;
    same
}
