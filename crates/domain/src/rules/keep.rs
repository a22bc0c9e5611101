//! Feeders and trays that stay where they stand.

use crate::plan::{Plan, SupplyPlace};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A feeder or tray that stands at this place, whether the plan picks from it or not.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Keep {
    /// Part number it supplies.
    pub part: String,
    /// Station it stands at.
    pub station: String,
    /// Bank of the feeder; needs `slot`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bank: Option<String>,
    /// First slot it covers, counted from 1.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub slot: Option<u32>,
    /// Kind of the feeder; the narrowest that takes the part if not given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub feeder: Option<String>,
    /// Tray place, instead of bank and slot.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tray: Option<String>,
    /// Level of a magazine, counted from 1; 1 if not given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub level: Option<u32>,
}

/// A station whose set-up is closed: beyond what is kept there, nothing may be set up.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Closed {
    /// The station.
    pub station: String,
    /// Feeders and trays that may be added all the same.
    #[serde(default)]
    pub add: u32,
}

impl Keep {
    /// What stands at the stations of a plan, as entries that keep it there.
    ///
    /// Supplies that refer to something that does not exist are left out.
    pub fn all_of(plan: &Plan) -> Vec<Self> {
        let mut all = Vec::new();
        for (sheet, station) in plan.line.station.iter().zip(&plan.stations) {
            for supply in &station.supplies {
                let Some(part) = plan.product.parts.get(supply.part.index()) else { continue };
                let mut keep = Self { part: part.number.clone(), station: sheet.name.clone(), ..Self::default() };
                match supply.place {
                    SupplyPlace::Feeder { bank, slot, feeder } => {
                        let (Some(bank), Some(kind)) = (sheet.bank.get(bank as usize), plan.line.feeder.get(feeder as usize)) else {
                            continue;
                        };
                        (keep.bank, keep.slot, keep.feeder) = (Some(bank.name.clone()), Some(slot), Some(kind.name.clone()));
                    }
                    SupplyPlace::Tray { tray, level } => {
                        let Some(place) = sheet.tray.get(tray as usize) else { continue };
                        (keep.tray, keep.level) = (Some(place.name.clone()), Some(level));
                    }
                }
                all.push(keep);
            }
        }
        all
    }

    /// Where it stands, in words: `chip-1 front 12` or `flex-3 tower level 2`.
    pub fn place(&self) -> String {
        match (&self.tray, &self.bank) {
            (Some(tray), _) => match self.level {
                Some(level) => format!("{} {tray} level {level}", self.station),
                None => format!("{} {tray}", self.station),
            },
            (None, Some(bank)) => format!("{} {bank} {}", self.station, self.slot.unwrap_or(0)),
            (None, None) => self.station.clone(),
        }
    }
}
