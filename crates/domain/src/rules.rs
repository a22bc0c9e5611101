//! The engineer's hand on the plan: order rules, inspections, locks, feeders kept, what is down.
//!
//! The file is TOML (`docs/planning.md` describes it); unknown keys are refused.

mod down;
mod keep;

pub use down::{Down, Failure};
pub use keep::{Closed, Keep};

use crate::sheet_error::finding_from_toml;
use diag::{Finding, codes};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::num::NonZeroU32;
use units::{Length, Text};

crate::part::named! {
    /// Which order of work holds for the whole line.
    OrderRule {
        /// Only what geometry forces: low parts within a nozzle's reach before their tall
        /// neighbours, covered parts before their shield.
        Clearance = "clearance",
        /// Inspections, then large ball-grid parts on a clean board, then adhesive, then all others;
        /// and what geometry forces among these last.
        Operation = "operation",
        /// Parts in steps of height, low steps first.
        LowBeforeTall = "low-before-tall",
        /// No order at all.
        None = "none",
    }
}

/// Fixes where a part type is placed.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Lock {
    /// Part number.
    pub part: String,
    /// Station that must place all of it.
    pub station: Option<String>,
    /// Head that must place it.
    pub head: Option<String>,
    /// Bank its feeder must stand on; needs `station`.
    pub bank: Option<String>,
    /// First slot of its feeder, counted from 1; needs `bank`.
    pub slot: Option<u32>,
    /// Tray place its trays must lie on; needs `station`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tray: Option<String>,
    /// Level of a magazine, counted from 1; needs `tray`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub level: Option<u32>,
}

impl Lock {
    /// Whether it says where the part's feeder or trays stand, not only who places it.
    pub fn binds_supply(&self) -> bool {
        self.bank.is_some() || self.tray.is_some()
    }
}

/// Forbids a part type at a station, or at one head of it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Forbid {
    /// Part number.
    pub part: String,
    /// Station that must not place it.
    pub station: String,
    /// Only this head of it.
    pub head: Option<String>,
}

/// States that some references come before others. `*` at the end stands for any ending.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Order {
    /// References placed first.
    pub first: Vec<String>,
    /// References placed only when all of `first` on the panel are placed.
    pub then: Vec<String>,
}

/// An area of each board looked at for foreign objects.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Inspect {
    /// What it is for, for people.
    #[serde(default)]
    pub name: String,
    /// Lower left corner in the board's frame as placed, X.
    pub x: Text<Length>,
    /// Lower left corner in the board's frame as placed, Y.
    pub y: Text<Length>,
    /// Extent along X.
    pub width: Text<Length>,
    /// Extent along Y.
    pub depth: Text<Length>,
}

/// Order rules, inspections and locks of one job.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Rules {
    /// Order of work for the whole line; `clearance` if not given.
    pub order_rule: Option<OrderRule>,
    /// Most feeders of one part at a station, at one of two beams by itself; those kept there are let be. No limit if not given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub feeders_per_part: Option<NonZeroU32>,
    /// Orders the engineer states.
    #[serde(default)]
    pub order: Vec<Order>,
    /// Areas to look at before anything is placed on them.
    #[serde(default)]
    pub inspect: Vec<Inspect>,
    /// Parts bound to a station, head or slot.
    #[serde(default)]
    pub lock: Vec<Lock>,
    /// Parts kept away from a station or head.
    #[serde(default)]
    pub forbid: Vec<Forbid>,
    /// Feeders and trays that stand where they stand.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub keep: Vec<Keep>,
    /// Stations where nothing else may be set up.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub closed: Vec<Closed>,
    /// What is out of order.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub down: Vec<Down>,
}

impl Rules {
    /// The order rule in force.
    pub fn order_rule(&self) -> OrderRule {
        self.order_rule.unwrap_or(OrderRule::Clearance)
    }

    /// Most feeders of one part at a station, or at one of its two beams.
    pub fn most_feeders(&self) -> usize {
        self.feeders_per_part.map_or(usize::MAX, |n| n.get() as usize)
    }

    /// As the text of a locks file, which [`Rules::parse`] reads back.
    ///
    /// # Errors
    /// Only if the TOML writer itself fails, which it does not for this type.
    pub fn to_text(&self) -> Result<String, String> {
        toml::to_string(self).map_err(|e| e.to_string())
    }

    /// Reads a locks file.
    ///
    /// # Errors
    /// `plan.lock-syntax` with the line and, for a misspelt key, the nearest known one.
    pub fn parse(file: &str, text: &str) -> Result<Self, Box<Finding>> {
        toml::from_str(text).map_err(|e| Box::new(finding_from_toml(codes::plan::LOCK_SYNTAX, codes::plan::LOCK_SYNTAX, file, text, &e)))
    }
}

/// Whether a reference answers to a pattern: equal, or the pattern ends in `*` and its start fits.
///
/// ```
/// use domain::rules::matches;
/// assert!(matches("C*", "C12") && matches("U1", "U1") && !matches("U1", "U12"));
/// ```
pub fn matches(pattern: &str, reference: &str) -> bool {
    match pattern.strip_suffix('*') {
        Some(start) => reference.starts_with(start),
        None => pattern == reference,
    }
}
