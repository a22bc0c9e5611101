//! The code to scan beside each set-up row: its text, and the Data Matrix that carries it.
//!
//! The text is `EL1|station|place|slot or level|part number`. Everything but printable ASCII,
//! and `%` and `|` themselves, is written as `%` and two hexadecimal digits per UTF-8 byte, so
//! that any hand scanner passes it on unharmed. The symbol is ECC 200 (ISO/IEC 16022) by the
//! `datamatrix` crate.

use datamatrix::placement::PathSegment;
use datamatrix::{DataMatrix, SymbolList};
use draw::palette::WHITE;
use draw::scene::{Colour, Node, Paint, Role, Scene, Shape, Step};

/// Mark and version of the text.
pub const PREFIX: &str = "EL1";

/// Picture units per module, and modules of quiet zone around; one is asked for (ISO/IEC 16022,
/// from memory), two are kept.
const MODULE: f64 = 2.0;
const QUIET: f64 = 2.0;

/// What a code says: where something stands and what it is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SetupCode {
    /// Station.
    pub station: String,
    /// Bank or tray place.
    pub place: String,
    /// Slot or level, counted from 1.
    pub slot: u32,
    /// Part number.
    pub part: String,
}

impl SetupCode {
    /// As the text of a code.
    ///
    /// ```
    /// let code = report::code::SetupCode { station: "chip|1".into(), place: "front".into(), slot: 7, part: "10 kΩ".into() };
    /// assert_eq!(code.text(), "EL1|chip%7C1|front|7|10 k%CE%A9");
    /// assert_eq!(report::code::SetupCode::parse(&code.text()), Some(code));
    /// ```
    pub fn text(&self) -> String {
        format!("{PREFIX}|{}|{}|{}|{}", guard(&self.station), guard(&self.place), self.slot, guard(&self.part))
    }

    /// Reads the text of a code; `None` when it is not one.
    pub fn parse(text: &str) -> Option<Self> {
        let fields: Vec<&str> = text.trim_end_matches(['\r', '\n']).split('|').collect();
        let [prefix, station, place, slot, part] = fields.as_slice() else { return None };
        if *prefix != PREFIX {
            return None;
        }
        Some(Self { station: unguard(station)?, place: unguard(place)?, slot: slot.parse().ok()?, part: unguard(part)? })
    }
}

fn guard(text: &str) -> String {
    let mut out = String::new();
    for byte in text.bytes() {
        match byte {
            b'%' | b'|' => out.push_str(&format!("%{byte:02X}")),
            b' '..=b'~' => out.push(char::from(byte)),
            _ => out.push_str(&format!("%{byte:02X}")),
        }
    }
    out
}

fn unguard(text: &str) -> Option<String> {
    let mut bytes = Vec::new();
    let mut rest = text.as_bytes();
    while let Some((first, after)) = rest.split_first() {
        if *first == b'%' {
            let digits = std::str::from_utf8(after.get(..2)?).ok().filter(|d| d.bytes().all(|b| b.is_ascii_hexdigit()))?;
            bytes.push(u8::from_str_radix(digits, 16).ok()?);
            rest = &after[2..];
        } else {
            bytes.push(*first);
            rest = after;
        }
    }
    String::from_utf8(bytes).ok()
}

/// The Data Matrix of a text, always a square one; `None` when the text is too long for one.
pub fn matrix(text: &str) -> Option<DataMatrix> {
    DataMatrix::encode(text.as_bytes(), SymbolList::default().enforce_square()).ok()
}

/// The code as a picture; `None` when the text is too long for one.
pub fn scene(text: &str) -> Option<Scene> {
    let bitmap = matrix(text)?.bitmap();
    let size = |modules: usize| (modules as f64 + 2.0 * QUIET) * MODULE;
    let (w, h) = (size(bitmap.width()), size(bitmap.height()));
    let mut scene = Scene::new(text, w, h);
    // The ground stays white on a dark page: scanners want dark on light.
    scene.push(Node::rect(0.0, 0.0, w, h, Paint::fill(WHITE)));
    let paint = Paint { holes: true, ..Paint::fill(Colour(0, 0, 0)) };
    // The outline begins at the upper left module, which is dark in every symbol.
    scene.push(Node::new(Shape::Path(outline(&bitmap.path())), paint).role(Role::Plain));
    Some(scene)
}

/// Relative steps of the outline as places in the picture.
fn outline(segments: &[PathSegment]) -> Vec<Step> {
    let (mut x, mut y) = (QUIET * MODULE, QUIET * MODULE);
    let mut start = (x, y);
    let mut steps = vec![Step::Move(x, y)];
    for segment in segments {
        match segment {
            PathSegment::Move(dx, dy) => {
                x += f64::from(*dx) * MODULE;
                y += f64::from(*dy) * MODULE;
                start = (x, y);
                steps.push(Step::Move(x, y));
            }
            PathSegment::Horizontal(dx) => {
                x += f64::from(*dx) * MODULE;
                steps.push(Step::Line(x, y));
            }
            PathSegment::Vertical(dy) => {
                y += f64::from(*dy) * MODULE;
                steps.push(Step::Line(x, y));
            }
            PathSegment::Close => {
                (x, y) = start;
                steps.push(Step::Close);
            }
        }
    }
    steps
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_no_code_is_refused() {
        for text in ["", "EL1|a|b|c|d", "EL2|a|b|1|d", "EL1|a|b|1", "EL1|a|b|1|%G1", "EL1|a|b|1|%F", "EL1|a|b|1|%FF", "EL1|a|b|1|%+F"] {
            assert_eq!(SetupCode::parse(text), None, "{text}");
        }
    }

    #[test]
    fn a_matrix_decodes_back() {
        let text = SetupCode { station: "chip-1".into(), place: "front".into(), slot: 12, part: "RC1005-10K".into() }.text();
        let bitmap = matrix(&text).expect("short enough").bitmap();
        let bits: Vec<bool> = bitmap.bits().to_vec();
        assert_eq!(DataMatrix::decode(&bits, bitmap.width()).expect("a sound symbol"), text.as_bytes());
    }

    /// The outline, filled by the even-odd rule, gives the modules of the symbol.
    #[test]
    fn the_picture_shows_the_modules() {
        let text = "EL1|chip-1|front|12|RC1005-10K";
        let bitmap = matrix(text).expect("short enough").bitmap();
        let scene = scene(text).expect("short enough");
        let Shape::Path(steps) = &scene.nodes[1].shape else { panic!("the code is a path") };
        for (i, dark) in bitmap.bits().iter().enumerate() {
            let (column, row) = (i % bitmap.width(), i / bitmap.width());
            let at = |k: usize| (k as f64 + QUIET + 0.5) * MODULE;
            assert_eq!(inside(steps, at(column), at(row)), *dark, "module {column}, {row}");
        }
    }

    /// Whether a ray to the left crosses an odd number of upright edges.
    fn inside(steps: &[Step], px: f64, py: f64) -> bool {
        let (mut crossings, mut from, mut start) = (0, (0.0, 0.0), (0.0, 0.0));
        for step in steps {
            let to = match step {
                Step::Move(x, y) => {
                    (from, start) = ((*x, *y), (*x, *y));
                    continue;
                }
                Step::Line(x, y) => (*x, *y),
                Step::Close => start,
            };
            if from.0 == to.0 && from.0 < px && (from.1 < py) != (to.1 < py) {
                crossings += 1;
            }
            from = to;
        }
        crossings % 2 == 1
    }
}
