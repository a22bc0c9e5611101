//! The takt of a line.

use domain::line::Line;
use units::Time;

/// Takt and what sets it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LineTime {
    /// Time per panel of the slowest station or equipment.
    pub takt: Time,
    /// Its name.
    pub slowest: String,
}

/// The takt from the stations' times, in the order of the line, and the line's other equipment.
pub fn line_time(line: &Line, stations: &[Time]) -> LineTime {
    let names = line.station.iter().map(|s| &s.name).zip(stations.iter().copied());
    let equipment = line.equipment.iter().map(|e| (&e.name, *e.time));
    let mut slowest = LineTime { takt: Time::ZERO, slowest: String::new() };
    for (name, time) in names.chain(equipment) {
        if time > slowest.takt {
            slowest = LineTime { takt: time, slowest: name.clone() };
        }
    }
    slowest
}
