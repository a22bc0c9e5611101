//! The sections of the page, in the order a reader needs them: how good, why, where, what to do.

use super::style::STYLE;
use super::write::{figure, heading, sentence, table};
use crate::headline;
use crate::present::Report;
use crate::tables;
use draw::svg::escape;
use std::fmt::Write;

/// The plan as one page.
pub(crate) fn page(report: &Report<'_>) -> String {
    let mut out = String::from("<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n");
    let _ = writeln!(
        out,
        "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<meta name=\"color-scheme\" content=\"light dark\">\n<title>{}</title>\n<style>{STYLE}</style>\n</head>\n<body>",
        escape(&report.title)
    );
    head(&mut out, report);
    contents(&mut out, report);
    balance(&mut out, report);
    board(&mut out, report);
    for index in 0..report.plan.stations.len() {
        station(&mut out, report, index);
    }
    kit(&mut out, report);
    lists(&mut out, report);
    out.push_str("<footer>A proposal by evenline. It never bypasses an interlock; qualified people check and release it.</footer>\n</body>\n</html>\n");
    out
}

fn head(out: &mut String, report: &Report<'_>) {
    let _ = writeln!(out, "<header>\n<p class=\"kind\">Placement plan</p>\n<h1>{}</h1>", escape(&report.title));
    sentence(out, "outcome", &headline::outcome(report.plan));
    sentence(out, "how", &headline::method(report.plan));
    out.push_str("<dl class=\"figures\">\n");
    for figure in headline::figures(report) {
        let warn = if figure.name == "not placed" && figure.value != "0" { " class=\"warn\"" } else { "" };
        let long = if figure.value.chars().count() > 7 { " class=\"long\"" } else { "" };
        let _ = writeln!(
            out,
            "<div{warn}><dt>{}</dt><dd{long}>{}<small>{}</small></dd></div>",
            figure.name,
            escape(&figure.value),
            escape(figure.unit)
        );
    }
    out.push_str("</dl>\n</header>\n");
}

fn contents(out: &mut String, report: &Report<'_>) {
    out.push_str("<nav aria-label=\"Contents\"><a href=\"#balance\">Balance</a><a href=\"#board\">Board</a>");
    for (i, station) in report.plan.stations.iter().enumerate() {
        let _ = write!(out, "<a href=\"#station-{}\">{}</a>", i + 1, escape(&station.station));
    }
    out.push_str("<a href=\"#kit\">Kit</a><a href=\"#first-panel\">First panel</a><a href=\"#unplaced\">Not placed</a><a href=\"#findings\">Findings</a><a href=\"#assumptions\">Assumptions</a><a href=\"#cautions\">Cautions</a></nav>\n");
}

fn balance(out: &mut String, report: &Report<'_>) {
    out.push_str("<section id=\"balance\">\n");
    heading(out, 2, "Balance: where the seconds go");
    figure(out, &draw::balance::scene(report.plan));
    table(out, &tables::seconds(report), "The plan has no stations.");
    heading(out, 3, "What holds it back");
    table(out, &tables::reasons(report), "The plan names nothing that holds it back.");
    out.push_str("</section>\n");
}

fn board(out: &mut String, report: &Report<'_>) {
    out.push_str("<section id=\"board\">\n");
    heading(out, 2, "Board: which station places what");
    figure(out, &draw::board::scene(report.plan));
    out.push_str("</section>\n");
}

fn station(out: &mut String, report: &Report<'_>, index: usize) {
    let plan = report.plan;
    let planned = &plan.stations[index];
    let _ = writeln!(out, "<section class=\"station\" id=\"station-{}\">", index + 1);
    heading(out, 2, &format!("Station {}: {:.2} s per panel", planned.station, planned.time_us.to_s()));
    if let Some(scene) = report.timeline(index) {
        figure(out, &scene);
    }
    heading(out, 3, "Set-up list");
    table(out, &tables::setup_of(report, planned), "Nothing stands at this station.");
    let banks = draw::lookup::station(plan, planned).map_or(0, |s| s.bank.len());
    for scene in (0..banks).filter_map(|b| draw::bank::scene(plan, index, b)).chain(draw::tray::scene(plan, index)) {
        figure(out, &scene);
    }
    heading(out, 3, "Nozzles");
    table(out, &tables::nozzles(report, planned), "No nozzle is needed.");
    heading(out, 3, "Order of work");
    table(out, &tables::passes(report, planned), "This station does nothing.");
    for (i, pass) in planned.passes.iter().enumerate() {
        if let Some((word, trips)) = tables::trips(report, planned, pass) {
            let head = draw::lookup::head_name(plan, planned, pass.head);
            let _ = writeln!(out, "<details open><summary>{word} of pass {} ({})</summary>", i + 1, escape(&head));
            table(out, &trips, "This pass places nothing.");
            out.push_str("</details>\n");
        }
    }
    out.push_str("</section>\n");
}

fn kit(out: &mut String, report: &Report<'_>) {
    out.push_str("<section id=\"kit\">\n");
    heading(out, 2, "Kit: what is collected before the set-up");
    table(out, &tables::kit(report), "Nothing stands anywhere.");
    table(out, &tables::tools(report), "Nothing is needed.");
    out.push_str("</section>\n<section id=\"first-panel\">\n");
    heading(out, 2, "First panel: check list");
    sentence(out, "quiet", tables::FIRST);
    table(out, &tables::first_panel(report), "Nothing is placed.");
    out.push_str("</section>\n");
}

fn lists(out: &mut String, report: &Report<'_>) {
    out.push_str("<section id=\"unplaced\">\n");
    heading(out, 2, "Not placed");
    table(out, &tables::unplaced(report), "Every placement has its station.");
    out.push_str("</section>\n<section id=\"findings\">\n");
    heading(out, 2, "Findings");
    table(out, &tables::findings(report), "Nothing was found.");
    out.push_str("</section>\n<section id=\"assumptions\">\n");
    heading(out, 2, "Assumptions");
    sentence(out, "quiet", "Parts of this job whose sizes nobody stated. A guess should be checked before the plan is used.");
    table(out, &tables::assumptions(report), "Every size was stated.");
    let handling = tables::handling(report);
    if !handling.rows.is_empty() {
        heading(out, 3, "Store and feeder room");
        sentence(out, "quiet", tables::HANDLING);
        table(out, &handling, "");
    }
    out.push_str("</section>\n<section id=\"cautions\">\n");
    heading(out, 2, "Cautions");
    table(out, &tables::cautions(), "");
    out.push_str("</section>\n");
}
