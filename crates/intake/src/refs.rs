//! Lists of reference designators: `C1, C3-5 (note 2)` → C1, C3, C4, C5.
//!
//! Whether a word is a reference is settled by the placement list where it names it;
//! otherwise it must look like one: letters, then a digit.

use std::collections::HashSet;

/// References a range may span; longer ones are taken for something else.
const MAX_RANGE: u32 = 1_000;

/// The references of `cell`, or `None` when it holds anything else.
pub(crate) fn references(cell: &str, known: &HashSet<&str>) -> Option<Vec<String>> {
    let text = without_notes(cell);
    let mut found: Vec<String> = Vec::new();
    for token in text.split(|c: char| c.is_whitespace() || matches!(c, ',' | ';' | '+' | '&')).filter(|t| !t.is_empty()) {
        add(token, known, &mut found)?;
    }
    (!found.is_empty()).then_some(found)
}

/// Without notes in brackets, and with ranges drawn together (`C1 - C4`, `C1 to C4` → `C1-C4`).
fn without_notes(cell: &str) -> String {
    let mut text = String::with_capacity(cell.len());
    let mut depth = 0_usize;
    for c in cell.chars() {
        match c {
            '(' | '[' => depth += 1,
            ')' | ']' => depth = depth.saturating_sub(1),
            '\u{200e}' | '\u{feff}' => {}
            '–' | '—' | '…' if depth == 0 => text.push('-'),
            _ if depth == 0 => text.push(c),
            _ => {}
        }
    }
    let text = text.replace("...", "-").replace("..", "-").replace(" to ", "-");
    if text.contains("- ") || text.contains(" -") { text.replace(" - ", "-").replace("- ", "-").replace(" -", "-") } else { text }
}

fn add(token: &str, known: &HashSet<&str>, found: &mut Vec<String>) -> Option<()> {
    if known.contains(token) {
        found.push(token.to_owned());
        return Some(());
    }
    if let Some(range) = range(token) {
        found.extend(range);
        return Some(());
    }
    // `C32, 34`: a bare number continues the one before.
    if token.bytes().all(|b| b.is_ascii_digit())
        && let Some(prefix) = found.last().and_then(|last| split(last)).map(|(prefix, _)| prefix.to_owned())
    {
        found.push(prefix + token);
        return Some(());
    }
    let bare = token.trim_end_matches(['*', '.', ':', '!']);
    if known.contains(bare) || is_reference(bare) {
        found.push(bare.to_owned());
        return Some(());
    }
    None
}

/// `C4-C7` or `C4-7`, ascending, one prefix.
fn range(token: &str) -> Option<Vec<String>> {
    let (from, to) = token.split_once('-')?;
    let (prefix, first) = split(from)?;
    let last = match split(to) {
        Some((other, last)) if other.eq_ignore_ascii_case(prefix) => last,
        None if !to.is_empty() && to.bytes().all(|b| b.is_ascii_digit()) => to.parse().ok()?,
        _ => return None,
    };
    (last > first && last - first <= MAX_RANGE).then(|| (first..=last).map(|n| format!("{prefix}{n}")).collect())
}

/// Letters in front and the number behind them, nothing after.
fn split(reference: &str) -> Option<(&str, u32)> {
    let at = reference.find(|c: char| c.is_ascii_digit())?;
    let (prefix, digits) = reference.split_at(at);
    let letters = !prefix.is_empty() && prefix.chars().all(|c| c.is_alphabetic() || c == '_');
    if letters && digits.len() <= 6 { Some((prefix, digits.parse().ok()?)) } else { None }
}

/// Whether a word looks like a reference designator: up to eight letters, then a digit, short.
pub(crate) fn is_reference(word: &str) -> bool {
    let letters = word.chars().take_while(|c| c.is_alphabetic() || *c == '_').count();
    let rest: Vec<char> = word.chars().skip(letters).collect();
    (1..=8).contains(&letters)
        && rest.first().is_some_and(char::is_ascii_digit)
        && rest.len() <= 8
        && rest.iter().all(|c| c.is_ascii_alphanumeric() || matches!(c, '_' | '.' | ':' | '-' | '/' | '@'))
}

/// Sorts references as people do: C2 before C10.
pub(crate) fn natural_key(reference: &str) -> (String, u64, String) {
    let at = reference.find(|c: char| c.is_ascii_digit()).unwrap_or(reference.len());
    let (prefix, rest) = reference.split_at(at);
    let digits = rest.find(|c: char| !c.is_ascii_digit()).unwrap_or(rest.len());
    (prefix.to_owned(), rest[..digits].parse().unwrap_or(u64::MAX), rest[digits..].to_owned())
}

/// The first few of a set of references, for a message.
pub(crate) fn some(references: &[&str]) -> String {
    const SHOWN: usize = 12;
    let mut sorted = references.to_vec();
    sorted.sort_by_cached_key(|r| natural_key(r));
    sorted.dedup();
    let more = if sorted.len() > SHOWN { format!(" and {} more", sorted.len() - SHOWN) } else { String::new() };
    format!("{}{more}", sorted.iter().take(SHOWN).copied().collect::<Vec<_>>().join(" "))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(cell: &str) -> Option<String> {
        references(cell, &HashSet::from(["G***", "OE", "J1-2"])).map(|r| r.join(" "))
    }

    #[test]
    fn lists_ranges_and_footnotes() {
        for (cell, expected) in [
            ("C1,C2, C3", "C1 C2 C3"),
            ("C12 C13 ", "C12 C13"),
            ("C1-C4 C14-C17", "C1 C2 C3 C4 C14 C15 C16 C17"),
            ("R2-R4, R16-18", "R2 R3 R4 R16 R17 R18"),
            ("C1..C3", "C1 C2 C3"),
            ("C1 - C3", "C1 C2 C3"),
            ("C32, 34", "C32 C34"),
            ("C5, C10 (Note1, Note2)", "C5 C10"),
            ("C7A, C9\n", "C7A C9"),
            ("G***", "G***"),
            ("OE", "OE"),
            ("J1-2", "J1-2"),
        ] {
            assert_eq!(read(cell).as_deref(), Some(expected), "{cell}");
        }
        for prose in ["C7, C12 alternative", "extra for tuning C19", "SUM Components", "", "Note1: The sum of these"] {
            assert_eq!(read(prose), None, "{prose}");
        }
    }
}
