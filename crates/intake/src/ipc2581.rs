//! IPC-2581 documents, revisions A to C: components, packages, bill of materials, outline, panel.
//!
//! The traps of the standard and of its writers are decided by evidence and told as findings: which way a bottom part is
//! turned (`Xform` says rotate, then mirror; another clause says as seen from the top) is settled by the pads that name their
//! pins; how many copies `StepRepeat` means is settled by nobody, so both readings are named.

mod document;

use crate::fitted;
use crate::grid::Row;
use crate::header::{Role, role_of};
use crate::number::Unit;
use crate::stated::{self, Body, Parsed, Stated, mm_cell, sheet};
use crate::table::{Kind, Table};
use diag::{Finding, codes::read as code};
use document::{BomItem, Component, Designator, Document, Package, Step};
use domain::part::{Moisture, Mount};
use domain::product::Side;
use std::collections::BTreeMap;

/// Whether the file is such a document, by its root element.
pub(crate) fn looks_like_one(start: &str) -> bool {
    start.contains("<IPC-2581")
}

/// Reads a document; findings name the file by `name`.
pub(crate) fn read(text: &str, name: &str, findings: &mut Vec<Finding>) -> Parsed {
    let document = document::read(text);
    if let Some((line, why)) = &document.broken {
        let message = format!("the document is not well-formed: {why}; what stands before was read");
        findings.push(Finding::new(code::XML_BROKEN, message).at(name, *line));
    }
    let format = format!("an IPC-2581 document, revision {}", if document.revision.is_empty() { "not stated" } else { &document.revision });
    let mut parsed = Parsed::default();
    if let Some(step) = board(&document, name, findings) {
        let board = Board::new(&document, step, name, findings);
        parsed.stated = Stated { approved: alternates(&document), moisture: moisture(&document), ..board.stated() };
        parsed.tables.push(board.table(&format, findings));
        panel(&document, step, board.unit, name, findings);
    }
    if document.items.iter().any(|i| !i.places.is_empty()) {
        parsed.tables.push(bill(&document, &format));
        approved(&document, name, findings);
    }
    parsed
}

/// The step with the components; a document may hold several designs.
fn board<'d>(document: &'d Document, name: &str, findings: &mut Vec<Finding>) -> Option<&'d Step> {
    let step = document.steps.iter().filter(|s| !s.components.is_empty()).max_by_key(|s| s.components.len())?;
    let others: Vec<String> = document
        .steps
        .iter()
        .filter(|s| !s.components.is_empty() && s.name != step.name)
        .map(|s| format!("`{}` ({} components)", s.name, s.components.len()))
        .collect();
    if !others.is_empty() {
        let message =
            format!("`{}` with {} components is read; also in the document: {}", step.name, step.components.len(), others.join(", "));
        findings.push(Finding::new(code::SEVERAL_DESIGNS, message).at(name, step.line).value(&step.name));
    }
    Some(step)
}

/// How a mirrored part is turned.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Turn {
    /// Turned, then mirrored: the order of `Xform`.
    ThenMirrored,
    /// Mirrored, then turned counter-clockwise as seen from the top.
    AfterMirroring,
}

impl Turn {
    /// A point of a package on the board, from the component's place.
    fn of(self, (x, y): (f64, f64), degrees: f64, mirrored: bool) -> (f64, f64) {
        let (sin, cos) = degrees.to_radians().sin_cos();
        let turned = |(x, y): (f64, f64)| (x * cos - y * sin, x * sin + y * cos);
        match (mirrored, self) {
            (false, _) => turned((x, y)),
            (true, Self::ThenMirrored) => {
                let (x, y) = turned((x, y));
                (-x, y)
            }
            (true, Self::AfterMirroring) => turned((-x, y)),
        }
    }
}

/// Pins nearer to their pad than this lie on it [mm].
const ON_PAD: f64 = 0.05;
/// A pick point farther from the origin than this moves the centre [mm].
const OFF_ORIGIN: f64 = 0.01;

/// The components of one step.
struct Board<'d> {
    /// Line and place in the bill of each reference.
    listed: BTreeMap<&'d str, (&'d BomItem, &'d Designator)>,
    document: &'d Document,
    step: &'d Step,
    unit: Unit,
    turn: Turn,
    name: &'d str,
}

