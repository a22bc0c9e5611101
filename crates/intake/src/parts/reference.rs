//! What the letters of a reference tell: the kind of part, and a size to assume when nothing else is known.
//!
//! The letters follow common practice (close to IEEE 315 and ASME Y14.44, from memory);
//! the assumed sizes are common practice, no source, and always guesses.

use crate::package::{Body, Family, Kind};

/// Parts whose references begin alike.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Class {
    letters: &'static str,
    pub(super) kind: Kind,
    pub(super) family: Family,
    /// Assumed along X, along Y, height [µm].
    assumed: (i64, i64, i64),
}

const fn class_of(letters: &'static str, kind: Kind, family: Family, assumed: (i64, i64, i64)) -> Class {
    Class { letters, kind, family, assumed }
}

const CHIP: (i64, i64, i64) = (1_600, 800, 800);
const IC: (i64, i64, i64) = (10_000, 10_000, 2_000);
const CONNECTOR: (i64, i64, i64) = (12_000, 6_000, 6_000);
const SWITCH: (i64, i64, i64) = (6_000, 6_000, 5_000);
const DIODE: (i64, i64, i64) = (3_700, 1_800, 1_100);
const SOUND: (i64, i64, i64) = (10_000, 10_000, 5_000);
const MODULE: (i64, i64, i64) = (20_000, 20_000, 3_000);

/// The longest letters that begin a reference decide, so `RN1` is an array and `R1` is not.
const CLASSES: &[Class] = &[
    class_of("R", Kind::Resistor, Family::Chip, (1_600, 800, 450)),
    class_of("RT", Kind::Resistor, Family::Chip, CHIP),
    class_of("RN", Kind::Resistor, Family::Chip, (3_200, 1_600, 600)),
    class_of("RA", Kind::Resistor, Family::Chip, (3_200, 1_600, 600)),
    class_of("RP", Kind::Resistor, Family::Chip, (3_200, 1_600, 600)),
    class_of("RV", Kind::Other, Family::Moulded, (4_500, 3_200, 2_500)),
    class_of("VR", Kind::Other, Family::Moulded, (4_500, 3_200, 2_500)),
    class_of("C", Kind::Capacitor, Family::Chip, CHIP),
    class_of("L", Kind::Inductor, Family::Chip, CHIP),
    class_of("FB", Kind::Inductor, Family::Chip, CHIP),
    class_of("FL", Kind::Inductor, Family::Chip, CHIP),
    class_of("F", Kind::Other, Family::Chip, (3_200, 1_600, 800)),
    class_of("D", Kind::Other, Family::Moulded, DIODE),
    class_of("CR", Kind::Other, Family::Moulded, DIODE),
    class_of("Z", Kind::Other, Family::Moulded, DIODE),
    class_of("ZD", Kind::Other, Family::Moulded, DIODE),
    class_of("ESD", Kind::Other, Family::Moulded, DIODE),
    class_of("TVS", Kind::Other, Family::Moulded, DIODE),
    class_of("LED", Kind::Led, Family::Chip, CHIP),
    class_of("DS", Kind::Led, Family::Chip, CHIP),
    class_of("Q", Kind::Other, Family::Transistor, (2_400, 2_900, 1_100)),
    class_of("U", Kind::Other, Family::NoLead, IC),
    class_of("IC", Kind::Other, Family::NoLead, IC),
    class_of("J", Kind::Other, Family::Connector, CONNECTOR),
    class_of("P", Kind::Other, Family::Connector, CONNECTOR),
    class_of("X", Kind::Other, Family::Connector, CONNECTOR),
    class_of("CN", Kind::Other, Family::Connector, CONNECTOR),
    class_of("CON", Kind::Other, Family::Connector, CONNECTOR),
    class_of("USB", Kind::Other, Family::Connector, CONNECTOR),
    class_of("Y", Kind::Crystal, Family::Crystal, (3_200, 2_500, 800)),
    class_of("XTAL", Kind::Crystal, Family::Crystal, (3_200, 2_500, 800)),
    class_of("OSC", Kind::Crystal, Family::Crystal, (3_200, 2_500, 800)),
    class_of("SW", Kind::Other, Family::Other, SWITCH),
    class_of("S", Kind::Other, Family::Other, SWITCH),
    class_of("BTN", Kind::Other, Family::Other, SWITCH),
    class_of("K", Kind::Other, Family::Other, (15_000, 8_000, 10_000)),
    class_of("T", Kind::Other, Family::Other, (10_000, 10_000, 8_000)),
    class_of("TR", Kind::Other, Family::Other, (10_000, 10_000, 8_000)),
    class_of("BT", Kind::Other, Family::Connector, (24_000, 21_000, 6_000)),
    class_of("BAT", Kind::Other, Family::Connector, (24_000, 21_000, 6_000)),
    class_of("MK", Kind::Other, Family::Other, (3_500, 2_700, 1_100)),
    class_of("MIC", Kind::Other, Family::Other, (3_500, 2_700, 1_100)),
    class_of("LS", Kind::Other, Family::Other, SOUND),
    class_of("BZ", Kind::Other, Family::Other, SOUND),
    class_of("SH", Kind::Other, Family::Other, MODULE),
    class_of("M", Kind::Other, Family::Other, MODULE),
    class_of("MOD", Kind::Other, Family::Other, MODULE),
    class_of("ANT", Kind::Other, Family::Chip, (3_200, 1_600, 1_200)),
];

const UNKNOWN: Class = class_of("", Kind::Other, Family::Other, (10_000, 10_000, 3_000));

/// The class of the first reference that has one.
pub(super) fn class(references: &[&str]) -> Class {
    references.iter().find_map(|reference| of_reference(reference)).unwrap_or(UNKNOWN)
}

fn of_reference(reference: &str) -> Option<Class> {
    let letters: String = reference.trim().chars().take_while(char::is_ascii_alphabetic).take(8).map(|c| c.to_ascii_uppercase()).collect();
    let exact = CLASSES.iter().find(|c| c.letters == letters);
    // `CBYP1`, `RSENSE2`, `LEDA1`: longer words begin with the class where one letter is not too little to tell.
    let tells = |c: &&Class| c.letters.len() > 1 || matches!(c.letters, "R" | "C" | "L" | "D" | "U" | "Q");
    let begins = || CLASSES.iter().filter(tells).filter(|c| letters.starts_with(c.letters)).max_by_key(|c| c.letters.len());
    exact.or_else(begins).copied()
}

impl Class {
    /// A part that goes through the board is none of the small surface-mount bodies its reference suggests.
    pub(super) fn through_hole(self) -> Self {
        let small = self.assumed.0 < 6_000;
        if small { Self { family: Family::Other, assumed: (10_000, 5_000, 8_000), ..self } } else { self }
    }

    /// The size to assume when nothing else is known.
    pub(super) fn assumed(&self) -> Body {
        Body::assumed(self.family, self.assumed)
    }
}
