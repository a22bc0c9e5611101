//! Names after IPC-7351: family, numbers in hundredths of a millimetre, pins.
//!
//! Patterns (as republished; see `docs/parts.md`):
//! gull-wing and no-lead `FAM PITCH P SPAN [X SPAN2] X HEIGHT - PINS`, two-terminal
//! `FAM LLWW X HEIGHT`, cans `CAPAE BASE X HEIGHT`, ball grids
//! `BGA PINS C|N PITCH P COLS X ROWS _ LEN X WID X HEIGHT`. Density letters and suffixes
//! do not change the part. The span of gull-wing parts is lead tip to lead tip, which is
//! what the body size here means; their length along the rows is not in the name and
//! follows from the pins.

use super::family::{self, Form};
use super::scan::{Name, count, digits, letters};
use super::{Body, Doubt, Family, Kind, System};
use domain::part::Certainty;

/// Two-terminal families and what body they are.
const TWO_TERMINAL: &[(&str, Family)] = &[
    ("CAPAE", Family::Can),
    ("CAP", Family::Chip),
    ("CAPC", Family::Chip),
    ("CAPCP", Family::Chip),
    ("CAPM", Family::Moulded),
    ("CAPMP", Family::Moulded),
    ("RESC", Family::Chip),
    ("RESM", Family::Moulded),
    ("RESMELF", Family::Melf),
    ("INDC", Family::Chip),
    ("INDM", Family::Moulded),
    ("INDP", Family::Moulded),
    ("INDPM", Family::Moulded),
    ("BEADC", Family::Chip),
    ("FUSC", Family::Chip),
    ("FUSM", Family::Moulded),
    ("VARC", Family::Chip),
    ("THRMC", Family::Chip),
    ("LEDC", Family::Chip),
    ("LEDM", Family::Moulded),
    ("DIOC", Family::Moulded),
    ("DIOM", Family::Moulded),
    ("DIOMELF", Family::Melf),
    ("SOD", Family::Moulded),
    ("SODFL", Family::Moulded),
    ("XTAL", Family::Crystal),
];

/// Reads a name of this scheme.
pub(super) fn read(name: &Name, kind: Kind) -> Option<Body> {
    ball_grid(name).or_else(|| name.words.iter().find_map(|word| two_terminal(word, kind))).or_else(|| leaded(name))
}

/// `CAPC1005X55N`, `RESC1608N`, `CAPAE830X1050N`, `SODFL3619X98N`.
fn two_terminal(word: &str, kind: Kind) -> Option<Body> {
    let (letters, rest) = letters(word);
    let family = TWO_TERMINAL.iter().find(|(f, _)| *f == letters)?.1;
    let (number, rest) = digits(rest);
    let height = rest.strip_prefix('X').map(|r| digits(r).0).and_then(hundredths);
    // `CAP` alone begins names of other schemes too; with a height it is this one.
    if letters == "CAP" && height.is_none() {
        return None;
    }
    let (x, y) = match (family, number.len()) {
        (Family::Can, _) => (hundredths(number)?, hundredths(number)?),
        (_, 4) => (tenths(number.get(..2)?)?, tenths(number.get(2..)?)?),
        // Bodies of 10 mm and more: three digits each.
        (_, 6) => (tenths(number.get(..3)?)?, tenths(number.get(3..)?)?),
        _ => return None,
    };
    let plain = match super::chip_codes::metric(number).filter(|_| family == Family::Chip) {
        // A shared code without a height may be an inch code written with these letters.
        Some(code) if height.is_none() && super::chip_codes::inch(number).is_some() => {
            Body::new(family, x, y, Certainty::Likely).doubt(Some(Doubt::BothSystems { code: code.metric, read_as: System::Metric }))
        }
        _ => Body::new(family, x, y, Certainty::Certain),
    };
    Some(match height {
        Some(um) => plain.pins(Some(2)).height(um, Certainty::Certain),
        None => chip_height(plain.pins(Some(2)), number, letters, kind),
    })
}

/// Without a height in the name, the one of the chip code.
fn chip_height(body: Body, number: &str, letters: &str, kind: Kind) -> Body {
    let Some(code) = super::chip_codes::metric(number) else { return body };
    match kind {
        _ if letters.starts_with("RES") => body.height(code.resistor, Certainty::Likely),
        Kind::Resistor => body.height(code.resistor, Certainty::Likely),
        _ if code.capacitor <= 800 => body.height(code.capacitor, Certainty::Likely),
        _ => body.height(code.capacitor, Certainty::Guess),
    }
}

