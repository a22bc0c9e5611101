//! Gerber layers: components with their attributes (revision 2020.09 and later), and the outline of the board.
//!
//! After the Gerber layer format specification, clauses 5.6 and 6.9. A component is a flash of an aperture whose function is
//! `ComponentMain`; object attributes hold until changed or deleted; all layers are seen from the top.

mod command;

use crate::extent::Extent;
use crate::grid::Row;
use crate::stated::{self, Body, PIN_ONE, Parsed, Stated, mm_cell, sheet};
use crate::table::Kind;
use command::{Command, Mode, commands};
use diag::{Finding, codes::read as code};
use domain::part::Mount;
use domain::product::Side;
use std::collections::BTreeMap;

/// Micrometres of the unit that coordinates are kept in.
const MM: f64 = 1e3;

/// Whether the file is a Gerber layer, by how it starts.
pub(crate) fn looks_like_one(start: &str) -> bool {
    start.starts_with("G04") || start.starts_with("%FS") || start.starts_with("%TF") || start.contains("%FSLA") || start.contains("%FSTA")
}

/// A layer that has something for placement.
#[derive(Debug)]
pub(crate) enum Layer {
    /// Components, and the outline if it is drawn there.
    Components(Parsed),
    /// The outline of the board alone.
    Outline(Stated),
    /// Neither.
    Other,
}

/// Reads a layer; findings name the file by `name`.
pub(crate) fn read(text: &str, name: &str, findings: &mut Vec<Finding>) -> Layer {
    let mut plot = Plot::default();
    for (line, command) in commands(text) {
        plot.take(line, command);
    }
    if !plot.is_whole && !plot.components.is_empty() {
        let message = "the layer does not say its number format; six decimals were taken";
        findings.push(Finding::new(code::UNIT_INFERRED, message).at(name, 0));
    }
    let outline = stated::board(&plot.outline, MM);
    if plot.components.is_empty() {
        return if outline.is_some() { Layer::Outline(Stated { outline, ..Stated::default() }) } else { Layer::Other };
    }
    let unit = if plot.inch { "inch" } else { "mm" };
    findings.push(Finding::new(code::UNIT_STATED, format!("the layer says {unit}")).at(name, 0).value(unit));
    let mut stated = Stated { outline, ..Stated::default() };
    let mut rows = Vec::new();
    for c in &plot.components {
        stated.bodies.insert(c.reference().to_owned(), c.body(plot.side));
        rows.push(Row { line: c.line, cells: c.cells(plot.side) });
    }
    const HEADINGS: [&str; 10] =
        ["RefDes", "X (mm)", "Y (mm)", "Rotation", "Side", "Value", "Package", "Part Number", "Order Number", "Description"];
    let table = sheet(Kind::Placements, &HEADINGS, rows, plot.components[0].line, "a Gerber component layer");
    Layer::Components(Parsed { tables: vec![table], stated })
}

/// A component: its flash and the attributes in force.
#[derive(Debug)]
struct Component {
    line: u32,
    /// Whether the file is in inches.
    inch: bool,
    at: (f64, f64),
    attributes: BTreeMap<String, Vec<String>>,
    /// Outlines by what they are of, in the component's own frame [mm].
    outlines: BTreeMap<String, Extent>,
    /// Pin one in the same frame [mm]; the spec calls it the key pin.
    pin_one: Option<(f64, f64)>,
}

impl Component {
    fn attribute(&self, name: &str) -> &str {
        self.attributes.get(name).and_then(|f| f.first()).map_or("", String::as_str)
    }

    fn reference(&self) -> &str {
        self.attribute(".C")
    }

    fn rotation(&self) -> f64 {
        self.attribute(".CRot").parse().ok().filter(|d: &f64| d.is_finite()).unwrap_or(0.0)
    }

