//! What files in a standard format state beside their rows: bodies, mounts, the outline of the board.
//!
//! Such a file becomes tables like any other ([`sheet`]), so that everything said about lists and bills holds for it
//! too; what no table has a column for is kept here and put into the product at the end ([`Stated::apply`]).

use crate::extent::Extent;
use crate::frame::Frame;
use crate::grid::Row;
use crate::header::Columns;
use crate::parts;
use crate::refs;
use crate::table::{Kind, Table};
use diag::{Finding, codes};
use domain::part::{Certainty, Moisture, Mount, Part, Source, Sourced};
use std::collections::BTreeMap;
use units::{Length, Point};

/// What pin one is called; of balls it is the corner A1.
pub(crate) const PIN_ONE: [&str; 2] = ["1", "A1"];

/// What a file states of the part at one place.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Body {
    /// Extent of the drawing of the package at zero rotation [µm].
    pub(crate) size: Option<(i64, i64)>,
    /// Extent of the largest drawing, with leads and courtyard where they are drawn [µm].
    pub(crate) room: Option<(i64, i64)>,
    /// Height above the board [µm].
    pub(crate) height: Option<i64>,
    pub(crate) mount: Option<Mount>,
    /// Pin one from the middle of the body [µm].
    pub(crate) pin_one: Option<(i64, i64)>,
}

/// What a file in a standard format gives: its tables, and what no table has a column for.
#[derive(Debug, Default)]
pub(crate) struct Parsed {
    pub(crate) tables: Vec<Table>,
    pub(crate) stated: Stated,
}

/// What files state beside their rows.
#[derive(Clone, Debug, Default)]
pub(crate) struct Stated {
    /// By reference.
    pub(crate) bodies: BTreeMap<String, Body>,
    /// For each part number the numbers approved in its place, its own among them, the preferred one first.
    pub(crate) approved: BTreeMap<String, Vec<String>>,
    /// Moisture levels by part number.
    pub(crate) moisture: BTreeMap<String, Moisture>,
    /// The board in the frame of the file.
    pub(crate) outline: Option<Frame>,
}

/// A drawing smaller than a certain body by more than this part of it is of another size.
const CERTAIN_DIFFERS: f64 = 0.1;
/// The same of a likely body.
const LIKELY_DIFFERS: f64 = 0.35;

impl Stated {
    /// Adds what another file states.
    pub(crate) fn join(&mut self, other: Self) {
        self.bodies.extend(other.bodies);
        self.approved.extend(other.approved);
        self.moisture.extend(other.moisture);
        self.outline = self.outline.or(other.outline);
    }

    /// Names the moisture level and the alternates of parts known by the number of a list or by one that is approved in its place.
    fn approve(&self, parts: &mut [Part]) {
        for part in parts {
            if let Some(level) = self.moisture.get(&part.number) {
                part.handling.moisture = Sourced::new(Some(*level), Source::File, Certainty::Certain);
            }
            let with = |(own, all): &(&String, &Vec<String>)| **own == part.number || all.contains(&part.number);
            let Some((_, all)) = self.approved.iter().find(with) else { continue };
            let others: Vec<String> = all.iter().filter(|n| **n != part.number).cloned().collect();
            if !others.is_empty() {
                part.handling.alternates = Sourced::new(others, Source::File, Certainty::Certain);
            }
        }
    }

    /// Puts sizes, heights and mounts into the parts; `references` are those of each part.
    ///
    /// A drawing holds the leads, and often some room around them, so it never makes a size certain, and a size that the
    /// package name gives goes before it.
    pub(crate) fn apply(&self, parts: &mut [Part], references: &[Vec<&str>]) -> Vec<Finding> {
        let mut findings = Vec::new();
        self.approve(parts);
        for (part, references) in parts.iter_mut().zip(references) {
            let said: Vec<&Body> = references.iter().filter_map(|r| self.bodies.get(*r)).collect();
            let most = |of: &dyn Fn(&Body) -> Option<i64>| said.iter().filter_map(|b| of(b)).max();
            let size = most(&|b| b.size.map(|s| s.0)).zip(most(&|b| b.size.map(|s| s.1)));
            let room = most(&|b| b.room.map(|s| s.0)).zip(most(&|b| b.room.map(|s| s.1)));
            let is_named = part.body_x_um.source == Source::Name && part.body_x_um.certainty > Certainty::Guess;
            if is_named {
                findings.extend(room.and_then(|room| contradiction(part, room, references)));
            } else if let Some((x, y)) = size {
                part.body_x_um = Sourced::new(Length(x), Source::File, Certainty::Likely);
                part.body_y_um = Sourced::new(Length(y), Source::File, Certainty::Likely);
            } else if let Some((x, y)) = room
                && part.body_x_um.source == Source::Default
            {
                part.body_x_um = Sourced::new(Length(x), Source::File, Certainty::Guess);
                part.body_y_um = Sourced::new(Length(y), Source::File, Certainty::Guess);
                findings.push(by_room(part, references.len()));
            }
            if let Some(height) = most(&|b| b.height) {
                part.height_um = Sourced::new(Length(height), Source::File, Certainty::Likely);
            }
            if let Some(mount) = said.iter().find_map(|b| b.mount) {
                part.mount = Sourced::new(mount, Source::File, Certainty::Certain);
            }
            if let Some((x, y)) = said.iter().find_map(|b| b.pin_one) {
                part.handling.pin_one = Sourced::new(Some(Point::from_um(x, y)), Source::File, Certainty::Certain);
            }
            if !said.is_empty() {
                parts::refit(part);
            }
        }
        findings
    }
}

