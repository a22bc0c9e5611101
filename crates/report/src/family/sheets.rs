//! The printed sheets of a family.

use super::tables;
use crate::error::ReportError;
use crate::pdf::{Flow, grid};
use domain::family::plan::FamilyPlan;

pub(super) fn sheets(family: &FamilyPlan) -> Result<Vec<u8>, ReportError> {
    let title = super::title(family);
    let mut flow = Flow::new();
    flow.heading(&title, 120.0);
    flow.paragraph(&super::outcome(family), 10.5, false);
    grid::titled(&mut flow, "Products", &tables::products(family), "The family has no product.");
    flow.picture(&draw::family::scene(family));
    grid::titled(&mut flow, "What holds it back", &tables::reasons(family), "The plan names nothing that holds it back.");
    for (s, shared) in family.setup.iter().enumerate() {
        flow.new_page();
        flow.heading(&format!("Set-up of station {}, for all products", shared.station), 120.0);
        if let Some(first) = family.members.first() {
            let banks = first.plan.stations.get(s).and_then(|p| draw::lookup::station(&first.plan, p)).map_or(0, |x| x.bank.len());
            for scene in (0..banks).filter_map(|b| draw::bank::scene(&first.plan, s, b)).chain(draw::tray::scene(&first.plan, s)) {
                flow.picture(&scene);
            }
        }
        grid::titled(
            &mut flow,
            "Set-up list, with the code to scan at each feeder",
            &tables::setup_of(family, s),
            "Nothing stands at this station.",
        );
    }
    flow.new_page();
    grid::titled(&mut flow, "Seconds per panel of each product", &tables::balance(family), "The family has no product.");
    for m in &family.members {
        let scene = draw::balance::scene(&m.plan);
        flow.y += 10.0;
        flow.heading(
            &format!("{}: {} panels of {:.2} s", m.plan.product.name, m.panels, m.plan.takt_us.to_s()),
            flow.picture_height(&scene) * 0.8,
        );
        flow.picture(&scene);
    }
    flow.new_page();
    flow.heading("Cautions", 120.0);
    grid::set(&mut flow, &crate::tables::cautions(), "");
    flow.finish(&title)
}
