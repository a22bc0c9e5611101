//! An IPC-2581 document as far as placement needs it, gathered in one pass.
//!
//! Nothing but this is kept of a file, which may have hundreds of megabytes: copper, text and pictures go by. Elements and
//! attributes after the schemas of the revisions A to C.

use crate::extent::Extent;
use crate::number::Unit;
use domain::product::Side;
use quick_xml::XmlVersion;
use quick_xml::events::{BytesStart, Event};
use quick_xml::reader::Reader;
use std::collections::{BTreeMap, BTreeSet};

/// The document.
#[derive(Debug, Default)]
pub(super) struct Document {
    /// As the root says; empty where it does not.
    pub(super) revision: String,
    /// Unit of everything under `Ecad`.
    pub(super) unit: Option<Unit>,
    /// Side of each layer; `None` for inner ones.
    pub(super) layers: BTreeMap<String, Option<Side>>,
    pub(super) steps: Vec<Step>,
    pub(super) items: Vec<BomItem>,
    /// Approved makers' numbers of each part of the bill, best rank first.
    pub(super) approved: BTreeMap<String, Vec<(u32, String)>>,
    /// Moisture sensitivity of part numbers, in the words of the format.
    pub(super) moisture: BTreeMap<String, String>,
    /// Line and reason where the file breaks off or is no XML.
    pub(super) broken: Option<(u32, String)>,
}

/// A board, or a panel of boards.
#[derive(Debug, Default)]
pub(super) struct Step {
    pub(super) name: String,
    pub(super) line: u32,
    pub(super) outline: Extent,
    pub(super) packages: BTreeMap<String, Package>,
    pub(super) components: Vec<Component>,
    pub(super) repeats: Vec<Repeat>,
    /// Pads of mirrored components that lie sideways, by the pin they name: component, pin, place. A file has millions of others.
    pub(super) pads: Vec<(String, String, (f64, f64))>,
    /// Mirrored components that lie neither at 0 nor at 180°.
    pub(super) sideways: BTreeSet<String>,
}

/// Copies of a step in a panel, as written.
#[derive(Clone, Debug)]
pub(super) struct Repeat {
    pub(super) line: u32,
    pub(super) step: String,
    pub(super) columns: u32,
    pub(super) rows: u32,
    pub(super) pitch: (f64, f64),
    pub(super) angle: f64,
}

/// A package.
#[derive(Debug, Default)]
pub(super) struct Package {
    name: String,
    pub(super) height: Option<f64>,
    /// Where it is picked up, from its origin.
    pub(super) pick: Option<(f64, f64)>,
    /// Its outline, and its drawing for assembly.
    pub(super) outline: Extent,
    pub(super) drawing: Extent,
    pub(super) pins: BTreeMap<String, (f64, f64)>,
}

impl Package {
    /// The drawing nearer to the body: writers draw it in one of the two and leads or courtyard in the other.
    pub(super) fn body(&self) -> Option<&Extent> {
        let area = |e: &&Extent| e.size().map_or(0.0, |(x, y)| x * y);
        [&self.outline, &self.drawing].into_iter().filter(|e| area(e) > 0.0).min_by(|a, b| area(a).total_cmp(&area(b)))
    }

    /// The largest sides of both drawings.
    pub(super) fn room(&self) -> Option<(f64, f64)> {
        let sizes = || [&self.outline, &self.drawing].into_iter().filter_map(|e| e.size());
        sizes().reduce(|a, b| (a.0.max(b.0), a.1.max(b.1)))
    }

    /// Where the middle of the body is, from the package's origin: the pick-up point; where none is written the middle of
    /// the drawing, if the origin is clearly beside it.
    pub(super) fn middle(&self) -> (f64, f64) {
        let drawn = || {
            let body = self.body()?;
            let (middle, (x, y)) = (body.middle(), body.size()?);
            (middle.0.abs() > BESIDE * x || middle.1.abs() > BESIDE * y).then_some(middle)
        };
        self.pick.or_else(drawn).unwrap_or_default()
    }

    /// Pin one from the middle of the body.
    pub(super) fn pin_one(&self) -> Option<(f64, f64)> {
        let (at, middle) = (crate::stated::PIN_ONE.iter().find_map(|name| self.pins.get(*name))?, self.middle());
        Some((at.0 - middle.0, at.1 - middle.1))
    }
}

/// An origin farther from the middle than this part of a side is clearly beside it.
const BESIDE: f64 = 0.2;

