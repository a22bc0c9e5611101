//! Sizes, tapes and limits against tables from outside: outline tables, makers' packaging
//! sheets, EIA-481. The whole tables are read where they lie beside the workspace; the few
//! facts below are checked everywhere.

use domain::part::Certainty;
use intake::package::{Family, Kind, read};
use intake::parts::{part, tape};
use std::collections::BTreeMap;
use units::Length;

/// Name, over the leads along X and Y [µm], source.
const SIZES: &[(&str, i64, i64, &str)] = &[
    ("R_01005", 400, 200, "chip sizes as tabulated by makers"),
    ("C_0201_0603Metric", 600, 300, "chip sizes as tabulated by makers"),
    ("R_0603_1608Metric", 1_600, 800, "chip sizes as tabulated by makers"),
    ("R_2512_6332Metric", 6_300, 3_200, "chip sizes as tabulated by makers"),
    ("CP_EIA-3216-18", 3_200, 1_600, "EIA-535BAAC"),
    ("CP_EIA-7343-31", 7_300, 4_300, "EIA-535BAAC"),
    ("SOIC-8_3.9x4.9mm_P1.27mm", 6_000, 4_900, "JEDEC MS-012 AA"),
    ("SOIC-20W_7.5x12.8mm_P1.27mm", 10_300, 12_800, "JEDEC MS-013 AC"),
    ("TSSOP-20_4.4x6.5mm_P0.65mm", 6_400, 6_500, "JEDEC MO-153 AC"),
    ("LQFP-48_7x7mm_P0.5mm", 9_000, 9_000, "JEDEC MS-026"),
    ("SOT-23-6", 2_800, 2_900, "JEDEC MO-178 AB"),
    ("CP_Elec_6.3x5.4", 6_600, 6_600, "makers' outlines: base 6.6 mm for 6.3 mm"),
];

/// Package, tape width, pocket pitch [mm], source.
const TAPES: &[(&str, i64, i64, &str)] = &[
    ("SOIC-8_3.9x4.9mm_P1.27mm", 12, 8, "IC maker's packaging sheet"),
    ("SOIC-14_3.9x8.7mm_P1.27mm", 16, 8, "IC maker's packaging sheet"),
    ("SOIC-20W_7.5x12.8mm_P1.27mm", 24, 12, "IC maker's packaging sheet"),
    ("TSSOP-20_4.4x6.5mm_P0.65mm", 16, 8, "IC maker's packaging sheet"),
    ("SOT-23", 8, 4, "IC maker's packaging sheet"),
    ("QFN-24-1EP_4x4mm_P0.5mm", 12, 8, "IC maker's packaging sheet"),
    ("TO-263", 24, 16, "IC maker's packaging sheet"),
    ("R_0402", 8, 2, "resistor maker's tape sheet after IEC 286-3"),
    ("R_1206", 8, 4, "resistor maker's tape sheet after IEC 286-3"),
];

#[test]
fn sizes_agree_with_the_standards() {
    for (name, x, y, source) in SIZES {
        let body = read(name, Kind::Other).unwrap_or_else(|| panic!("{name} is not read"));
        assert_eq!((body.x.0, body.y.0), (*x, *y), "{name}: {source}");
        assert!(body.size >= Certainty::Likely, "{name}");
    }
}

#[test]
fn tapes_agree_with_makers_sheets() {
    for (package, width, pitch, source) in TAPES {
        let (part, _) = part("N", "", package, &["U1"]);
        assert_eq!((part.tape_width_um.value.0, part.tape_pitch_um.value.0), (width * 1_000, pitch * 1_000), "{package}: {source}");
    }
}

/// Rows of a reference table by column name, or a message when the table is not there.
fn table(name: &str) -> Vec<BTreeMap<String, String>> {
    let path = format!("{}/../../../shared/reference/{name}", env!("CARGO_MANIFEST_DIR"));
    let Ok(text) = std::fs::read_to_string(path) else {
        println!("the reference table {name} is not beside this workspace; only the facts in this file were checked");
        return Vec::new();
    };
    csv::Reader::from_reader(text.as_bytes()).deserialize().map(|row| row.expect("a row of the reference table")).collect()
}

fn um(row: &BTreeMap<String, String>, column: &str) -> Option<i64> {
    row.get(column)?.parse::<f64>().ok().map(|mm| (mm * 1_000.0).round() as i64)
}

/// Lowest and highest value the table allows; a nominal alone allows 0.1 mm either way.
fn allowed(row: &BTreeMap<String, String>, what: &str) -> Option<(i64, i64)> {
    let [min, nom, max] = ["min", "nom", "max"].map(|end| um(row, &format!("{what}_{end}")));
    let low = min.or(nom.map(|n| n - 100)).or(max)?;
    let high = max.or(nom.map(|n| n + 100)).or(min)?;
    Some((low, high))
}