/// `SOIC127P600X173-8N`, `QFN50P400X400X100-25N`, `SOT95P280X145-5N`, `SON65P300X90_HS-15N`.
fn leaded(name: &Name) -> Option<Body> {
    let at = name.words.iter().position(|w| pitch_and_rest(w).is_some())?;
    let (family, pitch, rest) = pitch_and_rest(name.words.get(at)?)?;
    let numbers: Vec<i64> = rest.split('X').map_while(|n| hundredths(digits(n).0)).collect();
    let pins = name.words.get(at + 1..)?.iter().find_map(|w| count(w)).map(|(n, _)| n);
    let form = family::form(family);
    let (x, y, height) = match (*numbers.as_slice().first()?, numbers.get(1), numbers.get(2)) {
        (x, Some(&y), Some(&h)) => (x, Some(y), h),
        (x, Some(&h), None) => (x, None, h),
        (_, None, _) => return None,
    };
    let (y, size) = match y {
        Some(y) => (y, Certainty::Certain),
        None => (length_along_rows(form, pitch, pins?), Certainty::Likely),
    };
    Some(Body::new(form.family(), x, y, size).height(height, Certainty::Certain).pitch(Some(pitch)).pins(pins))
}

/// Family, pitch and the numbers after `P` of one word.
fn pitch_and_rest(word: &str) -> Option<(&str, i64, &str)> {
    let (family, rest) = letters(word);
    let (pitch, rest) = digits(rest);
    let rest = rest.strip_prefix('P')?;
    let spans = rest.contains('X') && digits(rest).0.len() >= 3;
    // 635 is 0.635 mm, the one pitch with three digits that lies below 1 mm.
    let um = if pitch == "635" { 635 } else { hundredths(pitch)? };
    (family.len() >= 3 && (2..=3).contains(&pitch.len()) && spans).then_some((family, um, rest))
}

/// Body length along two rows of leads. Small transistors have one length per pitch
/// (outline tables); others hold their rows and about half a millimetre at each end
/// (MS-012: 3.81 → 4.9 mm, 8.89 → 9.9 mm; MO-153: 3.9 → 5.0 mm).
fn length_along_rows(form: Form, pitch: i64, pins: u32) -> i64 {
    match (form, pitch) {
        (Form::SmallOutlineTransistor, 900..=1_100) => 2_900,
        (Form::SmallOutlineTransistor, 600..=700) => 2_000,
        (Form::SmallOutlineTransistor, 450..=550) => 1_600,
        (Form::SmallOutlineTransistor, 1_400..=1_600) => 4_500,
        (Form::SmallOutlineTransistor, 2_200..=2_400) => 6_500,
        _ => family::row_length(pins, pitch),
    }
}

/// `BGA121C50P11X11_600X600X100`, and the older `BGA100P16X16-256` without a body.
fn ball_grid(name: &Name) -> Option<Body> {
    let at = name.words.iter().position(|w| w.contains("BGA"))?;
    let word = name.words.get(at)?;
    let rest = word.get(word.find("BGA")? + 3..)?.trim_start_matches('S');
    let (first, rest) = digits(rest);
    let (pitch, rest, pins) = match rest.strip_prefix(['C', 'N']) {
        Some(rest) => {
            let (pitch, rest) = digits(rest);
            (pitch, rest, first.parse().ok())
        }
        None => (first, rest, None),
    };
    let grid = rest.strip_prefix('P')?;
    let (columns, rest) = count(grid)?;
    let (rows, _) = count(rest.strip_prefix('X')?)?;
    let pitch = hundredths(pitch)?;
    let stated: Vec<i64> =
        name.words.get(at + 1).map(|w| w.split('X').map_while(|n| hundredths(digits(n).0)).collect()).unwrap_or_default();
    let body = match stated.as_slice() {
        [x, y, rest @ ..] => {
            let body = Body::new(Family::BallGrid, *x, *y, Certainty::Certain);
            rest.first().map_or(body.clone(), |h| body.height(*h, Certainty::Certain))
        }
        // Without a body, the grid and one pitch around it.
        _ => Body::new(Family::BallGrid, (i64::from(columns) + 1) * pitch, (i64::from(rows) + 1) * pitch, Certainty::Guess),
    };
    Some(body.pitch(Some(pitch)).pins(pins.or(Some(columns * rows))))
}

/// Hundredths of a millimetre, in µm.
fn hundredths(number: &str) -> Option<i64> {
    (number.len() <= 5).then(|| number.parse::<i64>().ok()).flatten().map(|n| n * 10)
}

/// Tenths of a millimetre, in µm.
fn tenths(number: &str) -> Option<i64> {
    number.parse::<i64>().ok().map(|n| n * 100)
}
