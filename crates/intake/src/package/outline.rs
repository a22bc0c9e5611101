//! Outlines known by name: small transistors and diodes, power tabs, MELF.
//!
//! Sizes are over the leads. Those marked † come from outline tables
//! (checked in `tests/parts_reference.rs`); the others are from memory of the
//! registered outlines.

use super::scan::Name;
use super::{Body, Family, Kind};
use domain::part::Certainty;

/// One outline.
struct Outline {
    /// As it stands in a name, letters and digits only.
    key: &'static str,
    family: Family,
    /// Over the leads, height, pitch [µm]; pitch 0 when there are only two ends.
    x: i64,
    y: i64,
    height: i64,
    pitch: i64,
    pins: u32,
}

const fn outline(key: &'static str, family: Family, size: (i64, i64, i64), pitch: i64, pins: u32) -> Outline {
    Outline { key, family, x: size.0, y: size.1, height: size.2, pitch, pins }
}

use Family::{Melf, Moulded, NoLead, PowerTab, Transistor, TwoRows};

/// Longer keys first where one begins another.
const OUTLINES: &[Outline] = &[
    outline("TSOT236", Transistor, (2_800, 2_900, 1_000), 950, 6), // †
    outline("TSOT235", Transistor, (2_800, 2_900, 1_000), 950, 5),
    outline("TSOT238", Transistor, (2_800, 2_900, 1_000), 650, 8),
    outline("SOT235", Transistor, (2_800, 2_900, 1_450), 950, 5), // †
    outline("SOT236", Transistor, (2_800, 2_900, 1_450), 950, 6), // †
    outline("SOT238", Transistor, (2_800, 2_900, 1_450), 650, 8), // †
    outline("SOT25", Transistor, (2_800, 2_900, 1_450), 950, 5),
    outline("SOT26", Transistor, (2_800, 2_900, 1_450), 950, 6),
    outline("SOT223", PowerTab, (7_000, 6_500, 1_800), 2_300, 4), // †
    outline("SOT23", Transistor, (2_400, 2_900, 1_100), 950, 3),  // †
    outline("SOT89", PowerTab, (4_200, 4_500, 1_600), 1_500, 3),
    outline("SOT143", Transistor, (2_400, 2_900, 1_100), 1_900, 4),
    outline("SOT323", Transistor, (2_100, 2_000, 1_100), 650, 3), // †
    outline("SOT343", Transistor, (2_100, 2_000, 1_100), 1_300, 4),
    outline("SOT353", Transistor, (2_100, 2_000, 1_100), 650, 5),
    outline("SOT363", Transistor, (2_100, 2_000, 1_100), 650, 6), // †
    outline("SOT416", Transistor, (1_600, 1_600, 900), 500, 3),
    outline("SOT523", Transistor, (1_600, 1_600, 900), 500, 3), // †
    outline("SOT553", Transistor, (1_600, 1_600, 600), 500, 5),
    outline("SOT563", Transistor, (1_600, 1_600, 600), 500, 6), // †
    outline("SOT666", Transistor, (1_600, 1_600, 600), 500, 6),
    outline("SOT669", PowerTab, (6_200, 5_000, 1_100), 1_270, 5),
    outline("SOT723", Transistor, (1_200, 1_200, 500), 400, 3),
    outline("SOT883", NoLead, (1_000, 600, 500), 350, 3),
    outline("SOT886", NoLead, (1_450, 1_000, 500), 500, 6),
    outline("SOT505", TwoRows, (4_900, 3_000, 1_100), 650, 8),
    outline("SOT96", TwoRows, (6_000, 4_900, 1_750), 1_270, 8),
    outline("SC705", Transistor, (2_100, 2_000, 1_100), 650, 5),
    outline("SC706", Transistor, (2_100, 2_000, 1_100), 650, 6), // †
    outline("SC703", Transistor, (2_100, 2_000, 1_100), 650, 3), // †
    outline("SC70", Transistor, (2_100, 2_000, 1_100), 650, 3),
    outline("SC59", Transistor, (2_800, 2_900, 1_300), 950, 3),
    outline("SC88", Transistor, (2_100, 2_000, 1_100), 650, 6),
    outline("SC75", Transistor, (1_600, 1_600, 900), 500, 3),
    outline("SC89", Transistor, (1_600, 1_600, 700), 500, 3),
    outline("SC90", Moulded, (1_600, 800, 700), 0, 2),
    outline("TO236", Transistor, (2_400, 2_900, 1_100), 950, 3),
    outline("TO252", PowerTab, (9_900, 6_500, 2_400), 2_280, 3),   // †
    outline("TO263", PowerTab, (15_000, 10_000, 4_600), 2_540, 3), // †
    outline("TO268", PowerTab, (18_700, 15_900, 5_000), 5_450, 3),
    outline("D3PAK", PowerTab, (18_700, 15_900, 5_000), 5_450, 3),
    outline("D2PAK", PowerTab, (15_000, 10_000, 4_600), 2_540, 3), // †
    outline("DDPAK", PowerTab, (15_000, 10_000, 4_600), 2_540, 3),
    outline("DPAK", PowerTab, (9_900, 6_500, 2_400), 2_280, 3), // †
    outline("DO214AC", Moulded, (5_200, 3_000, 2_300), 0, 2),   // † across
    outline("DO214AA", Moulded, (5_400, 4_000, 2_300), 0, 2),   // † across
    outline("DO214AB", Moulded, (7_900, 6_200, 2_300), 0, 2),   // † across
    outline("DO213AA", Melf, (3_500, 1_600, 1_600), 0, 2),
    outline("DO213AB", Melf, (5_000, 2_500, 2_500), 0, 2),
    outline("DO219", Moulded, (3_700, 1_800, 1_000), 0, 2),
    outline("DO216", Moulded, (3_800, 1_900, 1_100), 0, 2),
    outline("DO221", Moulded, (5_200, 2_600, 1_000), 0, 2),
    outline("SOD123", Moulded, (3_700, 1_800, 1_100), 0, 2), // † across
    outline("SOD128", Moulded, (4_800, 2_600, 1_000), 0, 2),
    outline("SOD323", Moulded, (2_600, 1_400, 1_000), 0, 2), // † across
    outline("SOD523", Moulded, (1_600, 900, 600), 0, 2),     // † across
    outline("SOD723", Moulded, (1_400, 600, 550), 0, 2),
    outline("SOD882", NoLead, (1_000, 600, 500), 0, 2),
    outline("SOD923", Moulded, (1_000, 600, 400), 0, 2),
    outline("SOD962", NoLead, (600, 300, 300), 0, 2),
    outline("SOD80", Melf, (3_300, 1_600, 1_600), 0, 2), // †
    outline("SOD87", Melf, (3_500, 2_050, 2_050), 0, 2),
    outline("MICROMELF", Melf, (1_900, 1_150, 1_150), 0, 2), // †
    outline("MINIMELF", Melf, (3_300, 1_600, 1_600), 0, 2),  // †
    outline("MELF", Melf, (5_200, 2_600, 2_600), 0, 2),      // †
    // Through the board; sizes of the body, for those who form and place them.
    outline("TO220", Family::Other, (10_200, 4_600, 19_500), 2_540, 3),
    outline("TO247", Family::Other, (15_900, 5_000, 26_000), 5_450, 3),
    outline("TO251", Family::Other, (6_600, 2_300, 9_000), 2_290, 3),
    outline("TO92", Family::Other, (4_800, 3_800, 7_000), 1_270, 3),
];

