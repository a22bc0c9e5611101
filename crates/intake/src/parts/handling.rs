//! How a body is handled: nozzle, speed, accuracy, supply, assumed height.
//!
//! All limits here are common practice, no source.

use super::tape::Carrier;
use crate::package::{Body, Family};
use domain::part::{NozzleClass, SpeedPercent, Supply};
use units::Length;

/// The class of nozzle by the shorter body side.
pub(super) fn nozzle(short: Length) -> NozzleClass {
    match short.0 {
        ..400 => NozzleClass::Micro,
        400..750 => NozzleClass::Tiny,
        750..1_500 => NozzleClass::Small,
        1_500..3_500 => NozzleClass::Medium,
        3_500..9_000 => NozzleClass::Large,
        _ => NozzleClass::Wide,
    }
}

/// Tall cans topple on a nozzle; the rest is told by the name.
pub(super) fn needs_gripper(family: Family, height: Length) -> bool {
    family == Family::Can && height.0 > 12_000
}

/// Speed while carried.
pub(super) fn speed(family: Family, long: Length, height: Length) -> SpeedPercent {
    SpeedPercent(match (family, long.0) {
        _ if height.0 > 10_000 => 40,
        (Family::Connector | Family::Other, 12_000..) => 40,
        (Family::Connector | Family::Other, _) => 60,
        (Family::Can, _) => 40,
        (Family::BallGrid, 6_000..) => 60,
        (Family::Chip | Family::Transistor, ..=4_000) => 100,
        (Family::Moulded | Family::NoLead | Family::BallGrid, ..=2_000) => 100,
        (_, ..12_000) => 80,
        _ => 60,
    })
}

/// Accuracy needed.
pub(super) fn accuracy(body: &Body) -> Length {
    let pitch = body.pitch.map_or(i64::MAX, |p| p.0);
    let long = body.x.max(body.y).0;
    let fine = matches!(body.family, Family::NoLead | Family::FourSides) && pitch <= 500;
    Length(match () {
        () if body.family == Family::BallGrid || fine => 30,
        () if long <= 650 || pitch <= 650 => 40,
        () if long <= 1_100 => 50,
        () => 80,
    })
}

/// Tape for most; trays for large leaded and ball-grid bodies, and for what no tape holds.
///
/// Sticks are left to the engineer: nothing in a name tells them from tape.
pub(super) fn supply(family: Family, long: Length, carrier: Option<Carrier>) -> Supply {
    let from_tray = match family {
        Family::FourSides => long.0 >= 15_500, // body 14 mm and its leads
        Family::BallGrid => long.0 >= 15_000,
        Family::Connector | Family::Other => long.0 >= 30_000,
        _ => false,
    };
    let wide = carrier.is_none_or(|c| c.width.0 > 56_000);
    if from_tray || wide { Supply::Tray } else { Supply::Tape }
}

/// A height to assume for a body whose name gives none.
pub(super) fn assumed_height(body: &Body) -> Length {
    let short = body.x.min(body.y).0;
    Length(match body.family {
        Family::Chip => (short / 2).max(130),
        Family::Moulded => (short * 6 / 10).clamp(400, 6_000),
        Family::Can => (short * 12 / 10).clamp(5_400, 22_000),
        Family::Melf => short,
        Family::Transistor => 1_100,
        Family::PowerTab => 2_400,
        Family::TwoRows => 1_750,
        Family::FourSides => 1_600,
        Family::NoLead => (short / 2).clamp(300, 1_000),
        Family::BallGrid => 1_700,
        Family::Crystal => (short / 3).clamp(350, 1_300),
        Family::Connector => short.clamp(1_500, 8_000),
        Family::Other => (short / 2).clamp(800, 8_000),
    })
}
