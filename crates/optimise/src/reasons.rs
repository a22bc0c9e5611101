//! What holds a plan back, in plain words with figures.
//!
//! [`reasons`] go into every plan. What one more of something would be worth is asked afterwards, of a saved plan:
//! [`claims`] by balance and bound, quickly; [`replanned`] by planning anew with each [`Change`].

mod change;
mod claim;
mod replan;

pub use change::{Change, changes};
pub use claim::{Claim, claims};
pub use replan::{Replanned, replanned};

use crate::bound::{Costs, Dual, Effort, best_weights};
use crate::planner::parallel;
use crate::problem::Problem;
use domain::plan::{Reason, StationPlan};
use motion::line_time;
use std::collections::BTreeMap;
use units::Time;

/// A cost is named when the bound falls by more than this part of it without the cost.
const NOTABLE: i64 = 200;

/// Reasons, the weightiest first.
pub(crate) fn reasons(
    p: &Problem<'_>,
    stations: &[StationPlan],
    (costs, dual): (&Costs, &Dual),
    takt: Time,
    bound: Time,
    threads: usize,
) -> Vec<Reason> {
    let times: Vec<Time> = stations.iter().map(|s| s.time_us).collect();
    let slowest = line_time(p.sheet(), &times).slowest;
    let mut found = vec![bottleneck(stations, &slowest, takt)];
    found.push(Reason {
        text: format!(
            "No plan of these placements on this line can take less than {:.2} s per panel; this one is {:.1} % above that.",
            bound.to_s(),
            if bound.0 > 0 { 100.0 * (takt - bound).0 as f64 / bound.0 as f64 } else { 0.0 }
        ),
        worth_us: takt - bound,
    });
    found.extend(binding(p, dual));
    found.extend(spread_of(stations, takt));
    found.extend(order_rules(p));
    found.extend(worth(p, costs, dual, threads));
    found
}

fn bottleneck(stations: &[StationPlan], slowest: &str, takt: Time) -> Reason {
    let Some(s) = stations.iter().find(|s| s.station == slowest) else {
        return Reason {
            text: format!("`{slowest}` is the slowest with {:.2} s; it is not a placement station, so no plan is faster.", takt.to_s()),
            worth_us: Time::ZERO,
        };
    };
    let mut items: Vec<_> = s.breakdown.items().into_iter().filter(|(_, t)| t.0 > 0).collect();
    items.sort_by_key(|(name, t)| (std::cmp::Reverse(*t), *name));
    let shares: Vec<String> = items.iter().take(4).map(|(name, t)| format!("{name} {:.2} s", t.to_s())).collect();
    Reason {
        text: format!("Station `{slowest}` is the bottleneck with {:.2} s: {}.", takt.to_s(), shares.join(", ")),
        worth_us: Time::ZERO,
    }
}

/// Which stations the bound leans on: those with weight.
fn binding(p: &Problem<'_>, dual: &Dual) -> Option<Reason> {
    let total: u64 = dual.weights.iter().sum();
    let named: Vec<String> = p
        .sheet()
        .station
        .iter()
        .zip(&dual.weights)
        .filter(|(_, w)| **w * 100 >= total)
        .map(|(s, w)| format!("`{}` ({:.0} %)", s.name, 100.0 * *w as f64 / total.max(1) as f64))
        .collect();
    let idle: Vec<String> =
        p.sheet().station.iter().zip(&dual.weights).filter(|(_, w)| **w * 100 < total).map(|(s, _)| format!("`{}`", s.name)).collect();
    if named.is_empty() {
        return None;
    }
    let rest = if idle.is_empty() { String::new() } else { format!(" Making {} faster would not help.", idle.join(", ")) };
    Some(Reason {
        text: format!("What counts for the takt, by share of each saved second: {}.{rest}", named.join(", ")),
        worth_us: Time::ZERO,
    })
}

