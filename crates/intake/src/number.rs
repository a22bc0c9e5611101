//! Numbers as lists hold them: decimal point or comma, a unit glued to them or not.

/// Unit of the coordinates of a list.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) enum Unit {
    Mm,
    Mil,
    Inch,
    Um,
}

impl Unit {
    pub(crate) const ALL: [Self; 4] = [Self::Mm, Self::Mil, Self::Inch, Self::Um];

    /// How many micrometres one of it is.
    pub(crate) const fn um(self) -> f64 {
        match self {
            Self::Mm => 1_000.0,
            Self::Mil => 25.4,
            Self::Inch => 25_400.0,
            Self::Um => 1.0,
        }
    }

    /// The word used in messages and in the mapping file.
    pub(crate) const fn word(self) -> &'static str {
        match self {
            Self::Mm => "mm",
            Self::Mil => "mil",
            Self::Inch => "inch",
            Self::Um => "um",
        }
    }

    /// The unit a word names, in the languages lists are written in.
    pub(crate) fn from_word(word: &str) -> Option<Self> {
        Some(match word.trim_end_matches('.').to_lowercase().as_str() {
            "mm" | "millimeter" | "millimeters" | "millimetre" | "millimetres" | "metric" | "мм" | "毫米" => Self::Mm,
            "mil" | "mils" | "thou" | "thous" => Self::Mil,
            "in" | "inch" | "inches" | "zoll" | "imperial" | "\"" | "дюйм" | "pouce" | "pouces" => Self::Inch,
            "um" | "µm" | "μm" | "micron" | "microns" | "micrometer" | "micrometers" | "micrometre" | "мкм" => Self::Um,
            _ => return None,
        })
    }
}

/// A number and the unit glued to it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Number {
    pub(crate) value: f64,
    pub(crate) unit: Option<Unit>,
    /// Digits behind the decimal sign.
    pub(crate) decimals: u8,
}

/// Reads `12.5`, `-3,25`, `24.4mm`, `1611 mil`; anything else, infinities included, is none.
pub(crate) fn number(text: &str) -> Option<Number> {
    let text = text.trim().trim_matches(['"', '\'']).trim();
    let is_digit_part = |c: char| c.is_ascii_digit() || matches!(c, '.' | ',' | '+' | '-' | '\u{2212}');
    let mut end = text.find(|c| !is_digit_part(c)).unwrap_or(text.len());
    if let Some(exponent) = exponent_length(&text[end..])
        && text[..end].ends_with(|c: char| c.is_ascii_digit() || c == '.')
    {
        end += exponent;
    }
    let (digits, unit) = (&text[..end], text[end..].trim().trim_end_matches('°').trim());
    let unit = if unit.is_empty() { None } else { Some(Unit::from_word(unit)?) };
    let plain = with_decimal_point(&digits.replace('\u{2212}', "-"))?;
    let value: f64 = plain.parse().ok().filter(|v: &f64| v.is_finite())?;
    let decimals = plain.split_once('.').map_or(0, |(_, d)| d.bytes().take_while(u8::is_ascii_digit).count().min(9) as u8);
    Some(Number { value, unit, decimals })
}

/// Length of `e+05` at the start of `text`.
fn exponent_length(text: &str) -> Option<usize> {
    let rest = text.strip_prefix(['e', 'E'])?;
    let digits = rest.trim_start_matches(['+', '-']);
    let count = digits.bytes().take_while(u8::is_ascii_digit).count();
    (count > 0 && rest.len() - digits.len() <= 1).then_some(1 + rest.len() - digits.len() + count)
}

/// A lone comma is a decimal comma; with both signs the last one is the decimal sign.
fn with_decimal_point(digits: &str) -> Option<String> {
    match (digits.rfind('.'), digits.rfind(',')) {
        (_, None) => Some(digits.to_owned()),
        (None, Some(_)) if digits.matches(',').count() == 1 => Some(digits.replace(',', ".")),
        (Some(point), Some(comma)) if comma > point => Some(digits.replace('.', "").replace(',', ".")),
        (Some(_), Some(_)) => Some(digits.replace(',', "")),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_of_all_writings() {
        let value = |t: &str| number(t).map(|n| (n.value, n.unit));
        assert_eq!(value("12.5"), Some((12.5, None)));
        assert_eq!(value("-3,25"), Some((-3.25, None)));
        assert_eq!(value("24.4mm"), Some((24.4, Some(Unit::Mm))));
        assert_eq!(value(" 1611 mil"), Some((1611.0, Some(Unit::Mil))));
        assert_eq!(value("1.5E+02"), Some((150.0, None)));
        assert_eq!(value("1.234,5"), Some((1234.5, None)));
        assert_eq!(value("90.00°"), Some((90.0, None)));
        for bad in ["", "NaN", "inf", "1e999", "C1", "1.2.3", "--", "12 apples", "1e"] {
            assert_eq!(number(bad), None, "{bad}");
        }
    }
}