fn kind(family: &str) -> Kind {
    match family {
        "chip-resistor" => Kind::Resistor,
        "chip-capacitor" => Kind::Capacitor,
        "crystal" => Kind::Crystal,
        _ => Kind::Other,
    }
}

/// The table gives the moulded body; with `span_x_nom`, the leads reach that far along X, and as
/// much beyond the body along Y where leads stand on four sides. Moulded diodes have their leads under
/// or beside the body along X.
#[test]
fn every_outline_of_the_reference_table_is_read_within_its_limits() {
    let (mut read_rows, mut wrong, mut unread) = (0, Vec::new(), Vec::new());
    let rows = table("packages.csv");
    for row in &rows {
        let (name, family) = (&row["name"], row["family"].as_str());
        let Some(body) = read(name, kind(family)) else {
            unread.push(name);
            continue;
        };
        read_rows += 1;
        let (bx, by) = (allowed(row, "body_x").expect("body_x"), allowed(row, "body_y").expect("body_y"));
        let span = um(row, "span_x_nom");
        let x = match span {
            Some(span) => (span - 150, span + 150),
            None if family == "diode-moulded" => (bx.0, bx.1 + 1_000),
            // The table has no span for these; one row of leads stands out of the body.
            None if family == "transistor" => (bx.0, bx.1 + 2_000),
            None => bx,
        };
        let leads = span.map_or(0, |s| s - (bx.0 + bx.1) / 2);
        let y = if body.family == Family::FourSides { (by.0 + leads - 50, by.1 + leads + 50) } else { by };
        let inside = |value: Length, (low, high): (i64, i64)| (low..=high).contains(&value.0);
        if !inside(body.x, x) || !inside(body.y, y) {
            wrong.push(format!("{name}: {} x {} is not in {x:?} x {y:?}", body.x.0, body.y.0));
        }
        if let (Some((h, sure)), Some((low, high))) = (body.height, allowed(row, "height"))
            && sure >= Certainty::Likely
            && !(low - 50..=high + 400).contains(&h.0)
        {
            wrong.push(format!("{name}: height {} is not in {low}..{high}", h.0));
        }
    }
    println!("{read_rows} of {} outlines read; not read: {unread:?}", rows.len());
    assert!(wrong.is_empty(), "{wrong:#?}");
    assert!(read_rows * 100 >= rows.len() * 97, "{unread:?}");
}

/// A package string for a row of the packaging table; `None` for rows that state another thing.
fn package_of(row: &str) -> Option<&'static str> {
    Some(match row {
        "SOIC-8 (3.9 mm)" => "SOIC-8_3.9x4.9mm_P1.27mm",
        "SOIC-14 (3.9 mm)" => "SOIC-14_3.9x8.7mm_P1.27mm",
        "SOIC-20W (7.5 mm)" => "SOIC-20W_7.5x12.8mm_P1.27mm",
        "SOP-14 (5.3 mm)" => "SOP-14_5.3x10.2mm_P1.27mm",
        "SSOP-14" => "SSOP-14_5.3x6.2mm_P0.65mm",
        "SSOP-20" => "SSOP-20_5.3x7.2mm_P0.65mm",
        "TSSOP-14" => "TSSOP-14_4.4x5mm_P0.65mm",
        "TSSOP-20" => "TSSOP-20_4.4x6.5mm_P0.65mm",
        "TVSOP-20" => "TVSOP-20_4.4x5mm_P0.4mm",
        "VSSOP-8 / MSOP-8" | "VSSOP-8 / MSOP-8 (small reel)" => "MSOP-8_3x3mm_P0.65mm",
        "SOT-23-3" => "SOT-23",
        "SOT-23-5" => "SOT-23-5",
        "SOT-23-6" => "SOT-23-6",
        "SC-70-5" => "SC-70-5",
        "QFN-14 3.5x3.5" => "QFN-14_3.5x3.5mm_P0.5mm",
        "QFN-14 2.5x3" => "QFN-14_2.5x3mm_P0.5mm",
        "QFN-24 4x4" | "QFN-24 4x4 (small reel)" => "QFN-24_4x4mm_P0.5mm",
        "SON-8 3x3" => "SON-8_3x3mm_P0.65mm",
        "X2SON-4 1x1" => "X2SON-4_1x1mm_P0.65mm",
        "DSBGA-4 0.65 mm class" => "DSBGA-4_0.65x0.65mm_P0.35mm",
        "TO-252 (DPAK)" => "TO-252",
        "TO-263 (D2PAK)" => "TO-263",
        "C_01005" => "C_01005",
        "C_0201" => "C_0201",
        "C_0402" => "C_0402",
        "C_0603" | "C_0603 (second maker)" => "C_0603",
        "C_0805 (thick)" | "C_0805 (second maker)" => "C_0805",
        "C_1111" => "C_1111",
        "C_1206 (second maker)" => "C_1206",
        "C_1210 (second maker)" => "C_1210",
        "R_0402" => "R_0402",
        "R_0603" => "R_0603",
        "R_0805" => "R_0805",
        "R_1206" => "R_1206",
        "EIA-3216-18 (case A)" => "CP_EIA-3216-18",
        "EIA-3528-21 (case B)" => "CP_EIA-3528-21",
        "EIA-6032-28 (case C)" => "CP_EIA-6032-28",
        "EIA-7343-31 (case D)" => "CP_EIA-7343-31",
        "SMA" => "D_SMA",
        "SMB" => "D_SMB",
        "SMC" => "D_SMC",
        "SOD-123" => "D_SOD-123",
        "SOD-323" => "D_SOD-323",
        "MiniMELF" => "D_MiniMELF",
        "SOT-223" => "SOT-223",
        "SOT-89" => "SOT-89",
        "LQFP-48 7x7" => "LQFP-48_7x7mm_P0.5mm",
        "LQFP-64 10x10" => "LQFP-64_10x10mm_P0.5mm",
        "LQFP-100 14x14" => "LQFP-100_14x14mm_P0.5mm",
        "BGA 13x13" => "BGA-216_13x13mm_P0.8mm",
        "Crystal 3225" => "Crystal_SMD_3225-4Pin",
        "CP_Elec 6.3x5.4" => "CP_Elec_6.3x5.4",
        "CP_Elec 8x10" => "CP_Elec_8x10",
        "CP_Elec 10x10" => "CP_Elec_10x10",
        // The table has these from memory, and beyond the standard's limits or away from the
        // narrowest tape: 24 mm tape ends at a pitch of 20 mm. This program takes such parts from trays.
        "LQFP-144 20x20" | "BGA 17x17" | "BGA 23x23" => return None,
        // Another tape for the same part, which the engineer has to state.
        "C_01005 on 4 mm tape" | "C_0201 on 4 mm tape" => return None,
        other => panic!("a new row in the packaging table: {other}"),
    })
}