/// A component on the board.
#[derive(Clone, Debug, Default)]
pub(super) struct Component {
    pub(super) line: u32,
    pub(super) reference: String,
    pub(super) package: String,
    pub(super) part: String,
    pub(super) layer: String,
    pub(super) mount: String,
    pub(super) height: Option<f64>,
    pub(super) at: Option<(f64, f64)>,
    /// As written, empty where no transformation is.
    pub(super) rotation: String,
    pub(super) mirrored: bool,
    pub(super) texts: Vec<(String, String)>,
}

impl Component {
    /// Its rotation; 0 where none can be read.
    pub(super) fn degrees(&self) -> f64 {
        self.rotation.parse().ok().filter(|d: &f64| d.is_finite()).unwrap_or(0.0)
    }
}

/// A line of the bill of materials.
#[derive(Clone, Debug, Default)]
pub(super) struct BomItem {
    pub(super) line: u32,
    pub(super) number: String,
    pub(super) internal: String,
    pub(super) description: String,
    pub(super) category: String,
    pub(super) quantity: String,
    pub(super) places: Vec<Designator>,
    pub(super) texts: Vec<(String, String)>,
}

/// A reference of a line of the bill.
#[derive(Clone, Debug, Default)]
pub(super) struct Designator {
    pub(super) line: u32,
    pub(super) name: String,
    pub(super) package: String,
    pub(super) fitted: bool,
}

/// Reads a document; what stands before a broken place is kept.
pub(super) fn read(text: &str) -> Document {
    let mut walk = Walk::default();
    let mut reader = Reader::from_str(text);
    let mut read_to = 0;
    walk.line = 1;
    loop {
        let event = reader.read_event();
        let position = usize::try_from(reader.buffer_position()).unwrap_or(text.len()).min(text.len());
        match event {
            Ok(Event::Start(e)) => {
                let name = e.local_name().as_ref().to_owned();
                walk.open(&name, &e);
                walk.path.push(name);
            }
            Ok(Event::Empty(e)) => {
                let name = e.local_name().as_ref().to_owned();
                walk.open(&name, &e);
                walk.path.push(name);
                walk.close();
            }
            Ok(Event::End(_)) => walk.close(),
            Ok(Event::Eof) if walk.path.is_empty() => break,
            Ok(Event::Eof) => {
                walk.document.broken = Some((walk.line, format!("the file ends inside <{}>", walk.path.join("><"))));
                break;
            }
            Ok(_) => {}
            Err(why) => {
                walk.document.broken = Some((walk.line, why.to_string()));
                break;
            }
        }
        walk.line += text.as_bytes()[read_to..position].iter().filter(|b| **b == b'\n').count() as u32;
        read_to = position;
    }
    // What the break left open is not lost.
    while !walk.path.is_empty() {
        walk.close();
    }
    walk.document
}

/// The pass through the document.
#[derive(Default)]
struct Walk {
    document: Document,
    /// Names of the open elements.
    path: Vec<String>,
    line: u32,
    step: Option<Step>,
    package: Option<Package>,
    component: Option<Component>,
    item: Option<BomItem>,
    /// Part of the bill whose approved numbers follow.
    approved: Option<String>,
    /// Pin whose place follows.
    pin: Option<String>,
    pad: Option<Pad>,
}

/// A pad on its way.
#[derive(Default)]
struct Pad {
    at: Option<(f64, f64)>,
    pin: Option<(String, String)>,
}

/// Drawings of a package.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Drawing {
    Outline,
    Assembly,
    Profile,
}

fn attribute(e: &BytesStart<'_>, name: &str) -> Option<String> {
    let attribute = e.try_get_attribute(name).ok()??;
    let value = attribute.normalized_value(XmlVersion::Implicit1_0);
    Some(value.map_or_else(|_| attribute.value.to_string(), std::borrow::Cow::into_owned))
}

fn text(e: &BytesStart<'_>, name: &str) -> String {
    attribute(e, name).unwrap_or_default().trim().to_owned()
}

fn figure(e: &BytesStart<'_>, name: &str) -> Option<f64> {
    attribute(e, name)?.trim().parse::<f64>().ok().filter(|v| v.is_finite())
}

fn pair(e: &BytesStart<'_>, x: &str, y: &str) -> Option<(f64, f64)> {
    Some((figure(e, x)?, figure(e, y)?))
}

impl Walk {
    fn is_in(&self, name: &str) -> bool {
        self.path.iter().any(|p| p == name)
    }