    fn cells(&self, side: Option<Side>) -> Vec<String> {
        let or = |a: &str, b: &str| if self.attribute(a).is_empty() { self.attribute(b) } else { self.attribute(a) }.to_owned();
        // The word for marks was taken out of the list of mounts later; here it makes the row a mark.
        let mark = if self.attribute(".CMnt").eq_ignore_ascii_case("Fiducial") { "fiducial" } else { "" };
        let supplier = self.attributes.get(".CSup").and_then(|f| f.get(1)).cloned().unwrap_or_default();
        vec![
            self.reference().to_owned(),
            mm_cell(self.at.0 * MM),
            mm_cell(self.at.1 * MM),
            if self.attribute(".CRot").is_empty() { "0".to_owned() } else { self.attribute(".CRot").to_owned() },
            side.map_or("", Side::word).to_owned(),
            self.attribute(".CVal").to_owned(),
            or(".CFtp", ".CPgN"),
            self.attribute(".CMPN").to_owned(),
            supplier,
            format!("{} {mark}", or(".CPgD", ".CLbD")).trim().to_owned(),
        ]
    }

    /// A point of the layer in the component's own frame, still seen from the top of the board [mm].
    fn own(&self, at: (f64, f64)) -> (f64, f64) {
        let (sin, cos) = (-self.rotation()).to_radians().sin_cos();
        let (x, y) = (at.0 - self.at.0, at.1 - self.at.1);
        (x * cos - y * sin, x * sin + y * cos)
    }

    fn body(&self, side: Option<Side>) -> Body {
        // Courtyards hold room around the part and tell no size.
        let outline = ["Body", "Lead2Lead", "Footprint"].iter().find_map(|of| self.outlines.get(*of)?.size());
        let room = self.outlines.values().filter_map(Extent::size).reduce(|a, b| (a.0.max(b.0), a.1.max(b.1)));
        Body {
            size: outline.and_then(|o| stated::sides(o, MM)),
            room: room.and_then(|r| stated::sides(r, MM)),
            height: self.attribute(".CHgt").parse().ok().and_then(|h| stated::height(h, if self.inch { 25.4 * MM } else { MM })),
            mount: match self.attribute(".CMnt").to_ascii_uppercase().as_str() {
                "SMD" | "BGA" => Some(Mount::Smt),
                "TH" | "PRESSFIT" => Some(Mount::ThroughHole),
                _ => None,
            },
            // The layer is seen from the top of the board, a part at the bottom from its own top.
            // A pin in the middle tells nothing: the origin of such a part is its pin, not its middle.
            pin_one: self
                .pin_one
                .filter(|p| p.0.hypot(p.1) > 1e-3)
                .map(|(x, y)| if side == Some(Side::Bottom) { (-x, y) } else { (x, y) })
                .and_then(|p| stated::place(p, MM)),
        }
    }
}

/// A layer while its commands go by.
#[derive(Debug)]
struct Plot {
    inch: bool,
    is_whole: bool,
    trailing: bool,
    whole: u32,
    decimals: u32,
    side: Option<Side>,
    /// Whether the whole file is the outline.
    is_profile: bool,
    aperture_attributes: BTreeMap<String, Vec<String>>,
    object_attributes: BTreeMap<String, Vec<String>>,
    apertures: BTreeMap<u32, Vec<String>>,
    selected: Vec<String>,
    mode: Mode,
    at: (f64, f64),
    last: u32,
    /// Whether a line of the outline is being drawn.
    drawing: bool,
    components: Vec<Component>,
    outline: Extent,
}

impl Default for Plot {
    fn default() -> Self {
        Self {
            inch: false,
            is_whole: false,
            trailing: false,
            whole: 4,
            decimals: 6,
            side: None,
            is_profile: false,
            aperture_attributes: BTreeMap::new(),
            object_attributes: BTreeMap::new(),
            apertures: BTreeMap::new(),
            selected: Vec::new(),
            mode: Mode::Straight,
            at: (0.0, 0.0),
            last: 2,
            drawing: false,
            components: Vec::new(),
            outline: Extent::default(),
        }
    }
}