#[test]
fn every_row_of_the_packaging_table_gets_its_tape() {
    let (mut checked, mut wrong) = (0, Vec::new());
    for row in table("reel_packaging.csv") {
        let Some(package) = package_of(&row["package"]) else { continue };
        let reference = if package.starts_with('C') && !package.starts_with("Cr") { "C1" } else { "U1" };
        let (part, _) = part("N", "", package, &[reference]);
        let got = (part.tape_width_um.value.0, part.tape_pitch_um.value.0);
        let stated = (um(&row, "tape_width_mm").expect("width"), um(&row, "P1_mm").expect("pitch"));
        checked += 1;
        if got != stated {
            wrong.push(format!("{package}: {got:?}, the table has {stated:?} ({})", row["source"]));
        }
    }
    println!("{checked} rows of the packaging table checked");
    assert!(wrong.is_empty(), "{wrong:#?}");
}

#[test]
fn the_widths_are_those_of_the_standard() {
    let own: BTreeMap<i64, i64> = tape::widths().map(|(width, pitch)| (width.0, pitch.0)).collect();
    assert_eq!(own.get(&8_000), Some(&4_000), "EIA-481-D table 2");
    assert_eq!(own.get(&24_000), Some(&20_000), "EIA-481-D table 2");
    for row in table("tape_widths.csv").iter().filter(|row| row["carrier"] == "embossed" && row["tape_width_mm"] != "4") {
        let (width, pitch_max) = (um(row, "tape_width_mm").expect("width"), um(row, "P1_max").expect("pitch"));
        assert_eq!(own.get(&width), Some(&pitch_max), "{width}");
        // The widest square that fits by B1 and pitch stays on this width; a hair more does not.
        let across = um(row, "B1_max_mm").expect("B1") - 400;
        let carrier = |across| tape::carrier(Family::Moulded, Length(across), Length(1_000), Length(1_000)).map(|c| c.width.0);
        assert_eq!(carrier(across), Some(width), "{across} across");
        assert_ne!(carrier(across + 1), Some(width), "{across} across and a hair");
    }
}

#[test]
fn one_line_spans_tiny_chips_and_large_bodies() {
    // Common practice, no source: parts from 0.4 x 0.2 mm to 45 x 150 mm on one line.
    let (tiny, _) = part("N", "", "C_01005_0402Metric", &["C1"]);
    assert_eq!((tiny.long_side().0, tiny.short_side().0), (400, 200));
    let (large, _) = part("N", "", "CONN_150.0x45.0x9.5mm_SMD", &["J1"]);
    assert_eq!((large.long_side().0, large.short_side().0), (150_000, 45_000));
    assert_eq!(large.supply.value, domain::part::Supply::Tray);
}
