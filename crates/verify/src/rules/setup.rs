//! The set-up: feeders fit their parts and do not overlap, tray places hold one part each.
//!
//! That feeders lie inside their banks is checked with the references.

use crate::capability::{feeder_fits, tray_fits};
use crate::context::Context;
use crate::verdict::Log;
use diag::codes::verify as code;
use domain::plan::{SupplyAt, SupplyPlace};
use std::collections::BTreeMap;

pub(crate) fn check(ctx: &Context<'_>, log: &mut Log) {
    for (s, plan) in ctx.plan.stations.iter().enumerate() {
        for supply in &plan.supplies {
            fits(ctx, s, supply, log);
        }
        overlap(ctx, s, &plan.supplies, log);
    }
}

fn fits(ctx: &Context<'_>, s: usize, supply: &SupplyAt, log: &mut Log) {
    let (station, part) = (ctx.station(s), &ctx.job.product.parts[supply.part.index()]);
    let (fits, what) = match supply.place {
        SupplyPlace::Feeder { feeder, .. } => {
            let kind = &ctx.line.feeder[feeder as usize];
            (feeder_fits(kind, part), &kind.name)
        }
        SupplyPlace::Tray { tray, .. } => {
            let place = &station.tray[tray as usize];
            (tray_fits(place, part), &place.name)
        }
    };
    if !fits {
        log.add(code::FEEDER_KIND, format!("station `{}`: `{}` on `{what}`, supplied in {}", station.name, part.number, part.supply.value));
    }
}

fn overlap(ctx: &Context<'_>, s: usize, supplies: &[SupplyAt], log: &mut Log) {
    let number = |supply: &SupplyAt| &ctx.job.product.parts[supply.part.index()].number;
    let station = ctx.station(s);
    let mut slots: BTreeMap<(u32, u32), &SupplyAt> = BTreeMap::new();
    let mut levels: BTreeMap<(u32, u32), &SupplyAt> = BTreeMap::new();
    for supply in supplies {
        match supply.place {
            SupplyPlace::Feeder { bank, slot, feeder } => {
                let covered = slot..slot + ctx.line.feeder[feeder as usize].slots;
                let taken = covered.clone().find_map(|k| slots.get(&(bank, k)).map(|other| (k, *other)));
                if let Some((k, other)) = taken {
                    let bank = &station.bank[bank as usize].name;
                    let detail =
                        format!("station `{}`, bank `{bank}`, slot {k}: `{}` and `{}`", station.name, number(other), number(supply));
                    log.add(code::SLOT_OVERLAP, detail);
                }
                slots.extend(covered.map(|k| ((bank, k), supply)));
            }
            SupplyPlace::Tray { tray, level } => {
                if let Some(other) = levels.insert((tray, level), supply) {
                    let place = &station.tray[tray as usize].name;
                    let detail = format!(
                        "station `{}`, tray place `{place}`, level {level}: `{}` and `{}`",
                        station.name,
                        number(other),
                        number(supply)
                    );
                    log.add(code::TRAY_PLACE, detail);
                }
            }
        }
    }
}
