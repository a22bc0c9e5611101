//! Integrated-circuit families: a family name with a size, or with pins only.
//!
//! The size in a name is the moulded body for gull-wing parts, so the leads are added:
//! spans from MS-012, MS-013, MO-153, MO-187, MS-026 as given in outline tables
//! (checked in `tests/parts_reference.rs`). Where the family has one usual size per pin count,
//! a name without size is read as that one.

use super::scan::{Name, Sizes, count, digits, letters, sizes};
use super::{Body, Doubt, Family, Kind};
use domain::part::Certainty;

/// How a family's leads lie.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Form {
    /// Wide-pitch small outline.
    SmallOutline,
    /// Small outline of 1.0 to 1.2 mm height, pitch 0.65 and less.
    ThinSmallOutline,
    /// Shrunk small outline, 2 mm high.
    ShrinkSmallOutline,
    /// Miniature 3 mm wide small outline.
    MiniSmallOutline,
    /// Memory outline with leads on the long or short sides.
    ThinMemoryOutline,
    /// Transistor outlines.
    SmallOutlineTransistor,
    /// Gull-wing leads on four sides, 1.6 mm high and less.
    ThinQuad,
    /// Gull-wing leads on four sides, tall.
    MetricQuad,
    /// J leads on four sides.
    JQuad,
    /// J leads on two sides.
    JRows,
    /// Pads on two or four sides.
    NoLead,
    /// Balls.
    Balls,
}

/// Family names; longer names first, since a shorter one may end a longer one.
const FAMILIES: &[(&str, Form)] = &[
    ("HTSSOP", Form::ThinSmallOutline),
    ("TSSOP", Form::ThinSmallOutline),
    ("TVSOP", Form::ThinSmallOutline),
    ("HVSSOP", Form::MiniSmallOutline),
    ("VSSOP", Form::MiniSmallOutline),
    ("MSOP", Form::MiniSmallOutline),
    ("QSOP", Form::ShrinkSmallOutline),
    ("SSOP", Form::ShrinkSmallOutline),
    ("HSOP", Form::SmallOutline),
    ("TSOP", Form::ThinMemoryOutline),
    ("HSOIC", Form::SmallOutline),
    ("SOIC", Form::SmallOutline),
    ("SOP", Form::SmallOutline),
    ("SOJ", Form::JRows),
    ("QFP", Form::ThinQuad),
    ("MQFP", Form::MetricQuad),
    ("PQFP", Form::MetricQuad),
    ("PLCC", Form::JQuad),
    ("QFN", Form::NoLead),
    ("DFN", Form::NoLead),
    ("MLF", Form::NoLead),
    ("MLP", Form::NoLead),
    ("SON", Form::NoLead),
    ("LCC", Form::NoLead),
    ("LGA", Form::NoLead),
    ("LFCSP", Form::NoLead),
    ("BGA", Form::Balls),
    ("WLCSP", Form::Balls),
    ("CSP", Form::Balls),
    ("SOT", Form::SmallOutlineTransistor),
];

impl Form {
    pub(super) const fn family(self) -> Family {
        match self {
            Self::SmallOutlineTransistor => Family::Transistor,
            Self::ThinQuad | Self::MetricQuad | Self::JQuad => Family::FourSides,
            Self::NoLead => Family::NoLead,
            Self::Balls => Family::BallGrid,
            _ => Family::TwoRows,
        }
    }

    /// Height [µm] at the tall end of the family.
    const fn height(self) -> i64 {
        match self {
            Self::SmallOutline => 1_750,
            Self::ShrinkSmallOutline => 2_000,
            Self::ThinSmallOutline | Self::ThinMemoryOutline => 1_200,
            Self::MiniSmallOutline => 1_100,
            Self::SmallOutlineTransistor => 1_450,
            Self::ThinQuad => 1_600,
            Self::MetricQuad => 2_450,
            Self::JQuad => 4_570, // memory
            Self::JRows => 3_760, // memory
            Self::NoLead => 1_000,
            Self::Balls => 1_700, // 1.0 to 2.6 mm occur
        }
    }
}

/// The form of a family name; unknown ones are taken as small outlines.
pub(super) fn form(family: &str) -> Form {
    known_form(family).unwrap_or(Form::SmallOutline)
}

/// A family name may carry letters before it (thin, very thin, plastic) and behind it.
fn known_form(letters: &str) -> Option<Form> {
    match letters {
        "SO" => return Some(Form::SmallOutline),
        _ if letters.ends_with("MQFP") || letters.ends_with("PQFP") => return Some(Form::MetricQuad),
        _ => {}
    }
    FAMILIES.iter().find(|(name, _)| letters.contains(name) && letters.len() <= name.len() + 3).map(|(_, f)| *f)
}

