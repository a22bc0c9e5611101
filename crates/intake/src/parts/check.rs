//! What to measure first: the guesses that a plan depends on most.
//!
//! A guessed size matters as far as another size would change what the line needs for the part. So each guess is tried
//! smaller and larger, and what follows from it differently (nozzle, tape, tray, speed, accuracy) is counted by placements.

use super::refit;
use domain::part::{Certainty, Mount, Part};
use domain::product::{Product, Status};
use serde::Serialize;
use std::collections::BTreeSet;
use units::Length;

/// How much smaller and larger a guessed length may be in truth [percent]; common practice, no source.
const TRIED: [i64; 2] = [70, 140];

/// A part whose guesses matter.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct ToMeasure {
    /// Its number.
    pub number: String,
    /// Its package.
    pub package: String,
    /// Fitted placements.
    pub placements: usize,
    /// What is guessed, with its value.
    pub guessed: Vec<String>,
    /// What depends on it, as words.
    pub decides: Vec<String>,
    /// Placements times things decided: the order of the list.
    pub weight: usize,
}

/// The parts with guesses that matter, the weightiest first.
pub fn check(product: &Product) -> Vec<ToMeasure> {
    let mut placements = vec![0; product.parts.len()];
    let fitted = product.placements.iter().filter(|p| p.status == Status::Fitted);
    fitted.filter_map(|p| p.part).for_each(|id| placements[id.index()] += 1);
    let mut found: Vec<ToMeasure> = product.parts.iter().zip(placements).filter(|(_, n)| *n > 0).filter_map(|(p, n)| doubt(p, n)).collect();
    found.sort_by(|a, b| b.weight.cmp(&a.weight).then(a.number.cmp(&b.number)));
    found
}

fn doubt(part: &Part, placements: usize) -> Option<ToMeasure> {
    let is_guess = |certainty: Certainty| certainty == Certainty::Guess;
    let body = is_guess(part.body_x_um.certainty.min(part.body_y_um.certainty));
    let height = is_guess(part.height_um.certainty);
    let mut guessed = Vec::new();
    let mut decides: Vec<String> = Vec::new();
    if part.mount.value == Mount::Smt && is_guess(part.mount.certainty) {
        guessed.push("mount smt".to_owned());
        decides.push("whether the line places it".to_owned());
    }
    if body {
        guessed.push(format!("body {} x {} mm", part.body_x_um.value.to_mm(), part.body_y_um.value.to_mm()));
    }
    if height {
        guessed.push(format!("height {} mm", part.height_um.value.to_mm()));
    }
    if part.mount.value == Mount::Smt {
        decides.extend(follows(part, body, height));
    }
    let weight = placements * decides.len();
    let measured = ToMeasure { number: part.number.clone(), package: part.package.clone(), placements, guessed, decides, weight };
    (weight > 0).then_some(measured)
}

/// What changes when guessed lengths are smaller or larger, with the words between which it changes.
fn follows(part: &Part, body: bool, height: bool) -> Vec<String> {
    let variants = TRIED.map(|percent| {
        let mut other = part.clone();
        let scale = |length: &mut Length, is_guessed: bool| length.0 = if is_guessed { length.0 * percent / 100 } else { length.0 };
        scale(&mut other.body_x_um.value, body);
        scale(&mut other.body_y_um.value, body);
        scale(&mut other.height_um.value, height);
        refit(&mut other);
        other
    });
    let all = || [&variants[0], part, &variants[1]];
    let words = |name: &str, of: &dyn Fn(&Part) -> String| {
        let seen: Vec<String> = all().map(of).into_iter().collect();
        let distinct: BTreeSet<&String> = seen.iter().collect();
        (distinct.len() > 1).then(|| {
            let mut told: Vec<&String> = seen.iter().collect();
            told.dedup();
            format!("{name} ({})", told.into_iter().map(String::as_str).collect::<Vec<_>>().join(", "))
        })
    };
    [
        words("supply", &|p| p.supply.value.to_string()),
        words("tape", &|p| format!("{} mm", p.tape_width_um.value.to_mm())),
        words("nozzle", &|p| p.nozzle_class.value.to_string()),
        words("speed", &|p| format!("{} %", p.speed.value.0)),
        words("accuracy", &|p| format!("{} mm", p.accuracy_um.value.to_mm())),
    ]
    .into_iter()
    .flatten()
    .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::parts::part;

    #[test]
    fn a_size_read_from_the_name_is_not_asked_for_and_a_guess_is() {
        let (known, _) = part("R-1", "1k", "R_0603_1608Metric", &["R1"]);
        assert!(follows(&known, false, false).is_empty());
        let (unknown, _) = part("X-1", "", "ODD-THING", &["J1"]);
        let measured = doubt(&unknown, 3).expect("a doubt");
        assert!(measured.guessed.iter().any(|g| g.starts_with("body")), "{measured:?}");
        assert!(measured.decides.iter().any(|d| d.starts_with("tape (")), "{measured:?}");
        assert_eq!(measured.weight, 3 * measured.decides.len());
    }
}
