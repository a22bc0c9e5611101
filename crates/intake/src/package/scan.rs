//! A package name taken apart into words and numbers.
//!
//! Every number becomes whole micrometres. Decimals are written with a point, with a
//! `D` or `P` between digits (`0D5`), or, in names that write `MM` in capitals, with an
//! underscore (`3_5X3_5X1MM`).

/// A name, in capitals, and its words.
pub(super) struct Name {
    /// The whole name in capitals, without a library prefix.
    pub(super) text: String,
    /// Pieces between separators; a point between digits is no separator.
    pub(super) words: Vec<String>,
    /// Letters and digits only.
    pub(super) compact: String,
    /// Whether it writes `MM` in capitals, and with it underscores for decimal points.
    capital_mm: bool,
}

impl Name {
    pub(super) fn new(name: &str) -> Self {
        // `library:name` is how some tools qualify a name.
        let own = name.trim().rsplit(':').next().unwrap_or_default();
        // Names are short; a page of text in the column is no name to search through.
        let text: String = own.chars().take(200).map(|c| if c == '×' { 'X' } else { c.to_ascii_uppercase() }).collect();
        let words = words(&text);
        let compact = text.chars().filter(char::is_ascii_alphanumeric).collect();
        Self { text, words, compact, capital_mm: own.ends_with("MM") || own.contains("MM_") }
    }

    /// Whether one of these words stands in the name.
    pub(super) fn has_word(&self, any: &[&str]) -> bool {
        self.words.iter().any(|w| any.contains(&w.as_str()))
    }

    /// Whether one of these runs of letters and digits stands anywhere in the name.
    pub(super) fn holds(&self, any: &[&str]) -> bool {
        any.iter().any(|piece| self.compact.contains(piece))
    }

    /// The value of the first word that is `key` followed by a decimal number, such as `P0.5MM` [µm].
    pub(super) fn field(&self, key: &str) -> Option<i64> {
        self.words.iter().find_map(|word| {
            let rest = word.strip_prefix(key)?;
            let (um, rest) = decimal(rest)?;
            (rest.is_empty() || rest == "MM").then_some(um)
        })
    }
}

fn words(text: &str) -> Vec<String> {
    let chars: Vec<char> = text.chars().collect();
    let mut words = vec![String::new()];
    for (i, &c) in chars.iter().enumerate() {
        let between_digits = c == '.'
            && i.checked_sub(1).and_then(|j| chars.get(j)).is_some_and(char::is_ascii_digit)
            && chars.get(i + 1).is_some_and(char::is_ascii_digit);
        match words.last_mut() {
            Some(word) if c.is_ascii_alphanumeric() || between_digits => word.push(c),
            _ => words.push(String::new()),
        }
    }
    words.retain(|w| !w.is_empty());
    words
}

/// Splits leading letters off a word.
pub(super) fn letters(word: &str) -> (&str, &str) {
    word.split_at(word.find(|c: char| !c.is_ascii_alphabetic()).unwrap_or(word.len()))
}

/// Splits leading digits off a word.
pub(super) fn digits(word: &str) -> (&str, &str) {
    word.split_at(word.find(|c: char| !c.is_ascii_digit()).unwrap_or(word.len()))
}

/// A count of pins at the start of a word, and what follows.
pub(super) fn count(word: &str) -> Option<(u32, &str)> {
    let (number, rest) = digits(word);
    let count = number.parse().ok().filter(|n| (1..=3_000).contains(n))?;
    Some((count, rest))
}

/// A decimal number of millimetres at the start of a text, in µm, and what follows.
pub(super) fn decimal(text: &str) -> Option<(i64, &str)> {
    let (whole, rest) = digits(text);
    let fraction = rest.strip_prefix('.').map(digits).filter(|(f, _)| !f.is_empty());
    let (fraction, rest) = fraction.unwrap_or(("", rest));
    Some((micrometres(whole, fraction)?, rest))
}

/// Millimetres written as whole part and fraction, in µm; `None` beyond 9999 mm.
fn micrometres(whole: &str, fraction: &str) -> Option<i64> {
    if whole.is_empty() || whole.len() > 4 || fraction.len() > 6 {
        return None;
    }
    let whole: i64 = whole.parse().ok()?;
    let thousandths: i64 = format!("{fraction:0<3}").get(..3)?.parse().ok()?;
    Some(whole * 1_000 + thousandths)
}

/// A whole word such as `0D5`, with `D` for the decimal point [µm].
pub(super) fn d_decimal(word: &str) -> Option<i64> {
    let (whole, fraction) = word.split_once('D')?;
    let short = |s: &str| (1..=2).contains(&s.len()) && s.bytes().all(|b| b.is_ascii_digit());
    (short(whole) && short(fraction)).then(|| micrometres(whole, fraction))?
}

