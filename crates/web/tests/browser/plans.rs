//! Plans: ordered, watched, changed by hand with the mouse and with keys, planned on, printed.

use crate::boards::upload_river_logger;
use crate::house::House;
use crate::keys::{enter, tab_to};
use crate::lines::line_from_example;
use crate::tab::{Tab, bytes};
use store::people::Role;

/// A feeder that covers one slot, and the free slot of its bank next to it, as [`choose`] has found them.
const TILE: &str = "a.tile[data-chosen]";
const FREE: &str = "li.free[data-chosen]";

/// Chooses the feeder and the free slot that are nearest to each other on the page, where there are such: both are to be on the
/// screen at once.
fn choose(tab: &Tab) -> bool {
    let found = tab.value(
        "(() => { let best = null; for (const tile of document.querySelectorAll('ol.slots li.feeder.span-1 a.tile:not(:has(.held))')) { \
         for (const free of tile.closest('ol').querySelectorAll('li.free')) { \
         const [a, b] = [tile.getBoundingClientRect(), free.getBoundingClientRect()]; const far = Math.hypot(a.x - b.x, a.y - b.y); \
         if (!best || far < best.far) best = { far, tile, free }; } } \
         if (best) { best.tile.dataset.chosen = ''; best.free.dataset.chosen = ''; } return !!best; })()",
    );
    found == true
}

/// Orders a plan by the page for it, and is on the page of the job.
pub fn order(tab: &Tab, line: &str, plan: &str, seconds: &str) {
    tab.go("/plans/new");
    tab.choose("select[name=product]", "river-logger");
    tab.choose("select[name=line]", line);
    tab.choose("select[name=side]", "top");
    tab.fill("input[name=seconds]", seconds);
    tab.fill("input[name=plan]", plan);
    tab.follow("form.stack > button");
    assert!(tab.path().starts_with("/jobs/"), "{}: {}", tab.path(), tab.text("document.body.innerText"));
}

#[test]
fn a_feeder_is_dragged_priced_kept_and_planned_on() {
    let Some(house) = House::start() else { return };
    let tab = house.person("Ella", Role::Engineer);
    upload_river_logger(&tab);
    // Three stations of a hundred slots each: some stay free.
    line_from_example(&tab, "head-swap", "three stations");
    order(&tab, "three stations", "by hand", "3");
    tab.wait("a.button[href='/plans/by%20hand']");
    tab.follow("a.button[href='/plans/by%20hand']");
    tab.wait_text("takt");
    // Which stations a plan of three seconds fills depends on the machine.
    let stations = ["1", "2", "3"].map(|n| format!("/plans/by%20hand/stations/{n}"));
    let station = stations.iter().find(|at| {
        tab.go(at);
        choose(&tab)
    });
    let station = station.expect("a bank with a narrow feeder and a free slot");
    let part = tab.text(&format!("document.querySelector({TILE:?}).dataset.part"));
    let slot = tab.text(&format!("document.querySelector({FREE:?}).dataset.number"));
    tab.drag(TILE, FREE);
    tab.wait("#price dl.figures");
    let told = tab.text("document.querySelector('#price').innerText");
    assert!(told.contains(&part) && told.contains("takt then") && told.contains(&format!(" {slot}")), "{told}");
    assert_eq!(tab.value("document.querySelectorAll('.ghost, .taken, .over').length"), 0, "what was dragged is let go");
    assert_eq!(tab.value("document.querySelector('#set-up').dataset.base"), "1", "nothing is kept before somebody says so");
    tab.follow("#price button[value=look]");
    assert_eq!(&tab.path(), station);
    // The part may come from another feeder of this station as well.
    let here = format!("[...document.querySelectorAll('[data-number={slot:?}] a.tile')].find((t) => t.dataset.part === {part:?})");
    assert_eq!(tab.value(&format!("!!{here}?.querySelector('.held')")), true, "a lock keeps it at {slot}");
    // What cannot be done is said, and nothing is changed.
    tab.drag("li.feeder:not(.span-1) a.tile, li.level a.tile, li.feeder a.tile", "nav.tabs a[href$='/sheets']");
    assert_eq!(&tab.path(), station);
    // By keys: taken, moved, put, priced.
    assert!(choose(&tab), "another free slot");
    tab.value(&format!("document.querySelector({TILE:?}).focus()"));
    tab.press("Enter");
    tab.until("document.querySelector('.tile.taken')");
    tab.press("ArrowRight");
    tab.press("Escape");
    tab.until("!document.querySelector('.tile.taken, .over')");
    tab.drag(TILE, FREE);
    tab.wait("#price button[value=plan]");
    tab.follow("#price button[value=plan]");
    assert!(tab.path().starts_with("/jobs/"), "{}", tab.path());
    tab.until("document.querySelector('.job').dataset.state === 'running'");
    tab.follow("form[data-while] button");
    tab.wait("a.button[href='/plans/by%20hand']");
    tab.is_clean(&[]);
}

#[test]
fn a_plan_is_opened_by_keys_and_its_sheets_are_printed() {
    let Some(house) = House::start() else { return };
    house.furnish();
    let job = house.order("printed", 3);
    let tab = house.person("Otto", Role::Operator);
    tab.go(&job);
    tab.wait("a.button[href='/plans/printed']");
    tab.go("/");
    tab_to(&tab, "printed");
    enter(&tab);
    assert_eq!(tab.path(), "/plans/printed");
    tab_to(&tab, "Sheets");
    enter(&tab);
    for sheet in tab.value("[...document.querySelectorAll('td a[href*=\"/sheets/\"]')].map((a) => a.pathname)").as_array().expect("sheets")
    {
        tab.go(sheet.as_str().expect("a path"));
        let pdf = bytes(&tab.print());
        assert!(pdf.starts_with(b"%PDF-") && pdf.len() > 5_000, "{sheet}: {} bytes", pdf.len());
        tab.ask("Emulation.setEmulatedMedia", &serde_json::json!({ "media": "print" }));
        for hidden in ["header.bar", "nav.tabs", "[data-print]"] {
            let shown = tab.value(&format!("[...document.querySelectorAll('{hidden}')].some((e) => e.getClientRects().length > 0)"));
            assert_eq!(shown, false, "{sheet} prints {hidden}");
        }
        tab.ask("Emulation.setEmulatedMedia", &serde_json::json!({ "media": "" }));
    }
    tab.is_clean(&[]);
}