/// Diode outlines of three letters, which only count as a word of their own.
const LETTERS: &[(&str, &str)] = &[("SMA", "DO214AC"), ("SMB", "DO214AA"), ("SMC", "DO214AB")];

pub(super) fn read(name: &Name, kind: Kind) -> Option<Body> {
    melf_code(name).or_else(|| registered(name)).or_else(|| three_letters(name, kind))
}

fn registered(name: &Name) -> Option<Body> {
    let found = OUTLINES.iter().find(|o| stands_in(&name.compact, o.key))?;
    Some(body(found))
}

/// The key stands in the name and is not the tail of a longer number.
fn stands_in(compact: &str, key: &str) -> bool {
    compact.match_indices(key).any(|(at, _)| {
        let before = compact.get(..at).unwrap_or_default();
        // `TSOT23`, `DSOT23` are outlines; a digit directly before is part of an order code.
        !before.ends_with(|c: char| c.is_ascii_digit()) || key.starts_with("SOT") || key.starts_with("SC")
    })
}

fn three_letters(name: &Name, kind: Kind) -> Option<Body> {
    if name.holds(&["EDGE", "CONN", "COAX", "JACK", "RF", "FEMALE", "MALE"]) || kind != Kind::Other {
        return None;
    }
    let key = LETTERS.iter().find(|(word, _)| name.words.iter().any(|w| w == word || w.strip_suffix('F') == Some(word)))?.1;
    OUTLINES.iter().find(|o| o.key == key).map(body)
}

/// Resistors: 0102, 0204, 0207 beside the word MELF.
fn melf_code(name: &Name) -> Option<Body> {
    let (x, d) = match () {
        () if !name.holds(&["MELF"]) => return None,
        () if name.has_word(&["0102"]) => (2_200, 1_100),
        () if name.has_word(&["0204"]) => (3_600, 1_400),
        () if name.has_word(&["0207"]) => (5_800, 2_200),
        () => return None,
    };
    Some(Body::new(Family::Melf, x, d, Certainty::Certain).height(d, Certainty::Certain).pins(Some(2)))
}

fn body(o: &Outline) -> Body {
    let pitch = (o.pitch > 0).then_some(o.pitch);
    Body::new(o.family, o.x, o.y, Certainty::Certain).height(o.height, Certainty::Likely).pitch(pitch).pins(Some(o.pins))
}
