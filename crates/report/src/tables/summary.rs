//! The plan in figures, and the seconds of each station by cause.

use crate::headline;
use crate::present::Report;
use crate::table::{Align, Cell, Table};
use domain::plan::Breakdown;
use units::Time;

/// The headline and how the plan was made, one fact a row.
pub(crate) fn summary(report: &Report<'_>) -> Table {
    let plan = report.plan;
    let mut table = Table::new(&["what", ">value", "unit"]);
    let mut fact = |what: &str, value: Cell, unit: &str| table.row(vec![what.into(), value, unit.into()]);
    fact("title", report.title.clone().into(), "");
    fact("product", plan.product.name.clone().into(), "");
    fact("line", plan.line.name.clone().into(), "");
    fact("outcome", headline::outcome(plan).into(), "");
    fact("how", headline::method(plan).into(), "");
    for figure in headline::figures(report) {
        let value = figure.value.parse().map_or_else(|_| figure.value.clone().into(), |v: f64| Cell::Number(v, decimals(&figure.value)));
        fact(figure.name, value, figure.unit);
    }
    for station in &plan.stations {
        fact(&format!("station {}", station.station), seconds_cell(station.time_us), "s per panel");
    }
    for equipment in &plan.line.equipment {
        fact(&format!("equipment {}", equipment.name), seconds_cell(*equipment.time), "s per panel");
    }
    table
}

fn decimals(text: &str) -> usize {
    text.split_once('.').map_or(0, |(_, d)| d.len())
}

fn seconds_cell(time: Time) -> Cell {
    Cell::Number(time.to_s(), 3)
}

/// Seconds per panel by cause, one column per station; causes that cost nothing anywhere are left out.
pub(crate) fn seconds(report: &Report<'_>) -> Table {
    let stations = &report.plan.stations;
    let mut table = Table::new(&["cause (s per panel)"]);
    for station in stations {
        table.column(&station.station, Align::Right);
    }
    for (cause, (name, _)) in Breakdown::default().items().iter().enumerate() {
        let times: Vec<Time> = stations.iter().map(|s| s.breakdown.items()[cause].1).collect();
        if times.iter().any(|t| t.0 != 0) {
            let mut row = vec![Cell::from(*name)];
            row.extend(times.into_iter().map(|t| if t.0 == 0 { Cell::Empty } else { seconds_cell(t) }));
            table.row(row);
        }
    }
    let mut totals = vec![Cell::from("station")];
    totals.extend(stations.iter().map(|s| seconds_cell(s.time_us)));
    table.row(totals);
    table.totals = true;
    table
}
