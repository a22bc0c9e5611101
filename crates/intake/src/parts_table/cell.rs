//! One cell: text to value and back, with limits.

use super::column::Refusal;
use domain::part::{Moisture, Mount, NozzleClass, Quadrant, SpeedPercent, Supply};
use units::Length;

/// What a column's cells may hold.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Limits {
    /// Unit of the header, empty for words and counts.
    pub(super) unit: &'static str,
    /// How many base units one of the header's units holds.
    pub(super) scale: i64,
    /// Smallest and largest value, in base units.
    pub(super) range: (i64, i64),
}

/// A value that a cell can hold.
pub(crate) trait Cell: Sized + Clone + PartialEq {
    /// The text of the cell as a value.
    fn read(text: &str, limits: &Limits) -> Result<Self, Refusal>;
    /// The value as the cell shows it.
    fn shown(&self, limits: &Limits) -> String;
}

impl Cell for Length {
    fn read(text: &str, limits: &Limits) -> Result<Self, Refusal> {
        let refusal = || Refusal::Unreadable(format!("write a number of {}, such as 1.6", limits.unit));
        let has_unit = text.ends_with(|c: char| c.is_alphabetic());
        let length = if has_unit {
            text.parse::<Length>().map_err(|e| Refusal::Unreadable(e.to_string()))?
        } else {
            let number: f64 = decimal(text).ok_or_else(refusal)?;
            Length((number * limits.scale as f64).round() as i64)
        };
        let number = in_range(length.0, limits)?;
        Ok(Length(number))
    }

    fn shown(&self, limits: &Limits) -> String {
        (self.0 as f64 / limits.scale as f64).to_string()
    }
}

/// A number with a decimal point, or with one decimal comma that cannot part thousands.
fn decimal(text: &str) -> Option<f64> {
    let plain = |t: &str| t.bytes().all(|b| b.is_ascii_digit() || matches!(b, b'.' | b'-' | b'+'));
    let text = match text.split_once(',') {
        Some((whole, fraction)) if fraction.len() != 3 && !fraction.contains(',') && !text.contains('.') => format!("{whole}.{fraction}"),
        Some(_) => return None,
        None => text.to_owned(),
    };
    plain(&text).then(|| text.parse().ok())?
}

fn in_range(value: i64, limits: &Limits) -> Result<i64, Refusal> {
    let (low, high) = limits.range;
    if (low..=high).contains(&value) {
        return Ok(value);
    }
    let shown = |v: i64| (v as f64 / limits.scale as f64).to_string();
    let unit = if limits.unit.is_empty() { String::new() } else { format!(" {}", limits.unit) };
    Err(Refusal::OutOfRange(format!("write {} to {}{unit}", shown(low), shown(high))))
}

fn whole(text: &str, limits: &Limits) -> Result<i64, Refusal> {
    // Spreadsheets like to print `100.0` and `100%`.
    let text = text.strip_suffix('%').map_or(text, str::trim_end);
    let text = text.strip_suffix(".0").unwrap_or(text);
    let number = text.parse().map_err(|_| Refusal::Unreadable("write a whole number".to_owned()))?;
    in_range(number, limits)
}

impl Cell for u32 {
    fn read(text: &str, limits: &Limits) -> Result<Self, Refusal> {
        u32::try_from(whole(text, limits)?).map_err(|e| Refusal::Unreadable(e.to_string()))
    }
    fn shown(&self, _: &Limits) -> String {
        self.to_string()
    }
}

impl Cell for u8 {
    fn read(text: &str, limits: &Limits) -> Result<Self, Refusal> {
        u8::try_from(whole(text, limits)?).map_err(|e| Refusal::Unreadable(e.to_string()))
    }
    fn shown(&self, _: &Limits) -> String {
        self.to_string()
    }
}

impl Cell for SpeedPercent {
    fn read(text: &str, limits: &Limits) -> Result<Self, Refusal> {
        u8::read(text, limits).map(SpeedPercent)
    }
    fn shown(&self, _: &Limits) -> String {
        self.0.to_string()
    }
}

impl Cell for bool {
    fn read(text: &str, _: &Limits) -> Result<Self, Refusal> {
        match text.to_ascii_lowercase().as_str() {
            "yes" | "true" | "1" => Ok(true),
            "no" | "false" | "0" => Ok(false),
            _ => Err(Refusal::Unreadable("write yes or no".to_owned())),
        }
    }
    fn shown(&self, _: &Limits) -> String {
        if *self { "yes" } else { "no" }.to_owned()
    }
}

impl Cell for Quadrant {
    fn read(text: &str, limits: &Limits) -> Result<Self, Refusal> {
        let digit = text.strip_prefix(['Q', 'q']).unwrap_or(text);
        u8::read(digit, limits).map(Quadrant)
    }
    fn shown(&self, _: &Limits) -> String {
        self.0.to_string()
    }
}

/// Empty while nothing is known.
impl<T: Cell> Cell for Option<T> {
    fn read(text: &str, limits: &Limits) -> Result<Self, Refusal> {
        T::read(text, limits).map(Some)
    }
    fn shown(&self, limits: &Limits) -> String {
        self.as_ref().map_or_else(String::new, |value| value.shown(limits))
    }
}

/// Part numbers, with semicolons between them.
impl Cell for Vec<String> {
    fn read(text: &str, _: &Limits) -> Result<Self, Refusal> {
        let numbers: Vec<String> = text.split(';').map(str::trim).filter(|n| !n.is_empty()).map(str::to_owned).collect();
        if numbers.is_empty() {
            Err(Refusal::Unreadable("write part numbers with semicolons between them".to_owned()))
        } else {
            Ok(numbers)
        }
    }
    fn shown(&self, _: &Limits) -> String {
        self.join("; ")
    }
}

macro_rules! word_cells {
    ($($word:ty),*) => {$(
        impl Cell for $word {
            fn read(text: &str, _: &Limits) -> Result<Self, Refusal> {
                Self::from_word(&text.to_ascii_lowercase()).ok_or_else(|| {
                    let words: Vec<&str> = Self::ALL.iter().map(|w| w.word()).collect();
                    Refusal::Unreadable(format!("write one of {}", words.join(", ")))
                })
            }
            fn shown(&self, _: &Limits) -> String {
                self.word().to_owned()
            }
        }
    )*};
}
word_cells!(Mount, Supply, NozzleClass, Moisture);
