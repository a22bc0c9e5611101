//! Connectors: rows, columns and pitch; and the words that tell through-hole parts.
//!
//! Sizes of pin headers follow from pitch and pins (a body of one pitch per pin and row,
//! common practice, no source). Other connectors rarely hold their size in the name.

use super::scan::{self, Name, count, digits, letters};
use super::{Body, Family, Kind};
use domain::part::Certainty;

/// Words that only through-hole parts carry.
const SURELY_THROUGH: &[&str] = &["THT", "TH", "PTH", "THROUGHHOLE", "RADIAL", "AXIAL", "DIP", "PDIP", "SIP", "PGA"];

/// Pieces of names that usually mean leads through the board.
const LIKELY_THROUGH: &[&str] =
    &["TO220", "TO247", "TO92", "TO251", "RJ45", "RJ11", "BARREL", "PWRJACK", "DCJACK", "TERMINALBLOCK", "MKDS", "TOROID", "BANANA"];

/// Words that mean surface mount whatever else the name holds.
const SURFACE: &[&str] = &["SMD", "SMT", "SM", "SURFACEMOUNT"];

/// Whether the leads go through the board, and how surely.
pub(super) fn through_hole(name: &Name) -> Option<Certainty> {
    // `1MP`: pads that hold the body down. `CONN_SMD_PTH`: pegs through the board make no through-hole part.
    let holds_down = |w: &str| count(w).is_some_and(|(_, rest)| rest == "MP");
    let surface = |w: &String| SURFACE.contains(&letters(w).0) || w.ends_with("SMD") || w.ends_with("SMT") || holds_down(w);
    if name.words.iter().any(surface) || name.holds(&["MODULE"]) {
        return None;
    }
    let switch = name.has_word(&["SW", "SWITCH"]);
    let words = || name.words.iter().map(|w| letters(w).0);
    if words().any(|w| SURELY_THROUGH.contains(&w) && !(switch && w == "DIP")) {
        return Some(Certainty::Likely);
    }
    if name.holds(LIKELY_THROUGH) || is_header(name) || is_leaded_disc(name) {
        return Some(Certainty::Likely);
    }
    (name.holds(&["HORIZONTAL", "VERTICAL"]) && name.field("P").is_some_and(|p| p >= 2_000)).then_some(Certainty::Guess)
}

/// `PinHeader_1x04_P2.54mm_Vertical`, `HDR2X13`, `Box_Header_2x05`, `PinSocket_1x06`.
fn is_header(name: &Name) -> bool {
    name.holds(&["PINHEADER", "PINHEAD", "PINSOCKET", "BOXHEADER", "IDCHEADER"])
        || name.words.iter().any(|w| matches!(letters(w).0, "HDR" | "RHDR" | "HEADER"))
}

/// `C_Disc_D3.8mm_W2.6mm_P2.50mm`, `C_Rect_L7.2mm_W3.5mm_P5.00mm`: film and disc bodies on wires.
fn is_leaded_disc(name: &Name) -> bool {
    name.has_word(&["DISC", "RECT", "FILM"]) && name.field("P").is_some()
}

/// Whether the top is no flat face a nozzle could hold: bare pins, or a holder for a cell.
pub(super) fn has_no_flat_top(name: &Name) -> bool {
    is_header(name) || coin_cell(name).is_some() || name.holds(&["COINCELL", "BATTERYHOLDER"])
}

/// Headers and holders.
pub(super) fn read(name: &Name, _: Kind) -> Option<Body> {
    coin_cell(name).or_else(|| header(name))
}

/// Pin headers and sockets by rows, columns and pitch.
fn header(name: &Name) -> Option<Body> {
    let header = is_header(name) || name.holds(&["CONN", "JST", "SOCKET", "HDR"]) || name.has_word(&["SIP", "DIP"]);
    if !header {
        return None;
    }
    let (rows, columns) = name.words.iter().find_map(|w| grid(w)).or_else(|| name.words.iter().find_map(|w| single_row(w)))?;
    // `12_4X6_7MM` is a size: rows by columns come without a unit, or with a leading zero.
    if scan::sizes(name).is_some_and(|s| s.in_mm) && !name.words.iter().any(|w| w.contains("X0")) {
        return None;
    }
    let stated = ["P", "PITCH", "P0"].iter().find_map(|key| name.field(key)).or_else(|| name.words.iter().find_map(|w| scan::d_decimal(w)));
    let stated = stated.filter(|p| (300..=10_160).contains(p));
    // Headers without a pitch in the name have the tenth of an inch.
    let (pitch, size) = stated.map_or((2_540, Certainty::Guess), |p| (p, Certainty::Likely));
    let (rows_um, columns_um) = (i64::from(rows) * pitch, i64::from(columns) * pitch);
    let size = if is_header(name) { size } else { Certainty::Guess };
    let margin = if is_header(name) { 0 } else { 4_000 };
    let height = if pitch >= 2_000 { 8_500 } else { 5_000 };
    let body = Body::new(Family::Connector, rows_um + margin, columns_um + margin.min(2_400), size);
    Some(body.height(height, Certainty::Guess).pitch(Some(pitch)).pins(Some(rows * columns)))
}

/// `1X04`, `2X05`, `HDR2X13`: rows by columns of whole numbers.
fn grid(word: &str) -> Option<(u32, u32)> {
    let (rows, rest) = count(letters(word).1)?;
    let (columns, rest) = count(rest.strip_prefix('X')?)?;
    let plain = rest.is_empty() || !digits(rest).1.is_empty() && !rest.starts_with('.') && !rest.starts_with("MM");
    let (rows, columns) = (rows.min(columns), rows.max(columns));
    (rows <= 6 && columns <= 200 && plain).then_some((rows, columns))
}

/// `8P`, `10POS`: pins in one row.
fn single_row(word: &str) -> Option<(u32, u32)> {
    let (pins, rest) = count(word)?;
    (matches!(rest, "P" | "PIN" | "POS" | "WAY") && pins <= 80).then_some((1, pins))
}

/// Holders of coin cells: cell diameter and some millimetres around it (common practice, no source).
fn coin_cell(name: &Name) -> Option<Body> {
    let cell = name.words.iter().find_map(|w| {
        let number = w.strip_prefix("CR").or_else(|| w.strip_prefix("BR"))?;
        (number.len() == 4).then(|| number.get(..2)?.parse::<i64>().ok()).flatten()
    });
    // `3000_1x12mm-CoinCell`: the larger number is the cell.
    let stated = || scan::sizes(name).filter(|_| name.holds(&["COINCELL", "BATTERYHOLDER"])).map(|s| s.a.max(s.b));
    let cell = cell.map(|mm| mm * 1_000).or_else(stated).filter(|d| (6_000..=30_000).contains(d))?;
    Some(Body::new(Family::Connector, cell + 4_000, cell + 1_000, Certainty::Guess).height(5_000, Certainty::Guess))
}
