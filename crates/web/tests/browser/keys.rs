//! By keys alone.

use crate::common::PASSWORD;
use crate::house::House;
use crate::tab::Tab;

/// What has the focus, in a few words.
fn focus(tab: &Tab) -> String {
    tab.text("(() => { const e = document.activeElement; return `${e.tagName} ${e.name || ''} ${e.textContent.trim().slice(0, 60)}`; })()")
}

/// Presses Tab until something of this text has the focus.
pub fn tab_to(tab: &Tab, text: &str) {
    let mut passed = Vec::new();
    for _ in 0..80 {
        tab.press("Tab");
        let now = focus(tab);
        if now.contains(text) {
            let ring = tab.text("getComputedStyle(document.activeElement).outlineStyle");
            assert_ne!(ring, "none", "{now} does not show that it has the focus");
            return;
        }
        passed.push(now);
    }
    panic!("Tab never comes to `{text}`; it passed {passed:#?}");
}

/// Presses Enter on what opens another page.
pub fn enter(tab: &Tab) {
    let seen = tab.events().len();
    tab.press("Enter");
    tab.loaded(seen);
}

#[test]
fn signing_in_and_going_about_needs_no_mouse() {
    let Some(house) = House::start() else { return };
    house.room.person("Kay", "engineer");
    let tab = house.tab();
    tab.go("/sign-in");
    tab.type_in("Kay");
    tab.press("Tab");
    tab.type_in(PASSWORD);
    enter(&tab);
    assert_eq!(tab.path(), "/");
    tab.press("Tab");
    assert!(focus(&tab).contains("Skip to the page"), "{}", focus(&tab));
    tab_to(&tab, "Lines");
    enter(&tab);
    assert_eq!(tab.path(), "/lines");
    let seen = tab.events().len();
    tab.press("g");
    tab.press("b");
    tab.loaded(seen);
    assert_eq!(tab.path(), "/boards");
    tab.press("?");
    tab.wait("dialog[open]");
    assert!(focus(&tab).contains("Close"), "the dialog takes the focus: {}", focus(&tab));
    tab.press("Escape");
    tab.until("!document.querySelector('dialog')");
    tab.is_clean(&[]);
    // With the keys switched off, as people who speak to their computer need it, nothing happens any more.
    tab.value("localStorage.setItem('keys-off', '1')");
    tab.press("?");
    tab.press("g");
    tab.press("l");
    assert!(!tab.has("dialog"));
    assert_eq!(tab.path(), "/boards");
}