    fn parent(&self) -> &str {
        self.path.last().map_or("", String::as_str)
    }

    fn open(&mut self, name: &str, e: &BytesStart<'_>) {
        match name {
            "IPC-2581" => self.document.revision = text(e, "revision"),
            "CadHeader" => {
                self.document.unit = match text(e, "units").to_ascii_uppercase().as_str() {
                    "MILLIMETER" => Some(Unit::Mm),
                    "MICRON" => Some(Unit::Um),
                    "INCH" => Some(Unit::Inch),
                    _ => None,
                }
            }
            "Layer" => {
                let side = match text(e, "side").to_ascii_uppercase().as_str() {
                    "TOP" => Some(Side::Top),
                    "BOTTOM" => Some(Side::Bottom),
                    _ => None,
                };
                self.document.layers.insert(text(e, "name"), side);
            }
            "Step" => self.step = Some(Step { name: text(e, "name"), line: self.line, ..Step::default() }),
            "BomItem" => self.item = Some(self.bom_item(e)),
            "AvlItem" => self.approved = attribute(e, "OEMDesignNumber"),
            "AvlMpn" => {
                if let (Some(part), number) = (&self.approved, text(e, "name"))
                    && !number.is_empty()
                {
                    let rank = figure(e, "rank").map_or(u32::MAX, |r| r as u32);
                    let moisture = text(e, "moistureSensitivity");
                    if !moisture.is_empty() {
                        self.document.moisture.insert(number.clone(), moisture.clone());
                        self.document.moisture.entry(part.clone()).or_insert(moisture);
                    }
                    self.document.approved.entry(part.clone()).or_default().push((rank, number));
                }
            }
            _ => self.open_inside(name, e),
        }
    }

    fn bom_item(&self, e: &BytesStart<'_>) -> BomItem {
        BomItem {
            line: self.line,
            number: text(e, "OEMDesignNumberRef"),
            internal: text(e, "internalPartNumber"),
            description: text(e, "description"),
            category: text(e, "category"),
            quantity: text(e, "quantity"),
            ..BomItem::default()
        }
    }

    fn open_inside(&mut self, name: &str, e: &BytesStart<'_>) {
        match name {
            "RefDes" => {
                let designator = Designator {
                    line: self.line,
                    name: text(e, "name"),
                    package: text(e, "packageRef"),
                    fitted: !text(e, "populate").eq_ignore_ascii_case("false"),
                };
                self.item.iter_mut().for_each(|i| i.places.push(designator.clone()));
            }
            "Textual" => {
                let said = (text(e, "textualCharacteristicName"), text(e, "textualCharacteristicValue"));
                self.item.iter_mut().for_each(|i| i.texts.push(said.clone()));
            }
            "Measured" | "Ranged" | "Enumerated" => {
                let stem = name.to_ascii_lowercase();
                let value = text(e, &format!("{stem}CharacteristicValue"));
                let unit = text(e, "engineeringUnitOfMeasure");
                let said = (text(e, &format!("{stem}CharacteristicName")), format!("{value} {unit}").trim().to_owned());
                self.item.iter_mut().for_each(|i| i.texts.push(said.clone()));
            }
            "StepRepeat" => {
                let repeat = Repeat {
                    line: self.line,
                    step: text(e, "stepRef"),
                    columns: figure(e, "nx").map_or(1, |n| n as u32),
                    rows: figure(e, "ny").map_or(1, |n| n as u32),
                    pitch: (figure(e, "dx").unwrap_or(0.0), figure(e, "dy").unwrap_or(0.0)),
                    angle: figure(e, "angle").unwrap_or(0.0),
                };
                self.step.iter_mut().for_each(|s| s.repeats.push(repeat.clone()));
            }
            "Package" if self.step.is_some() => {
                self.package = Some(Package { name: text(e, "name"), height: figure(e, "height"), ..Package::default() });
            }
            "Component" if self.step.is_some() => self.component = Some(self.new_component(e)),
            "Pad" if self.is_in("LayerFeature") => self.pad = Some(Pad::default()),
            "PinRef" => {
                let pin = Some((text(e, "componentRef"), text(e, "pin")));
                self.pad.iter_mut().for_each(|p| p.pin.clone_from(&pin));
            }
            "Pin" if self.package.is_some() => self.pin = attribute(e, "number"),
            "PickupPoint" => self.package.iter_mut().for_each(|p| p.pick = pair(e, "x", "y")),
            "Location" => self.location(pair(e, "x", "y")),
            "Xform" if self.parent() == "Component" => {
                if let Some(component) = &mut self.component {
                    component.rotation = text(e, "rotation");
                    component.mirrored = text(e, "mirror").eq_ignore_ascii_case("true");
                }
            }
            "NonstandardAttribute" | "Attribute" if self.parent() == "Component" => {
                let said = (text(e, "name"), text(e, "value"));
                self.component.iter_mut().for_each(|c| c.texts.push(said.clone()));
            }
            _ => self.draw(name, e),
        }
    }

