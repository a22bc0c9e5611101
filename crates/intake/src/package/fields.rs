//! Sizes in named fields (`L5.0-W4.0-LS6.0`, `D10.0mm`), and bare `A x B [x C]`.

use super::scan::{Name, digits, letters, sizes};
use super::{Body, Family, Kind};
use domain::part::Certainty;

/// `SOIC-8_L5.0-W4.0-P1.27-LS6.0`: L along the rows, W across them, LS over the leads;
/// `CP_Radial_D10.0mm`: D a diameter.
pub(super) fn read(name: &Name, kind: Kind) -> Option<Body> {
    let height = name.field("H").or_else(|| name.field("T"));
    let (family, x, y) = match (name.field("L"), name.field("W"), name.field("LS"), name.field("D")) {
        (Some(l), Some(w), Some(span), _) if span > w => (family_of(name, kind), span, l),
        (Some(l), Some(w), _, _) => (family_of(name, kind), l, w),
        (_, Some(w), _, Some(d)) => (Family::Other, d, w),
        (_, None, _, Some(d)) => (Family::Other, d, d),
        _ => return None,
    };
    if x < 300 || y < 150 {
        return None;
    }
    let pins = name
        .words
        .get(1)
        .filter(|_| !matches!(family, Family::PowerTab | Family::Other))
        .and_then(|w| digits(w).0.parse().ok())
        .filter(|n| (2..1_000).contains(n));
    let pitch = name.field("P").filter(|p| (300..=5_080).contains(p));
    let body = Body::new(family, x, y, Certainty::Certain).pitch(pitch).pins(pins);
    Some(height.map_or_else(|| body.clone(), |h| body.clone().height(h, Certainty::Certain)))
}

fn family_of(name: &Name, kind: Kind) -> Family {
    let first = name.words.first().map_or("", |w| letters(w).0);
    match first {
        "TO" => Family::PowerTab,
        "SOT" | "SC" => Family::Transistor,
        "LQFP" | "TQFP" | "QFP" => Family::FourSides,
        "CONN" | "USB" | "HDR" => Family::Connector,
        "IND" | "L" | "D" | "SOD" | "SMA" | "SMB" | "SMC" => Family::Moulded,
        _ if first.ends_with("QFN") || first.ends_with("DFN") || first.ends_with("SON") => Family::NoLead,
        _ if first.ends_with("BGA") => Family::BallGrid,
        _ if first.starts_with("SO") || first.ends_with("SOP") => Family::TwoRows,
        _ => by_kind(kind),
    }
}

fn by_kind(kind: Kind) -> Family {
    match kind {
        Kind::Crystal => Family::Crystal,
        Kind::Led | Kind::Inductor => Family::Moulded,
        _ => Family::Other,
    }
}

/// `CAPM_3.5x2.8h2.1`, `X4_SMD_2_5X2_0MM`, `Oscillator_2.5x2.0`, `SD430X393X292`: numbers with nothing to say what body they are of.
pub(super) fn bare_size(name: &Name, kind: Kind) -> Option<Body> {
    let family = if is_connector(name) { Family::Connector } else { named_family(name).unwrap_or_else(|| by_kind(kind)) };
    let s = sizes(name)?;
    if s.in_mm {
        let body = Body::new(family, s.a, s.b, Certainty::Likely);
        let height = s.c.or_else(|| height_after_h(name));
        return Some(height.map_or_else(|| body.clone(), |h| body.clone().height(h, Certainty::Likely)));
    }
    // Three whole numbers of three digits and more are hundredths of a millimetre in several schemes.
    let c = s.c.filter(|c| s.a >= 100_000 && s.b >= 100_000 && *c >= 20_000)?;
    Some(Body::new(family, s.a / 100, s.b / 100, Certainty::Likely).height(c / 100, Certainty::Likely))
}

/// Whether the name is that of a connector, socket or jack.
pub(super) fn is_connector(name: &Name) -> bool {
    name.holds(&["CONN", "HEADER", "HDR", "USB", "FPC", "FFC", "MICROSD", "RJ45", "SOCKET", "RECEPTACLE", "JST"])
}

fn named_family(name: &Name) -> Option<Family> {
    match () {
        () if name.holds(&["CRYSTAL", "XTAL", "OSC"]) => Some(Family::Crystal),
        () if name.holds(&["BGA"]) => Some(Family::BallGrid),
        () if name.holds(&["INDUCTOR", "CAPM", "LED"]) => Some(Family::Moulded),
        () => None,
    }
}

/// `3.5X2.8H2.1`.
fn height_after_h(name: &Name) -> Option<i64> {
    name.words.iter().find_map(|w| {
        let (_, height) = w.split_once('H')?;
        super::scan::decimal(height).filter(|(_, rest)| rest.is_empty() || *rest == "MM").map(|(um, _)| um)
    })
}
