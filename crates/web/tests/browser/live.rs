//! A job that is watched.

use crate::house::House;
use crate::tab::Tab;
use std::collections::BTreeSet;
use std::time::Instant;
use store::people::Role;

#[test]
fn figures_and_curve_move_without_a_reload_until_the_plan_is_there() {
    let Some(house) = House::start() else { return };
    house.furnish();
    let job = house.order("watched", 6);
    let tab = house.person("Ella", Role::Engineer);
    tab.go(&job);
    tab.value("window.here = true");
    tab.wait("figure.curve svg path.takt");
    let mut told = BTreeSet::new();
    let begun = Instant::now();
    let figures = "(window.here && document.querySelector('.job').dataset.state === 'running') ? ['takt', 'bound', 'gap', 'seconds']\
                   .map((n) => document.querySelector(`[data-told=\"${n}\"]`).textContent).join(' | ') : ''";
    while begun.elapsed() < crate::chromium::PATIENCE {
        // The page is loaded once more as soon as the job is over, perhaps just now.
        match tab.glimpse(figures) {
            Some(figures) if !figures.is_empty() => told.insert(figures),
            _ => break,
        };
    }
    assert!(told.len() > 3, "the figures stood still: {told:?}");
    tab.wait("a.button[href='/plans/watched']");
    assert_eq!(tab.value("window.here === undefined"), true, "the page is loaded once more at the end");
    tab.until("document.querySelector('figure.curve svg').getAttribute('aria-label').startsWith('Takt ')");
    let loads = |tab: &Tab| tab.events().iter().filter(|e| e.method == "Page.loadEventFired").count();
    let before = loads(&tab);
    // Longer than a room takes to look at a job twice: nothing comes any more.
    tab.value("new Promise((done) => setTimeout(done, 1500))");
    assert_eq!(loads(&tab), before, "a job that is over stays as it is");
    tab.is_clean(&[]);
}

#[test]
fn a_lost_connection_is_told_and_found_again() {
    let Some(house) = House::start() else { return };
    house.furnish();
    let job = house.order("interrupted", 300);
    let tab = house.person("Ella", Role::Engineer);
    let seen = tab.events().len();
    tab.cut("*/live");
    tab.go(&job);
    tab.fail_one(seen);
    tab.wait_text("The connection to the room is lost");
    tab.heal();
    tab.until("document.querySelector('.job > .warned').hidden");
    let now = tab.text("document.querySelector('[data-told=seconds]').textContent");
    tab.until(&format!("document.querySelector('[data-told=seconds]').textContent !== '{now}'"));
    tab.follow("form[data-while] button");
    tab.wait("a.button[href='/plans/interrupted']");
    tab.until("document.querySelector('[data-told=state]').textContent === 'done, stopped early'");
}

#[test]
fn a_room_that_ends_does_not_wait_for_those_who_watch() {
    let Some(house) = House::start() else { return };
    house.furnish();
    let job = house.order("left", 600);
    let tab = house.person("Ella", Role::Engineer);
    tab.go(&job);
    tab.wait("figure.curve svg path.takt");
    let begun = Instant::now();
    let House { browser, room } = house;
    drop(room);
    assert!(begun.elapsed().as_secs() < 30, "it took {:?}", begun.elapsed());
    drop(browser);
}
