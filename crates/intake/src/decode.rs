//! Bytes to text: the encoding is found, never asked for.
//!
//! A byte-order mark decides; then valid UTF-8; then UTF-16 without a mark, told by its
//! zero bytes; the rest is left to the statistics of `chardetng`. What is no text at all
//! (zero bytes, control characters) is refused.

use chardetng::{EncodingDetector, Iso2022JpDetection, Utf8Detection};
use encoding_rs::{Encoding, UTF_8, UTF_16BE, UTF_16LE, WINDOWS_1252};
use std::borrow::Cow;

/// Text and how it was encoded.
#[derive(Debug)]
pub(crate) struct Decoded<'a> {
    pub(crate) text: Cow<'a, str>,
    pub(crate) encoding: &'static Encoding,
    /// Whether the encoding was only inferred.
    pub(crate) inferred: bool,
    /// Whether some bytes made no sense in it and were replaced.
    pub(crate) damaged: bool,
}

/// Bytes looked at to tell text from anything else; enough for any header.
const SAMPLE: usize = 64 * 1024;

/// The text in `bytes`, or `None` when they are no text.
pub(crate) fn decode(bytes: &[u8]) -> Option<Decoded<'_>> {
    let (encoding, inferred) = match Encoding::for_bom(bytes) {
        Some((encoding, _)) => (encoding, false),
        None => guess(bytes)?,
    };
    let (text, encoding, damaged) = encoding.decode(bytes);
    (!has_control_characters(&text)).then_some(Decoded { text, encoding, inferred, damaged })
}

fn guess(bytes: &[u8]) -> Option<(&'static Encoding, bool)> {
    let sample = &bytes[..bytes.len().min(SAMPLE)];
    if sample.contains(&0) {
        return utf16_without_mark(sample).map(|e| (e, true));
    }
    if std::str::from_utf8(bytes).is_ok() {
        return Some((UTF_8, false));
    }
    if only_single_signs(bytes) {
        return Some((WINDOWS_1252, true));
    }
    let mut detector = EncodingDetector::new(Iso2022JpDetection::Deny);
    detector.feed(bytes, true);
    Some((detector.guess(None, Utf8Detection::Deny), true))
}

/// Whether no two bytes beyond ASCII touch: signs such as µ, ° and ± among plain text. Statistics
/// have too little to go by there, and a writing of two-byte or Cyrillic letters forms runs.
fn only_single_signs(bytes: &[u8]) -> bool {
    bytes.windows(2).all(|w| w[0].is_ascii() || w[1].is_ascii())
}

/// Tables are mostly ASCII, so in UTF-16 nearly every other byte is zero.
fn utf16_without_mark(sample: &[u8]) -> Option<&'static Encoding> {
    let zeros = |offset: usize| sample.iter().skip(offset).step_by(2).filter(|b| **b == 0).count();
    let (even, odd, half) = (zeros(0), zeros(1), sample.len() / 2);
    match (even * 10, odd * 10) {
        (e, o) if o >= half * 6 && e <= half => Some(UTF_16LE),
        (e, o) if e >= half * 6 && o <= half => Some(UTF_16BE),
        _ => None,
    }
}

/// More than one control character in a hundred means binary data.
fn has_control_characters(text: &str) -> bool {
    let (mut all, mut control) = (0_usize, 0_usize);
    for c in text.chars().take(SAMPLE) {
        all += 1;
        control += usize::from(c.is_control() && !matches!(c, '\n' | '\r' | '\t' | '\u{c}' | '\u{1a}'));
    }
    control * 100 > all
}

#[cfg(test)]
mod tests {
    use super::*;

    fn text(bytes: &[u8]) -> String {
        decode(bytes).map(|d| d.text.into_owned()).unwrap_or_default()
    }

    #[test]
    fn every_encoding_gives_the_same_text() {
        let plain = "Ref;Val;X\nC1;10µF;1\nC2;4k7;2\n";
        let wide = |le: bool| plain.encode_utf16().flat_map(|u| if le { u.to_le_bytes() } else { u.to_be_bytes() }).collect::<Vec<u8>>();
        let latin: Vec<u8> = plain.chars().map(|c| c as u8).collect();
        for bytes in [plain.as_bytes().to_vec(), wide(true), wide(false), latin] {
            assert_eq!(text(&bytes), plain);
        }
        assert_eq!(text(&[&[0xff, 0xfe][..], &wide(true)].concat()), plain);
    }

    #[test]
    fn binary_data_is_refused() {
        let noise: Vec<u8> = (0..4_000_u32).map(|i| (i.wrapping_mul(2_654_435_761) >> 13) as u8).collect();
        assert!(decode(&noise).is_none());
    }
}