impl Plot {
    fn take(&mut self, line: u32, command: Command) {
        match command {
            Command::Format { trailing, whole, decimals } => {
                (self.trailing, self.whole, self.decimals, self.is_whole) = (trailing, whole, decimals, true);
            }
            Command::Inch(inch) => self.inch = inch,
            Command::Attribute { kind: 'F', name, fields } => self.file_attribute(&name, &fields),
            Command::Attribute { kind: 'A', name, fields } => {
                self.aperture_attributes.insert(name, fields);
            }
            Command::Attribute { name, fields, .. } => {
                self.object_attributes.insert(name, fields);
            }
            Command::Delete(None) => {
                self.aperture_attributes.clear();
                self.object_attributes.clear();
            }
            Command::Delete(Some(name)) => {
                self.aperture_attributes.remove(&name);
                self.object_attributes.remove(&name);
            }
            Command::Aperture(code) => {
                self.apertures.insert(code, self.aperture_attributes.get(".AperFunction").cloned().unwrap_or_default());
            }
            Command::Select(code) => self.selected = self.apertures.get(&code).cloned().unwrap_or_default(),
            Command::Mode(mode) => self.mode = mode,
            Command::Operation { x, y, i, j, code } => {
                let to = (self.coordinate(x, self.at.0), self.coordinate(y, self.at.1));
                let centre = (self.at.0 + self.coordinate(i, 0.0), self.at.1 + self.coordinate(j, 0.0));
                self.last = code.unwrap_or(self.last);
                self.operate(line, to, centre);
                self.at = to;
            }
        }
    }

    fn file_attribute(&mut self, name: &str, fields: &[String]) {
        let field = |k: usize| fields.get(k).map_or("", String::as_str);
        match (name, field(0)) {
            (".FileFunction", "Component") => {
                self.side = match field(2).to_ascii_lowercase().as_str() {
                    "top" => Some(Side::Top),
                    "bot" | "bottom" => Some(Side::Bottom),
                    _ => None,
                };
            }
            (".FileFunction", "Profile") => self.is_profile = true,
            _ => {}
        }
    }

    /// A coordinate as written [mm]; what is not written stays.
    fn coordinate(&self, written: Option<String>, stays: f64) -> f64 {
        let Some(text) = written else { return stays };
        let unit = if self.inch { 25.4 } else { 1.0 };
        if text.contains('.') {
            return text.parse().map_or(stays, |v: f64| v * unit);
        }
        let (sign, digits) = match text.strip_prefix('-') {
            Some(digits) => (-1.0, digits),
            None => (1.0, text.trim_start_matches('+')),
        };
        let digits =
            if self.trailing { format!("{digits:0<width$}", width = (self.whole + self.decimals) as usize) } else { digits.to_owned() };
        digits.parse().map_or(stays, |v: f64| sign * v * unit / 10f64.powi(self.decimals as i32))
    }

    fn operate(&mut self, line: u32, to: (f64, f64), centre: (f64, f64)) {
        let function = self.selected.first().map_or("", String::as_str);
        match (self.last, function) {
            (3, "ComponentMain") => {
                self.components.push(Component {
                    line,
                    inch: self.inch,
                    at: to,
                    attributes: self.object_attributes.clone(),
                    outlines: BTreeMap::new(),
                    pin_one: None,
                });
            }
            (3, "ComponentPin") => {
                let pin = self.object_attributes.get(".P").map(Vec::as_slice);
                if let (Some([reference, number, ..]), Some(component)) = (pin, self.components.last_mut())
                    && reference == component.reference()
                    && PIN_ONE.contains(&number.as_str())
                {
                    component.pin_one = Some(component.own(to));
                }
            }
            (1, "ComponentOutline") => {
                let of = self.selected.get(1).cloned().unwrap_or_default();
                let ends = [self.at, to];
                let reference = self.object_attributes.get(".C").and_then(|f| f.first());
                if let Some(component) = self.components.last_mut()
                    && reference.is_none_or(|r| r == component.reference())
                {
                    let own = ends.map(|end| component.own(end));
                    let extent = component.outlines.entry(of).or_default();
                    for (x, y) in own {
                        extent.line_to(x, y);
                    }
                }
            }
            (1, _) if self.is_profile || function == "Profile" => {
                if !self.drawing {
                    self.outline.line_to(self.at.0, self.at.1);
                }
                match self.mode {
                    Mode::Straight => self.outline.line_to(to.0, to.1),
                    Mode::Clockwise => self.outline.arc_to(to.0, to.1, centre, true),
                    Mode::CounterClockwise => self.outline.arc_to(to.0, to.1, centre, false),
                }
            }
            _ => {}
        }
        self.drawing = self.last == 1;
    }
}
