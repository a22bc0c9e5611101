//! Colours that people with any colour vision can tell apart, each with a second cue.
//!
//! The eight base colours are those of M. Okabe and K. Ito, "Color Universal Design" (2002,
//! revised 2008); their values are from memory. Where a colour alone would carry the meaning,
//! a hatch ([`Hatch`]) or a label says the same.

use crate::hatch::Hatch;
use crate::scene::Colour;

/// Orange of the base set.
pub const ORANGE: Colour = Colour(0xe6, 0x9f, 0x00);
/// Sky blue of the base set.
pub const SKY: Colour = Colour(0x56, 0xb4, 0xe9);
/// Bluish green of the base set.
pub const GREEN: Colour = Colour(0x00, 0x9e, 0x73);
/// Yellow of the base set.
pub const YELLOW: Colour = Colour(0xf0, 0xe4, 0x42);
/// Blue of the base set.
pub const BLUE: Colour = Colour(0x00, 0x72, 0xb2);
/// Vermilion of the base set.
pub const VERMILION: Colour = Colour(0xd5, 0x5e, 0x00);
/// Reddish purple of the base set.
pub const PURPLE: Colour = Colour(0xcc, 0x79, 0xa7);
/// A grey beside the base set, for what is nobody's choice.
pub const GREY: Colour = Colour(0xa8, 0xad, 0xb4);

/// Main text.
pub const INK: Colour = Colour(0x1c, 0x24, 0x2c);
/// Secondary text.
pub const QUIET: Colour = Colour(0x5b, 0x66, 0x70);
/// Grid lines and outlines.
pub const RULE: Colour = Colour(0xd5, 0xda, 0xdf);
/// Behind everything.
pub const PAPER: Colour = Colour(0xff, 0xff, 0xff);
/// White, on dark fills.
pub const WHITE: Colour = Colour(0xff, 0xff, 0xff);

/// A colour and the hatch over it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Tint {
    /// The colour.
    pub colour: Colour,
    /// The second cue.
    pub hatch: Hatch,
}

const fn tint(colour: Colour, hatch: Hatch) -> Tint {
    Tint { colour, hatch }
}

/// Tints of the causes, in the order of `Breakdown::items`.
const CAUSES: [Tint; 15] = [
    tint(GREY, Hatch::None),
    tint(GREY, Hatch::Rising),
    tint(SKY, Hatch::None),
    tint(YELLOW, Hatch::None),
    tint(YELLOW, Hatch::Rising),
    tint(GREEN, Hatch::None),
    tint(BLUE, Hatch::None),
    tint(ORANGE, Hatch::None),
    tint(GREEN, Hatch::Rising),
    tint(PURPLE, Hatch::None),
    tint(PURPLE, Hatch::Rising),
    tint(VERMILION, Hatch::None),
    tint(ORANGE, Hatch::Rising),
    tint(SKY, Hatch::Rising),
    tint(VERMILION, Hatch::Rising),
];

/// Tint of the cause with this index in `Breakdown::items`.
pub fn cause(index: usize) -> Tint {
    CAUSES[index % CAUSES.len()]
}

/// Colours of stations; yellow is left out, since small bodies in it vanish on white.
const STATIONS: [Colour; 6] = [BLUE, ORANGE, GREEN, PURPLE, SKY, GREY];
const HATCHES: [Hatch; 5] = [Hatch::None, Hatch::Level, Hatch::Rising, Hatch::Upright, Hatch::Falling];

/// Tint of a station; no two of the first thirty are alike, and neighbours differ in both cues.
pub fn station(index: usize) -> Tint {
    tint(STATIONS[index % STATIONS.len()], HATCHES[index % HATCHES.len()])
}

/// Tint of what no station places.
pub const UNPLACED: Tint = tint(VERMILION, Hatch::Cross);

/// Ink that reads well on this fill: white on dark ones.
pub fn ink_on(Colour(r, g, b): Colour) -> Colour {
    // Weights of ITU-R BT.601 luma; the threshold is a matter of taste.
    let luma = 0.299 * f64::from(r) + 0.587 * f64::from(g) + 0.114 * f64::from(b);
    if luma < 130.0 { WHITE } else { INK }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_two_tints_are_alike() {
        let differ = |tints: Vec<Tint>| tints.iter().enumerate().all(|(i, a)| tints[..i].iter().all(|b| a != b));
        assert!(differ((0..15).map(cause).collect()));
        assert!(differ((0..30).map(station).collect()));
    }

    #[test]
    fn dark_fills_take_white_ink() {
        assert_eq!(ink_on(BLUE), WHITE);
        assert_eq!(ink_on(YELLOW), INK);
    }
}