/// A family in a name: its form and the pins beside it.
struct Found {
    form: Form,
    pins: Option<u32>,
    wide: bool,
}

/// `QFN-48`, `SOIC8`, `24QFN`, `MAX1112X-TQFN-28`, `X2SON3`.
fn find(name: &Name) -> Option<Found> {
    name.words.iter().enumerate().find_map(|(i, word)| {
        let (ahead, rest) = digits(word);
        let named = ["X2", "X3"].iter().find_map(|x| word.strip_prefix(x)).unwrap_or(rest);
        let (family, after) = letters(named);
        let form = known_form(family).filter(|_| family.len() >= 2)?;
        let own: Option<u32> = digits(after).0.parse().ok();
        let next = || name.words.get(i + 1).filter(|w| !w.contains('X')).and_then(|w| count(w)).map(|(n, _)| n);
        // `TSOP2-54`: a variant before the pins.
        let variant = own == Some(1) || own == Some(2) && next().is_some_and(|n| n > 2);
        let own = own.filter(|_| !variant);
        let pins = own.or_else(|| ahead.parse().ok()).or_else(next).filter(|n| (2..=3_000).contains(n));
        let wide = name.has_word(&["WIDE", "W", "208MIL", "300MIL"]) || name.words.get(i + 1).is_some_and(|w| w.ends_with('W'));
        Some(Found { form, pins, wide })
    })
}

/// `QFN-48-1EP_7x7mm_P0.5mm`, `VSON10_0D5_3X3X1MM`, `SO8_127_500X400X205`.
pub(super) fn with_size(name: &Name, _: Kind) -> Option<Body> {
    let found = find(name)?;
    let sizes = sizes(name)?;
    let pitch = pitch(name);
    let hundredths = !sizes.in_mm && sizes.a >= 50_000 && sizes.b >= 50_000;
    let (sizes, size) = match hundredths {
        true => (in_hundredths(sizes), Certainty::Likely),
        false => (sizes, Certainty::Certain),
    };
    if sizes.a.max(sizes.b) > 100_000 {
        return None;
    }
    // Written as length by width, the rows lie along the first number.
    let (x, y) = if hundredths && found.form.family() == Family::TwoRows { (sizes.b, sizes.a) } else { (sizes.a, sizes.b) };
    let (x, y) = with_leads(found.form, x, y);
    let body = Body::new(found.form.family(), x, y, size).pitch(pitch).pins(found.pins);
    Some(match sizes.c {
        Some(h) if h < sizes.a.max(sizes.b) => body.height(h, Certainty::Certain),
        _ => body.height(height_of(found.form, x), height_certainty(found.form)),
    })
}

fn in_hundredths(s: Sizes) -> Sizes {
    Sizes { a: s.a / 100, b: s.b / 100, c: s.c.map(|c| c / 100), in_mm: true }
}

/// The names of ball-grid and no-lead parts do not bound their height: 1.0 to 2.6 mm and
/// 0.5 to 1.0 mm occur under one name.
fn height_certainty(form: Form) -> Certainty {
    if matches!(form, Form::Balls | Form::NoLead) { Certainty::Guess } else { Certainty::Likely }
}

/// Height [µm] of a form whose span over the leads is known; wide small outlines are taller (MS-013).
fn height_of(form: Form, span: i64) -> i64 {
    match (form, span) {
        (Form::SmallOutline, 9_500..) => 2_650,
        (Form::SmallOutline, 7_500..) => 2_160,
        _ => form.height(),
    }
}

/// Body to span over the leads.
fn with_leads(form: Form, x: i64, y: i64) -> (i64, i64) {
    match form {
        Form::SmallOutline if x >= 7_000 => (x + 2_800, y), // MS-013: 7.5 → 10.3
        Form::SmallOutline if x >= 5_000 => (x + 2_670, y), // 5.23 → 7.9
        Form::SmallOutline if x < 3_000 => (x + 1_000, y),  // memory: 2.3 → 3.1
        Form::SmallOutline => (x + 2_100, y),               // MS-012: 3.9 → 6.0
        Form::ThinSmallOutline => (x + 2_000, y),           // MO-153
        Form::ShrinkSmallOutline => (x + 2_500, y),         // 5.3 → 7.8
        Form::MiniSmallOutline => (x + 1_900, y),           // MO-187: 3.0 → 4.9
        Form::SmallOutlineTransistor => (x + 1_200, y),     // MO-178: 1.6 → 2.8
        Form::ThinMemoryOutline => (x + 1_600, y),          // memory: 10.16 → 11.76
        Form::ThinQuad => (x + 2_000, y + 2_000),           // MS-026
        Form::MetricQuad => (x + 3_900, y + 3_900),         // 10 → 13.9
        Form::JQuad | Form::JRows | Form::NoLead | Form::Balls => (x, y),
    }
}

