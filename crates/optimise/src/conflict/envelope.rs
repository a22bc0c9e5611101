//! A part outside the envelope of every head.

use super::Conflict;
use crate::problem::Problem;
use diag::codes::conflict as code;
use domain::line::HeadKind;
use units::Length;

/// The part, and the head that misses it by least, with the limits it breaks.
pub(super) fn outside(p: &Problem<'_>, part: usize) -> Option<Conflict> {
    let sheet = &p.job.product.parts[part];
    let mut nearest: Option<(Length, Vec<String>, String)> = None;
    for station in &p.line.station {
        for head in station.head.iter().filter(|h| h.kind != HeadKind::Dispense) {
            let Some(e) = &head.envelope else { continue };
            let (short, long, height) = (sheet.short_side(), sheet.long_side(), sheet.height_um.value);
            let mut broken: Vec<(Length, String)> = Vec::new();
            let mut over = |is: Length, limit: Length, key: &str| {
                if is > limit {
                    broken.push((is - limit, format!("{key} = \"{is}\" instead of {limit}")));
                }
            };
            over(short, *e.max_short, "max_short");
            over(long, *e.max_long, "max_long");
            over(height, *e.max_height, "max_height");
            if short < *e.min_side {
                broken.push((*e.min_side - short, format!("min_side = \"{short}\" instead of {}", *e.min_side)));
            }
            let by: Length = broken.iter().map(|b| b.0).sum();
            let name = format!("head `{}` of station `{}`", head.name, station.name);
            if nearest.as_ref().is_none_or(|n| by < n.0) {
                nearest = Some((by, broken.into_iter().map(|b| b.1).collect(), name));
            }
        }
    }
    let (_, limits, head) = nearest.filter(|n| n.0 > Length(0))?;
    let size = format!("{} x {} x {}", sheet.body_x_um.value, sheet.body_y_um.value, sheet.height_um.value);
    let text = format!("`{}` of {size} is outside every envelope; {head} comes nearest and would need {}", sheet.number, limits.join(", "));
    let cures = vec![
        format!("a head with {}", limits.join(", ")),
        "place it by hand".to_owned(),
        "correct its size in the parts table, if it is wrong".to_owned(),
    ];
    Some(Conflict { code: code::ENVELOPE, members: vec![sheet.number.clone()], text, cures })
}
