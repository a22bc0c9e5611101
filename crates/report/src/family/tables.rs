//! The tables of a family.

use crate::code::SetupCode;
use crate::supply;
use crate::table::{Cell, Table};
use domain::family::plan::FamilyPlan;
use domain::plan::{StationPlan, SupplyPlace};
use draw::lookup;

/// One row a product: what is wanted, how fast it goes, what its bound is.
pub(super) fn products(family: &FamilyPlan) -> Table {
    let mut table = Table::new(&[
        "product",
        "side",
        "panel",
        ">boards",
        ">panels",
        ">takt s",
        ">bound s",
        ">gap %",
        ">by itself s",
        ">hours",
        ">not placed",
        "slowest station",
    ]);
    for m in &family.members {
        let p = &m.plan;
        let slowest = p.stations.iter().max_by_key(|s| s.time_us).map_or("", |s| s.station.as_str());
        let alone = if m.alone_us.0 > 0 { Cell::Number(m.alone_us.to_s(), 3) } else { Cell::Empty };
        table.row(vec![
            p.product.name.clone().into(),
            p.side.word().into(),
            format!("{} x {}", p.panel.columns, p.panel.rows).into(),
            Cell::Number(m.boards as f64, 0),
            Cell::Number(m.panels as f64, 0),
            Cell::Number(p.takt_us.to_s(), 3),
            Cell::Number(p.bound_us.to_s(), 3),
            Cell::Number(100.0 * p.gap(), 1),
            alone,
            Cell::Number(m.panels as f64 * p.takt_us.to_s() / 3600.0, 2),
            p.unplaced.len().into(),
            slowest.into(),
        ]);
    }
    let mut total = vec![Cell::from("whole demand"), Cell::Empty, Cell::Empty];
    total.push(Cell::Number(family.members.iter().map(|m| m.boards as f64).sum(), 0));
    total.push(Cell::Number(family.members.iter().map(|m| m.panels as f64).sum(), 0));
    total.extend([Cell::Empty, Cell::Empty, Cell::Number(100.0 * family.gap(), 1), Cell::Empty]);
    total.push(Cell::Number(family.time_us.to_s() / 3600.0, 2));
    total.extend([family.members.iter().map(|m| m.plan.unplaced.len()).sum::<usize>().into(), Cell::Empty]);
    table.row(total);
    table.totals = true;
    table
}

/// The shared set-up of one station, by place and slot: how much of it the whole demand takes, and who picks from it.
pub(super) fn setup_of(family: &FamilyPlan, station: usize) -> Table {
    let mut table = Table::new(&["place", "slot", "feeder", "part number", "value", ">tape mm", ">parts in all", "picked by", "code"]);
    let Some(first) = family.members.first().map(|m| &m.plan) else { return table };
    let Some(planned) = first.stations.get(station) else { return table };
    let picked: Vec<Vec<usize>> =
        family.members.iter().map(|m| m.plan.stations.get(station).map_or_else(Vec::new, supply::counts)).collect();
    let mut rows: Vec<(bool, String, u32, Vec<Cell>)> = Vec::new();
    for (i, s) in planned.supplies.iter().enumerate() {
        let stand = supply::stand(first, planned, s);
        let part = lookup::part(first, s.part);
        let number = lookup::part_number(first, s.part);
        let of = |m: usize| picked[m].get(i).copied().unwrap_or(0);
        let all: f64 = family.members.iter().enumerate().map(|(m, x)| of(m) as f64 * x.panels as f64).sum();
        let users: Vec<String> = family
            .members
            .iter()
            .enumerate()
            .filter(|(m, _)| of(*m) > 0)
            .map(|(m, x)| format!("{} ({} a panel)", x.plan.product.name, of(m)))
            .collect();
        let code = SetupCode { station: planned.station.clone(), place: stand.place.clone(), slot: stand.slot, part: number.clone() };
        let tape = supply::tape(part).map_or(Cell::Empty, |(w, _)| Cell::Number(w, 0));
        let cells = vec![
            stand.place.clone().into(),
            stand.words.into(),
            stand.carrier.into(),
            number.into(),
            part.map(|p| p.value.clone()).unwrap_or_default().into(),
            tape,
            Cell::Number(all, 0),
            users.join(", ").into(),
            Cell::Code(code.text()),
        ];
        rows.push((matches!(s.place, SupplyPlace::Tray { .. }), stand.place, stand.slot, cells));
    }
    rows.sort_by(|a, b| (a.0, &a.1, a.2).cmp(&(b.0, &b.1, b.2)));
    table.rows = rows.into_iter().map(|r| r.3).collect();
    table
}

/// The shared set-up of all stations, with the station first.
pub(super) fn setup(family: &FamilyPlan) -> Table {
    let mut all = Table::new(&["station"]);
    for (s, shared) in family.setup.iter().enumerate() {
        let one = setup_of(family, s);
        if all.columns.len() == 1 {
            all.columns.extend(one.columns);
        }
        for cells in one.rows {
            let mut row = vec![Cell::from(shared.station.clone())];
            row.extend(cells);
            all.row(row);
        }
    }
    all
}

/// What holds the family back.
pub(super) fn reasons(family: &FamilyPlan) -> Table {
    let mut table = Table::new(&["what", ">worth h"]);
    for r in &family.reasons {
        let worth = if r.worth_us.0 > 0 { Cell::Number(r.worth_us.to_s() / 3600.0, 2) } else { Cell::Empty };
        table.row(vec![r.text.clone().into(), worth]);
    }
    table
}

/// Seconds per panel of every product at every station.
pub(super) fn balance(family: &FamilyPlan) -> Table {
    let mut table = Table::new(&["product (s per panel)"]);
    for s in &family.setup {
        table.column(&s.station, crate::table::Align::Right);
    }
    for m in &family.members {
        let mut row = vec![Cell::from(m.plan.product.name.clone())];
        row.extend(m.plan.stations.iter().map(|s: &StationPlan| Cell::Number(s.time_us.to_s(), 3)));
        table.row(row);
    }
    table
}