fn spread_of(stations: &[StationPlan], takt: Time) -> Option<Reason> {
    let idle: Vec<&StationPlan> = stations.iter().filter(|s| takt - s.time_us > Time(takt.0 / 50)).collect();
    if idle.is_empty() {
        return None;
    }
    let text: Vec<String> = idle.iter().map(|s| format!("`{}` waits {:.2} s", s.station, (takt - s.time_us).to_s())).collect();
    Some(Reason { text: format!("Per panel, {}: no work that they can take would fill it evenly.", text.join(", ")), worth_us: Time::ZERO })
}

/// What a line is thought to be without.
enum Without {
    Nothing,
    /// Time of head swaps.
    Swaps,
    /// Transfer and marks of a station.
    Fixed(usize),
}

/// What single costs are worth: how much the bound falls without them.
fn worth(p: &Problem<'_>, costs: &Costs, dual: &Dual, threads: usize) -> Vec<Reason> {
    // Compared with the same little effort on both sides, which is quick and fair.
    let quick = |c: &Costs| best_weights(c, Effort::QUICK, &|| false).map_or(Time::ZERO, |d| Time(d.bound_us));
    let notable = |gain: Time| gain.0 > dual.bound_us / NOTABLE;
    let total: u64 = dual.weights.iter().sum();
    // A bound without a cost is at least the bound with it under the same weights, less the cost as it weighs there.
    let may_matter = |s: &usize| {
        let most = i128::from(costs.fixed[*s]) * i128::from(dual.weights[*s]) / i128::from(total.max(1)) / 1000;
        notable(Time(most as i64))
    };
    let stations: Vec<usize> = (0..costs.fixed.len()).filter(may_matter).collect();
    let swaps = costs.swap.iter().any(|s| *s > 0);
    if stations.is_empty() && !swaps {
        return Vec::new();
    }
    let without = |what: &Without| {
        let mut costs = costs.clone();
        match what {
            Without::Nothing => {}
            Without::Swaps => costs.swap.fill(0),
            Without::Fixed(s) => costs.fixed[*s] = 0,
        }
        quick(&costs)
    };
    let swapping = swaps.then_some(Without::Swaps);
    let asked = std::iter::once(Without::Nothing).chain(swapping).chain(stations.into_iter().map(Without::Fixed));
    let mut bounds = parallel(threads, asked.collect(), |what| (without(&what), what)).into_iter();
    let bound = bounds.next().map_or(Time::ZERO, |b| b.0);
    let mut found = Vec::new();
    // Alike stations gain alike and are named together.
    let mut alike: BTreeMap<i64, (Time, Vec<String>)> = BTreeMap::new();
    for (then, what) in bounds {
        let gain = bound - then;
        match what {
            Without::Swaps | Without::Fixed(_) if !notable(gain) => {}
            Without::Nothing => {}
            Without::Swaps => found.push(Reason {
                text: format!("If head swaps took no time, the bound would fall by {:.2} s.", gain.to_s()),
                worth_us: gain,
            }),
            Without::Fixed(s) => {
                let group = alike.entry(gain.0 / 20_000).or_default();
                group.0 = gain;
                group.1.push(format!("`{}`", p.sheet().station[s].name));
            }
        }
    }
    for (gain, names) in alike.into_values() {
        let text = format!("If transfer and marks took no time at {}, the bound would fall by {:.2} s.", one_of(&names), gain.to_s());
        found.push(Reason { text, worth_us: gain });
    }
    found.sort_by_key(|r| std::cmp::Reverse(r.worth_us));
    found
}

fn one_of(names: &[String]) -> String {
    if names.len() == 1 { names[0].clone() } else { format!("any one of {}", names.join(", ")) }
}

/// Placements that order rules keep to one stage of the line.
fn order_rules(p: &Problem<'_>) -> Option<Reason> {
    if p.order.stages < 2 {
        return None;
    }
    let bound = p.tasks.iter().filter(|t| p.order.tasks[t.index()].from == p.order.tasks[t.index()].to).count();
    let text =
        format!("Order rules keep {bound} of {} placements to one of {} stages of work along the line.", p.tasks.len(), p.order.stages);
    Some(Reason { text, worth_us: Time::ZERO })
}