impl<'d> Board<'d> {
    fn new(document: &'d Document, step: &'d Step, name: &'d str, findings: &mut Vec<Finding>) -> Self {
        let unit = document.unit.unwrap_or(Unit::Mm);
        let (kind, message) = match document.unit {
            Some(unit) => (code::UNIT_STATED, format!("the document says {}", unit.word())),
            None => (code::UNIT_INFERRED, "the document names no unit that is known; mm was taken".to_owned()),
        };
        findings.push(Finding::new(kind, message).at(name, step.line).value(unit.word()));
        let listed = document.items.iter().flat_map(|i| i.places.iter().map(move |p| (p.name.as_str(), (i, p)))).collect();
        let mut board = Self { listed, document, step, unit, turn: Turn::ThenMirrored, name };
        board.settle_turn(findings);
        board
    }

    fn mm(&self, length: f64) -> f64 {
        length * self.unit.um() / 1e3
    }

    fn package(&self, component: &Component) -> Option<&'d Package> {
        self.step.packages.get(&component.package)
    }

    /// Compares pins with the pads that name them, under both readings.
    fn settle_turn(&mut self, findings: &mut Vec<Finding>) {
        let mirrored: BTreeMap<&str, &Component> =
            self.step.components.iter().filter(|c| c.mirrored).map(|c| (c.reference.as_str(), c)).collect();
        let sideways = self.step.sideways.len();
        let mut fits = [0usize; 2];
        for (reference, pin, pad) in &self.step.pads {
            let Some(component) = mirrored.get(reference.as_str()) else { continue };
            let place = self.package(component).and_then(|p| p.pins.get(pin)).zip(component.at);
            let Some((pin, at)) = place else { continue };
            let lies = [Turn::ThenMirrored, Turn::AfterMirroring].map(|turn| {
                let (x, y) = turn.of(*pin, component.degrees(), true);
                self.mm((at.0 + x - pad.0).hypot(at.1 + y - pad.1)) < ON_PAD
            });
            if lies[0] != lies[1] {
                fits[usize::from(lies[1])] += 1;
            }
        }
        if fits[1] > fits[0] {
            self.turn = Turn::AfterMirroring;
        }
        if sideways == 0 {
            return;
        }
        let word = ["turned, then mirrored", "mirrored, then turned as seen from the top"];
        let (kind, message) = match fits {
            [0, 0] => (
                code::BOTTOM_TURN_DOUBT,
                format!(
                    "{sideways} mirrored parts lie at an angle that the standard lets be read in two ways, 180° apart at 90° and 270°; no pad tells which"
                ),
            ),
            [a, b] => (
                code::BOTTOM_TURN,
                format!("mirrored parts are {}: {} of {} pins then lie on their pads", word[usize::from(b > a)], a.max(b), a + b),
            ),
        };
        findings.push(Finding::new(kind, message).at(self.name, self.step.line));
    }

    /// From the component's place to the middle of its body [file's unit].
    fn to_middle(&self, component: &Component) -> (f64, f64) {
        let middle = self.package(component).map(Package::middle).unwrap_or_default();
        self.turn.of(middle, component.degrees(), component.mirrored)
    }

    fn side(&self, component: &Component) -> Option<Side> {
        self.document.layers.get(&component.layer).copied().flatten().or_else(|| crate::side::from_word(&component.layer))
    }

    /// The package as the bill names it, where the component's name is that with a number behind it.
    fn package_name<'a>(&'a self, component: &'a Component) -> &'a str {
        let named = self.listed.get(component.reference.as_str()).map_or("", |(_, place)| place.package.as_str());
        let rest = component.package.strip_prefix(named).and_then(|rest| rest.strip_prefix('_'));
        let is_numbered = rest.is_some_and(|r| !r.is_empty() && r.bytes().all(|b| b.is_ascii_digit()));
        if is_numbered && !named.is_empty() { named } else { &component.package }
    }

    /// The part's number; none for what the bill lists as a document.
    fn number(&self, component: &Component) -> String {
        if self.listed.get(component.reference.as_str()).is_some_and(|(item, _)| is_document(item)) {
            return String::new();
        }
        let number = said(&component.texts, Role::Number);
        if number.is_empty() { component.part.clone() } else { number }
    }

    /// Components that name no part, on a board that has a bill without them: labels and marks.
    fn nameless(&self, findings: &mut Vec<Finding>) -> Vec<&'d str> {
        let is_nameless = |c: &&Component| c.part.is_empty() && !self.listed.contains_key(c.reference.as_str());
        if self.listed.is_empty() {
            return Vec::new();
        }
        let found: Vec<&Component> = self.step.components.iter().filter(is_nameless).collect();
        let names: Vec<&str> = found.iter().map(|c| c.reference.as_str()).collect();
        if let Some(first) = found.first() {
            let message =
                format!("{} components name no part and stand in no bill; they are left out: {}", names.len(), crate::refs::some(&names));
            findings.push(Finding::new(code::NOT_FITTED, message).at(self.name, first.line).value(&first.reference));
        }
        names
    }

    fn table(&self, format: &str, findings: &mut Vec<Finding>) -> Table {
        let nameless = self.nameless(findings);
        let mut moved = Vec::new();
        let mut inner = Vec::new();
        let rows = self.step.components.iter().map(|c| {
            let off = self.to_middle(c);
            if self.mm(off.0.hypot(off.1)) > OFF_ORIGIN {
                moved.push(c.reference.as_str());
            }
            let side = self.side(c).unwrap_or_else(|| {
                inner.push(c);
                if c.mirrored { Side::Bottom } else { Side::Top }
            });
            let cell = |at: Option<f64>| at.map_or(String::new(), |v| mm_cell(v * self.unit.um()));
            let said = |role: Role| said(&c.texts, role);
            let cells = vec![
                c.reference.clone(),
                cell(c.at.map(|at| at.0 + off.0)),
                cell(c.at.map(|at| at.1 + off.1)),
                if c.rotation.is_empty() { "0".to_owned() } else { c.rotation.clone() },
                side.word().to_owned(),
                said(Role::Value),
                self.package_name(c).to_owned(),
                self.number(c),
                said(Role::Description),
                if nameless.contains(&c.reference.as_str()) {
                    "not fitted".to_owned()
                } else {
                    c.texts.iter().map(|(_, v)| v).find(|v| fitted::says_so_alone(v)).cloned().unwrap_or_default()
                },
            ];
            Row { line: c.line, cells }
        });
        let rows: Vec<Row> = rows.collect();
        if let Some(first) = inner.first() {
            let message = format!(
                "{} components lie on a layer that is no outer one, such as `{}`; the mirror flag gave their side",
                inner.len(),
                first.layer
            );
            findings.push(Finding::new(code::SIDE_UNKNOWN, message).at(self.name, first.line).value(&first.layer));
        }
        if !moved.is_empty() {
            let message = format!(
                "{} components have their origin beside the body; places are those of the pick-up point: {}",
                moved.len(),
                crate::refs::some(&moved)
            );
            findings.push(Finding::new(code::PICK_POINT, message).at(self.name, self.step.line));
        }
        const HEADINGS: [&str; 10] =
            ["RefDes", "X (mm)", "Y (mm)", "Rotation", "Side", "Value", "Package", "Part Number", "Description", "Fitted"];
        sheet(Kind::Placements, &HEADINGS, rows, self.step.line, format)
    }

    fn stated(&self) -> Stated {
        let unit = self.unit.um();
        let mut stated = Stated { outline: stated::board(&self.step.outline, unit), ..Stated::default() };
        for c in &self.step.components {
            let package = self.package(c);
            let body = Body {
                size: package.and_then(Package::body).and_then(|d| stated::sides(d.size()?, unit)),
                room: package.and_then(Package::room).and_then(|r| stated::sides(r, unit)),
                height: c.height.or_else(|| package.and_then(|p| p.height)).and_then(|h| stated::height(h, unit)),
                mount: match c.mount.to_ascii_uppercase().as_str() {
                    "SMT" => Some(Mount::Smt),
                    "THMT" => Some(Mount::ThroughHole),
                    _ => None,
                },
                pin_one: package.and_then(Package::pin_one).and_then(|p| stated::place(p, unit)),
            };
            stated.bodies.insert(c.reference.clone(), body);
        }
        stated
    }
}

