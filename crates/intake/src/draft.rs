//! Rows of the chosen lists on their way to placements: place, side, what the bill says,
//! whether it is a part and whether it is fitted.

use crate::bom::Entry;
use crate::choose::Placed;
use crate::fitted;
use crate::list::ListRow;
use crate::mapping::{Mapping, fits};
use crate::mirror::{self, Verdict};
use crate::pseudo::{self, Kind};
use diag::{Finding, codes::read as code};
use domain::product::{Side, Status};
use std::collections::{BTreeMap, HashSet};

/// A row with all that is known of it.
#[derive(Debug)]
pub(crate) struct Draft<'a> {
    pub(crate) row: &'a ListRow,
    pub(crate) file: &'a str,
    /// Centre in the frame of the files, seen from the top [µm].
    pub(crate) at: Option<(i64, i64)>,
    pub(crate) side: Side,
    pub(crate) entry: Option<&'a Entry>,
    pub(crate) kind: Option<Kind>,
    pub(crate) status: Status,
    pub(crate) why: String,
}

impl Draft<'_> {
    fn set(&mut self, status: Status, why: impl Into<String>) {
        self.status = status;
        self.why = why.into();
    }

    /// Value, package and description together.
    fn words(&self) -> String {
        let bom = self.entry.map(|e| [e.value.as_str(), &e.package, &e.description]).unwrap_or_default();
        let row = [self.row.value.as_str(), &self.row.package, &self.row.description];
        row.into_iter().chain(bom).filter(|t| !t.is_empty()).collect::<Vec<_>>().join(" ")
    }

    fn is_bought(&self) -> bool {
        self.entry.is_some_and(|e| !e.number.is_empty()) || !self.row.number.is_empty()
    }
}

/// All rows of the lists in use.
pub(crate) fn drafts<'a>(lists: &'a [Placed], bill: &'a BTreeMap<String, Entry>, findings: &mut Vec<Finding>) -> Vec<Draft<'a>> {
    let mut drafts = Vec::new();
    for placed in lists {
        for row in &placed.list.rows {
            let at = placed.at(row);
            if at.is_none() && row.at.is_some() {
                let message = format!("`{}` lies metres away", row.reference);
                findings.push(Finding::new(code::BAD_COORDINATE, message).at(&placed.list.name, row.line));
            }
            drafts.push(Draft {
                row,
                file: &placed.list.name,
                at,
                side: row.side.unwrap_or(Side::Top),
                entry: bill.get(&row.reference),
                kind: None,
                status: Status::Fitted,
                why: String::new(),
            });
        }
    }
    unmirror(lists, &mut drafts, findings);
    drafts
}

