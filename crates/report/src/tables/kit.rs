//! The kit: what is collected before a set-up, by part, and the tools it takes.

use super::work::nozzle_needs;
use crate::present::Report;
use crate::supply;
use crate::table::{Cell, Table};
use domain::plan::SupplyPlace;
use draw::lookup;
use std::collections::{BTreeMap, BTreeSet};

/// What is collected, by part number, with the place it goes to and a box to tick.
pub(crate) fn kit(report: &Report<'_>) -> Table {
    let mut table =
        Table::new(&["part number", "value", "package", "on", ">tape mm", "station", "place", "slot or level", ">per panel", "collected"]);
    let mut rows: Vec<(String, Vec<Cell>)> = Vec::new();
    for planned in &report.plan.stations {
        for (supply, count) in planned.supplies.iter().zip(supply::counts(planned)) {
            let stand = supply::stand(report.plan, planned, supply);
            let part = lookup::part(report.plan, supply.part);
            let number = lookup::part_number(report.plan, supply.part);
            let tape = supply::tape(part).map_or(Cell::Empty, |(w, _)| Cell::Number(w, if w.fract() == 0.0 { 0 } else { 2 }));
            let cells = vec![
                number.clone().into(),
                part.map(|p| p.value.clone()).unwrap_or_default().into(),
                part.map(|p| p.package.clone()).unwrap_or_default().into(),
                stand.carrier.into(),
                tape,
                planned.station.clone().into(),
                stand.place.into(),
                stand.words.into(),
                count.into(),
                super::BOX.into(),
            ];
            rows.push((number, cells));
        }
    }
    rows.sort_by(|a, b| a.0.cmp(&b.0));
    table.rows = rows.into_iter().map(|r| r.1).collect();
    table
}

/// Feeders, nozzles and carts of each kind: how many are needed on the whole line, and how many there are.
pub(crate) fn tools(report: &Report<'_>) -> Table {
    let (plan, line) = (report.plan, &report.plan.line);
    let mut feeders: BTreeMap<u32, usize> = BTreeMap::new();
    let mut nozzles: BTreeMap<u32, usize> = BTreeMap::new();
    let mut carts: BTreeMap<&str, usize> = BTreeMap::new();
    for planned in &plan.stations {
        let mut used = BTreeSet::new();
        for supply in &planned.supplies {
            if let SupplyPlace::Feeder { bank, feeder, .. } = supply.place {
                *feeders.entry(feeder).or_default() += 1;
                used.insert(bank);
            }
        }
        let banks = lookup::station(plan, planned).map_or(&[][..], |s| &s.bank);
        for cart in used.into_iter().filter_map(|b| banks.get(b as usize)?.cart.as_deref()) {
            *carts.entry(cart).or_default() += 1;
        }
        for ((_, nozzle), count) in nozzle_needs(planned) {
            *nozzles.entry(nozzle).or_default() += count;
        }
    }
    let mut table = Table::new(&["what", "kind", ">needed", ">in stock", "collected"]);
    let mut row = |what: &str, kind: Option<&str>, needed: usize, stock: Option<u32>| {
        let kind = kind.map_or_else(|| Cell::from("not on the sheet"), Cell::from);
        table.row(vec![what.into(), kind, needed.into(), stock.map_or(Cell::Empty, Cell::from), super::BOX.into()]);
    };
    for (i, needed) in feeders {
        let kind = line.feeder.get(i as usize);
        row("feeder", kind.map(|k| k.name.as_str()), needed, kind.map(|k| k.stock));
    }
    for (i, needed) in nozzles {
        let kind = line.nozzle.get(i as usize);
        row("nozzle or gripper", kind.map(|k| k.name.as_str()), needed, kind.map(|k| k.stock));
    }
    for (name, needed) in carts {
        row("cart", Some(name), needed, line.cart.iter().find(|c| c.name == name).map(|c| c.stock));
    }
    table
}
