//! Crystals and oscillators: metric code, length and width in tenths of a millimetre.
//!
//! The code shares its form with chips, so the name or the reference has to say that
//! the part is a crystal. Heights are from memory.

use super::scan::{Name, digits, letters};
use super::{Body, Family, Kind};
use domain::part::Certainty;

/// Code and height [µm].
const CODES: &[(&str, i64)] = &[
    ("1210", 350),
    ("1610", 450),
    ("1612", 350),
    ("2012", 500),
    ("2016", 450),
    ("2520", 550),
    ("3215", 900),
    ("3225", 800),
    ("4025", 900),
    ("5032", 1_100),
    ("6035", 1_200),
    ("7050", 1_300),
    ("8038", 2_500),
];

pub(super) fn read(name: &Name, kind: Kind) -> Option<Body> {
    let named = name.holds(&["CRYSTAL", "XTAL", "OSC", "RESONATOR", "QUARTZ", "TCXO"]);
    if !named && kind != Kind::Crystal {
        return None;
    }
    if name.holds(&["HC49"]) {
        return Some(hc49(name));
    }
    name.words.iter().find_map(|word| {
        let (number, _) = digits(letters(word).1);
        let (code, height) = CODES.iter().find(|(c, _)| *c == number)?;
        let (x, y) = (tenths(code.get(..2)?)?, tenths(code.get(2..)?)?);
        let certainty = if named { Certainty::Certain } else { Certainty::Likely };
        Some(Body::new(Family::Crystal, x, y, certainty).height(*height, Certainty::Likely))
    })
}

/// The low metal case on a plastic base, for surface mounting (memory).
fn hc49(name: &Name) -> Body {
    let surface = name.holds(&["SMD", "SMX", "HC49SM", "SMT"]);
    let (x, y, h) = if surface { (12_700, 4_700, 4_300) } else { (11_000, 4_700, 3_500) };
    Body::new(Family::Crystal, x, y, Certainty::Likely).height(h, Certainty::Likely).pins(Some(2))
}

fn tenths(number: &str) -> Option<i64> {
    number.parse::<i64>().ok().map(|n| n * 100)
}
