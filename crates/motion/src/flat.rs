//! A station's program flattened for timing, its references checked.

use crate::clock::{Clock, ClockError};
use crate::rows::{PickStep, SupplyRow};
use domain::line::{Head, Station, StationKind};
use domain::plan::{Beat, Pass, PlaceStep, Trip, Work};

/// One pass, flattened for timing.
pub(crate) struct FlatPass<'p> {
    pub(crate) pass: &'p Pass,
    pub(crate) trips: Vec<FlatTrip<'p>>,
}

/// One trip, flattened for timing.
pub(crate) struct FlatTrip<'p> {
    pub(crate) layout: &'p [Option<u32>],
    pub(crate) picks: Vec<PickStep>,
    pub(crate) places: &'p [PlaceStep],
    pub(crate) after: u32,
}

impl<'p> FlatPass<'p> {
    /// Flattens a pass of a station whose plan has `supplies` supplies.
    pub(crate) fn new(clock: &Clock<'_>, station: &Station, pass: &'p Pass, supplies: usize) -> Result<Self, ClockError> {
        let unknown = |what: &str| Err(ClockError(what.to_owned()));
        let Some(head) = station.head.get(pass.head as usize) else { return unknown("head of a pass") };
        if station.kind == StationKind::TwoBeam && !matches!(pass.work, Work::Place { .. }) {
            return unknown("work of a beam that is no picking and placing");
        }
        let tasks = clock.tasks().len();
        let mut flat = Self { pass, trips: Vec::new() };
        match &pass.work {
            Work::Place { layouts, trips } => {
                for trip in trips {
                    flat.trips.push(flat_trip(head, layouts, trip, supplies, tasks)?);
                }
            }
            Work::Dispense { tasks: dotted } => {
                if dotted.iter().any(|t| t.index() >= tasks) {
                    return unknown("task of a dot");
                }
            }
            Work::Inspect { .. } => {
                if station.inspection.is_none() {
                    return unknown("inspection of a station that cannot look");
                }
            }
            Work::Turret { beats, .. } => check_beats(station, beats, supplies, tasks)?,
        }
        Ok(flat)
    }

    /// Beats of a turret; none of other work.
    pub(crate) fn beats(&self) -> &'p [Option<Beat>] {
        if let Work::Turret { beats, .. } = &self.pass.work { beats } else { &[] }
    }
}

fn flat_trip<'p>(
    head: &Head,
    layouts: &'p [Vec<Option<u32>>],
    trip: &'p Trip,
    supplies: usize,
    tasks: usize,
) -> Result<FlatTrip<'p>, ClockError> {
    let unknown = |what: &str| Err(ClockError(what.to_owned()));
    let Some(layout) = layouts.get(trip.layout as usize) else { return unknown("nozzle layout of a trip") };
    let mut picks = Vec::with_capacity(trip.places.len());
    for stroke in &trip.strokes {
        for (k, p) in stroke.0.iter().enumerate() {
            if p.supply as usize >= supplies {
                return unknown("supply of a pick");
            }
            picks.push(PickStep { spindle: p.spindle, supply: p.supply, opens: k == 0 });
        }
    }
    if trip.places.iter().any(|p| p.task.index() >= tasks) {
        return unknown("task of a placement");
    }
    let spindles = picks.iter().map(|p| p.spindle).chain(trip.places.iter().map(|p| p.spindle));
    if spindles.into_iter().any(|s| s >= head.spindles) {
        return unknown("spindle of a trip");
    }
    Ok(FlatTrip { layout, picks, places: &trip.places, after: trip.after })
}

fn check_beats(station: &Station, beats: &[Option<Beat>], supplies: usize, tasks: usize) -> Result<(), ClockError> {
    let unknown = |what: &str| Err(ClockError(what.to_owned()));
    if station.kind != StationKind::Turret {
        return unknown("beats of a station that is no turret");
    }
    if beats.iter().flatten().any(|b| b.supply as usize >= supplies) {
        return unknown("supply of a beat");
    }
    if beats.iter().flatten().any(|b| b.task.index() >= tasks) {
        return unknown("task of a beat");
    }
    Ok(())
}

/// How many spindles need another nozzle; taking one off without a new one costs nothing.
pub(crate) fn changes(from: &[Option<u32>], to: &[Option<u32>]) -> i64 {
    let differs = |(i, wanted): (usize, &Option<u32>)| wanted.is_some() && from.get(i).copied().flatten() != *wanted;
    to.iter().enumerate().filter(|x| differs(*x)).count() as i64
}

/// The level each magazine presents after a panel: the last one used.
pub(crate) fn levels_left(places: usize, supplies: &[SupplyRow], passes: &[&FlatPass<'_>]) -> Vec<u32> {
    let mut levels = vec![0; places];
    for p in passes.iter().flat_map(|p| &p.trips).flat_map(|t| &t.picks) {
        if let Some((place, level)) = supplies[p.supply as usize].magazine {
            levels[place as usize] = level;
        }
    }
    levels
}

/// The nozzles each head holds after a panel: those of its last trip.
pub(crate) fn nozzles_left<'p>(heads: usize, passes: &[&FlatPass<'p>]) -> Vec<&'p [Option<u32>]> {
    let mut fitted: Vec<&[Option<u32>]> = vec![&[]; heads];
    for flat in passes {
        if let Some(trip) = flat.trips.last() {
            fitted[flat.pass.head as usize] = trip.layout;
        }
    }
    fitted
}
