//! The parts of the printed sheets, in order: the headline and the balance for whoever decides,
//! one part per station for whoever sets up, the lists for whoever checks.

use super::flow::{Flow, MARGIN, Mark, WIDTH};
use super::grid;
use crate::error::ReportError;
use crate::headline;
use crate::present::Report;
use crate::tables;
use draw::palette::{INK, QUIET, VERMILION};
use draw::scene::Colour;
use draw::text;

/// Ground of the figures on the first page.
const CARD: Colour = Colour(0xee, 0xf3, 0xf5);

/// The plan as printed sheets.
pub(crate) fn sheets(report: &Report<'_>) -> Result<Vec<u8>, ReportError> {
    let mut flow = Flow::new();
    first_page(&mut flow, report);
    let board = draw::board::scene(report.plan);
    flow.y += 14.0;
    flow.heading("Board: which station places what", flow.picture_height(&board) * 0.8);
    flow.picture(&board);
    for index in 0..report.plan.stations.len() {
        station(&mut flow, report, index);
    }
    kit(&mut flow, report);
    first_panel(&mut flow, report);
    lists(&mut flow, report);
    flow.finish(&report.title)
}

fn first_page(flow: &mut Flow, report: &Report<'_>) {
    for line in text::wrap(&report.title, WIDTH, 20.0, true) {
        flow.need(26.0);
        flow.text(MARGIN, flow.y + 18.0, 20.0, true, INK, line);
        flow.y += 26.0;
    }
    flow.y += 2.0;
    flow.paragraph(&headline::outcome(report.plan), 10.5, false);
    flow.paragraph(&headline::method(report.plan), 8.5, true);
    figures(flow, report);
    flow.heading("Balance: where the seconds go", 120.0);
    flow.picture(&draw::balance::scene(report.plan));
    grid::titled(flow, "What holds it back", &tables::reasons(report), "The plan names nothing that holds it back.");
    grid::titled(flow, "Seconds per panel by cause", &tables::seconds(report), "The plan has no stations.");
}

/// The headline figures side by side.
fn figures(flow: &mut Flow, report: &Report<'_>) {
    const HEIGHT: f64 = 52.0;
    const SPACE: f64 = 8.0;
    let figures = headline::figures(report);
    let width = (WIDTH + SPACE) / figures.len() as f64 - SPACE;
    flow.need(HEIGHT + 16.0);
    flow.y += 4.0;
    for (i, figure) in figures.iter().enumerate() {
        let (x, y) = (MARGIN + i as f64 * (width + SPACE), flow.y);
        flow.mark(Mark::Rect { x, y, w: width, h: HEIGHT, colour: CARD });
        let warn = figure.name == "not placed" && figure.value != "0";
        let size = (15.0f64).min(15.0 * (width - 14.0) / text::width(&figure.value, 15.0, true).max(1.0));
        flow.text(x + 7.0, y + 13.0, 7.5, false, QUIET, figure.name);
        flow.text(x + 7.0, y + 31.0, size, true, if warn { VERMILION } else { INK }, &*figure.value);
        flow.text(x + 7.0, y + 44.0, 7.0, false, QUIET, text::fit(figure.unit, width - 10.0, 7.0, false));
    }
    flow.y += HEIGHT + 16.0;
}

fn station(flow: &mut Flow, report: &Report<'_>, index: usize) {
    let plan = report.plan;
    let planned = &plan.stations[index];
    flow.new_page();
    flow.heading(&format!("Station {}: {:.2} s per panel", planned.station, planned.time_us.to_s()), 120.0);
    if let Some(scene) = report.timeline(index) {
        flow.picture(&scene);
    }
    let banks = draw::lookup::station(plan, planned).map_or(0, |s| s.bank.len());
    for scene in (0..banks).filter_map(|b| draw::bank::scene(plan, index, b)).chain(draw::tray::scene(plan, index)) {
        flow.picture(&scene);
    }
    grid::titled(
        flow,
        "Set-up list, with the code to scan at each feeder",
        &tables::setup_of(report, planned),
        "Nothing stands at this station.",
    );
    grid::titled(flow, "Nozzles", &tables::nozzles(report, planned), "No nozzle is needed.");
    grid::titled(flow, "Order of work", &tables::passes(report, planned), "This station does nothing.");
    for (i, pass) in planned.passes.iter().enumerate() {
        if let Some((word, trips)) = tables::trips(report, planned, pass) {
            let head = draw::lookup::head_name(plan, planned, pass.head);
            grid::titled(flow, &format!("{word} of pass {} ({head})", i + 1), &trips, "This pass places nothing.");
        }
    }
}

fn kit(flow: &mut Flow, report: &Report<'_>) {
    flow.new_page();
    flow.heading("Kit: what is collected before the set-up", 120.0);
    grid::titled(flow, "Reels, sticks and trays", &tables::kit(report), "Nothing stands anywhere.");
    grid::titled(flow, "Feeders, nozzles and carts", &tables::tools(report), "Nothing is needed.");
}

fn first_panel(flow: &mut Flow, report: &Report<'_>) {
    flow.new_page();
    flow.heading("First panel: check list", 120.0);
    flow.paragraph(tables::FIRST, 9.0, true);
    grid::set(flow, &tables::first_panel(report), "Nothing is placed.");
}

fn lists(flow: &mut Flow, report: &Report<'_>) {
    flow.new_page();
    flow.heading("Not placed", 60.0);
    grid::set(flow, &tables::unplaced(report), "Every placement has its station.");
    flow.y += 12.0;
    flow.heading("Findings", 60.0);
    grid::set(flow, &tables::findings(report), "Nothing was found.");
    flow.y += 12.0;
    flow.heading("Assumptions", 80.0);
    flow.paragraph("Parts of this job whose sizes nobody stated. A guess should be checked before the plan is used.", 9.0, true);
    grid::set(flow, &tables::assumptions(report), "Every size was stated.");
    flow.y += 12.0;
    let handling = tables::handling(report);
    if !handling.rows.is_empty() {
        flow.heading("Store and feeder room", 80.0);
        flow.paragraph(tables::HANDLING, 9.0, true);
        grid::set(flow, &handling, "");
        flow.y += 12.0;
    }
    flow.heading("Cautions", 120.0);
    grid::set(flow, &tables::cautions(), "");
}
