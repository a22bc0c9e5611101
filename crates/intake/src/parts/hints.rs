//! A size from the text of a part number or value, when the package name holds none.
//!
//! Many order codes of chips hold the size code after a few letters (`CRCW0402…`,
//! `RC0603FR`), and some begin with it. Series with a size code of their own are listed
//! shortly (from memory). A description may hold a package name. Nothing read this way
//! is more than likely.

use super::reference::Class;
use crate::package::{self, Body, Family, Kind};
use domain::part::Certainty;

/// Order codes whose digits stand for a size: how they begin, and the inch code (from memory).
const SERIES: &[(&str, &str)] = &[
    ("GRM02", "01005"),
    ("GRM03", "0201"),
    ("GRM15", "0402"),
    ("GRM18", "0603"),
    ("GRM21", "0805"),
    ("GRM31", "1206"),
    ("GRM32", "1210"),
    ("BLM03", "0201"),
    ("BLM15", "0402"),
    ("BLM18", "0603"),
    ("BLM21", "0805"),
    ("BLM31", "1206"),
    ("CL03", "0201"),
    ("CL05", "0402"),
    ("CL10", "0603"),
    ("CL21", "0805"),
    ("CL31", "1206"),
    ("CL32", "1210"),
    ("ERJ2", "0402"),
    ("ERJ3", "0603"),
    ("ERJ6", "0805"),
    ("ERJ8", "1206"),
];

/// The body that number or value suggest.
pub(super) fn body(number: &str, value: &str, class: Class) -> Option<Body> {
    let texts = [number, value];
    let by_text = |rule: fn(&str, Class) -> Option<Body>| texts.iter().find_map(|text| rule(text, class));
    let mut body = by_text(series).or_else(|| by_text(order_code)).or_else(|| by_text(description))?;
    body.size = body.size.min(Certainty::Likely);
    body.height = body.height.map(|(h, certainty)| (h, certainty.min(Certainty::Likely)));
    Some(body)
}

fn is_chip(class: Class) -> bool {
    class.family == Family::Chip
}

fn series(text: &str, class: Class) -> Option<Body> {
    let compact: String = text.chars().take(40).filter(char::is_ascii_alphanumeric).collect::<String>().to_ascii_uppercase();
    let (_, code) = SERIES.iter().find(|(begin, _)| compact.starts_with(begin) && compact.len() >= begin.len() + 4)?;
    let body = package::read(code, class.kind).filter(|_| is_chip(class));
    // The series says which system is meant.
    body.map(Body::without_doubt)
}

/// Letters, then a size code: `RC0603FR-0710KL`, `C1608X7R1E`, `0603YC104KATDA`.
fn order_code(text: &str, class: Class) -> Option<Body> {
    let code = text.trim().trim_start_matches(|c: char| c.is_ascii_alphabetic());
    let letters = text.trim().len() - code.len();
    let digits = code.len() - code.trim_start_matches(|c: char| c.is_ascii_digit()).len();
    // A bare number is a value or a stock number; an order code goes on after the size.
    if !is_chip(class) || letters > 5 || digits < 4 || code.len() < 6 {
        return None;
    }
    let tail_is_code = code.get(digits..)?.starts_with(|c: char| c.is_ascii_alphabetic());
    let size = if digits == 5 && code.starts_with("01005") { 5 } else { 4 };
    let fits = digits == size || (letters == 0 && digits == 5);
    (tail_is_code && fits).then(|| package::read(code.get(..size)?, class.kind))?
}

/// A package name among the words of a description: `MOSFET N-CH SOT-23`, `CAP CER 10UF 0603`.
fn description(text: &str, class: Class) -> Option<Body> {
    let only_a_number = text.trim().chars().all(|c| c.is_ascii_digit() || c == '.');
    if only_a_number || class.family == Family::Connector {
        return None;
    }
    // Two numbers and a cross are a count or a resolution unless they belong to a family.
    package::read(text, class.kind)
        .filter(|b| !matches!(b.family, Family::Other | Family::Connector | Family::Can) && chip_fits(b, class.kind))
}

/// A chip code in the text of a part that is no chip is a number of another meaning.
fn chip_fits(body: &Body, kind: Kind) -> bool {
    body.family != Family::Chip || kind != Kind::Other
}
