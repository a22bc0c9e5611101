//! What fuzzing kept of line sheets, locks and family files is read or refused with a hint, and never panics.

#[path = "common/kept.rs"]
mod kept;

use domain::family::{FamilySheet, MOST_BOARDS, panels};
use domain::job::Panel;
use domain::line::Line;
use domain::rules::Rules;
use kept::kept_texts;

/// How many of `all` are read; a refusal names what to do next.
fn read<'a, T>(all: &'a [String], parse: impl Fn(&'a str) -> Result<T, Vec<diag::Finding>>, look: impl Fn(&T)) -> usize {
    let refused = |findings: &[diag::Finding]| assert!(!findings.is_empty() && findings.iter().all(|f| !f.hint.is_empty()));
    let parsed = |text: &'a String| parse(text).inspect(&look).inspect_err(|f| refused(f)).is_ok();
    all.iter().filter(|t| parsed(t)).count()
}

#[test]
fn line_sheets() {
    let all = kept_texts("line");
    let sound = read(&all, |text| Line::parse("line.toml", text), |line| assert!(line.check("line.toml").is_empty()));
    assert!(all.len() >= 10 && sound < all.len(), "{sound} of {} are read", all.len());
}

#[test]
fn locks() {
    let all = kept_texts("rules");
    let sound = read(&all, |text| Rules::parse("locks.toml", text).map_err(|f| vec![*f]), |_| {});
    assert!(all.len() >= 50 && sound < all.len(), "{sound} of {} are read", all.len());
}

#[test]
fn family_files() {
    let all = kept_texts("family");
    let countable = |sheet: &FamilySheet| {
        for product in &sheet.product {
            let panel = product.panel.map_or(Panel::SINGLE, Into::into);
            assert!((1..=MOST_BOARDS).contains(&panels(product.demand, &panel)));
        }
    };
    let sound = read(&all, |text| FamilySheet::parse("family.toml", text), countable);
    assert!(all.len() >= 30 && sound < all.len(), "{sound} of {} are read", all.len());
}
