//! From settled rows to the product: parts, frame, placements, fiducials.

use crate::draft::Draft;
use crate::frame::{self, Frame};
use crate::input::ReadOptions;
use crate::mapping::Mapping;
use crate::pseudo::Kind;
use crate::stated::Stated;
use crate::{library, parts, parts_table, refs};
use diag::{Finding, codes::parts as codes, codes::read as code};
use domain::part::{Part, Source};
use domain::product::{Fiducial, PartId, Placement, Product, SCHEMA, Status};
use std::collections::BTreeMap;
use units::Point;

/// Builds the product.
pub(crate) fn product(
    name: String,
    mut drafts: Vec<Draft<'_>>,
    facts: &Stated,
    mapping: &Mapping,
    options: &ReadOptions<'_>,
    findings: &mut Vec<Finding>,
) -> Product {
    let off = park(&mut drafts, findings);
    let groups = groups(&drafts, findings);
    let mut parts: Vec<Part> = Vec::new();
    let mut doubts: Vec<(usize, Finding)> = Vec::new();
    let mut ids: Vec<Option<PartId>> = vec![None; drafts.len()];
    for (number, group) in &groups {
        for draft in &group.rows {
            ids[*draft] = Some(PartId(parts.len() as u32));
        }
        let (part, noticed) = parts::part(number, group.value, group.package, &group.references);
        doubts.extend(noticed.into_iter().map(|f| (parts.len(), f)));
        parts.push(part);
    }
    let references: Vec<Vec<&str>> = groups.values().map(|g| g.references.clone()).collect();
    findings.extend(facts.apply(&mut parts, &references));
    let mut said = options.library.map_or(Vec::new(), |(known, name)| library::apply(&mut parts, known, name));
    said.extend(options.parts_table.as_ref().map_or(Vec::new(), |file| parts_table::apply(&mut parts, file)));
    // What a file or the engineer has settled is no doubt any more.
    let settled = |part: &Part| [&part.body_x_um, &part.body_y_um].iter().all(|f| f.source >= Source::File);
    let about_size = |f: &Finding| [codes::SIZE_UNKNOWN, codes::SIZE_TYPICAL, codes::CODE_AMBIGUOUS].iter().any(|c| c.id == f.code);
    let is_stated = |part: &Part, f: &Finding| f.code == codes::MOUNT_BY_NAME.id && part.mount.source >= Source::File;
    let doubts = doubts.into_iter().filter(|(k, f)| !(is_stated(&parts[*k], f) || settled(&parts[*k]) && about_size(f)));
    findings.extend(doubts.map(|(_, f)| f));
    findings.extend(said);
    let frame = frame_of(&drafts, (&ids, &parts, &off), facts, mapping, findings);
    let at = |d: &Draft<'_>| d.at.map_or(Point::default(), |(x, y)| Point::from_um(x, y) - frame.corner);
    let placements = drafts
        .iter()
        .zip(ids)
        .map(|(d, id)| Placement {
            reference: d.row.reference.clone(),
            part: if d.status == Status::Ignored { None } else { id },
            at: at(d),
            rotation_mdeg: d.row.rotation,
            side: d.side,
            status: d.status,
            why: d.why.clone(),
            origin: format!("{}:{}", d.file, d.row.line),
        })
        .collect();
    let fiducials = drafts
        .iter()
        .filter(|d| d.kind == Some(Kind::Fiducial) && d.status == Status::Ignored && d.at.is_some())
        .map(|d| Fiducial { reference: d.row.reference.clone(), at: at(d), side: d.side })
        .collect();
    Product {
        schema: SCHEMA.to_owned(),
        name,
        width_um: frame.size.x,
        depth_um: frame.size.y,
        size_stated: frame.is_stated,
        parts,
        placements,
        fiducials,
    }
}

/// Rows of one part number.
struct Group<'a> {
    rows: Vec<usize>,
    references: Vec<&'a str>,
    value: &'a str,
    package: &'a str,
}

/// Rows that are parts, by part number.
fn groups<'a>(drafts: &[Draft<'a>], findings: &mut Vec<Finding>) -> BTreeMap<String, Group<'a>> {
    let mut by_number: BTreeMap<String, Vec<usize>> = BTreeMap::new();
    for (index, draft) in drafts.iter().enumerate().filter(|(_, d)| d.status != Status::Ignored) {
        by_number.entry(number(draft)).or_default().push(index);
    }
    by_number
        .into_iter()
        .map(|(number, rows)| {
            let packages: Vec<&'a str> = rows.iter().map(|i| package(&drafts[*i])).collect();
            let chosen = most_frequent(&packages);
            let differing: Vec<&str> = rows
                .iter()
                .zip(&packages)
                .filter(|(_, p)| !p.is_empty() && !p.eq_ignore_ascii_case(chosen))
                .map(|(i, _)| drafts[*i].row.reference.as_str())
                .collect();
            if !differing.is_empty() {
                let message = format!("`{number}` is on `{chosen}`, but on another package at {}", refs::some(&differing));
                findings.push(Finding::new(code::PACKAGE_DIFFERS, message).value(&number));
            }
            let group = Group {
                references: rows.iter().map(|i| drafts[*i].row.reference.as_str()).collect(),
                value: rows.iter().map(|i| value(&drafts[*i])).find(|v| !v.is_empty()).unwrap_or(""),
                package: chosen,
                rows,
            };
            (number, group)
        })
        .collect()
}

