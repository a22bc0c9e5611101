//! The page of a family.

use super::tables;
use crate::html::{STYLE, figure, heading, sentence, table};
use domain::family::plan::FamilyPlan;
use draw::svg::escape;
use std::fmt::Write;

pub(super) fn page(family: &FamilyPlan) -> String {
    let title = super::title(family);
    let mut out = String::from("<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n");
    let _ = writeln!(
        out,
        "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<meta name=\"color-scheme\" content=\"light dark\">\n<title>{}</title>\n<style>{STYLE}</style>\n</head>\n<body>",
        escape(&title)
    );
    let _ = writeln!(out, "<header>\n<p class=\"kind\">Family plan</p>\n<h1>{}</h1>", escape(&title));
    sentence(&mut out, "outcome", &super::outcome(family));
    sentence(&mut out, "how", &format!("made by the planner's search, seed {}, {} moves tried", family.seed, family.work));
    out.push_str("</header>\n");
    contents(&mut out, family);
    out.push_str("<section id=\"products\">\n");
    heading(&mut out, 2, "Products");
    table(&mut out, &tables::products(family), "The family has no product.");
    figure(&mut out, &draw::family::scene(family));
    heading(&mut out, 3, "What holds it back");
    table(&mut out, &tables::reasons(family), "The plan names nothing that holds it back.");
    out.push_str("</section>\n<section id=\"set-up\">\n");
    heading(&mut out, 2, "The one set-up");
    sentence(
        &mut out,
        "quiet",
        "It stands for all products; nothing is changed over between them. Nozzles are those of each product's own sheets.",
    );
    for (s, shared) in family.setup.iter().enumerate() {
        heading(&mut out, 3, &format!("Station {}", shared.station));
        if let Some(first) = family.members.first() {
            let banks = first.plan.stations.get(s).and_then(|p| draw::lookup::station(&first.plan, p)).map_or(0, |x| x.bank.len());
            for scene in (0..banks).filter_map(|b| draw::bank::scene(&first.plan, s, b)).chain(draw::tray::scene(&first.plan, s)) {
                figure(&mut out, &scene);
            }
        }
        table(&mut out, &tables::setup_of(family, s), "Nothing stands at this station.");
    }
    out.push_str("</section>\n<section id=\"balance\">\n");
    heading(&mut out, 2, "Balance of each product");
    table(&mut out, &tables::balance(family), "The family has no product.");
    for m in &family.members {
        heading(&mut out, 3, &format!("{}: {} panels of {:.2} s", m.plan.product.name, m.panels, m.plan.takt_us.to_s()));
        figure(&mut out, &draw::balance::scene(&m.plan));
    }
    out.push_str("</section>\n<footer>A proposal by evenline. It never bypasses an interlock; qualified people check and release it.</footer>\n</body>\n</html>\n");
    out
}

fn contents(out: &mut String, family: &FamilyPlan) {
    out.push_str("<nav aria-label=\"Contents\"><a href=\"#products\">Products</a><a href=\"#set-up\">Set-up</a><a href=\"#balance\">Balance</a></nav>\n");
    if family.members.is_empty() {
        sentence(out, "quiet", "The family has no product.");
    }
}