/// `P0.5MM`, `PITCH0.5MM`, `0D5` [µm].
fn pitch(name: &Name) -> Option<i64> {
    let stated = name.field("P").or_else(|| name.field("PITCH"));
    let with_d = || name.words.iter().find_map(|w| super::scan::d_decimal(w));
    stated.or_else(with_d).filter(|um| (200..=5_080).contains(um))
}

/// `SOIC8`, `TSSOP20`, `LQFP-64`, `24QFN`: the usual size for that many pins.
pub(super) fn without_size(name: &Name, _: Kind) -> Option<Body> {
    let found = find(name)?;
    let pins = found.pins?;
    let (x, y, pitch, size) = usual(found.form, pins, found.wide, pitch(name))?;
    let doubt = (size == Certainty::Guess).then_some(Doubt::TypicalSize);
    let body = Body::new(found.form.family(), x, y, size).pitch(Some(pitch)).pins(Some(pins)).doubt(doubt);
    Some(body.height(height_of(found.form, x), height_certainty(found.form)))
}

/// Body length along two rows of leads: the rows and about half a millimetre at each end.
pub(super) fn row_length(pins: u32, pitch: i64) -> i64 {
    (i64::from(pins / 2) - 1).max(0) * pitch + 1_100
}

/// Usual span along X and Y, pitch, and how usual.
fn usual(form: Form, pins: u32, wide: bool, stated: Option<i64>) -> Option<(i64, i64, i64, Certainty)> {
    let likely = Certainty::Likely;
    let rows = |x: i64, pitch: i64| Some((x, row_length(pins, pitch), pitch, likely));
    match form {
        Form::SmallOutline if (4..=64).contains(&pins) => match (wide, pins) {
            (true, 8) => rows(7_900, 1_270),
            (true, _) | (false, 18..) => rows(10_300, 1_270),
            (false, _) => rows(6_000, 1_270),
        },
        Form::ThinSmallOutline if pins >= 38 => rows(8_100, 500),
        Form::ThinSmallOutline => rows(6_400, 650),
        Form::ShrinkSmallOutline if pins >= 30 => rows(10_300, 635),
        Form::ShrinkSmallOutline => rows(7_800, 650),
        Form::MiniSmallOutline if pins <= 8 => Some((4_900, 3_000, 650, likely)),
        Form::MiniSmallOutline => Some((4_900, if pins > 10 { 4_000 } else { 3_000 }, 500, likely)),
        Form::ThinMemoryOutline => Some((11_760, row_length(pins, 800) + 300, 800, likely)),
        Form::ThinQuad => quad(pins, 2_000),
        Form::MetricQuad => quad(pins, 3_900),
        Form::JQuad => Some((j_side(pins), j_side(pins), 1_270, likely)),
        Form::NoLead if pins <= 3 => Some((1_000, 600, 350, Certainty::Guess)),
        Form::NoLead => Some((pads_side(pins), pads_side(pins), 500, Certainty::Guess)),
        Form::Balls => {
            let pitch = stated.unwrap_or(if pins >= 484 { 1_000 } else { 800 });
            Some((balls_side(pins, pitch), balls_side(pins, pitch), pitch, Certainty::Guess))
        }
        _ => None,
    }
}

/// MS-026 bodies that go with a pin count, leads added.
fn quad(pins: u32, leads: i64) -> Option<(i64, i64, i64, Certainty)> {
    let (x, y, pitch) = match pins {
        32 => (7_000, 7_000, 800),
        44 => (10_000, 10_000, 800),
        48 => (7_000, 7_000, 500),
        52 | 64 => (10_000, 10_000, 500),
        80 => (12_000, 12_000, 500),
        100 => (14_000, 14_000, 500),
        128 => (14_000, 20_000, 500),
        144 => (20_000, 20_000, 500),
        176 => (24_000, 24_000, 500),
        208 => (28_000, 28_000, 500),
        _ => return None,
    };
    Some((x + leads, y + leads, pitch, Certainty::Likely))
}

/// Side over the J leads (MS-018: 20 → 9.9, 28 → 12.45, 44 → 17.5, 68 → 25.15 mm; memory).
fn j_side(pins: u32) -> i64 {
    i64::from(pins / 4) * 1_270 + 3_560
}

/// A square with pads at 0.5 mm on four sides and a millimetre for the corners.
fn pads_side(pins: u32) -> i64 {
    (i64::from(pins.div_ceil(4)) * 500 + 1_000).max(2_000)
}

/// A full square grid with one pitch around it.
fn balls_side(pins: u32, pitch: i64) -> i64 {
    (i64::from((pins.max(1) - 1).isqrt()) + 2) * pitch
}
