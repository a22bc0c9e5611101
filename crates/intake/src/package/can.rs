//! Capacitor bodies: tantalum case codes and electrolytic cans.
//!
//! Tantalum after EIA-535BAAC: `LLWW-HH`, length, width and height in tenths of a
//! millimetre; three digits of height are hundredths. Case letters stand for such a code
//! where makers agree. Cans are `diameter x height`; the base plate is 0.3 mm wider
//! (6.3 → 6.6, 8 → 8.3 mm).

use super::scan::{Name, digits, letters, sizes};
use super::{Body, Family, Kind};
use domain::part::Certainty;

/// Case letters of moulded tantalum capacitors on which makers agree: length, width, height [µm].
const CASES: &[(&str, i64, i64, i64)] = &[
    ("A", 3_200, 1_600, 1_800),
    ("B", 3_500, 2_800, 2_100),
    ("C", 6_000, 3_200, 2_800),
    ("D", 7_300, 4_300, 3_100),
    ("S", 3_200, 1_600, 1_200),
    ("T", 3_500, 2_800, 1_200),
];

/// Case codes without a height, and the height of the tall standard case [µm].
const MOULDED: &[(&str, i64)] = &[("3216", 1_800), ("3528", 2_100), ("6032", 2_800), ("7343", 3_100)];

pub(super) fn read(name: &Name, _: Kind) -> Option<Body> {
    case_code(name).or_else(|| case_letter(name)).or_else(|| can(name))
}

fn is_tantalum(name: &Name) -> bool {
    name.has_word(&["CP", "EIA", "TANT", "TANTALUM", "CT", "TAN", "CAPMP", "CASE"]) || name.holds(&["TANTAL"])
}

/// `CP_EIA-3216-18`, `CP_Tantalum_EIA-7361-438`, `EIA-3528-21`.
fn case_code(name: &Name) -> Option<Body> {
    if !is_tantalum(name) {
        return None;
    }
    let at = name.words.iter().position(|w| is_four_digits(w.trim_start_matches(|c: char| c.is_ascii_alphabetic())))?;
    let code = name.words.get(at)?.trim_start_matches(|c: char| c.is_ascii_alphabetic());
    let (length, width) = (tenths(code.get(..2)?)?, tenths(code.get(2..)?)?);
    let body = Body::new(Family::Moulded, length, width, Certainty::Certain).pins(Some(2));
    let height = name.words.get(at + 1).map(|w| digits(w)).filter(|(_, rest)| rest.is_empty()).map(|(d, _)| d);
    Some(match height.map(|d| (d.len(), d.parse::<i64>())) {
        Some((2, Ok(h))) => body.height(h * 100, Certainty::Certain),
        Some((3, Ok(h))) => body.height(h * 10, Certainty::Certain),
        _ => match MOULDED.iter().find(|(c, _)| *c == code) {
            Some((_, h)) => body.height(*h, Certainty::Likely),
            None => body,
        },
    })
}

/// `C_TANT_B`, `TANTALUM_CASE_D`: a letter on which makers agree.
fn case_letter(name: &Name) -> Option<Body> {
    if !name.has_word(&["TANT", "TANTALUM", "TAN"]) && !name.holds(&["TANTAL"]) {
        return None;
    }
    let (_, x, y, h) = CASES.iter().find(|(letter, ..)| name.words.iter().any(|w| w == letter || w == &format!("CASE{letter}")))?;
    Some(Body::new(Family::Moulded, *x, *y, Certainty::Likely).height(*h, Certainty::Likely).pins(Some(2)))
}

/// `CP_Elec_6.3x5.4`, `CAP-SMD_BD6.3-L6.6-W6.6`, `E_10x10.5`.
fn can(name: &Name) -> Option<Body> {
    let electrolytic = name.holds(&["ELEC", "CAPAE", "ALU"]) && !name.holds(&["RADIAL", "AXIAL"]);
    if let Some(diameter) = name.field("BD") {
        let (x, y) = (name.field("L").unwrap_or(diameter + 300), name.field("W").unwrap_or(diameter + 300));
        let body = Body::new(Family::Can, x, y, Certainty::Certain).pins(Some(2));
        return Some(name.field("H").map_or_else(|| body.clone(), |h| body.clone().height(h, Certainty::Certain)));
    }
    let two_numbers = sizes(name).filter(|s| s.c.is_none());
    // A capacitor named by two numbers and little else is a can: diameter and height.
    let capacitor = electrolytic || (name.words.first().is_some_and(|w| letters(w).0.ends_with("CAP")) && name.words.len() <= 5);
    let s = two_numbers.filter(|s| capacitor && (s.in_mm || electrolytic) && s.a >= 3_000 && s.b >= 4_000)?;
    let certainty = if electrolytic { Certainty::Certain } else { Certainty::Likely };
    let side = s.a + base_margin(s.a);
    Some(Body::new(Family::Can, side, side, certainty).height(s.b, certainty).pins(Some(2)))
}

/// How much wider the base plate is than the can [µm]; wide cans stand on wider plates.
fn base_margin(diameter: i64) -> i64 {
    if diameter >= 12_000 { 1_000 } else { 300 }
}

fn is_four_digits(word: &str) -> bool {
    word.len() == 4 && word.bytes().all(|b| b.is_ascii_digit())
}

fn tenths(number: &str) -> Option<i64> {
    number.parse::<i64>().ok().map(|n| n * 100)
}