/// Whether the bill lists no part but a document: a logo, a test point.
fn is_document(item: &BomItem) -> bool {
    item.category.eq_ignore_ascii_case("DOCUMENT")
}

/// The first text whose name stands for this role in headings.
fn said(texts: &[(String, String)], role: Role) -> String {
    let of = |(name, value): &(String, String)| (role_of(name) == Some(role) && !value.is_empty()).then(|| value.clone());
    texts.iter().find_map(of).unwrap_or_default()
}

/// The bill: one row a reference, so that its own flag and package stand beside it.
fn bill(document: &Document, format: &str) -> Table {
    let mut rows = Vec::new();
    for item in &document.items {
        for place in &item.places {
            let number = if is_document(item) { String::new() } else { said(&item.texts, Role::Number) };
            let own = if is_document(item) { "" } else { item.number.as_str() };
            let description = if item.description.is_empty() { said(&item.texts, Role::Description) } else { item.description.clone() };
            let cells = vec![
                place.name.clone(),
                said(&item.texts, Role::Value),
                place.package.clone(),
                if number.is_empty() { own.to_owned() } else { number.clone() },
                if number.is_empty() { item.internal.clone() } else { own.to_owned() },
                description,
                if place.fitted { String::new() } else { "no".to_owned() },
            ];
            rows.push(Row { line: place.line, cells });
        }
    }
    const HEADINGS: [&str; 7] = ["RefDes", "Value", "Package", "Part Number", "Order Number", "Description", "Fitted"];
    let line = document.items.first().map_or(1, |i| i.line);
    sheet(Kind::Bom, &HEADINGS, rows, line, format)
}