/// Only the room around a part is drawn: better than nothing, and still to be measured.
fn by_room(part: &Part, placements: usize) -> Finding {
    let (x, y) = (part.body_x_um.value.to_mm(), part.body_y_um.value.to_mm());
    let places = if placements == 1 { "1 placement".to_owned() } else { format!("{placements} placements") };
    let message = format!("no size is known for `{}` ({places}); the {x} x {y} mm of the room drawn around it are assumed", part.package);
    Finding::new(codes::parts::SIZE_UNKNOWN, message).value(&part.package)
}

/// A drawing that cannot be of the body that the package name gives.
fn contradiction(part: &Part, (x, y): (i64, i64), references: &[&str]) -> Option<Finding> {
    let drawn = [x.min(y), x.max(y)];
    let named = [part.short_side().0, part.long_side().0];
    let differs = if part.body_x_um.certainty == Certainty::Certain { CERTAIN_DIFFERS } else { LIKELY_DIFFERS };
    // A drawing may be larger, by leads and courtyard, but hardly smaller.
    let smaller = drawn.iter().zip(named).any(|(d, n)| (*d as f64) < n as f64 * (1.0 - differs));
    smaller.then(|| {
        let mm = |um: i64| um as f64 / 1e3;
        let message = format!(
            "`{}` is {} x {} mm by its name, but drawn as {} x {} mm ({})",
            part.package,
            mm(part.body_x_um.value.0),
            mm(part.body_y_um.value.0),
            mm(x),
            mm(y),
            refs::some(references)
        );
        Finding::new(codes::parts::SIZE_DIFFERS, message).value(&part.package)
    })
}

/// Outlines and drawings larger than this are none [µm]: three metres.
const LARGEST: f64 = 3e6;

/// The sides of what was drawn, `unit` being the micrometres of the file's unit; `None` where nothing of this world was.
pub(crate) fn sides(drawn: (f64, f64), unit: f64) -> Option<(i64, i64)> {
    let side = |v: f64| Some((v * unit).round()).filter(|um| (1.0..=LARGEST).contains(um)).map(|um| um as i64);
    Some((side(drawn.0)?, side(drawn.1)?))
}

/// A place [µm], likewise.
pub(crate) fn place(written: (f64, f64), unit: f64) -> Option<(i64, i64)> {
    let um = |v: f64| Some((v * unit).round()).filter(|um| um.abs() <= LARGEST).map(|um| um as i64);
    Some((um(written.0)?, um(written.1)?))
}

/// A height [µm], likewise.
pub(crate) fn height(written: f64, unit: f64) -> Option<i64> {
    sides((written, written), unit).map(|s| s.0)
}

/// The board that an outline makes, likewise.
pub(crate) fn board(outline: &Extent, unit: f64) -> Option<Frame> {
    let (x, y) = sides(outline.size()?, unit)?;
    let (left, low) = place(outline.corner(), unit)?;
    Some(Frame { corner: Point::from_um(left, low), size: Point::from_um(x, y), is_stated: true })
}

/// A table made of what a file in a standard format says.
pub(crate) fn sheet(kind: Kind, headings: &[&str], rows: Vec<Row>, line: u32, format: &str) -> Table {
    let headings: Vec<String> = headings.iter().map(|h| (*h).to_owned()).collect();
    Table { kind, columns: Columns::of(&headings, &[]), headings, line, rows, preamble: Vec::new(), sheet: None, split: format.to_owned() }
}

/// A length in millimetres, as a cell.
pub(crate) fn mm_cell(um: f64) -> String {
    format!("{:.4}", um / 1e3)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn with(package: &str, size: (i64, i64)) -> (Part, Vec<Finding>) {
        let (part, _) = parts::part("N", "", package, &["U1"]);
        let mut stated = Stated::default();
        stated.bodies.insert(
            "U1".to_owned(),
            Body { size: Some(size), room: Some(size), height: Some(1_300), mount: Some(Mount::Smt), ..Body::default() },
        );
        let mut parts = vec![part];
        let findings = stated.apply(&mut parts, &[vec!["U1"]]);
        (parts.remove(0), findings)
    }

    #[test]
    fn a_drawing_gives_the_size_of_an_opaque_package() {
        let (part, findings) = with("PSA-17", (14_000, 9_000));
        assert_eq!(
            (part.body_x_um.value, part.body_x_um.source, part.body_x_um.certainty),
            (Length(14_000), Source::File, Certainty::Likely)
        );
        assert_eq!((part.height_um.value, part.height_um.source), (Length(1_300), Source::File));
        assert!(findings.is_empty(), "{findings:?}");
    }

    #[test]
    fn a_name_that_gives_the_size_goes_before_a_drawing() {
        let (part, findings) = with("R_0603_1608Metric", (2_900, 1_400));
        assert_eq!((part.body_x_um.value, part.body_x_um.source), (Length(1_600), Source::Name));
        assert!(findings.is_empty(), "{findings:?}");
        let (_, findings) = with("R_0603_1608Metric", (600, 300));
        assert_eq!(findings.len(), 1, "a drawing smaller than the body");
    }
}
