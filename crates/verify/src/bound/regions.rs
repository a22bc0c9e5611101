//! Where a head can pick: banks as segments along X, tray places as points.

use domain::line::{Head, HeadKind, Station};
use domain::part::Supply;
use motion::StationClock;
use units::{Length, Point, Time};

/// A segment along X of possible reference points.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Region {
    left: Length,
    right: Length,
    y: Length,
    /// Whether it is a tray place.
    tray: bool,
}

/// The regions where a head may pick, those of an inline head widened to both sides.
pub(crate) fn of(station: &Station, head: &Head) -> Vec<Region> {
    let reach = match (head.kind, head.pitch) {
        (HeadKind::Inline, Some(pitch)) => *pitch * (i64::from(head.spindles) - 1).max(0),
        _ => Length::ZERO,
    };
    widened(station, head, reach)
}

/// Whether two regions have a point in common, so that the head may pick two supplies there.
pub(crate) fn touch(station: &Station, head: &Head) -> bool {
    let all = widened(station, head, Length::ZERO);
    all.iter().enumerate().any(|(i, a)| all[..i].iter().any(|b| a.y == b.y && a.left <= b.right && b.left <= a.right))
}

/// Of two beams each picks from its own; elsewhere nothing belongs to a beam.
fn widened(station: &Station, head: &Head, reach: Length) -> Vec<Region> {
    let region = |from: Point, length: Length, tray| Region { left: from.x - reach, right: from.x + length + reach, y: from.y, tray };
    let banks = station
        .bank
        .iter()
        .filter(|b| b.beam == head.beam)
        .map(|b| region(b.first.point(), *b.pitch * (i64::from(b.slots) - 1).max(0), false));
    let trays = station.tray.iter().filter(|t| t.beam == head.beam).map(|t| region(t.at.point(), Length::ZERO, true));
    banks.chain(trays).collect()
}

impl Region {
    /// Whether a supply of this kind can stand there.
    pub(crate) fn holds(&self, supply: Supply) -> bool {
        self.tray == (supply == Supply::Tray)
    }

    /// The way from a point to the nearest point of the region.
    fn way(&self, clock: &StationClock, from: Point, percent: u8) -> Time {
        let nearest = Point { x: from.x.clamp(self.left, self.right), y: self.y };
        clock.travel(from, nearest, percent)
    }
}

/// The least way from a point to any of the regions; `None` without a region.
pub(crate) fn least_way<'r>(regions: impl Iterator<Item = &'r Region>, clock: &StationClock, from: Point, percent: u8) -> Option<Time> {
    regions.map(|r| r.way(clock, from, percent)).min()
}
