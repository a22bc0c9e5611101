//! Carrier tape: width and pocket pitch for a body.
//!
//! Widths and their limits are those of EIA-481-D, tables 2 and 3. Which of the allowed
//! pitches a maker takes is not in the standard; the walls and clearances below are set so
//! that the tapes of makers' packaging sheets come out (`tests/parts_reference.rs`).

use crate::package::Family;
use units::Length;

/// One tape width and its limits.
struct Width {
    /// Tape width [µm].
    width: i64,
    /// Largest pocket pitch [µm].
    pitch_max: i64,
    /// Largest pocket across the tape [µm], B1.
    across_max: i64,
    /// Largest depth over all [µm], T2; where the table has none, that of the next wider tape.
    deep_max: i64,
}

const fn width(mm: i64, pitch_max_mm: i64, across_max: i64, deep_max: i64) -> Width {
    Width { width: mm * 1_000, pitch_max: pitch_max_mm * 1_000, across_max, deep_max }
}

const WIDTHS: &[Width] = &[
    width(8, 4, 4_350, 2_500),
    width(12, 8, 8_200, 6_500),
    width(16, 12, 12_100, 8_000),
    width(24, 20, 20_100, 12_000),
    width(32, 32, 23_000, 12_000),
    width(44, 44, 35_000, 16_000),
    width(56, 56, 46_000, 20_000),
    width(72, 72, 60_000, 30_000),
    width(88, 72, 76_000, 30_000),
    width(104, 72, 91_000, 35_000),
    width(120, 72, 107_000, 40_000),
    width(136, 72, 123_000, 40_000),
    width(152, 72, 139_000, 40_000),
    width(168, 72, 153_000, 40_000),
    width(184, 72, 169_000, 40_000),
    width(200, 72, 185_000, 40_000),
];

/// Width and pocket pitch of a tape.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Carrier {
    /// Tape width.
    pub width: Length,
    /// From pocket to pocket.
    pub pitch: Length,
}

/// The narrowest tape that holds the body, or `None` when no tape does.
///
/// The longer side lies across the tape (EIA-481 orientation rule), for parts with leads
/// on two sides the side along the leads.
pub fn carrier(family: Family, x: Length, y: Length, height: Length) -> Option<Carrier> {
    let (across, along) = match family {
        Family::TwoRows => (y.0, x.0),
        _ => (x.max(y).0, x.min(y).0),
    };
    let pocket_across = across + clearance_across(family);
    let pitch = pitch(family, along, across, height.0);
    let narrowest = if family == Family::NoLead && across >= 3_000 { 12_000 } else { 8_000 };
    let fits = |w: &&Width| w.width >= narrowest && pocket_across <= w.across_max && pitch <= w.pitch_max && height.0 <= w.deep_max;
    WIDTHS.iter().find(fits).map(|w| Carrier { width: Length(w.width), pitch: Length(pitch) })
}

/// Room across the tape [µm]; makers leave more beside leaded rows.
const fn clearance_across(family: Family) -> i64 {
    match family {
        Family::TwoRows => 1_800,
        // Chips and small cubes lie close.
        Family::Chip | Family::Melf | Family::Crystal => 300,
        _ => 400,
    }
}

/// Smallest usual pitch that leaves a wall between pockets [µm].
fn pitch(family: Family, along: i64, across: i64, height: i64) -> i64 {
    let pocket = along + 300;
    let wall = match family {
        _ if height >= 4_000 => (height / 2).max(2_000),
        Family::NoLead | Family::BallGrid | Family::FourSides => 1_000,
        _ => 700,
    };
    let needed = pocket + wall;
    if needed <= 2_000 && across <= 1_200 {
        return 2_000;
    }
    // Steps of 4 mm, the pitch of the sprocket holes.
    (needed.max(1) + 3_999) / 4_000 * 4_000
}

/// Widths that EIA-481 knows, with their largest pocket pitch [µm].
pub fn widths() -> impl Iterator<Item = (Length, Length)> {
    WIDTHS.iter().map(|w| (Length(w.width), Length(w.pitch_max)))
}
