//! Which unit the coordinates of a list are in.
//!
//! Trusted in this order: the engineer, a unit glued to the numbers, one in the headings,
//! one in the lines above, evidence. Evidence: what size of board and what distance between
//! neighbours each unit would mean. Units differ by a factor of 25 and more, so the sizes of
//! real boards tell them apart: half of the boards of the test collection reach 42 to 126 mm
//! and their neighbours lie 1 to 4 mm apart (measured there; no published source).

use crate::list::List;
use crate::number::Unit;
use diag::{Finding, codes::read as code};

/// The unit of a list where the file or the engineer states it; reports where.
pub(crate) fn stated(list: &List, findings: &mut Vec<Finding>) -> Option<Unit> {
    if list.mapped.unit.is_some() {
        return list.mapped.unit;
    }
    let evidence = Evidence::of(list);
    let claims = [("the numbers", glued(list)), ("the headings", list.heading_unit), ("the lines above the list", prose_unit(list))];
    let mut stated = claims.iter().filter_map(|(place, unit)| unit.map(|u| (*place, u)));
    let (place, unit) = stated.next()?;
    if let Some((other, contrary)) = stated.find(|(_, u)| *u != unit) {
        let message = format!("{place} say {}, {other} say {}; {} was taken", unit.word(), contrary.word(), unit.word());
        findings.push(Finding::new(code::UNIT_CONTRADICTION, message).at(&list.name, 0).value(contrary.word()));
    } else if evidence.absurd(unit) {
        let message = format!("{place} say {}, which makes the board {}", unit.word(), evidence.size(unit));
        findings.push(Finding::new(code::UNIT_CONTRADICTION, message).at(&list.name, 0).value(unit.word()));
    } else {
        let message = format!("{place} say {}: placements reach over {}", unit.word(), evidence.size(unit));
        findings.push(Finding::new(code::UNIT_STATED, message).at(&list.name, 0).value(unit.word()));
    }
    Some(unit)
}

/// The unit of a list that states none, by evidence; reports the evidence.
pub(crate) fn infer(list: &List, findings: &mut Vec<Finding>) -> Unit {
    let evidence = Evidence::of(list);
    let mut ranked = Unit::ALL;
    ranked.sort_by(|a, b| evidence.cost(*a).total_cmp(&evidence.cost(*b)));
    let [unit, next, ..] = ranked;
    let close = if evidence.cost(next) - evidence.cost(unit) < 4.0 { "; the call is close" } else { "" };
    let message = format!(
        "no unit is stated; {} was inferred: placements then reach over {} and neighbours lie {} apart (as {}: {} and {}){close}",
        unit.word(),
        evidence.size(unit),
        evidence.gap(unit),
        next.word(),
        evidence.size(next),
        evidence.gap(next),
    );
    findings.push(Finding::new(code::UNIT_INFERRED, message).at(&list.name, 0).value(unit.word()));
    unit
}

/// The unit glued to all numbers that have one.
fn glued(list: &List) -> Option<Unit> {
    let mut units = list.rows.iter().filter_map(|r| r.at).flat_map(|(x, y)| [x.unit, y.unit]).flatten();
    let first = units.next()?;
    units.all(|u| u == first).then_some(first)
}

/// A unit in prose: in a line that speaks of units, the first word that names one.
fn prose_unit(list: &List) -> Option<Unit> {
    const SPEAKS: [&str; 7] = ["unit", "measure", "einheit", "maße", "dimension", "единиц", "coordinates"];
    list.preamble
        .iter()
        .map(|r| r.joined().to_lowercase())
        .filter(|line| SPEAKS.iter().any(|w| line.contains(w)))
        .find_map(|line| line.split(|c: char| !(c.is_alphanumeric() || c == 'µ' || c == 'μ')).filter(|w| w.len() > 1).find_map(unit_word))
}

fn unit_word(word: &str) -> Option<Unit> {
    // `in` is a unit in a column heading and a preposition in prose.
    if word == "in" { None } else { Unit::from_word(word) }
}

/// Extent and distance of neighbours, in the list's own numbers.
struct Evidence {
    width: f64,
    depth: f64,
    neighbour: f64,
}

impl Evidence {
    fn of(list: &List) -> Self {
        let points: Vec<(f64, f64)> = list.rows.iter().filter_map(|r| r.at).map(|(x, y)| (x.value, y.value)).collect();
        let spread = |mut v: Vec<f64>| {
            v.sort_by(f64::total_cmp);
            let off = v.len() / 50;
            match (v.get(off), v.get(v.len().saturating_sub(1 + off))) {
                (Some(a), Some(b)) => b - a,
                _ => 0.0,
            }
        };
        Self {
            width: spread(points.iter().map(|p| p.0).collect()),
            depth: spread(points.iter().map(|p| p.1).collect()),
            neighbour: median_neighbour(&points),
        }
    }

    /// How far a unit is from what boards are like; 0 is a typical board.
    fn cost(&self, unit: Unit) -> f64 {
        let off = |value: f64, typical: f64, spread: f64| {
            let mm = value * unit.um() / 1_000.0;
            if mm > 0.0 { ((mm / typical).ln() / spread).powi(2) } else { 0.0 }
        };
        // Typical board 75 mm, typical distance 2.2 mm: centres of the ranges in the module head.
        off(self.width.max(self.depth), 75.0, 1.1) + off(self.neighbour, 2.2, 1.1)
    }

    /// No board: under 1 mm or over 1.5 m. The conveyed boards of large machines end near 1.2 m (from memory).
    fn absurd(&self, unit: Unit) -> bool {
        let mm = self.width.max(self.depth) * unit.um() / 1_000.0;
        mm > 1_500.0 || (mm > 0.0 && mm < 1.0)
    }

    fn size(&self, unit: Unit) -> String {
        format!("{} x {} mm", Short(self.width * unit.um() / 1_000.0), Short(self.depth * unit.um() / 1_000.0))
    }

    fn gap(&self, unit: Unit) -> String {
        format!("{} mm", Short(self.neighbour * unit.um() / 1_000.0))
    }
}

/// A number with three figures that count.
struct Short(f64);

impl std::fmt::Display for Short {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let decimals = if self.0.abs() >= 100.0 {
            0
        } else if self.0.abs() >= 1.0 {
            1
        } else {
            3
        };
        write!(f, "{:.decimals$}", self.0)
    }
}

/// Points looked at for their nearest neighbour.
const SAMPLE: usize = 300;

/// Median distance to the nearest other point; 0 for fewer than two.
fn median_neighbour(points: &[(f64, f64)]) -> f64 {
    let step = (points.len() / SAMPLE).max(1);
    let nearest = |i: usize| {
        let (x, y) = points[i];
        points.iter().map(|p| (p.0 - x).hypot(p.1 - y)).filter(|d| *d > 0.0).fold(f64::INFINITY, f64::min)
    };
    let mut distances: Vec<f64> = (0..points.len()).step_by(step).map(nearest).filter(|d| d.is_finite()).collect();
    distances.sort_by(f64::total_cmp);
    distances.get(distances.len() / 2).copied().unwrap_or(0.0)
}
