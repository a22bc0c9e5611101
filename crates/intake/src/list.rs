//! A placement table as rows: reference, coordinates as written, rotation, side, texts.
//!
//! Nothing is dropped here: a row with a reference or coordinates becomes a [`ListRow`],
//! readable or not. Units are decided per list in [`crate::unit`].

use crate::grid::Row;
use crate::header::Role;
use crate::number::{Number, number};
use crate::refs;
use crate::side;
use crate::table::Table;
use diag::{Finding, codes::read as code};
use domain::product::Side;
use units::Angle;

/// One row of a placement list.
#[derive(Clone, Debug)]
pub(crate) struct ListRow {
    pub(crate) line: u32,
    pub(crate) reference: String,
    /// Coordinates as written; `None` when they cannot be read.
    pub(crate) at: Option<(Number, Number)>,
    pub(crate) rotation: Angle,
    pub(crate) side: Option<Side>,
    pub(crate) value: String,
    /// All texts that tell parts of one value apart (value and comment).
    pub(crate) identity: String,
    pub(crate) package: String,
    pub(crate) number: String,
    pub(crate) order: String,
    pub(crate) description: String,
    /// Cells about fitting, as (role, text).
    pub(crate) marks: Vec<(Role, String)>,
}

/// A placement list.
#[derive(Clone, Debug)]
pub(crate) struct List {
    /// Index of its file among the files given.
    pub(crate) file: usize,
    pub(crate) name: String,
    pub(crate) rows: Vec<ListRow>,
    pub(crate) has_side: bool,
    /// Roles found, for comparing lists.
    pub(crate) roles: Vec<Role>,
    /// Unit the headings name, and units named in the lines above them.
    pub(crate) heading_unit: Option<crate::number::Unit>,
    pub(crate) preamble: Vec<Row>,
    /// The engineer's word on side and mirroring.
    pub(crate) mapped: crate::mapping::FileHints,
}

/// Reads the rows of a placement table.
pub(crate) fn read(table: &Table, file: usize, name: &str, mapped: crate::mapping::FileHints, findings: &mut Vec<Finding>) -> List {
    let mut list = List {
        file,
        name: name.to_owned(),
        rows: Vec::new(),
        has_side: table.columns.has(Role::Side) || table.columns.has(Role::Mirror),
        roles: table.columns.firsts().map(|(r, _)| r).collect(),
        heading_unit: table.columns.unit,
        preamble: table.preamble.clone(),
        mapped,
    };
    let mut unknown_sides: Vec<(u32, String)> = Vec::new();
    for row in table.rows.iter().filter(|r| is_row(table, r)) {
        let parsed = list_row(table, row, name, findings);
        if list.has_side && parsed.side.is_none() && mapped.side.is_none() {
            unknown_sides.push((row.line, side_text(table, row).to_owned()));
        }
        list.rows.push(parsed);
    }
    settle_sides(&mut list, &unknown_sides, findings);
    list
}

/// A row with coordinates, or with a reference and further cells.
fn is_row(table: &Table, row: &Row) -> bool {
    let reference = table.first_cell(row, Role::Reference);
    let (x, y) = (table.first_cell(row, Role::X), table.first_cell(row, Role::Y));
    if reference.starts_with(['#', '=']) || reference.starts_with("--") {
        return false;
    }
    let both = number(x).is_some() && number(y).is_some();
    let written = row.cells.iter().filter(|c| !c.trim().is_empty()).count();
    both || (refs::is_reference(reference) && written >= 3)
}

fn list_row(table: &Table, row: &Row, name: &str, findings: &mut Vec<Finding>) -> ListRow {
    let text = |role| table.cell(row, role).to_owned();
    let mut reference = table.first_cell(row, Role::Reference).to_owned();
    if reference.is_empty() {
        reference = format!("line-{}", row.line);
        findings.push(
            Finding::new(code::NO_REFERENCE, format!("a row has coordinates and no reference; it is called `{reference}`"))
                .at(name, row.line),
        );
    }
    ListRow {
        line: row.line,
        at: coordinates(table, row, name, &reference, findings),
        rotation: rotation(table, row, name, &reference, findings),
        side: side_of(table, row),
        value: tidy(&text(Role::Value)),
        identity: identity(table, row),
        package: tidy(&text(Role::Package)),
        number: tidy(&text(Role::Number)),
        order: tidy(&text(Role::Order)),
        description: tidy(&text(Role::Description)),
        marks: [Role::Fitted, Role::NotFitted, Role::Option]
            .into_iter()
            .flat_map(|role| table.columns.of_role(role).iter().map(move |c| (role, row.cell(*c).to_owned())))
            .filter(|(_, text)| !text.is_empty())
            .collect(),
        reference,
    }
}

