//! Two plans side by side, in the engineer's words: what was different going in, and what came out.

mod inputs;

use diag::Finding;
use domain::moves::{Moves, moves};
use domain::plan::{Plan, Work};
use domain::rules::Keep;
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};
use units::Time;

pub use inputs::{InputChange, Placements};

/// What differs between two plans. The JSON fields are part of the command line's contract.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct PlanDiff {
    /// The first plan.
    pub from: Head,
    /// The second plan.
    pub to: Head,
    /// Inputs that differ, key by key.
    pub inputs: Vec<InputChange>,
    /// Placements of the side planned that differ.
    pub placements: Placements,
    /// Every station of either plan.
    pub stations: Vec<StationChange>,
    /// Parts that are placed elsewhere or by another head than before.
    pub parts: Vec<PartChange>,
    /// What has to be carried to get from the first set-up to the second.
    pub moves: Moves,
}

/// The figures of one plan.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Head {
    /// Name of the product.
    pub product: String,
    /// Name of the line.
    pub line: String,
    /// Time per panel of the slowest station or equipment [µs].
    pub takt_us: Time,
    /// No plan of the same job can be faster [µs].
    pub bound_us: Time,
    /// Tasks placed.
    pub placed: usize,
    /// Names of the tasks not placed.
    pub unplaced: Vec<String>,
    /// Stations as slow as the takt; none if other equipment is slower.
    pub slowest: Vec<String>,
}

/// One station before and after; figures of a plan that does not have the station are 0.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct StationChange {
    /// Its name.
    pub name: String,
    /// Time per panel before [µs].
    pub from_us: Time,
    /// Time per panel after [µs].
    pub to_us: Time,
    /// Tasks placed before and after.
    pub placed: (usize, usize),
    /// Trips before and after.
    pub trips: (usize, usize),
    /// Parts of the time that differ, largest difference first.
    pub times: Vec<TimeChange>,
}

/// One part of a station's time before and after.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct TimeChange {
    /// What it is, such as `place travel`.
    pub what: String,
    /// Before [µs].
    pub from_us: Time,
    /// After [µs].
    pub to_us: Time,
}

/// A part that is placed elsewhere.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct PartChange {
    /// Part number.
    pub part: String,
    /// Placements by station and head, before.
    pub from: Vec<Doing>,
    /// Placements by station and head, after.
    pub to: Vec<Doing>,
}

/// Placements of a part by one head.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
pub struct Doing {
    /// Station.
    pub station: String,
    /// Head.
    pub head: String,
    /// Placements per panel.
    pub placements: usize,
}

/// Compares two plans.
///
/// # Errors
/// When the inputs in a plan are not sound.
pub fn diff(from: &Plan, to: &Plan) -> Result<PlanDiff, Box<Finding>> {
    let (before, after) = (Reading::new(from)?, Reading::new(to)?);
    Ok(PlanDiff {
        from: before.head(),
        to: after.head(),
        inputs: inputs::changes(from, to),
        placements: inputs::placements(from, to),
        stations: stations(&before, &after),
        parts: parts(&before, &after),
        moves: moves(&to.line, &Keep::all_of(from), &Keep::all_of(to)),
    })
}

/// A plan, counted.
struct Reading<'p> {
    plan: &'p Plan,
    /// For each station tasks placed and trips.
    counts: Vec<(usize, usize)>,
    /// Placements by part, then station and head.
    doing: BTreeMap<&'p str, BTreeMap<(&'p str, &'p str), usize>>,
}

impl<'p> Reading<'p> {
    fn new(plan: &'p Plan) -> Result<Self, Box<Finding>> {
        let job = plan.job()?;
        let mut reading = Self { plan, counts: Vec::new(), doing: BTreeMap::new() };
        for (s, station) in plan.stations.iter().enumerate() {
            let (mut placed, mut trips) = (0, 0);
            for pass in &station.passes {
                let head = plan.line.station.get(s).and_then(|x| x.head.get(pass.head as usize)).map_or("?", |h| h.name.as_str());
                if let Work::Place { trips: all, .. } = &pass.work {
                    trips += all.len();
                }
                for task in pass.work.placed() {
                    placed += 1;
                    let Some(task) = job.tasks.get(task.index()) else { continue };
                    let part = plan.product.parts[task.part.index()].number.as_str();
                    *reading.doing.entry(part).or_default().entry((station.station.as_str(), head)).or_default() += 1;
                }
            }
            reading.counts.push((placed, trips));
        }
        Ok(reading)
    }

    fn head(&self) -> Head {
        let p = self.plan;
        Head {
            product: p.product.name.clone(),
            line: p.line.name.clone(),
            takt_us: p.takt_us,
            bound_us: p.bound_us,
            placed: p.placed(),
            unplaced: p.unplaced.iter().map(|u| u.reference.clone()).collect(),
            slowest: p.stations.iter().filter(|s| s.time_us == p.takt_us).map(|s| s.station.clone()).collect(),
        }
    }

    fn doing(&self, part: &str) -> Vec<Doing> {
        let all = self.doing.get(part).into_iter().flatten();
        all.map(|((s, h), n)| Doing { station: (*s).to_owned(), head: (*h).to_owned(), placements: *n }).collect()
    }

    fn station(&self, name: &str) -> Option<usize> {
        self.plan.stations.iter().position(|s| s.station == name)
    }
}

fn stations(before: &Reading<'_>, after: &Reading<'_>) -> Vec<StationChange> {
    let mut names: Vec<&str> = before.plan.stations.iter().map(|s| s.station.as_str()).collect();
    let new = after.plan.stations.iter().map(|s| s.station.as_str()).filter(|n| before.station(n).is_none());
    names.extend(new.collect::<Vec<_>>());
    let change = |name: &str| {
        let (a, b) = (before.station(name), after.station(name));
        let (x, y) = (a.map(|i| &before.plan.stations[i]), b.map(|i| &after.plan.stations[i]));
        let counts = |r: &Reading<'_>, i: Option<usize>| i.map_or((0, 0), |i| r.counts[i]);
        let ((placed_a, trips_a), (placed_b, trips_b)) = (counts(before, a), counts(after, b));
        let items = |s: Option<&domain::plan::StationPlan>| s.map(|s| s.breakdown).unwrap_or_default().items();
        let mut times: Vec<TimeChange> = items(x)
            .into_iter()
            .zip(items(y))
            .filter(|(p, q)| p.1 != q.1)
            .map(|(p, q)| TimeChange { what: p.0.to_owned(), from_us: p.1, to_us: q.1 })
            .collect();
        times.sort_by_key(|t| (std::cmp::Reverse((t.to_us - t.from_us).0.abs()), t.what.clone()));
        StationChange {
            name: name.to_owned(),
            from_us: x.map_or(Time::ZERO, |s| s.time_us),
            to_us: y.map_or(Time::ZERO, |s| s.time_us),
            placed: (placed_a, placed_b),
            trips: (trips_a, trips_b),
            times,
        }
    };
    names.into_iter().map(change).collect()
}

fn parts(before: &Reading<'_>, after: &Reading<'_>) -> Vec<PartChange> {
    let numbers: BTreeSet<&str> = before.doing.keys().chain(after.doing.keys()).copied().collect();
    let change = |part: &str| PartChange { part: part.to_owned(), from: before.doing(part), to: after.doing(part) };
    numbers.into_iter().map(change).filter(|c| c.from != c.to).collect()
}
