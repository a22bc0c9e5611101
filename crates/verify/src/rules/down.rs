//! Nothing that is down does any work or carries any supply. Counts of nozzles and feeders are checked with the stock.

use crate::context::Context;
use crate::outage::{head_is_down, slot_is_down, station_is_down, tray_is_down};
use crate::verdict::Log;
use diag::codes::verify as code;
use domain::line::{Line, Station};
use domain::plan::{StationPlan, SupplyPlace};
use domain::rules::{Failure, Rules};

pub(crate) fn check(ctx: &Context<'_>, log: &mut Log) {
    let rules = &ctx.plan.rules;
    for entry in &rules.down {
        let wrong = entry.what().and_then(|f| exists(ctx.line, f));
        if let Err(why) = wrong {
            log.add(code::DOWN, format!("entry `{entry}`: {why}"));
        }
    }
    for (s, k, pass) in ctx.passes() {
        let (station, head) = (ctx.station(s), ctx.head(s, pass.head as usize));
        if head_is_down(rules, &station.name, &head.name) {
            let what =
                if station_is_down(rules, &station.name) { "which is down".to_owned() } else { format!("head `{}` is down", head.name) };
            log.add(code::DOWN, format!("station `{}`, pass {}: {what}", station.name, k + 1));
        }
    }
    for (station, plan) in ctx.line.station.iter().zip(&ctx.plan.stations) {
        supplies(ctx, rules, station, plan, log);
    }
}

fn exists(line: &Line, failure: Failure<'_>) -> Result<(), String> {
    let station = |name: &str| line.station.iter().find(|s| s.name == name).ok_or_else(|| format!("station `{name}` does not exist"));
    let sure = |known: bool, what: &str, name: &str| if known { Ok(()) } else { Err(format!("{what} `{name}` does not exist")) };
    match failure {
        Failure::Station(s) => station(s).map(drop),
        Failure::Head(s, h) => sure(station(s)?.head.iter().any(|x| x.name == h), "head", h),
        Failure::Bank(s, b) => sure(station(s)?.bank.iter().any(|x| x.name == b), "bank", b),
        Failure::Slots(s, b, _, to) => {
            let bank = station(s)?.bank.iter().find(|x| x.name == b).ok_or_else(|| format!("bank `{b}` does not exist"))?;
            sure(to <= bank.slots, "slot", &to.to_string())
        }
        Failure::Tray(s, t) => sure(station(s)?.tray.iter().any(|x| x.name == t), "tray place", t),
        Failure::Nozzle(kind, _) => sure(line.nozzle.iter().any(|n| n.name == kind), "nozzle kind", kind),
        Failure::Feeder(kind, _) => sure(line.feeder.iter().any(|f| f.name == kind), "feeder kind", kind),
    }
}

fn supplies(ctx: &Context<'_>, rules: &Rules, station: &Station, plan: &StationPlan, log: &mut Log) {
    for supply in &plan.supplies {
        let number = &ctx.job.product.parts[supply.part.index()].number;
        match supply.place {
            SupplyPlace::Feeder { bank, slot, feeder } => {
                let bank = &station.bank[bank as usize].name;
                let mut covered = slot..slot + ctx.line.feeder[feeder as usize].slots;
                if let Some(k) = covered.find(|k| slot_is_down(rules, &station.name, bank, *k)) {
                    log.add(code::DOWN, format!("`{number}` stands on `{}` `{bank}` slot {k}, which is down", station.name));
                }
            }
            SupplyPlace::Tray { tray, .. } => {
                let tray = &station.tray[tray as usize].name;
                if tray_is_down(rules, &station.name, tray) {
                    log.add(code::DOWN, format!("`{number}` lies on `{}` `{tray}`, which is down", station.name));
                }
            }
        }
    }
}
