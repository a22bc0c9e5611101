//! What part records come out of names, numbers, values and references.

use domain::part::{Certainty, Mount, NozzleClass, Part, Source, Supply};
use intake::parts::part;

fn made(package: &str, reference: &str) -> (Part, Vec<String>) {
    let (part, findings) = part("N-1", "", package, &[reference]);
    let codes = findings.into_iter().map(|f| f.code).collect();
    (part, codes)
}

#[track_caller]
fn check(package: &str, reference: &str, x: i64, y: i64, certainty: Certainty) {
    let (part, _) = made(package, reference);
    assert_eq!((part.body_x_um.value.0, part.body_y_um.value.0), (x, y), "{package}");
    assert_eq!(part.body_x_um.certainty, certainty, "{package}");
}

use Certainty::{Certain, Guess, Likely};

#[test]
fn chips_with_two_codes_or_a_marked_one_are_certain() {
    check("C_0603_1608Metric", "C1", 1_600, 800, Certain);
    check("library:R_0402_1005Metric_Pad0.72x0.64mm_HandSolder", "R1", 1_000, 500, Certain);
    check("RES_0402_[1005_Metric]_N", "R1", 1_000, 500, Certain);
    check("R_0603_1608", "R1", 1_600, 800, Certain);
    check("Ferrite_Beads_0603_(1608_Metric)", "FB1", 1_600, 800, Certain);
    check("CAPC1005N", "C1", 1_000, 500, Certain);
    check("CAPC0402X22N", "C1", 400, 200, Certain);
    check("INDM120120X800N", "L1", 12_000, 12_000, Certain);
    check("C0805", "C1", 2_000, 1_200, Certain);
    check("1206T", "R1", 3_200, 1_600, Likely);
    check("R0406", "R1", 1_000, 1_600, Certain);
}

#[test]
fn a_bare_code_of_both_systems_is_the_inch_code_and_never_certain() {
    for (package, x, y) in [("C0402", 1_000, 500), ("RES0201", 600, 300), ("0603", 1_600, 800), ("SMD-0603_r", 1_600, 800)] {
        let (part, codes) = made(package, "C1");
        assert_eq!((part.body_x_um.value.0, part.body_y_um.value.0), (x, y), "{package}");
        assert_eq!(part.body_x_um.certainty, Likely, "{package}");
        assert_eq!(codes, ["parts.code-ambiguous"], "{package}");
    }
    let (_, findings) = part("N-1", "100n", "C0402", &["C1", "C2"]);
    let text = findings.first().map(ToString::to_string).unwrap_or_default();
    assert!(text.contains("inch code, 1 x 0.5 mm (2 placements)"), "{text}");
    assert!(text.contains("metric code would be 0.4 x 0.2 mm"), "{text}");
    // A metric suffix, or a code of one system only, leaves no doubt.
    assert!(made("C_0402Metric", "C1").1.is_empty());
    check("C_0402Metric", "C1", 400, 200, Certain);
    assert!(made("C0805", "C1").1.is_empty());
    // The letters of a naming scheme are metric, but may have been put before an inch code.
    assert_eq!(made("RESC0402N", "R1").1, ["parts.code-ambiguous"]);
    check("RESC0402N", "R1", 400, 200, Likely);
}

#[test]
fn a_lost_zero_is_mentioned() {
    assert_eq!(made("C1005", "C1").1, ["parts.code-lost-zero"]);
    check("C1005", "C1", 1_000, 500, Likely);
    check("C01005", "C1", 400, 200, Certain);
}

