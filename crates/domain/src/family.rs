//! A family: several products that share one set-up, each wanted in its own number.
//!
//! [`FamilySheet`] is what the engineer writes (TOML, `docs/families.md` explains every key), [`plan`] what
//! comes of it. Feeders and trays stand where they stand for all products of a family; each product has its
//! own programs. What counts is the time that the whole demand takes, Σ panels × takt.

pub mod parts;
pub mod plan;

use crate::job::{Panel, Turned};
use crate::product::Side;
use crate::sheet_error::finding_from_toml;
use diag::{Finding, codes};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;
use units::{Length, Point, Text};

/// What this program calls the file format of families.
pub const SCHEMA: &str = "evenline-family/1";

/// A family as its file states it. Paths are relative to the folder of the file.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FamilySheet {
    /// Format, [`SCHEMA`].
    pub schema: String,
    /// Name of the family.
    pub name: String,
    /// Locks file that holds for all products: where their parts stand.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub locks: Option<String>,
    /// Parts library that all products are read with.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub library: Option<String>,
    /// The products.
    #[serde(default)]
    pub product: Vec<FamilyProduct>,
}

/// A product of a family.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FamilyProduct {
    /// Name; that of the folder or of the files if not given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// Folder of designer's files, single files, or one product document.
    pub files: Vec<String>,
    /// Mapping file that overrules what is decided from evidence.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mapping: Option<String>,
    /// Parts table.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub parts: Option<String>,
    /// File of order rules and inspections of this product.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub locks: Option<String>,
    /// Boards wanted [1..=1,000,000,000].
    pub demand: u64,
    /// Side to be placed; the fuller one if not given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub side: Option<Side>,
    /// How boards are repeated; a single board if not given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub panel: Option<FamilyPanel>,
}

/// Boards repeated in a panel, as a family file states them.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FamilyPanel {
    /// Images along X.
    pub columns: u32,
    /// Images along Y.
    pub rows: u32,
    /// From image to image along X.
    pub pitch_x: Text<Length>,
    /// From image to image along Y.
    pub pitch_y: Text<Length>,
    /// Rail to the left and to the right of the boards; none if not given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rail_x: Option<Text<Length>>,
    /// Rail below and above the boards; none if not given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rail_y: Option<Text<Length>>,
    /// Which boards lie turned by 180 degrees; none if not given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub turned: Option<Turned>,
    /// Marks of the panel itself, this far from its lower left, lower right and upper right corner.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub marks: Option<FamilyPoint>,
    /// The spot of every board that tells whether it is bad, in the board's frame as placed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bad_mark: Option<FamilyPoint>,
}

/// A point, as a family file states it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FamilyPoint {
    /// Along X.
    pub x: Text<Length>,
    /// Along Y.
    pub y: Text<Length>,
}

impl From<FamilyPoint> for Point {
    fn from(p: FamilyPoint) -> Self {
        Self { x: *p.x, y: *p.y }
    }
}

impl From<FamilyPanel> for Panel {
    fn from(p: FamilyPanel) -> Self {
        let length = |text: Option<Text<Length>>| text.map_or(Length::ZERO, |t| *t);
        Self {
            columns: p.columns,
            rows: p.rows,
            pitch_x_um: *p.pitch_x,
            pitch_y_um: *p.pitch_y,
            rail_x_um: length(p.rail_x),
            rail_y_um: length(p.rail_y),
            turned: p.turned.unwrap_or(Turned::None),
            marks: p.marks.map(Into::into),
            bad_mark: p.bad_mark.map(Into::into),
        }
    }
}

/// Most boards of one product that are counted.
pub const MOST_BOARDS: u64 = 1_000_000_000;

impl FamilySheet {
    /// Reads and checks a family file.
    ///
    /// # Errors
    /// `family.syntax` or `family.unknown-key` with the line, `family.schema`, `family.empty`, `family.name-twice`.
    ///
    /// ```
    /// use domain::family::FamilySheet;
    /// let text = "schema = \"evenline-family/1\"\nname = \"gauges\"\n[[product]]\nfiles = [\"node\"]\ndemand = 0\n";
    /// let wrong = FamilySheet::parse("gauges.toml", text).unwrap_err();
    /// assert_eq!((wrong[0].code.as_str(), wrong[0].value.as_str()), ("family.empty", "node"));
    /// ```
    pub fn parse(file: &str, text: &str) -> Result<Self, Vec<Finding>> {
        let (syntax, unknown) = (codes::family::SYNTAX, codes::family::UNKNOWN_KEY);
        let sheet: Self = toml::from_str(text).map_err(|e| vec![finding_from_toml(syntax, unknown, file, text, &e)])?;
        let found = sheet.check(file);
        if found.is_empty() { Ok(sheet) } else { Err(found) }
    }

    fn check(&self, file: &str) -> Vec<Finding> {
        let mut found = Vec::new();
        if self.schema != SCHEMA {
            let text = format!("this program reads `{SCHEMA}`");
            return vec![Finding::new(codes::family::SCHEMA, text).at(file, 1).value(&self.schema)];
        }
        let empty = |text: &str, value: &str| Finding::new(codes::family::EMPTY, text.to_owned()).at(file, 0).value(value);
        if self.product.is_empty() {
            found.push(empty("the family has no product", &self.name));
        }
        let mut names = BTreeSet::new();
        for p in &self.product {
            let called = p.name.as_deref().or(p.files.first().map(String::as_str)).unwrap_or_default();
            if p.files.is_empty() {
                found.push(empty("a product without files", called));
            }
            if p.demand == 0 || p.demand > MOST_BOARDS {
                found.push(empty(&format!("a demand of {} boards; 1 to {MOST_BOARDS} are planned", p.demand), called));
            }
            if let Some(name) = p.name.as_ref().filter(|n| !names.insert(n.as_str())) {
                found.push(Finding::new(codes::family::NAME_TWICE, format!("two products are called `{name}`")).at(file, 0).value(name));
            }
        }
        found
    }
}

/// Panels that hold at least this many boards.
pub fn panels(boards: u64, panel: &Panel) -> u64 {
    boards.div_ceil(u64::from(panel.images().max(1)))
}