/// Turns back a bottom side whose X is negated.
fn unmirror(lists: &[Placed], drafts: &mut [Draft<'_>], findings: &mut Vec<Finding>) {
    let points: Vec<(i64, Side)> = drafts.iter().filter_map(|d| Some((d.at?.0, d.side))).collect();
    let bottom = lists.iter().find(|l| l.list.rows.iter().any(|r| r.side == Some(Side::Bottom)));
    let Some(bottom) = bottom else { return };
    let name = &bottom.list.name;
    let negated = match (bottom.list.mapped.mirrored, mirror::judge(&points)) {
        (Some(stated), _) => stated,
        (None, Verdict::Negated) => {
            let message = format!(
                "bottom X reach over {}, top X over {}; negated they coincide, so the bottom was turned back",
                range(&points, Side::Bottom),
                range(&points, Side::Top)
            );
            findings.push(Finding::new(code::MIRRORED, message).at(name, 0));
            true
        }
        (None, Verdict::Unknown) => {
            let message = format!(
                "all parts are on the bottom and all X are negative ({}); they were taken as seen from the top",
                range(&points, Side::Bottom)
            );
            findings.push(Finding::new(code::MIRROR_DOUBT, message).at(name, 0));
            false
        }
        (None, Verdict::AsSeenFromTop) => false,
    };
    if negated {
        for draft in drafts.iter_mut().filter(|d| d.side == Side::Bottom) {
            draft.at = draft.at.map(|(x, y)| (-x, y));
        }
    }
}

fn range(points: &[(i64, Side)], side: Side) -> String {
    let xs = || points.iter().filter(|p| p.1 == side).map(|p| p.0);
    let mm = |v: Option<i64>| v.unwrap_or(0) as f64 / 1_000.0;
    format!("{:.1} to {:.1} mm", mm(xs().min()), mm(xs().max()))
}

/// Settles kind and status of every row.
pub(crate) fn settle(drafts: &mut [Draft<'_>], mapping: &Mapping, map_name: &str, findings: &mut Vec<Finding>) {
    let pins: HashSet<String> = {
        let rows: Vec<(&str, &str)> = drafts.iter().map(|d| (d.row.reference.as_str(), d.row.package.as_str())).collect();
        pseudo::connector_pins(&rows).into_iter().map(str::to_owned).collect()
    };
    for draft in drafts.iter_mut() {
        let kind = pseudo::kind(&draft.row.reference, &draft.words());
        draft.kind = kind.or_else(|| pins.contains(&draft.row.reference).then_some(Kind::ConnectorPin));
        judge(draft);
    }
    overrule(drafts, mapping, map_name, findings);
}

fn judge(draft: &mut Draft<'_>) {
    if draft.row.at.is_none() || draft.at.is_none() {
        return draft.set(Status::Ignored, "no coordinates that can be read");
    }
    let not_fitted = not_fitted(draft);
    match draft.kind {
        // A bought test point or stand-off may well be a part; a mark never is.
        Some(kind) if draft.is_bought() && kind != Kind::Fiducial && not_fitted.is_none() => {}
        Some(kind) => return draft.set(Status::Ignored, kind.word()),
        None => {}
    }
    if let Some(why) = not_fitted {
        draft.set(Status::NotFitted, why);
    }
}

/// Why the files say that a row is not fitted.
fn not_fitted(draft: &Draft<'_>) -> Option<String> {
    let row = draft.row;
    let texts =
        [(crate::header::Role::Value, &row.value), (crate::header::Role::Number, &row.number), (crate::header::Role::Order, &row.order)];
    let by_text = texts.iter().find(|(role, text)| fitted::by_role(*role, text) == Some(false)).map(|(_, text)| (*text).clone());
    let by_mark = row.marks.iter().find(|(role, text)| fitted::by_role(*role, text) == Some(false)).map(|(_, text)| text.clone());
    by_text.or(by_mark).map(|words| format!("the placement list says `{words}`")).or_else(|| draft.entry.and_then(|e| e.not_fitted.clone()))
}

/// The engineer's word on single references.
fn overrule(drafts: &mut [Draft<'_>], mapping: &Mapping, map_name: &str, findings: &mut Vec<Finding>) {
    let rules = &mapping.references;
    let groups = [(&rules.ignored, Status::Ignored), (&rules.not_fitted, Status::NotFitted), (&rules.fitted, Status::Fitted)];
    // Later groups overrule earlier ones: what is said to be fitted is fitted.
    for (pattern, status) in groups.iter().flat_map(|(patterns, status)| patterns.iter().map(move |p| (p, *status))) {
        let mut hits = 0;
        for draft in drafts.iter_mut().filter(|d| fits(pattern, &d.row.reference)) {
            hits += 1;
            if draft.at.is_some() || status != Status::Fitted {
                draft.set(status, if status == Status::Fitted { "" } else { "the mapping file says so" });
                draft.kind = if status == Status::Fitted { None } else { draft.kind };
            }
        }
        if hits == 0 {
            let message = format!("no reference of the placement list fits `{pattern}`");
            findings.push(Finding::new(code::MAPPING_UNUSED, message).at(map_name, 0).value(pattern));
        }
    }
}
