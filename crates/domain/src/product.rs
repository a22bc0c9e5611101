//! A product: one board as its designer sent it, both sides.

use crate::part::Part;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use units::{Angle, Length, Point};

/// What this program calls the file format of products.
pub const SCHEMA: &str = "evenline-product/1";

/// Side of the board.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Side {
    /// The side the designer looks at.
    Top,
    /// The other.
    Bottom,
}

impl Side {
    /// The word used in files and on the command line.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Top => "top",
            Self::Bottom => "bottom",
        }
    }
}

/// Index of a part in [`Product::parts`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(transparent)]
pub struct PartId(pub u32);

impl PartId {
    /// As an index.
    pub fn index(self) -> usize {
        self.0 as usize
    }
}

/// Whether a row of the placement list is to be placed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Status {
    /// To be placed.
    Fitted,
    /// A part that this variant leaves out.
    NotFitted,
    /// No part at all: a mark, hole, text, test point, connector pin.
    Ignored,
}

/// One row of the placement list: one part at one place of the board.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Placement {
    /// Reference designator. Repeated ones are kept apart by their place.
    pub reference: String,
    /// The part; `None` only for ignored rows.
    pub part: Option<PartId>,
    /// Centre in the board's frame, seen from the top: origin at the board's lower left corner.
    pub at: Point,
    /// Rotation in the designer's convention, 0 to under 360° [m°].
    pub rotation_mdeg: Angle,
    /// Side it sits on.
    pub side: Side,
    /// Whether it is to be placed.
    pub status: Status,
    /// Why it is not placed, or how it was recognised; empty for plain fitted rows.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub why: String,
    /// File and line it was read from, as `name:line`.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub origin: String,
}

/// A mark the machine looks at to find the board.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Fiducial {
    /// Its reference in the files.
    pub reference: String,
    /// Centre in the board's frame, seen from the top.
    pub at: Point,
    /// Side it is on.
    pub side: Side,
}

/// A board as its designer sent it, ready for planning.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Product {
    /// Format, [`SCHEMA`].
    pub schema: String,
    /// Name of the product.
    pub name: String,
    /// Width of the board (X) [µm].
    pub width_um: Length,
    /// Depth of the board (Y) [µm].
    pub depth_um: Length,
    /// Whether the size was stated; else it is the extent of the placements with a margin.
    pub size_stated: bool,
    /// All part types, sorted by number.
    pub parts: Vec<Part>,
    /// Every row of the placement list, in the order of the file.
    pub placements: Vec<Placement>,
    /// Marks to be looked at.
    pub fiducials: Vec<Fiducial>,
}

impl Product {
    /// How many rows have this status.
    pub fn count(&self, status: Status) -> usize {
        self.placements.iter().filter(|p| p.status == status).count()
    }

    /// How many fitted rows lie on this side.
    pub fn fitted_on(&self, side: Side) -> usize {
        self.placements.iter().filter(|p| p.status == Status::Fitted && p.side == side).count()
    }
}