/// All different texts of the value columns: a comment tells a 50 V part from a 6.3 V one of
/// the same value.
pub(crate) fn identity(table: &Table, row: &Row) -> String {
    let mut texts: Vec<String> = Vec::new();
    for column in table.columns.of_role(Role::Value) {
        let text = tidy(row.cell(*column));
        if !text.is_empty() && !texts.contains(&text) {
            texts.push(text);
        }
    }
    texts.join(" ")
}

/// One blank between words, invisible marks dropped, `~` and `-` for nothing.
pub(crate) fn tidy(text: &str) -> String {
    let visible: String = text.chars().filter(|c| !matches!(c, '\u{200b}'..='\u{200f}' | '\u{feff}')).collect();
    let joined = visible.split_whitespace().collect::<Vec<_>>().join(" ");
    if matches!(joined.as_str(), "~" | "-" | "--" | "?") { String::new() } else { joined }
}

fn coordinates(table: &Table, row: &Row, name: &str, reference: &str, findings: &mut Vec<Finding>) -> Option<(Number, Number)> {
    let (x, y) = (table.first_cell(row, Role::X), table.first_cell(row, Role::Y));
    match (number(x), number(y)) {
        (Some(x), Some(y)) => Some((x, y)),
        _ => {
            let message = format!("`{reference}` has no coordinates that can be read");
            findings.push(Finding::new(code::BAD_COORDINATE, message).at(name, row.line).value(format!("{x}, {y}")));
            None
        }
    }
}

/// Turns beyond this are no angles [degrees].
const LARGEST_TURN: f64 = 1e6;

fn rotation(table: &Table, row: &Row, name: &str, reference: &str, findings: &mut Vec<Finding>) -> Angle {
    let text = table.first_cell(row, Role::Rotation);
    if !table.columns.has(Role::Rotation) {
        return Angle::ZERO;
    }
    let bare = text.trim_start_matches(['R', 'r']).trim_end_matches("deg");
    match number(bare).filter(|n| n.unit.is_none() && n.value.abs() < LARGEST_TURN) {
        Some(n) => Angle::from_deg(n.value).normalised(),
        None => {
            let message = format!("the rotation of `{reference}` cannot be read; 0 is taken");
            findings.push(Finding::new(code::BAD_ROTATION, message).at(name, row.line).value(text));
            Angle::ZERO
        }
    }
}

/// Side column first; a word that names no outer side is left to the mirror flag.
fn side_of(table: &Table, row: &Row) -> Option<Side> {
    let word = if table.columns.has(Role::Side) { side::from_word(table.first_cell(row, Role::Side)) } else { None };
    word.or_else(|| table.columns.has(Role::Mirror).then(|| side::from_mirror(table.first_cell(row, Role::Mirror))).flatten())
}

fn side_text<'r>(table: &Table, row: &'r Row) -> &'r str {
    let text = table.first_cell(row, Role::Side);
    if text.is_empty() { table.first_cell(row, Role::Mirror) } else { text }
}

/// Fills sides that rows do not tell: the engineer's word, the file's name, its heading lines, else top.
fn settle_sides(list: &mut List, unknown: &[(u32, String)], findings: &mut Vec<Finding>) {
    if let Some(side) = list.mapped.side {
        list.rows.iter_mut().for_each(|r| r.side = Some(side));
        return;
    }
    let told = list.preamble.iter().find_map(|r| side::from_prose(&r.joined())).or_else(|| side::from_name(&list.name));
    let side = told.unwrap_or(Side::Top);
    if !list.has_side && !list.rows.is_empty() {
        let (kind, message) = match told {
            Some(s) => (code::SIDE_FROM_FILE, format!("the file's name or heading lines say that its parts are on the {}", s.word())),
            None => (code::SIDE_ASSUMED, "the list does not tell the side of its parts; top was assumed".to_owned()),
        };
        findings.push(Finding::new(kind, message).at(&list.name, 0));
    }
    if let Some((line, text)) = unknown.first() {
        let message = format!("the side of {} rows cannot be told from `{text}`; {} was taken", unknown.len(), side.word());
        findings.push(Finding::new(code::SIDE_UNKNOWN, message).at(&list.name, *line).value(text));
    }
    list.rows.iter_mut().for_each(|r| r.side = r.side.or(Some(side)));
}
