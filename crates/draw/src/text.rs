//! How wide a text is, and cutting it to a width.
//!
//! Widths are those of DejaVu Sans (its `hmtx` table, thousandths of the letter size), the
//! font the pictures ask for first and the printed sheets embed. Letters outside ASCII are
//! taken wide, so a text is rather cut too early than drawn over its neighbour.

/// Advance widths of U+0020 to U+007E, regular.
const REGULAR: [u16; 95] = [
    318, 401, 460, 838, 636, 950, 780, 275, 390, 390, 500, 838, 318, 361, 318, 337, 636, 636, 636, 636, 636, 636, 636, 636, 636, 636, 337,
    337, 838, 838, 838, 531, 1000, 684, 686, 698, 770, 632, 575, 775, 752, 295, 295, 656, 557, 863, 748, 787, 603, 787, 695, 635, 611, 732,
    684, 989, 685, 611, 685, 390, 337, 390, 838, 500, 500, 613, 635, 550, 635, 615, 352, 635, 634, 278, 278, 579, 278, 974, 634, 612, 635,
    635, 411, 521, 392, 634, 592, 818, 592, 592, 525, 636, 337, 636, 838,
];

/// Advance widths of U+0020 to U+007E, bold.
const BOLD: [u16; 95] = [
    348, 456, 521, 838, 696, 1002, 872, 306, 457, 457, 523, 838, 380, 415, 380, 365, 696, 696, 696, 696, 696, 696, 696, 696, 696, 696, 400,
    400, 838, 838, 838, 580, 1000, 774, 762, 734, 830, 683, 683, 821, 837, 372, 372, 775, 637, 995, 837, 850, 733, 850, 770, 720, 682, 812,
    774, 1103, 771, 724, 725, 457, 365, 457, 838, 500, 500, 675, 716, 593, 716, 678, 435, 716, 712, 343, 343, 665, 343, 1042, 712, 687,
    716, 716, 493, 595, 478, 712, 652, 924, 645, 652, 582, 712, 365, 712, 838,
];

/// Width of a text at this letter size.
///
/// ```
/// assert!((draw::text::width("C12", 10.0, false) - 19.7).abs() < 0.01);
/// ```
pub fn width(text: &str, size: f64, bold: bool) -> f64 {
    text.chars().map(|c| letter(c, bold)).sum::<f64>() * size
}

/// Width of one letter at size 1.
fn letter(c: char, bold: bool) -> f64 {
    let table = if bold { &BOLD } else { &REGULAR };
    match (c as usize).checked_sub(0x20).and_then(|i| table.get(i)) {
        Some(w) => f64::from(*w) / 1000.0,
        None if (c as u32) < 0x250 => 0.78,
        None => 1.1,
    }
}

/// The text, cut with `…` when it is wider than `room`; empty when not even that fits.
///
/// ```
/// assert_eq!(draw::text::fit("RIVER-100", 30.0, 10.0, false), "RIV…");
/// assert_eq!(draw::text::fit("R1", 30.0, 10.0, false), "R1");
/// ```
pub fn fit(text: &str, room: f64, size: f64, bold: bool) -> String {
    if width(text, size, bold) <= room {
        return text.to_owned();
    }
    let room = room - letter('…', bold) * size;
    if room < 0.0 {
        return String::new();
    }
    let mut used = 0.0;
    let kept: String = text
        .chars()
        .take_while(|c| {
            used += letter(*c, bold) * size;
            used <= room
        })
        .collect();
    format!("{}…", kept.trim_end())
}

/// The text in lines no wider than `room`: broken at blanks, after `-`, `/`, `_`, `,` and, where a
/// word alone is too wide, inside the word. Nothing is left out but blanks at the breaks.
pub fn wrap(text: &str, room: f64, size: f64, bold: bool) -> Vec<String> {
    let mut lines = vec![String::new()];
    let mut used = 0.0;
    for piece in pieces(text) {
        let wide = width(piece.trim_end(), size, bold);
        if used > 0.0 && used + wide > room {
            lines.push(String::new());
            used = 0.0;
        }
        if wide <= room {
            push(&mut lines, piece);
            used += width(piece, size, bold);
            continue;
        }
        for c in piece.chars() {
            let w = letter(c, bold) * size;
            if used > 0.0 && used + w > room {
                lines.push(String::new());
                used = 0.0;
            }
            push(&mut lines, c.encode_utf8(&mut [0; 4]));
            used += w;
        }
    }
    lines.iter().map(|l| l.trim_end().to_owned()).collect()
}

fn push(lines: &mut [String], piece: &str) {
    if let Some(last) = lines.last_mut() {
        last.push_str(piece);
    }
}

/// Stretches between which a line may be broken.
fn pieces(text: &str) -> impl Iterator<Item = &str> {
    text.split_inclusive([' ', '\t', '\n', '-', '/', '_', ','])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn wrapping_keeps_every_letter() {
        let text = "River gauge RG-7, a very_long_part_number_without_any_blank 0123456789012345678901234567890";
        let lines = wrap(text, 60.0, 10.0, false);
        let bare = |s: &str| s.replace(' ', "");
        assert_eq!(bare(&lines.concat()), bare(text));
        assert!(lines.iter().all(|l| width(l, 10.0, false) <= 60.0), "{lines:?}");
    }

    #[test]
    fn a_narrow_column_still_ends() {
        assert_eq!(wrap("abc", 0.1, 10.0, false), ["a", "b", "c"]);
        assert_eq!(wrap("", 10.0, 10.0, false), [""]);
    }
}
