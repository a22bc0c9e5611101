//! The supplies of a station in words: where each stands, on what, and how many parts it gives.

use domain::line::Station;
use domain::part::{Part, Supply};
use domain::plan::{Plan, StationPlan, SupplyAt, SupplyPlace};
use draw::bank::slots_words;
use draw::lookup;

/// Name of the bank or tray place, and the slot or level.
pub(crate) struct Stand {
    /// Bank or tray place.
    pub(crate) place: String,
    /// Slot or level, counted from 1.
    pub(crate) slot: u32,
    /// Slots covered or level, in words.
    pub(crate) words: String,
    /// Feeder kind, or kind of tray place.
    pub(crate) carrier: String,
}

/// Where a supply stands.
pub(crate) fn stand(plan: &Plan, planned: &StationPlan, supply: &SupplyAt) -> Stand {
    let sheet = lookup::station(plan, planned);
    match supply.place {
        SupplyPlace::Feeder { bank, slot, feeder } => {
            let kind = plan.line.feeder.get(feeder as usize);
            Stand {
                place: bank_name(sheet, bank),
                slot,
                words: slots_words(slot, kind),
                carrier: kind.map_or_else(|| "feeder not on the sheet".to_owned(), |k| k.name.clone()),
            }
        }
        SupplyPlace::Tray { tray, level } => {
            let place = sheet.and_then(|s| s.tray.get(tray as usize));
            Stand {
                place: place.map_or_else(|| format!("tray place {} (not on the sheet)", u64::from(tray) + 1), |t| t.name.clone()),
                slot: level,
                words: format!("level {level}"),
                carrier: place.map_or_else(|| "tray".to_owned(), |t| format!("tray, {}", t.kind)),
            }
        }
    }
}

fn bank_name(sheet: Option<&Station>, bank: u32) -> String {
    sheet
        .and_then(|s| s.bank.get(bank as usize))
        .map_or_else(|| format!("bank {} (not on the sheet)", u64::from(bank) + 1), |b| b.name.clone())
}

/// Place and slot of a supply by its index, in short, such as `front 12`.
pub(crate) fn short(plan: &Plan, planned: &StationPlan, supply: u32) -> String {
    match planned.supplies.get(supply as usize) {
        Some(s) => {
            let stand = stand(plan, planned, s);
            format!("{} {}", stand.place, stand.slot)
        }
        None => format!("supply {supply} (not in the set-up)"),
    }
}

/// Parts picked from each supply of a station per panel, in the order of the supplies.
pub(crate) fn counts(planned: &StationPlan) -> Vec<usize> {
    let mut counts = vec![0; planned.supplies.len()];
    for pass in &planned.passes {
        for supply in pass.work.picked() {
            if let Some(count) = counts.get_mut(supply as usize) {
                *count += 1;
            }
        }
    }
    counts
}

/// Tape width and pitch in mm, where the part comes on tape.
pub(crate) fn tape(part: Option<&Part>) -> Option<(f64, f64)> {
    part.filter(|p| p.supply.value == Supply::Tape).map(|p| (p.tape_width_um.value.to_mm(), p.tape_pitch_um.value.to_mm()))
}
