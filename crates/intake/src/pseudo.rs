//! Rows of placement lists that are no parts: marks, test points, holes, copper, pins.
//!
//! Told by the words of reference, value, package and description. The words are common
//! practice, no source; when in doubt a row stays a part.

use crate::refs::is_reference;
use std::collections::{HashMap, HashSet};

/// Kinds of rows that are no parts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Kind {
    Fiducial,
    TestPoint,
    Hole,
    Logo,
    SolderJumper,
    NetTie,
    SparkGap,
    ConnectorPin,
    Hardware,
}

impl Kind {
    /// One of them, in words.
    pub(crate) const fn word(self) -> &'static str {
        match self {
            Self::Fiducial => "fiducial",
            Self::TestPoint => "test point",
            Self::Hole => "mounting hole",
            Self::Logo => "logo or text",
            Self::SolderJumper => "solder jumper",
            Self::NetTie => "net tie",
            Self::SparkGap => "spark gap",
            Self::ConnectorPin => "single pin of a connector",
            Self::Hardware => "bracket, screw or stand-off",
        }
    }
}

/// The kind of a row by its words; `text` is value, package and description together.
pub(crate) fn kind(reference: &str, text: &str) -> Option<Kind> {
    let lower = text.to_lowercase();
    let joined: String = lower.chars().filter(|c| c.is_alphanumeric()).collect();
    let prefix: String = reference.chars().take_while(|c| c.is_alphabetic()).collect::<String>().to_uppercase();
    let has = |words: &[&str]| words.iter().any(|w| joined.contains(w));
    let word = |words: &[&str]| lower.split(|c: char| !c.is_alphanumeric()).any(|w| words.contains(&w));
    let of = |prefixes: &[&str]| prefixes.contains(&prefix.as_str());
    let numbered = reference.chars().any(|c| c.is_ascii_digit());
    Some(if has(&["fiducial", "passermarke"]) || (of(&["FID", "FIDU", "FIDUCIAL"]) && numbered) {
        Kind::Fiducial
    } else if has(&["testpoint", "testpad", "testpunkt", "pointdetest"])
        || (of(&["TP"]) && numbered && (joined.is_empty() || has(&["tp", "test", "pad"])))
    {
        Kind::TestPoint
    } else if word(&["bracket", "screw", "standoff", "nut", "washer"]) && !word(&["smt", "smd", "sm", "clip"]) && !lower.contains("smt") {
        Kind::Hardware
    } else if has(&["mountinghole", "mhole", "befestigungsloch", "toolinghole"])
        || (of(&["MH", "H", "HOLE", "MTG"]) && has(&["hole", "mtg", "drill"]))
    {
        Kind::Hole
    } else if of(&["LOGO", "TEXT"])
        || reference.starts_with("G***")
        || reference.starts_with("REF**")
        || (word(&["logo", "text", "symbol"]) && !of(&PARTS))
    {
        Kind::Logo
    } else if has(&["solderjumper", "solderconnection", "solderbridge", "jumpersolder", "shortnohole", "lötbrücke"])
        || (of(&["JP", "SJ", "OE", "SH", "SB"]) && (has(&["nocut", "sj"]) || joined.starts_with("jp2cut") || word(&["cut", "bridge"])))
    {
        Kind::SolderJumper
    } else if has(&["nettie"]) {
        Kind::NetTie
    } else if has(&["sparkgap", "funkenstrecke"]) {
        Kind::SparkGap
    } else {
        return None;
    })
}

/// Letters of references that stand for parts whatever their description says, such as "inductor, small symbol".
const PARTS: [&str; 16] = ["R", "RN", "C", "L", "FB", "D", "LED", "Q", "U", "IC", "F", "J", "K", "SW", "X", "Y"];

/// References that are single pins of a connector: `M3_C1` beside `M3`, or beside at least
/// [`SIBLINGS`] others of the same connector and package.
pub(crate) fn connector_pins<'a>(rows: &[(&'a str, &str)]) -> HashSet<&'a str> {
    const SIBLINGS: usize = 4;
    let all: HashSet<&str> = rows.iter().map(|(r, _)| *r).collect();
    let mut siblings: HashMap<(&str, &str), usize> = HashMap::new();
    for (reference, package) in rows {
        if let Some(base) = pin_base(reference) {
            *siblings.entry((base, package)).or_default() += 1;
        }
    }
    let is_pin = |reference: &str, package: &str| {
        pin_base(reference).is_some_and(|base| {
            let count = siblings.get(&(base, package)).copied().unwrap_or(0);
            count >= SIBLINGS || (count >= 2 && all.contains(base))
        })
    };
    rows.iter().filter(|(r, p)| is_pin(r, p)).map(|(r, _)| *r).collect()
}

/// `M3_C1` → `M3`: a reference, then a short pin name with a digit.
fn pin_base(reference: &str) -> Option<&str> {
    let (base, pin) = reference.rsplit_once('_')?;
    let pin_name =
        (1..=4).contains(&pin.len()) && pin.chars().any(|c| c.is_ascii_digit()) && pin.chars().all(|c| c.is_ascii_alphanumeric());
    (pin_name && is_reference(base)).then_some(base)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn kinds_by_words() {
        for (reference, text, expected) in [
            ("FL9", "Fiducial_local Fiducial", Some(Kind::Fiducial)),
            ("TP1", "SMD_TP TestPoint_Pad_D0.5mm", Some(Kind::TestPoint)),
            ("MH1", "Hole 3.175MM MTGH200C125D_PL", Some(Kind::Hole)),
            ("SC4", "solder_connection SOLDER_CONNECTION", Some(Kind::SolderJumper)),
            ("SH1", "SHORT_NOHOLE", Some(Kind::SolderJumper)),
            ("JP3", "JP2-NOCUT-0805 JP2-0805-NOCUT", Some(Kind::SolderJumper)),
            ("SG1", "SparkGap", Some(Kind::SparkGap)),
            ("MECH19", "PCIE_BRACKET bracket", Some(Kind::Hardware)),
            ("MECH1", "RFI_SHIELD_CLPS_MINI RFI Shield clip", None),
            ("MP1", "SMT Steel Spacer with internal thread", None),
            ("R1", "0R RES SMD 0.0OHM JUMPER 0402", None),
            ("U1", "ANALOG_OUT SOIC-8", None),
            ("H1", "PinHeader_1x04", None),
            ("T1", "TP0610 SOT23", None),
        ] {
            assert_eq!(kind(reference, text), expected, "{reference} {text}");
        }
    }

    #[test]
    fn pins_of_connectors() {
        let rows = [("M3", "a"), ("M3_C1", "b"), ("M3_C2", "b"), ("TB_M1", "c"), ("PULL_SDA", "d"), ("J1_7", "e"), ("J1_8", "e")];
        let mut pins: Vec<&str> = connector_pins(&rows).into_iter().collect();
        pins.sort_unstable();
        assert_eq!(pins, ["M3_C1", "M3_C2"]);
    }
}