/// Moisture levels by part number; words that the format does not have are no level.
fn moisture(document: &Document) -> BTreeMap<String, Moisture> {
    let level = |word: &String| {
        Some(match word.to_ascii_uppercase().as_str() {
            "UNLIMITED" => Moisture::One,
            "1_YEAR" => Moisture::Two,
            "4_WEEKS" => Moisture::TwoA,
            "168_HOURS" => Moisture::Three,
            "72_HOURS" => Moisture::Four,
            "48_HOURS" => Moisture::Five,
            "24_HOURS" => Moisture::FiveA,
            "BAKE" => Moisture::Six,
            _ => return None,
        })
    };
    document.moisture.iter().filter_map(|(number, word)| Some((number.clone(), level(word)?))).collect()
}

/// Approved makers' numbers of each part that has several, best rank first.
fn alternates(document: &Document) -> BTreeMap<String, Vec<String>> {
    let several = document.approved.iter().filter(|(_, numbers)| numbers.len() > 1);
    let ranked = several.map(|(part, numbers)| {
        let mut ranked = numbers.clone();
        ranked.sort();
        (part.clone(), ranked.into_iter().map(|(_, n)| n).collect())
    });
    ranked.collect()
}

/// Parts with several approved makers' numbers, and quantities that are not the number of references.
fn approved(document: &Document, name: &str, findings: &mut Vec<Finding>) {
    let several: Vec<String> = alternates(document).iter().map(|(part, numbers)| format!("{part}: {}", numbers.join(", "))).collect();
    if !several.is_empty() {
        let message = format!("{} parts have approved alternates: {}", several.len(), several.join("; "));
        findings.push(Finding::new(code::ALTERNATES, message).at(name, 0));
    }
    let wrong = |i: &&BomItem| i.quantity.parse::<f64>().is_ok_and(|q| q != i.places.len() as f64) && !i.places.is_empty();
    let off: Vec<&BomItem> = document.items.iter().filter(wrong).collect();
    if let Some(first) = off.first() {
        let message = format!("in {} lines of the bill the quantity is not the number of references", off.len());
        findings.push(Finding::new(code::BOM_QUANTITY, message).at(name, first.line).value(&first.number));
    }
}

/// Panels that repeat the board; how many copies a number means is read in two ways.
fn panel(document: &Document, board: &Step, unit: Unit, name: &str, findings: &mut Vec<Finding>) {
    let mm = |v: f64| v * unit.um() / 1e3;
    for repeat in document.steps.iter().flat_map(|s| &s.repeats).filter(|r| r.step == board.name) {
        let angle = if repeat.angle == 0.0 { String::new() } else { format!(", turned by {}°", repeat.angle) };
        let message = format!(
            "the document has a panel of `{}`: {} x {} at a pitch of {} x {} mm{angle} (by the letter of the standard one more each way, which writers rarely mean)",
            repeat.step,
            repeat.columns.max(1),
            repeat.rows.max(1),
            mm(repeat.pitch.0),
            mm(repeat.pitch.1)
        );
        findings.push(Finding::new(code::PANEL_STATED, message).at(name, repeat.line).value(&repeat.step));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_readings_of_a_mirrored_part_agree_at_0_and_180_degrees() {
        let pin = (1.0, 0.3);
        for degrees in [0.0, 180.0] {
            let [a, b] = [Turn::ThenMirrored, Turn::AfterMirroring].map(|t| t.of(pin, degrees, true));
            assert!((a.0 - b.0).abs() < 1e-9 && (a.1 - b.1).abs() < 1e-9);
        }
        let [a, b] = [Turn::ThenMirrored, Turn::AfterMirroring].map(|t| t.of(pin, 90.0, true));
        assert!((a.0 + b.0).abs() < 1e-9 && (a.1 + b.1).abs() < 1e-9, "they lie opposite at 90°: {a:?} {b:?}");
    }
}
