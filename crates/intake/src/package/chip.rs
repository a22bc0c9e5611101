//! Chips: names with two codes, with a marked metric code, and with one bare code.
//!
//! A bare code that exists in both systems (0201, 0402, 0603) is read as the inch code,
//! which most designers mean (common practice, no source), but never as certain.

use super::chip_codes::{Code, inch, metric};
use super::scan::{Name, digits, letters};
use super::{Body, Doubt, Family, Kind, System};
use domain::part::Certainty;

/// Letters that may stand directly before a chip code.
const PREFIXES: &[&str] = &[
    "", "R", "C", "L", "D", "F", "FB", "B", "RES", "CAP", "IND", "LED", "DI", "DIO", "BEAD", "FUSE", "SMD", "CHIP", "EC", "RC", "CC", "LC",
    "NTC", "PTC", "VAR", "TH", "EMI", "X", "RN", "FER", "SMR", "SMC",
];

/// A code in a name, with the letters before and after it.
struct Found<'a> {
    before: &'a str,
    digits: &'a str,
    after: &'a str,
}

fn codes(name: &Name) -> Vec<Found<'_>> {
    name.words
        .iter()
        .filter_map(|word| {
            let (before, rest) = letters(word);
            let (digits, after) = digits(rest);
            let known = inch(digits).is_some() || metric(digits).is_some();
            (known && PREFIXES.contains(&before)).then_some(Found { before, digits, after })
        })
        .collect()
}

/// `R_0603_1608Metric`, `RES_0402_[1005_Metric]_N`, `R_0603_1608`: an inch code and its metric twin; or a code marked metric.
pub(super) fn two_codes(name: &Name, kind: Kind) -> Option<Body> {
    let found = codes(name);
    let marked = name.holds(&["METRIC"]);
    let twins = found.windows(2).find_map(|pair| {
        let [first, second] = pair else { return None };
        super::chip_codes::CODES
            .iter()
            .find(|c| (c.inch, c.metric) == (first.digits, second.digits) || (c.metric, c.inch) == (first.digits, second.digits))
    });
    let only = || found.iter().filter(|_| marked).find_map(|f| metric(f.digits));
    let code = twins.or_else(only)?;
    Some(body(code, kind_of(name, kind), stated_height(name), Certainty::Certain))
}

/// `C0402`, `RES_0603`, `SMD-1206`, `1206T`, `L2012`: one code and nothing to say which system it is of.
pub(super) fn one_code(name: &Name, kind: Kind) -> Option<Body> {
    let found = codes(name);
    // Four digits in the name of a connector or switch are a stock number.
    let other_part = super::fields::is_connector(name) || name.holds(&["SWITCH", "RELAY", "HOLDER"]) || name.has_word(&["SW"]);
    let usable = found.iter().filter(|f| (f.after.len() <= 1 || PREFIXES.contains(&f.after)) && !other_part);
    // Land patterns for either of two sizes: the larger one is safe for nozzle and neighbours.
    let (code, bare) =
        usable.filter_map(|f| Some((inch(f.digits).or_else(|| metric(f.digits))?, f))).max_by_key(|(c, _)| c.length * c.width)?;
    let (is_inch, is_metric) = (inch(bare.digits).is_some(), metric(bare.digits).is_some());
    let doubt = match (is_inch, is_metric) {
        (true, true) => Some(Doubt::BothSystems { code: code.inch, read_as: System::Inch }),
        (false, true) if code.metric == "1005" => Some(Doubt::LostZero),
        _ => None,
    };
    let sure = doubt.is_none() && found.len() == 1 && !bare.before.is_empty();
    let certainty = if sure { Certainty::Certain } else { Certainty::Likely };
    Some(body(code, kind_of(name, kind), stated_height(name), certainty).doubt(doubt))
}

/// `L4242`, `IND7572`: an inductor named by its length and width in tenths of a millimetre.
pub(super) fn square_inductor(name: &Name, kind: Kind) -> Option<Body> {
    name.words.iter().find_map(|word| {
        let (before, rest) = letters(word);
        let named = matches!(before, "L" | "IND") || (before == "SMD" && kind == Kind::Inductor);
        let (number, after) = digits(rest);
        let side = |range: std::ops::Range<usize>| {
            number.get(range)?.parse::<i64>().ok().map(|tenths| tenths * 100).filter(|um| (1_000..=30_000).contains(um))
        };
        if !named || number.len() != 4 || !after.is_empty() {
            return None;
        }
        let (x, y): (i64, i64) = (side(0..2)?, side(2..4)?);
        (x <= 2 * y).then(|| Body::new(Family::Moulded, x, y, Certainty::Likely).pins(Some(2)))
    })
}

fn body(code: &Code, kind: Kind, stated: Option<i64>, size: Certainty) -> Body {
    let body = Body::new(Family::Chip, code.length, code.width, size).pins(Some(2));
    match stated {
        Some(um) => body.height(um, Certainty::Certain),
        None => height(body, code, kind),
    }
}

/// Resistors of one code have one height; others vary within the code, so the tall end is assumed.
fn height(body: Body, code: &Code, kind: Kind) -> Body {
    let varies = code.capacitor > 800;
    match kind {
        Kind::Resistor => body.height(code.resistor, Certainty::Likely),
        Kind::Led => body.height((code.resistor + 300).min(1_100), Certainty::Guess),
        _ if varies => body.height(code.capacitor, Certainty::Guess),
        Kind::Capacitor => body.height(code.capacitor, Certainty::Likely),
        _ => body.height(code.capacitor, Certainty::Guess),
    }
}

/// `CAP_0402_[1005_Metric]_X050_N`: height in hundredths of a millimetre.
fn stated_height(name: &Name) -> Option<i64> {
    name.words.iter().find_map(|word| {
        let (number, rest) = digits(word.strip_prefix('X')?);
        (number.len() == 3 && rest.is_empty()).then(|| number.parse::<i64>().ok().map(|h| h * 10))?
    })
}

/// The name's own first letters tell better than the reference.
fn kind_of(name: &Name, reference: Kind) -> Kind {
    match name.words.first().map_or("", |w| letters(w).0) {
        "R" | "RES" | "RESC" => Kind::Resistor,
        "C" | "CAP" | "CAPC" => Kind::Capacitor,
        "L" | "IND" | "INDC" | "FB" | "BEAD" => Kind::Inductor,
        "LED" => Kind::Led,
        _ => reference,
    }
}
