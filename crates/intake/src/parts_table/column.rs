//! The columns of the table: name, limits, and the field of the part behind each.
//!
//! The limits keep out what cannot be true of a part (common practice, no source): bodies
//! from 0.1 to 400 mm, so that one table holds 0.4 x 0.2 mm chips and 45 x 150 mm bodies.

use super::cell::{Cell, Limits};
use domain::part::{Certainty, Part, Source, Sourced};

/// Why a cell was not used, with what to write instead.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Refusal {
    /// It is no value of the kind.
    Unreadable(String),
    /// It cannot be true.
    OutOfRange(String),
}

/// What a part's field shows in the table.
pub(crate) struct Shown {
    pub(crate) value: String,
    pub(crate) from: Source,
    pub(crate) sureness: Certainty,
}

/// One column and the two beside it.
pub(crate) struct Column {
    /// Its name in the header, with the unit.
    pub(crate) name: &'static str,
    /// Its name without the unit; `_source` and `_certainty` columns are named after it.
    pub(crate) stem: &'static str,
    /// The part's value for the table.
    pub(crate) shown: fn(&Part) -> Shown,
    /// A text that can stand in this column, as the table shows its value.
    pub(crate) check: fn(&str) -> Result<String, Refusal>,
    /// Puts a checked text into the part, with where it came from and how sure it is.
    pub(crate) put: fn(&mut Part, &str, Source, Certainty),
    /// Puts a checked text into the part; says whether the engineer stated something by it.
    pub(crate) state: fn(&mut Part, &str, Option<Source>) -> bool,
}

const fn millimetres(low_um: i64, high_um: i64) -> Limits {
    Limits { unit: "mm", scale: 1_000, range: (low_um, high_um) }
}

const fn counts(low: i64, high: i64) -> Limits {
    Limits { unit: "", scale: 1, range: (low, high) }
}

const WORDS: Limits = counts(0, 0);

macro_rules! column {
    ($name:literal, $stem:literal, $($field:ident).+, $limits:expr) => {
        Column {
            name: $name,
            stem: $stem,
            shown: |part| shown(&part.$($field).+, &$limits),
            check: |text| check(field_of(|part| &part.$($field).+), text, &$limits),
            put: |part, text, source, certainty| put(&mut part.$($field).+, text, (source, certainty), &$limits),
            state: |part, text, source| state(&mut part.$($field).+, text, source, &$limits),
        }
    };
}

/// All columns that hold values, in the order of the table.
pub(crate) const COLUMNS: &[Column] = &[
    column!("mount", "mount", mount, WORDS),
    column!("body_x_mm", "body_x", body_x_um, millimetres(100, 400_000)),
    column!("body_y_mm", "body_y", body_y_um, millimetres(100, 400_000)),
    column!("height_mm", "height", height_um, millimetres(50, 200_000)),
    column!("supply", "supply", supply, WORDS),
    column!("tape_width_mm", "tape_width", tape_width_um, millimetres(4_000, 200_000)),
    column!("tape_pitch_mm", "tape_pitch", tape_pitch_um, millimetres(1_000, 200_000)),
    column!("tray_pockets", "tray_pockets", tray_pockets, counts(1, 100_000)),
    column!("tray_height_mm", "tray_height", tray_height_um, millimetres(1_000, 300_000)),
    column!("nozzle_class", "nozzle_class", nozzle_class, WORDS),
    column!("speed_percent", "speed", speed, counts(1, 100)),
    column!("accuracy_um", "accuracy", accuracy_um, Limits { unit: "um", scale: 1, range: (1, 1_000) }),
    column!("ball_grid", "ball_grid", ball_grid, WORDS),
    column!("shield", "shield", shield, WORDS),
    column!("adhesive_dots", "adhesive_dots", adhesive_dots, counts(0, 50)),
    column!("pocket_quadrant", "pocket_quadrant", handling.pocket_quadrant, counts(1, 4)),
    column!("moisture_level", "moisture_level", handling.moisture, WORDS),
    column!("alternates", "alternates", handling.alternates, WORDS),
    column!("attrition_permille", "attrition", handling.attrition_permille, counts(0, 1_000)),
];

/// Tells the compiler the type of a field without a part at hand.
fn field_of<T>(field: fn(&Part) -> &Sourced<T>) -> fn(&Part) -> &Sourced<T> {
    field
}

fn check<T: Cell>(_: fn(&Part) -> &Sourced<T>, text: &str, limits: &Limits) -> Result<String, Refusal> {
    T::read(text, limits).map(|value| value.shown(limits))
}

fn shown<T: Cell>(field: &Sourced<T>, limits: &Limits) -> Shown {
    Shown { value: field.value.shown(limits), from: field.source, sureness: field.certainty }
}

fn put<T: Cell>(field: &mut Sourced<T>, text: &str, (source, certainty): (Source, Certainty), limits: &Limits) {
    if let Ok(value) = T::read(text, limits) {
        *field = Sourced::new(value, source, certainty);
    }
}

/// The word of the `_source` columns.
pub(crate) fn source_word(source: Source) -> &'static str {
    match source {
        Source::Default => "default",
        Source::Name => "name",
        Source::File => "file",
        Source::Library => "library",
        Source::Engineer => "engineer",
    }
}

/// The word of the `_certainty` columns.
pub(crate) fn certainty_word(certainty: Certainty) -> &'static str {
    match certainty {
        Certainty::Guess => "guess",
        Certainty::Likely => "likely",
        Certainty::Certain => "certain",
    }
}

fn state<T: Cell>(field: &mut Sourced<T>, text: &str, source: Option<Source>, limits: &Limits) -> bool {
    let Ok(value) = T::read(text, limits) else { return false };
    // What the program itself printed and nobody changed is no statement of the engineer.
    let printed = matches!(source, Some(Source::Library | Source::File | Source::Name | Source::Default));
    if printed && value == field.value {
        return false;
    }
    *field = Sourced::engineer(value);
    true
}
