//! The set-up list: what stands where, how it is fed, how much of it a panel takes.

use crate::code::SetupCode;
use crate::present::Report;
use crate::supply;
use crate::table::{Cell, Table};
use domain::plan::StationPlan;
use draw::lookup;

/// The set-up of one station, by place and slot.
pub(crate) fn setup_of(report: &Report<'_>, planned: &StationPlan) -> Table {
    let mut table =
        Table::new(&["place", "slot", "feeder", "part number", "value", "package", ">tape mm", ">pitch mm", ">per panel", "code"]);
    table.rows = rows(report, planned);
    table
}

/// The set-up of all stations, with the station first.
pub(crate) fn setup(report: &Report<'_>) -> Table {
    let mut all = Table::new(&["station"]);
    for planned in &report.plan.stations {
        let one = setup_of(report, planned);
        if all.columns.len() == 1 {
            all.columns.extend(one.columns);
        }
        for cells in one.rows {
            let mut row = vec![Cell::from(planned.station.clone())];
            row.extend(cells);
            all.row(row);
        }
    }
    all
}

fn rows(report: &Report<'_>, planned: &StationPlan) -> Vec<Vec<Cell>> {
    let plan = report.plan;
    let counts = supply::counts(planned);
    let mut rows: Vec<(bool, String, u32, Vec<Cell>)> = Vec::new();
    for (supply, count) in planned.supplies.iter().zip(counts) {
        let stand = supply::stand(plan, planned, supply);
        let part = lookup::part(plan, supply.part);
        let number = lookup::part_number(plan, supply.part);
        let (width, pitch) = supply::tape(part).map_or((Cell::Empty, Cell::Empty), |(w, p)| (millimetres(w), millimetres(p)));
        let code = SetupCode { station: planned.station.clone(), place: stand.place.clone(), slot: stand.slot, part: number.clone() };
        let cells = vec![
            stand.place.clone().into(),
            stand.words.into(),
            stand.carrier.into(),
            number.into(),
            part.map(|p| p.value.clone()).unwrap_or_default().into(),
            part.map(|p| p.package.clone()).unwrap_or_default().into(),
            width,
            pitch,
            count.into(),
            Cell::Code(code.text()),
        ];
        let tray = matches!(supply.place, domain::plan::SupplyPlace::Tray { .. });
        rows.push((tray, stand.place, stand.slot, cells));
    }
    rows.sort_by(|a, b| (a.0, &a.1, a.2).cmp(&(b.0, &b.1, b.2)));
    rows.into_iter().map(|r| r.3).collect()
}

/// Millimetres with as many decimals as they have.
fn millimetres(mm: f64) -> Cell {
    Cell::Number(mm, if mm.fract() == 0.0 { 0 } else { 2 })
}
