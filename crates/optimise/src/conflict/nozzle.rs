//! A part for which no head that could take it holds a nozzle.

use super::Conflict;
use crate::capability::fits_envelope;
use crate::problem::Problem;
use diag::codes::conflict as code;
use domain::line::HeadKind;

/// The part's class, the heads that could take the part, and the nozzle kinds that would serve it.
pub(super) fn missing(p: &Problem<'_>, part: usize) -> Option<Conflict> {
    let sheet = &p.job.product.parts[part];
    let class = sheet.nozzle_class.value;
    let kinds: Vec<&str> = p.line.nozzle.iter().filter(|n| n.classes.contains(&class)).map(|n| n.name.as_str()).collect();
    let mut heads = Vec::new();
    let mut cures = Vec::new();
    for station in &p.line.station {
        for head in station.head.iter().filter(|h| h.kind != HeadKind::Dispense && fits_envelope(h, sheet).is_ok()) {
            if kinds.iter().any(|k| head.nozzles.iter().any(|n| n == k)) {
                // This head has a nozzle: something else keeps the part off.
                return None;
            }
            heads.push(format!("head `{}` of station `{}`", head.name, station.name));
            cures.extend(kinds.iter().map(|k| format!("`{k}` among the nozzles of head `{}` of station `{}`", head.name, station.name)));
        }
    }
    if heads.is_empty() {
        return None;
    }
    if kinds.is_empty() {
        cures.push(format!("a nozzle kind that serves class `{class}`, on one of these heads"));
    }
    let serving =
        if kinds.is_empty() { "no nozzle kind of the sheet serves it".to_owned() } else { format!("it is served by {}", kinds.join(", ")) };
    let text = format!("`{}` is of class `{class}`; {serving}, which none of these heads takes: {}", sheet.number, heads.join(", "));
    Some(Conflict { code: code::NOZZLE, members: vec![sheet.number.clone()], text, cures })
}
