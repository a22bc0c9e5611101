//! Whether the board can be as it was read: parts off the board, bodies in one another.
//!
//! Either means wrong units, a wrong size or two alternatives at one position far more often than a wrong design, so both
//! are told before a plan is made.

use diag::{Finding, codes::read as code};
use domain::part::{Certainty, Mount, Part};
use domain::product::{Placement, Product, Side, Status};
use std::collections::BTreeMap;

/// Bodies count as much smaller as this on every side [share of the side]: leads mesh, and corners are round.
const SLACK: f64 = 0.1;

/// Reports what cannot be.
pub(crate) fn report(product: &Product, findings: &mut Vec<Finding>) {
    off_board(product, findings);
    overlaps(product, findings);
    tall_neighbours(product, findings);
}

fn fitted(product: &Product) -> impl Iterator<Item = (&Placement, &Part)> {
    let part = |p: &Placement| p.part.and_then(|id| product.parts.get(id.index()));
    product.placements.iter().filter(|p| p.status == Status::Fitted).filter_map(move |p| Some((p, part(p)?)))
}

/// Bodies that do not touch a board whose size is stated; connectors hang over the edge.
fn off_board(product: &Product, findings: &mut Vec<Finding>) {
    if !product.size_stated {
        return;
    }
    let is_off = |p: &Placement, part: &Part| {
        let half = part.long_side().0 / 2;
        let out = |at: i64, size: i64| at < -half || at > size + half;
        out(p.at.x.0, product.width_um.0) || out(p.at.y.0, product.depth_um.0)
    };
    let off: Vec<&str> = fitted(product).filter(|(p, part)| is_off(p, part)).map(|(p, _)| p.reference.as_str()).collect();
    if !off.is_empty() {
        let message =
            format!("{} placements lie outside the board of {} x {}: {}", off.len(), product.width_um, product.depth_um, off.join(" "));
        findings.push(Finding::new(code::OFF_BOARD, message).value(crate::refs::some(&off)));
    }
}

/// A body as it lies.
struct Lying<'a> {
    reference: &'a str,
    at: (f64, f64),
    half: (f64, f64),
    /// Cosine and sine of its turn.
    turn: (f64, f64),
    reach: f64,
}

/// Pairs of bodies on one side that come as near to each other as `half` of their sides [µm] says, where `is_meant` holds for
/// both. Sizes that are guessed prove nothing, and covers stand over other parts.
fn near(product: &Product, half: impl Fn(f64) -> f64, is_meant: impl Fn(&Part) -> bool) -> Vec<(&str, &str)> {
    let mut pairs: Vec<(&str, &str)> = Vec::new();
    for side in [Side::Top, Side::Bottom] {
        let is_sure = |part: &Part| part.body_x_um.certainty.min(part.body_y_um.certainty) > Certainty::Guess;
        let mut bodies: Vec<Lying<'_>> = fitted(product)
            .filter(|(p, part)| p.side == side && is_sure(part) && part.mount.value == Mount::Smt && !part.shield.value && is_meant(part))
            .map(|(p, part)| {
                let half = (half(part.body_x_um.value.0 as f64), half(part.body_y_um.value.0 as f64));
                let (sin, cos) = p.rotation_mdeg.to_deg().to_radians().sin_cos();
                let at = (p.at.x.0 as f64, p.at.y.0 as f64);
                Lying { reference: &p.reference, at, half, turn: (cos, sin), reach: half.0.hypot(half.1) }
            })
            .collect();
        bodies.sort_by(|a, b| a.at.0.total_cmp(&b.at.0));
        let most = bodies.iter().map(|b| b.reach).fold(0.0, f64::max);
        for (i, a) in bodies.iter().enumerate() {
            for b in bodies[i + 1..].iter().take_while(|b| b.at.0 - a.at.0 < a.reach + most) {
                // The same place is told elsewhere.
                if a.at != b.at && share_room(a, b) {
                    pairs.push((a.reference, b.reference));
                }
            }
        }
    }
    pairs
}

/// Bodies that share room.
fn overlaps(product: &Product, findings: &mut Vec<Finding>) {
    let pairs = near(product, |side| side * (0.5 - SLACK), |_| true);
    if !pairs.is_empty() {
        let (words, guilty) = by_culprit(pairs);
        let message = format!("bodies share room: {words}");
        findings.push(Finding::new(code::OVERLAP, message).value(crate::refs::some(&guilty)));
    }
}

/// How near to its neighbours a nozzle reaches, and how much taller they must be to be in its way [µm]; common practice, no
/// source. A line sheet states its own, and the plan keeps to that.
const NOZZLE_REACH: f64 = 1_000.0;
const IN_THE_WAY: i64 = 4_000;