/// Sizes written as `A x B [x C]`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Sizes {
    pub(super) a: i64,
    pub(super) b: i64,
    pub(super) c: Option<i64>,
    /// Whether a unit or a decimal says that these are millimetres, rather than rows by columns.
    pub(super) in_mm: bool,
}

/// The first `A x B [x C]` of a name that is no exposed pad, land, or layout.
pub(super) fn sizes(name: &Name) -> Option<Sizes> {
    let text = &name.text;
    if let Some(square) = square(text) {
        return Some(square);
    }
    let capital_mm = name.capital_mm;
    text.match_indices('X').find_map(|(at, _)| {
        let (a, start) = number_before(text.get(..at)?, capital_mm)?;
        let ahead = text.get(..start)?;
        if ["EP", "PAD", "LAYOUT", "BALL"].iter().any(|key| ahead.ends_with(key)) {
            return None;
        }
        let (b, rest) = number_after(text.get(at + 1..)?, capital_mm)?;
        let (c, rest) = match rest.trim_start_matches("MM").strip_prefix('X').and_then(|r| number_after(r, capital_mm)) {
            Some((c, rest)) => (Some(c.um), rest),
            None => (None, rest),
        };
        let in_mm = a.fraction || b.fraction || rest.starts_with("MM") || rest.starts_with(" MM") || ahead.ends_with("MM");
        let a = if a.joined && a.um > 3 * b.um { a.unjoined } else { a.um };
        Some(Sizes { a, b: b.um, c, in_mm })
    })
}

/// `300SQX130`: a square body and its height.
fn square(text: &str) -> Option<Sizes> {
    let (ahead, rest) = text.split_once("SQX")?;
    let side = ahead.get(ahead.len() - trailing_digits(ahead)..)?;
    let side = micrometres(side, "")?;
    Some(Sizes { a: side, b: side, c: micrometres(digits(rest).0, ""), in_mm: false })
}

struct Number {
    um: i64,
    fraction: bool,
    /// Whether an underscore was taken as the decimal sign; then the number without it.
    joined: bool,
    unjoined: i64,
}

/// The number that ends a text, and where it starts.
fn number_before(text: &str, capital_mm: bool) -> Option<(Number, usize)> {
    let text = text.strip_suffix("MM").unwrap_or(text).trim_end();
    let last = text.len() - trailing_digits(text);
    let fraction = text.get(last..)?;
    let plain = || Some((Number { um: micrometres(fraction, "")?, fraction: false, joined: false, unjoined: 0 }, last));
    let Some(sign) = text.get(..last)?.chars().next_back().filter(|c| is_decimal_sign(*c, capital_mm)) else {
        return plain();
    };
    let before = text.get(..last - sign.len_utf8())?;
    let first = before.len() - trailing_digits(before);
    let whole = before.get(first..)?;
    let bounded = !before.get(..first)?.ends_with(|c: char| c.is_ascii_alphanumeric());
    if whole.is_empty() || (sign != '.' && (whole.len() > 2 || fraction.len() > 2 || !bounded)) {
        return plain();
    }
    let unjoined = micrometres(fraction, "").unwrap_or_default();
    Some((Number { um: micrometres(whole, fraction)?, fraction: true, joined: sign == '_', unjoined }, first))
}

/// The number a text starts with, and what follows.
fn number_after(text: &str, capital_mm: bool) -> Option<(Number, &str)> {
    let (whole, rest) = digits(text.trim_start());
    if let Some(sign) = rest.chars().next().filter(|c| is_decimal_sign(*c, capital_mm)) {
        let (fraction, after) = digits(rest.get(1..)?);
        // `4X4_0D5`: the digits after the underscore begin another number.
        let ends = sign == '.' || (whole.len() <= 2 && !after.starts_with(['D', 'P', '.']));
        if !fraction.is_empty() && fraction.len() <= 3 && ends {
            return Some((Number { um: micrometres(whole, fraction)?, fraction: true, joined: false, unjoined: 0 }, after));
        }
    }
    Some((Number { um: micrometres(whole, "")?, fraction: false, joined: false, unjoined: 0 }, rest))
}

fn is_decimal_sign(c: char, capital_mm: bool) -> bool {
    matches!(c, '.' | 'D' | 'P') || (c == '_' && capital_mm)
}

fn trailing_digits(text: &str) -> usize {
    text.len() - text.trim_end_matches(|c: char| c.is_ascii_digit()).len()
}