/// Manufacturer's number, else an order number, else value and package, else the reference.
fn number(draft: &Draft<'_>) -> String {
    let entry = draft.entry;
    let stated = [entry.map_or("", |e| &e.number), draft.row.number.as_str(), entry.map_or("", |e| &e.order), draft.row.order.as_str()];
    if let Some(number) = stated.into_iter().find(|n| !n.is_empty() && !crate::fitted::says_so_alone(n)) {
        return number.to_owned();
    }
    let identity = entry.map_or("", |e| &e.identity);
    let identity = if identity.is_empty() { draft.row.identity.as_str() } else { identity };
    let identity = if identity.is_empty() { value(draft) } else { identity };
    let joined = format!("{identity} {}", package(draft)).trim().to_owned();
    if joined.is_empty() { draft.row.reference.clone() } else { joined }
}

fn value<'a>(draft: &Draft<'a>) -> &'a str {
    let entry = draft.entry;
    // The bill of materials is the better source: lists may hold library names for values.
    let texts = [entry.map_or("", |e| &e.value), draft.row.value.as_str(), entry.map_or("", |e| &e.description)];
    texts.into_iter().find(|t| !t.is_empty()).unwrap_or("")
}

fn package<'a>(draft: &Draft<'a>) -> &'a str {
    if draft.row.package.is_empty() { draft.entry.map_or("", |e| &e.package) } else { &draft.row.package }
}

/// The commonest text that is not empty; the first in the alphabet of equals.
fn most_frequent<'a>(texts: &[&'a str]) -> &'a str {
    let mut count: BTreeMap<&str, usize> = BTreeMap::new();
    for text in texts.iter().filter(|t| !t.is_empty()) {
        *count.entry(text).or_default() += 1;
    }
    let most = count.values().copied().max().unwrap_or(0);
    count.into_iter().find(|(_, n)| *n == most).map_or("", |(text, _)| text)
}

/// Finds rows far off the board and reports them.
fn park(drafts: &mut [Draft<'_>], findings: &mut Vec<Finding>) -> Vec<bool> {
    let placed: Vec<usize> = (0..drafts.len()).filter(|i| drafts[*i].at.is_some()).collect();
    let points: Vec<(i64, i64)> = placed.iter().filter_map(|i| drafts[*i].at).collect();
    let mut off = vec![false; drafts.len()];
    for (index, parked) in placed.into_iter().zip(frame::parked(&points)) {
        off[index] = parked;
        let draft = &mut drafts[index];
        if !parked {
            continue;
        }
        let (x, y) = draft.at.unwrap_or_default();
        let message = format!("`{}` lies far off the board, at {}, {} mm", draft.row.reference, x as f64 / 1e3, y as f64 / 1e3);
        findings.push(Finding::new(code::PARKED, message).at(draft.file, draft.row.line).value(&draft.row.reference));
        // A bracket or screw parked there is put on by hand later; anything else may be a part.
        if matches!(draft.kind, Some(Kind::Hardware | Kind::Hole)) {
            draft.status = Status::Ignored;
            draft.why = format!("{}, parked off the board", draft.kind.unwrap_or(Kind::Hardware).word());
        }
    }
    off
}

fn frame_of(
    drafts: &[Draft<'_>],
    (ids, parts, off): (&[Option<PartId>], &[Part], &[bool]),
    facts: &Stated,
    mapping: &Mapping,
    findings: &mut Vec<Finding>,
) -> Frame {
    let boxes: Vec<(Point, (i64, i64))> = drafts
        .iter()
        .enumerate()
        .filter(|(i, _)| !off[*i])
        .filter_map(|(i, d)| {
            let (x, y) = d.at?;
            let half = ids[i].map_or((0, 0), |id| frame::half_body(&parts[id.index()], d.row.rotation));
            Some((Point::from_um(x, y), half))
        })
        .collect();
    let extent = frame::around(&boxes);
    let Some(board) = &mapping.board else {
        if let Some(outline) = facts.outline {
            let inside = boxes.iter().filter(|(at, _)| outline.holds(*at)).count();
            if inside * 10 >= boxes.len() * 9 {
                let message = format!("the outline of the board is {} x {}", outline.size.x, outline.size.y);
                findings.push(Finding::new(code::OUTLINE, message));
                return outline;
            }
            let message = format!(
                "the outline of {} x {} holds {inside} of {} placements: it seems to have another origin and was not used",
                outline.size.x,
                outline.size.y,
                boxes.len()
            );
            findings.push(Finding::new(code::OUTLINE_ELSEWHERE, message));
        }
        let message = format!(
            "the board was taken as {} x {}: the bodies and {} mm around them",
            extent.size.x,
            extent.size.y,
            frame::MARGIN / 1_000
        );
        findings.push(Finding::new(code::BOARD_SIZE, message));
        return extent;
    };
    let size = Point { x: *board.width, y: *board.depth };
    // Without a stated corner the placements are centred on the board.
    let centred = |low: i64, extent: i64, size: i64| low + (extent - size) / 2;
    let corner = Point::from_um(
        board.origin_x.map_or_else(|| centred(extent.corner.x.0, extent.size.x.0, size.x.0), |o| o.0.0),
        board.origin_y.map_or_else(|| centred(extent.corner.y.0, extent.size.y.0, size.y.0), |o| o.0.0),
    );
    Frame { corner, size, is_stated: true }
}