#[test]
fn bodies_in_hundredths_after_the_naming_standard() {
    check("SOIC127P600X173-8N", "U1", 6_000, 4_910, Likely);
    check("QFN50P400X400X100-25N-D", "U1", 4_000, 4_000, Certain);
    check("QFP50P900X900X160-48N", "U1", 9_000, 9_000, Certain);
    check("SOT95P280X145-5N", "U1", 2_800, 2_900, Likely);
    check("SOP50P710X120-14L50", "U1", 7_100, 4_100, Likely);
    check("BGA121C50P11X11_600X600X100B23", "U1", 6_000, 6_000, Certain);
    check("CAPAE1030X1050N", "C1", 10_300, 10_300, Certain);
    check("SODFL3619X98N", "D1", 3_600, 1_900, Certain);
    let (part, _) = made("QFN50P400X400X100-25N-D", "U1");
    assert_eq!((part.height_um.value.0, part.height_um.certainty), (1_000, Certain));
}

#[test]
fn families_with_sizes_and_every_way_to_write_a_decimal() {
    check("QFN-48-1EP_7x7mm_P0.5mm_EP5.6x5.6mm", "U1", 7_000, 7_000, Certain);
    check("MSOP-8_3x3mm_P0.65mm", "U1", 4_900, 3_000, Certain);
    check("MSOP-12-16-1EP_3x4mm_P0.5mm_EP1.65x2.85mm", "U1", 4_900, 4_000, Certain);
    check("QFN14_0D5_3_5X3_5X1MM", "U1", 3_500, 3_500, Certain);
    check("QFN64_0D5_9X9X1MM", "U1", 9_000, 9_000, Certain);
    check("USON10_0D5_2D5X1X0D5MM", "U1", 2_500, 1_000, Certain);
    check("DCK5_2P15X1P4", "U1", 2_150, 1_400, Likely);
    check("BGA153_P14_P5_11P5X13", "U1", 11_500, 13_000, Certain);
    check("BGA-96_9.0x13.0mm_Layout2x3x16_P0.8mm", "U1", 9_000, 13_000, Certain);
    check("SOIC-8_L5.0-W4.0-P1.27-LS6.0-BL", "U1", 6_000, 5_000, Certain);
    check("TSSOP20_65_700X465X190", "U1", 6_650, 7_000, Likely);
    check("LED_WS2812B_PLCC4_5.0x5.0mm_P3.2mm", "D1", 5_000, 5_000, Certain);
    check("SOIC8", "U1", 6_000, 4_910, Likely);
    check("TSOP2-54_N", "U1", 11_760, 22_200, Likely);
}

#[test]
fn other_bodies() {
    check("CP_Tantalum_EIA-7361-438", "C1", 7_300, 6_100, Certain);
    check("CP_Elec_6.3x7.7", "C1", 6_600, 6_600, Certain);
    check("CAP-SMD_BD6.3-L6.6-W6.6-FD", "C1", 6_600, 6_600, Certain);
    check("HEADER2X8_SMD_1D27", "J1", 2_540, 10_160, Likely);
    check("3000_1x12mm-CoinCell", "BT1", 16_000, 13_000, Guess);
    check("SIP9", "R1", 10_000, 5_000, Guess);
    check("D_SOD-323_HandSoldering", "D1", 2_600, 1_400, Certain);
    check("DO_214AC_SMA", "D1", 5_200, 3_000, Certain);
    check("D2PAK-7-GDS", "Q1", 15_000, 10_000, Certain);
    check("TSOT-25", "U1", 2_800, 2_900, Certain);
    check("Crystal_SMD_3225-4Pin_3.2x2.5mm", "Y1", 3_200, 2_500, Certain);
    check("3225", "Y1", 3_200, 2_500, Likely);
    check("3225", "C1", 3_200, 2_500, Likely);
    check("FPC22_0D5_15_4X5_25X2MM_0D5_DX_NPWB", "J1", 15_400, 5_250, Likely);
}

#[test]
fn a_family_without_size_is_a_marked_guess() {
    let (part, codes) = made("24QFN", "U1");
    assert_eq!(part.body_x_um.certainty, Guess);
    assert_eq!(codes, ["parts.size-typical"]);
}

