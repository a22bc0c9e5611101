//! The codes of chips: inch code, metric code, body.
//!
//! Inch and metric codes up to 2512 and their bodies: IEC/EIA chip sizes as tabulated
//! in makers' sheets (checked in `tests/parts_reference.rs`). Lines marked "memory"
//! are from memory.

/// One chip size.
pub(super) struct Code {
    pub(super) inch: &'static str,
    pub(super) metric: &'static str,
    /// Along the terminals' axis [µm].
    pub(super) length: i64,
    /// Across it [µm].
    pub(super) width: i64,
    /// Height of a resistor [µm]; 0 when not known.
    pub(super) resistor: i64,
    /// Height of a capacitor [µm], at the tall end of what is common.
    pub(super) capacitor: i64,
}

const fn code(inch: &'static str, metric: &'static str, length: i64, width: i64, resistor: i64, capacitor: i64) -> Code {
    Code { inch, metric, length, width, resistor, capacitor }
}

pub(super) const CODES: &[Code] = &[
    code("008004", "0201", 250, 125, 100, 125), // memory
    code("01005", "0402", 400, 200, 130, 200),
    code("0201", "0603", 600, 300, 230, 300),
    code("0402", "1005", 1_000, 500, 350, 500),
    code("0404", "1010", 1_000, 1_000, 350, 600), // memory
    code("0603", "1608", 1_600, 800, 450, 800),
    code("0606", "1616", 1_600, 1_600, 450, 800), // memory
    code("0805", "2012", 2_000, 1_200, 500, 1_250),
    code("0806", "2016", 2_000, 1_600, 500, 1_250), // memory
    code("1008", "2520", 2_500, 2_000, 550, 1_200),
    code("1111", "2828", 2_800, 2_800, 550, 1_600), // memory
    code("1206", "3216", 3_200, 1_600, 550, 1_600),
    code("1210", "3225", 3_200, 2_500, 550, 2_500),
    code("1806", "4516", 4_500, 1_600, 550, 1_600), // memory
    code("1808", "4520", 4_500, 2_000, 550, 2_000), // memory
    code("1812", "4532", 4_500, 3_200, 550, 2_500),
    code("1825", "4564", 4_600, 6_300, 550, 2_500),
    code("2010", "5025", 5_000, 2_500, 600, 2_500),
    code("2220", "5750", 5_700, 5_000, 600, 2_800),
    code("2225", "5763", 5_720, 6_350, 600, 2_800),
    code("2512", "6332", 6_300, 3_200, 600, 2_800),
    code("2512", "6432", 6_400, 3_200, 600, 2_800), // memory
    code("2726", "6966", 6_900, 6_600, 900, 2_800), // memory
    code("2816", "7142", 7_100, 4_200, 600, 2_800),
    code("3920", "1052", 10_000, 5_200, 900, 2_800), // memory
    // Terminals on the long sides (memory).
    code("0204", "0510", 500, 1_000, 350, 350),
    code("0306", "0816", 800, 1_600, 450, 500),
    code("0406", "1016", 1_000, 1_600, 450, 500),
    code("0508", "1220", 1_250, 2_000, 500, 850),
    code("0612", "1632", 1_600, 3_200, 550, 850),
    code("1020", "2550", 2_500, 5_000, 600, 1_000),
    code("1225", "3264", 3_200, 6_400, 600, 1_000),
];

/// The code read as an inch code.
pub(super) fn inch(text: &str) -> Option<&'static Code> {
    CODES.iter().find(|c| c.inch == text)
}

/// The code read as a metric code.
pub(super) fn metric(text: &str) -> Option<&'static Code> {
    CODES.iter().find(|c| c.metric == text)
}

/// Both bodies of a bare code that inch and metric systems share: inch reading, metric reading [mm], for messages.
pub fn bare_code_sizes(code: &str) -> Option<(String, String)> {
    let shown = |c: &Code| format!("{} x {} mm", c.length as f64 / 1e3, c.width as f64 / 1e3);
    Some((shown(inch(code)?), shown(metric(code)?)))
}
