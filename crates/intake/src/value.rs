//! Compares electrical values as they are written: `4k7` and `4.7kOhm` are one value.

/// Whether two values of a resistor, capacitor or inductor contradict each other. What
/// cannot be read as a quantity never does.
pub(crate) fn differ(reference: &str, a: &str, b: &str) -> bool {
    let prefix: String = reference.chars().take_while(|c| c.is_alphabetic()).collect();
    if !matches!(prefix.as_str(), "R" | "C" | "L") {
        return false;
    }
    match (quantity(a), quantity(b)) {
        (Some(x), Some(y)) => (x - y).abs() > 0.001 * x.abs().max(y.abs()),
        _ => false,
    }
}

/// The first quantity of a text, in ohms, farads or henries.
fn quantity(text: &str) -> Option<f64> {
    let word = text.split([' ', ',', '/', ';']).next()?;
    let digits = word.find(|c: char| !(c.is_ascii_digit() || c == '.')).unwrap_or(word.len());
    let (number, rest) = word.split_at(digits);
    let whole: f64 = number.parse().ok()?;
    let mut letters = rest.chars();
    let factor = match letters.next() {
        None => return Some(whole),
        Some('p') => 1e-12,
        Some('n') => 1e-9,
        Some('u' | 'µ' | 'μ') => 1e-6,
        Some('m') => 1e-3,
        Some('k' | 'K') => 1e3,
        Some('M') => 1e6,
        Some('R' | 'r' | '\u{3a9}' | '\u{2126}' | 'o' | 'O' | 'F' | 'H') => 1.0,
        Some(_) => return None,
    };
    // `4k7`: digits behind the letter are decimals.
    let behind: String = letters.take_while(char::is_ascii_digit).collect();
    let value = if behind.is_empty() { whole } else { format!("{number}.{behind}").parse().ok()? };
    Some(value * factor)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn writings_of_one_value() {
        for (a, b) in [("4k7", "4.7kOhm"), ("100n", "0.1uF"), ("10u,50V", "10uF 50V"), ("5m", "0.005R"), ("CAP_0603", "10n"), ("", "1k")] {
            assert!(!differ("R1", a, b), "{a} {b}");
        }
        assert!(differ("C1", "10n", "100nF"));
        assert!(!differ("U1", "10n", "100nF"));
    }
}
