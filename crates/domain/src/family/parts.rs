//! One list of parts for all products of a family, so that a feeder means the same to each.

use crate::part::{Part, Source};
use crate::product::{PartId, Product};
use diag::{Finding, codes};
use std::collections::BTreeMap;

/// Gives all products the same list of parts, sorted by number.
///
/// Where products say different things of one number, what the engineer stated more of counts, then what the
/// files state more of, then the first product; a finding names the number.
pub fn share_parts(products: &mut [Product]) -> Vec<Finding> {
    let mut by_number: BTreeMap<String, Vec<(usize, Part)>> = BTreeMap::new();
    for (p, product) in products.iter().enumerate() {
        for part in &product.parts {
            by_number.entry(part.number.clone()).or_default().push((p, part.clone()));
        }
    }
    let (mut found, mut shared) = (Vec::new(), Vec::new());
    for (number, versions) in by_number {
        let best = versions.iter().rev().max_by_key(|(_, part)| stated(part)).map_or(0, |(p, _)| *p);
        let chosen = versions.iter().find(|(p, _)| *p == best).map_or_else(|| versions[0].1.clone(), |(_, part)| part.clone());
        let others: Vec<&str> =
            versions.iter().filter(|(_, part)| differs(part, &chosen)).map(|(p, _)| products[*p].name.as_str()).collect();
        if !others.is_empty() {
            let text = format!("{} says other things of `{number}` than {}, which counts", others.join(", "), products[best].name);
            found.push(Finding::new(codes::family::PART_DIFFERS, text).value(&number));
        }
        shared.push(chosen);
    }
    let index: BTreeMap<&str, u32> = shared.iter().enumerate().map(|(i, p)| (p.number.as_str(), i as u32)).collect();
    for product in products.iter_mut() {
        let there: Vec<PartId> = product.parts.iter().map(|p| PartId(index[p.number.as_str()])).collect();
        for placement in &mut product.placements {
            placement.part = placement.part.map(|id| there[id.index()]);
        }
        product.parts.clone_from(&shared);
    }
    found
}

/// Whether a machine would treat the two differently. Values and package names are for people.
fn differs(a: &Part, b: &Part) -> bool {
    let figures = |p: &Part| {
        (
            (p.mount.value, p.body_x_um.value, p.body_y_um.value, p.height_um.value),
            (p.supply.value, p.tape_width_um.value, p.tape_pitch_um.value, p.tray_pockets.value, p.tray_height_um.value),
            (p.nozzle_class.value, p.speed.value, p.accuracy_um.value, p.ball_grid.value, p.shield.value, p.adhesive_dots.value),
        )
    };
    figures(a) != figures(b)
}

/// How many figures the engineer stated, for this product or in the library, and how many a file.
fn stated(part: &Part) -> (usize, usize) {
    let sources = [
        part.mount.source,
        part.body_x_um.source,
        part.body_y_um.source,
        part.height_um.source,
        part.supply.source,
        part.tape_width_um.source,
        part.tape_pitch_um.source,
        part.tray_pockets.source,
        part.tray_height_um.source,
        part.nozzle_class.source,
        part.speed.source,
        part.accuracy_um.source,
        part.adhesive_dots.source,
    ];
    let count = |s: Source| sources.iter().filter(|x| **x == s).count();
    (count(Source::Engineer) + count(Source::Library), count(Source::File))
}
