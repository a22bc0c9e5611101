//! The reading as a whole: files to tables, tables to lists and bills, both to a product.

use crate::bom::{self, Bom};
use crate::choose::{self, Placed};
use crate::files::{self, Found, Sorted};
use crate::input::{FileRole, InputFile, ReadOptions, Reading};
use crate::mapping::{self, Mapping};
use crate::profile::Concluded;
use crate::stated::Stated;
use crate::table::Kind;
use crate::{assemble, compare, draft, geometry, list};
use diag::{Finding, codes::read as code};
use domain::product::Side;
use std::collections::HashSet;

/// Reads whatever the designer sent: any set of files, sorted here.
///
/// The product is there whenever a placement list was found, even when some findings are
/// errors: the caller decides whether to go on with what could be read.
pub fn read(files: &[InputFile<'_>], options: &ReadOptions<'_>) -> Reading {
    let mut findings = Vec::new();
    let mapping = options.mapping.as_ref().map(|m| mapping::read(m, &mut findings)).unwrap_or_default();
    let map_name = options.mapping.map_or("", |m| m.name);
    unused_entries(&mapping, map_name, files, &mut findings);
    let Sorted { found, stated, mut roles } = files::sort(files, &mapping, &mut findings);
    let lists = chosen_lists(&found, &mapping, files, &mut roles, &mut findings);
    if lists.is_empty() {
        findings.push(Finding::new(code::NO_PLACEMENTS, "no placement list was found"));
        settle_roles(&mut roles, &found, &[]);
        return Reading { product: None, findings, files: roles, concluded: Vec::new() };
    }
    let known: HashSet<&str> = lists.iter().flat_map(|l| l.list.rows.iter().map(|r| r.reference.as_str())).collect();
    let boms: Vec<(usize, Bom)> = found
        .iter()
        .filter(|f| f.table.kind == Kind::Bom)
        .map(|f| (f.file, bom::read(&f.table, &f.name, &known, &mut findings)))
        .filter(|(_, b)| !b.entries.is_empty())
        .collect();
    settle_roles(&mut roles, &found, &boms);
    let bill = bom::join(boms.into_iter().map(|(_, b)| b).collect(), &mut findings);
    let mut drafts = draft::drafts(&lists, &bill, &mut findings);
    draft::settle(&mut drafts, &mapping, map_name, &mut findings);
    compare::report(&drafts, &bill, &mut findings);
    let name = options.name.clone().or_else(|| mapping.product.clone()).unwrap_or_else(|| name_from(&lists));
    // An outline alone counts as well; what another board's file states does not.
    let mut facts = Stated::default();
    let in_use = |file: usize| lists.iter().any(|l| l.list.file == file) || found.iter().all(|f| f.file != file);
    stated.into_iter().filter(|(file, _)| in_use(*file)).for_each(|(_, s)| facts.join(s));
    let product = assemble::product(name, drafts, &facts, &mapping, options, &mut findings);
    geometry::report(&product, &mut findings);
    let concluded = concluded(&found, &lists, &findings);
    Reading { product: Some(product), findings, files: roles, concluded }
}

/// What was concluded about the form of each file in use, those in a standard format aside.
fn concluded(found: &[Found], lists: &[Placed], findings: &[Finding]) -> Vec<Concluded> {
    let mut all = Vec::new();
    for f in found.iter().filter(|f| !f.is_standard()) {
        let list = lists.iter().find(|l| l.list.name == f.name);
        if f.table.kind == Kind::Placements && list.is_none() {
            continue;
        }
        let Some(mut one) = Concluded::new(&f.name, &f.table, findings) else { continue };
        if let Some(list) = list {
            one.unit = Some(list.unit.word());
            let negated = findings.iter().any(|n| n.code == code::MIRRORED.id && n.file == f.name);
            let has_bottom = list.list.rows.iter().any(|r| r.side == Some(Side::Bottom));
            one.mirrored = has_bottom.then(|| list.list.mapped.mirrored.unwrap_or(negated));
        }
        all.push(one);
    }
    all
}

fn chosen_lists(
    found: &[Found],
    mapping: &Mapping,
    files: &[InputFile<'_>],
    roles: &mut [FileRole],
    findings: &mut Vec<Finding>,
) -> Vec<Placed> {
    let mut lists = Vec::new();
    for f in found.iter().filter(|f| f.table.kind == Kind::Placements) {
        let hints = mapping.for_file(&files[f.file]).map(mapping::File::hints).unwrap_or_default();
        let list = list::read(&f.table, f.file, &f.name, f.hints(hints), findings);
        if !list.rows.is_empty() {
            lists.push(list);
        }
    }
    let placed = choose::with_units(lists, findings);
    choose::choose(placed, roles, findings)
}

fn settle_roles(roles: &mut [FileRole], found: &[Found], boms: &[(usize, Bom)]) {
    for (file, bom) in boms {
        let role = &mut roles[*file].role;
        if role.is_empty() {
            "bill of materials".clone_into(role);
        } else if found.iter().any(|f| f.file == *file && f.table.kind == Kind::Placements) {
            role.push_str(" and bill of materials");
        }
        roles[*file].rows += bom.rows;
    }
    for f in found.iter().filter(|f| f.table.kind == Kind::Bom) {
        if roles[f.file].role.is_empty() {
            "bill of materials without references".clone_into(&mut roles[f.file].role);
        }
    }
    for role in roles.iter_mut().filter(|r| r.role.is_empty()) {
        "left out".clone_into(&mut role.role);
    }
}

fn unused_entries(mapping: &Mapping, map_name: &str, files: &[InputFile<'_>], findings: &mut Vec<Finding>) {
    // Entries by headings are kept for other boards too.
    for name in mapping.file.iter().filter_map(|e| e.name.as_ref()).filter(|n| !files.iter().any(|f| mapping::fits(n, f.name))) {
        let message = format!("no file is called `{name}`");
        findings.push(Finding::new(code::MAPPING_UNUSED, message).at(map_name, 0).value(name));
    }
}

/// The name of the first list without its ending and the words that only say what it is.
fn name_from(lists: &[Placed]) -> String {
    const WORDS: [&str; 17] = [
        "pick",
        "place",
        "and",
        "for",
        "top",
        "bottom",
        "all",
        "pos",
        "cpl",
        "centroid",
        "positions",
        "bom",
        "pnp",
        "xy",
        "assy",
        "component",
        "placement",
    ];
    let name = lists.first().map_or("", |l| l.list.name.as_str());
    let stem = name.rsplit_once('.').map_or(name, |(stem, _)| stem);
    let words: Vec<&str> =
        stem.split([' ', '-', '_', '(', ')']).filter(|w| !w.is_empty() && !WORDS.contains(&w.to_lowercase().as_str())).collect();
    if words.is_empty() { stem.to_owned() } else { words.join(" ") }
}