    fn new_component(&self, e: &BytesStart<'_>) -> Component {
        Component {
            line: self.line,
            reference: text(e, "refDes"),
            package: text(e, "packageRef"),
            part: text(e, "part"),
            layer: text(e, "layerRef"),
            mount: text(e, "mountType"),
            height: figure(e, "height").filter(|h| *h > 0.0),
            ..Component::default()
        }
    }

    fn location(&mut self, at: Option<(f64, f64)>) {
        if self.parent() == "Component" {
            self.component.iter_mut().for_each(|c| c.at = at);
        } else if self.parent() == "Pin" {
            if let (Some(package), Some(pin), Some(at)) = (&mut self.package, &self.pin, at) {
                package.pins.insert(pin.clone(), at);
            }
        } else if self.parent() == "Pad" {
            self.pad.iter_mut().for_each(|p| p.at = at);
        }
    }

    /// Which drawing an element belongs to, if any that counts.
    fn drawing(&self) -> Option<Drawing> {
        if self.package.is_some() {
            let other = ["Pin", "LandPattern", "SilkScreen", "OtherSideView", "UserSpecial"];
            return match () {
                () if other.iter().any(|o| self.is_in(o)) => None,
                () if self.is_in("AssemblyDrawing") => Some(Drawing::Assembly),
                () if self.is_in("Outline") => Some(Drawing::Outline),
                () => None,
            };
        }
        (self.is_in("Profile") && !self.is_in("Cutout")).then_some(Drawing::Profile)
    }

    fn draw(&mut self, name: &str, e: &BytesStart<'_>) {
        let Some(drawing) = self.drawing() else { return };
        let extent = match (drawing, &mut self.package, &mut self.step) {
            (Drawing::Outline, Some(package), _) => &mut package.outline,
            (Drawing::Assembly, Some(package), _) => &mut package.drawing,
            (Drawing::Profile, _, Some(step)) => &mut step.outline,
            _ => return,
        };
        match name {
            "PolyBegin" | "PolyStepSegment" => {
                if let Some((x, y)) = pair(e, "x", "y") {
                    extent.line_to(x, y);
                }
            }
            "PolyStepCurve" => {
                if let (Some((x, y)), Some(centre)) = (pair(e, "x", "y"), pair(e, "centerX", "centerY")) {
                    extent.arc_to(x, y, centre, text(e, "clockwise").eq_ignore_ascii_case("true"));
                }
            }
            "Circle" => figure(e, "diameter").into_iter().for_each(|d| extent.around_origin(d, d)),
            "RectCenter" | "RectRound" | "RectCham" | "Oval" => {
                pair(e, "width", "height").into_iter().for_each(|(w, h)| extent.around_origin(w, h));
            }
            _ => {}
        }
    }

    fn close(&mut self) {
        match self.path.pop().as_deref() {
            Some("Step") => self.document.steps.extend(self.step.take()),
            Some("BomItem") => self.document.items.extend(self.item.take()),
            Some("AvlItem") => self.approved = None,
            Some("Pin") => self.pin = None,
            Some("Package") => {
                if let (Some(step), Some(package)) = (&mut self.step, self.package.take()) {
                    step.packages.insert(package.name.clone(), package);
                }
            }
            Some("Component") => {
                if let (Some(step), Some(component)) = (&mut self.step, self.component.take()) {
                    if component.mirrored && component.degrees().rem_euclid(180.0) != 0.0 {
                        step.sideways.insert(component.reference.clone());
                    }
                    step.components.push(component);
                }
            }
            Some("Pad") => {
                if let (Some(step), Some(Pad { at: Some(at), pin: Some((component, pin)) })) = (&mut self.step, self.pad.take())
                    && step.sideways.contains(&component)
                {
                    step.pads.push((component, pin, at));
                }
            }
            _ => {}
        }
    }
}
