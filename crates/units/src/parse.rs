//! Reading and printing numbers with a unit.

use std::fmt;

/// One way to write a quantity: a unit and how many base units it holds.
pub(crate) struct Scale {
    pub(crate) unit: &'static str,
    pub(crate) factor: f64,
}

impl Scale {
    pub(crate) const fn new(unit: &'static str, factor: f64) -> Self {
        Self { unit, factor }
    }
}

/// Why a text is not a quantity.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ParseError {
    /// What was asked for and what to write instead.
    message: String,
}

impl fmt::Display for ParseError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}

impl std::error::Error for ParseError {}

/// Largest magnitude read, in base units: a thousand kilometres, or eleven days.
/// It keeps every sum of the clock far inside 64 bits.
const LIMIT: f64 = 1e12;

pub(crate) fn parse_scaled(text: &str, what: &str, scales: &[Scale]) -> Result<i64, ParseError> {
    let text = text.trim();
    let split = text
        .char_indices()
        .find(|(i, c)| !(c.is_ascii_digit() || matches!(c, '.' | '+' | '-') || is_exponent(text, *i, *c)))
        .map_or(text.len(), |(i, _)| i);
    let (number, unit) = (text[..split].trim(), text[split..].trim());
    let units = || scales.iter().map(|s| s.unit).collect::<Vec<_>>().join(", ");
    let value: f64 =
        number.parse().map_err(|_| ParseError { message: format!("`{text}` is not a {what}: write a number and a unit ({})", units()) })?;
    if unit.is_empty() {
        return Err(ParseError { message: format!("`{text}` has no unit: write one of {}", units()) });
    }
    let scale = scales
        .iter()
        .find(|s| s.unit == unit)
        .ok_or_else(|| ParseError { message: format!("`{unit}` is not a unit of {what}: write one of {}", units()) })?;
    let base = value * scale.factor;
    if !base.is_finite() || base.abs() > LIMIT {
        return Err(ParseError { message: format!("`{text}` is out of range for a {what}") });
    }
    Ok(base.round() as i64)
}

/// `e` belongs to a number only between a digit and a digit or sign.
fn is_exponent(text: &str, at: usize, c: char) -> bool {
    let (before, after) = (&text[..at], &text[at + c.len_utf8()..]);
    matches!(c, 'e' | 'E')
        && before.ends_with(|b: char| b.is_ascii_digit())
        && after.starts_with(|a: char| a.is_ascii_digit() || a == '-' || a == '+')
}

pub(crate) fn print_scaled(base: i64, scale: &Scale) -> String {
    format!("{} {}", base as f64 / scale.factor, scale.unit)
}