/// Parts so near to much taller ones that a nozzle would touch these if they stood already.
fn tall_neighbours(product: &Product, findings: &mut Vec<Finding>) {
    let height: BTreeMap<&str, i64> = fitted(product).map(|(p, part)| (p.reference.as_str(), part.height_um.value.0)).collect();
    let is_sure = |part: &Part| part.height_um.certainty > Certainty::Guess;
    let mut beside: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for (a, b) in near(product, |side| (side + NOZZLE_REACH) / 2.0, is_sure) {
        let (low, tall) = if height[a] < height[b] { (a, b) } else { (b, a) };
        if height[tall] - height[low] > IN_THE_WAY {
            beside.entry(tall).or_default().push(low);
        }
    }
    if !beside.is_empty() {
        let told: Vec<String> = beside.iter().map(|(tall, low)| format!("{} beside {tall}", crate::refs::some(low))).collect();
        let message = format!(
            "parts stand within 1 mm of others that are more than 4 mm taller, so a nozzle reaches them only before these: {}",
            told.join("; ")
        );
        findings.push(Finding::new(code::TALL_NEIGHBOUR, message).value(crate::refs::some(&beside.keys().copied().collect::<Vec<_>>())));
    }
}

/// Pairs put together under the part that is in most of them, whose size or middle is the likeliest to be wrong; and those
/// parts.
fn by_culprit<'a>(mut pairs: Vec<(&'a str, &'a str)>) -> (String, Vec<&'a str>) {
    let (mut told, mut culprits) = (Vec::new(), Vec::new());
    while !pairs.is_empty() {
        let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
        pairs.iter().flat_map(|(a, b)| [*a, *b]).for_each(|r| *counts.entry(r).or_default() += 1);
        let Some((culprit, _)) = counts.into_iter().max_by(|a, b| a.1.cmp(&b.1).then(b.0.cmp(a.0))) else { break };
        let partner = |(a, b): &(&'a str, &'a str)| (*a == culprit).then_some(*b).or((*b == culprit).then_some(*a));
        let partners: Vec<&str> = pairs.iter().filter_map(partner).collect();
        told.push(format!("{culprit} with {}", crate::refs::some(&partners)));
        culprits.push(culprit);
        pairs.retain(|(a, b)| *a != culprit && *b != culprit);
    }
    (told.join("; "), culprits)
}

/// Two rectangles share room unless an axis of one of them separates them.
fn share_room(a: &Lying<'_>, b: &Lying<'_>) -> bool {
    let (dx, dy) = (b.at.0 - a.at.0, b.at.1 - a.at.1);
    let axes = |l: &Lying<'_>| [l.turn, (-l.turn.1, l.turn.0)];
    let spread = |l: &Lying<'_>, axis: (f64, f64)| {
        let [along, across] = axes(l);
        let dot = |p: (f64, f64)| (p.0 * axis.0 + p.1 * axis.1).abs();
        l.half.0 * dot(along) + l.half.1 * dot(across)
    };
    axes(a).into_iter().chain(axes(b)).all(|axis| (dx * axis.0 + dy * axis.1).abs() < spread(a, axis) + spread(b, axis))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lying(x: f64, y: f64, degrees: f64) -> Lying<'static> {
        let (sin, cos) = f64::to_radians(degrees).sin_cos();
        Lying { reference: "", at: (x, y), half: (10.0, 2.0), turn: (cos, sin), reach: 10.2 }
    }

    #[test]
    fn the_part_in_most_pairs_is_named_first() {
        let (words, culprits) = by_culprit(vec![("C1", "J2"), ("J2", "R4"), ("R5", "R6")]);
        assert_eq!((words.as_str(), culprits), ("J2 with C1 R4; R5 with R6", vec!["J2", "R5"]));
    }

    #[test]
    fn turned_rectangles() {
        assert!(share_room(&lying(0.0, 0.0, 0.0), &lying(19.0, 0.0, 0.0)));
        assert!(!share_room(&lying(0.0, 0.0, 0.0), &lying(21.0, 0.0, 0.0)));
        assert!(!share_room(&lying(0.0, 0.0, 0.0), &lying(13.0, 0.0, 90.0)));
        assert!(share_room(&lying(0.0, 0.0, 0.0), &lying(11.0, 0.0, 90.0)));
        // Bounding boxes meet, the rectangles at 45° do not.
        assert!(!share_room(&lying(0.0, 0.0, 45.0), &lying(6.0, -6.0, 45.0)));
    }
}