#[test]
fn an_opaque_code_is_one_finding_and_a_guess_by_reference() {
    let (part, findings) = part("PSA00299", "", "PSA00299", &["C1", "C2", "C3"]);
    assert_eq!(findings.len(), 1);
    assert_eq!((findings[0].code.as_str(), findings[0].value.as_str()), ("parts.size-unknown", "PSA00299"));
    assert!(findings[0].message.contains("3 placements"), "{}", findings[0].message);
    assert_eq!((part.body_x_um.value.0, part.body_x_um.certainty, part.body_x_um.source), (1_600, Guess, Source::Default));
    assert_eq!(part.supply.certainty, Guess);
}

#[test]
fn numbers_and_values_give_a_likely_size_where_the_package_gives_none() {
    for (number, value, x) in [("RC0402FR-0710KL", "10k", 1_000), ("X-17", "CAP CER 10UF 0805", 2_000), ("0603YC104KATDA", "", 1_600)] {
        let (part, _) = part(number, value, "", &["C1"]);
        assert_eq!((part.body_x_um.value.0, part.body_x_um.certainty), (x, Likely), "{number} {value}");
    }
    // A bare number is a value, and an integrated circuit's number is no chip size.
    assert_eq!(part("R-1", "1206", "", &["R1"]).0.body_x_um.certainty, Guess);
    assert_eq!(part("LTC0603ABC", "", "", &["U1"]).0.body_x_um.certainty, Guess);
}

#[test]
fn through_hole_parts_are_told_by_their_names() {
    for package in [
        "PinHeader_1x04_P2.54mm_Vertical",
        "TO-220-3_Horizontal",
        "CP_Radial_D10.0mm_P5.00mm",
        "HDR-TH_8P-P2.54-V-F-1",
        "RJ45_8P8C",
        "DIP-8",
    ] {
        let (part, codes) = made(package, "J1");
        assert_eq!(part.mount.value, Mount::ThroughHole, "{package}");
        assert!(part.mount.certainty < Certain, "{package}");
        assert!(codes.contains(&"parts.mount-by-name".to_owned()), "{package}");
    }
    for package in
        ["PinHeader_1x04_P2.54mm_Vertical_SMD", "C_0603_1608Metric", "SOT-23", "SW_DIP_SMD", "JST_PH_SM4_1x04-1MP_P2.00mm_Horizontal"]
    {
        let (part, _) = made(package, "J1");
        assert_eq!(part.mount.value, Mount::Smt, "{package}");
    }
}

#[test]
fn handling_follows_from_the_body() {
    let nozzle = |package: &str| made(package, "U1").0.nozzle_class.value;
    assert_eq!(nozzle("C_0201_0603Metric"), NozzleClass::Micro);
    assert_eq!(nozzle("C_0402_1005Metric"), NozzleClass::Tiny);
    assert_eq!(nozzle("C_0603_1608Metric"), NozzleClass::Small);
    assert_eq!(nozzle("SOT-23"), NozzleClass::Medium);
    assert_eq!(nozzle("SOIC-8_3.9x4.9mm_P1.27mm"), NozzleClass::Large);
    assert_eq!(nozzle("LQFP-64_10x10mm_P0.5mm"), NozzleClass::Wide);
    assert_eq!(nozzle("CP_Elec_16x17.5"), NozzleClass::Gripper);
    assert_eq!(nozzle("PinHeader_2x05_P1.27mm_Vertical_SMD"), NozzleClass::Gripper);

    let (bga, _) = made("BGA-624_21.0x21.0mm_Layout25x25_P0.8mm", "U1");
    assert_eq!((bga.ball_grid.value, bga.supply.value, bga.accuracy_um.value.0), (true, Supply::Tray, 30));
    assert_eq!(bga.tray_pockets.value, 60, "12 x 5 pockets at 25 mm");
    let (chip, _) = made("R_0603_1608Metric", "R1");
    assert_eq!((chip.speed.value.0, chip.accuracy_um.value.0, chip.supply.value), (100, 80, Supply::Tape));
    assert!(made("RF_Shield_29.8x18.5mm", "SH1").0.shield.value);
    assert!(!made("RFI_SHIELD_CLPS_MINI", "E1").0.shield.value);
}
