//! What is kept beside a product: counts for lists, and everything its reading noticed.

use app::read::{Product, ReadResult};
use diag::{Finding, Severity};
use domain::product::Status;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use store::document::Head;

/// Most findings kept with a product; a file of nothing but broken lines has more than anybody reads.
const MOST_FINDINGS: usize = 1000;

/// What is kept beside a product.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Summary {
    /// Rows of the placement list.
    pub placements: usize,
    /// Rows to be placed.
    pub fitted: usize,
    /// Rows of parts that this variant leaves out.
    pub not_fitted: usize,
    /// Rows that are no parts.
    pub ignored: usize,
    /// Fitted rows on the top side.
    pub fitted_top: usize,
    /// Fitted rows on the bottom side.
    pub fitted_bottom: usize,
    /// Part types.
    pub parts: usize,
    /// Size of the board along X [µm].
    pub width_um: i64,
    /// Size of the board along Y [µm].
    pub depth_um: i64,
    /// Whether the size was stated.
    pub size_stated: bool,
    /// Errors among the findings.
    pub errors: usize,
    /// Warnings among the findings.
    pub warnings: usize,
    /// What each file was taken for.
    pub files: Vec<Taken>,
    /// What the reading noticed.
    pub findings: Vec<Finding>,
    /// Findings beyond those kept.
    pub more: usize,
    /// What was concluded about the form of the files.
    pub concluded: Vec<Concluded>,
    /// The conclusions as a mapping file.
    pub profile: String,
    /// The mapping file that was read with them; empty for none.
    pub mapping: String,
    /// Version of the document with the designer's files.
    pub originals: Option<i64>,
    /// Version of the document with the parts library that was used.
    pub library: Option<i64>,
    /// Fitted placements by part number.
    pub uses: BTreeMap<String, usize>,
}

/// What a file was taken for.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct Taken {
    /// Its name.
    pub name: String,
    /// In words.
    pub role: String,
    /// Rows used or compared.
    pub rows: usize,
}

/// What was concluded about one table, as [`app::read::Concluded`] has it.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct Concluded {
    /// The file, and the sheet where there are several.
    pub name: String,
    /// `placements` or `bom`.
    pub role: String,
    /// For each role the heading of the column that has it.
    pub columns: Vec<(String, String)>,
    /// Unit of the coordinates.
    pub unit: Option<String>,
    /// Whether the bottom's X is negated; `None` where no bottom told.
    pub mirrored: Option<bool>,
    /// The messages of the findings that say why.
    pub because: Vec<String>,
}

impl Summary {
    /// Of a reading.
    pub fn of(result: &ReadResult) -> Self {
        let count = |s: Severity| result.findings.iter().filter(|f| f.severity == s).count();
        let mut worst_first: Vec<Finding> = result.findings.clone();
        worst_first.sort_by_key(|f| std::cmp::Reverse(f.severity));
        worst_first.truncate(MOST_FINDINGS);
        let product = result.product.as_ref();
        let owned = |c: &app::read::Concluded| Concluded {
            name: c.name.clone(),
            role: c.role.to_owned(),
            columns: c.columns.iter().map(|(role, heading)| ((*role).to_owned(), heading.clone())).collect(),
            unit: c.unit.map(str::to_owned),
            mirrored: c.mirrored,
            because: c.because.clone(),
        };
        let taken = |f: &app::read::FileRole| Taken { name: f.name.clone(), role: f.role.clone(), rows: f.rows };
        Self {
            placements: result.placements,
            fitted: result.fitted,
            not_fitted: result.not_fitted,
            ignored: result.ignored,
            fitted_top: result.fitted_top,
            fitted_bottom: result.fitted_bottom,
            parts: result.parts,
            width_um: product.map_or(0, |p| p.width_um.0),
            depth_um: product.map_or(0, |p| p.depth_um.0),
            size_stated: product.is_some_and(|p| p.size_stated),
            errors: count(Severity::Error),
            warnings: count(Severity::Warning),
            files: result.files.iter().map(taken).collect(),
            more: result.findings.len() - worst_first.len(),
            findings: worst_first,
            concluded: result.concluded.iter().map(owned).collect(),
            profile: if result.concluded.is_empty() { String::new() } else { app::read::write_profile(&result.concluded) },
            uses: product.map(uses).unwrap_or_default(),
            ..Self::default()
        }
    }

    /// As it is kept with a version; `None` when another program kept something else.
    pub fn kept(head: &Head) -> Option<Self> {
        serde_json::from_str(&head.summary).ok()
    }

    /// As the store keeps it.
    pub fn text(&self) -> String {
        serde_json::to_string(self).unwrap_or_default()
    }

    /// Warnings and errors.
    pub fn doubts(&self) -> usize {
        self.errors + self.warnings
    }

    /// Size of the board for people.
    pub fn size(&self) -> String {
        format!("{} × {} mm", self.width_um as f64 / 1e3, self.depth_um as f64 / 1e3)
    }
}

fn uses(product: &Product) -> BTreeMap<String, usize> {
    let mut uses = BTreeMap::new();
    let fitted = product.placements.iter().filter(|p| p.status == Status::Fitted);
    for part in fitted.filter_map(|p| product.parts.get(p.part?.index())) {
        *uses.entry(part.number.clone()).or_default() += 1;
    }
    uses
}
