//! Line sheets: begun from an example, edited by two at once.

use crate::house::House;
use crate::tab::Tab;
use store::people::Role;

/// Keeps a new line that begins with an example.
pub fn line_from_example(tab: &Tab, example: &str, name: &str) {
    tab.go("/lines/new");
    tab.follow(&format!("a[href='/lines/new?from={example}']"));
    tab.fill("input[name=name]", name);
    tab.follow("form.stack button:not(.plain)");
    assert_eq!(tab.path(), format!("/lines/{}", web::page::path(name)), "{}", tab.text("document.body.innerText"));
    tab.wait("figure.picture svg.picture");
}

/// Writes a line at the beginning of the sheet, as a person does.
fn write(tab: &Tab, text: &str) {
    tab.wait(".sheet-frame textarea[name=text]");
    tab.value("(() => { const e = document.querySelector('textarea[name=text]'); e.focus(); e.setSelectionRange(0, 0); return true; })()");
    tab.type_in(text);
}

#[test]
fn two_edit_one_sheet_and_nothing_of_either_is_lost() {
    let Some(house) = House::start() else { return };
    let (ella, otto) = (house.person("Ella", Role::Engineer), house.person("Otto", Role::Engineer));
    line_from_example(&ella, "one-station", "one station");
    ella.go("/lines/one%20station/edit");
    otto.go("/lines/one%20station/edit");
    write(&ella, "# Ella measured the transfer anew.\n");
    ella.follow("form.stack button:not(.plain)");
    assert_eq!(ella.path(), "/lines/one%20station");
    write(&otto, "# Otto counted the nozzles.\n");
    otto.fill("input[name=note]", "nozzles counted");
    otto.follow("form.stack button:not(.plain)");
    otto.wait_text("Ella saved version 2");
    let mine = "document.querySelector('textarea[name=text]').value";
    assert!(otto.text(mine).starts_with("# Otto counted the nozzles.\n"), "{}", otto.text(mine));
    assert_eq!(otto.text("document.querySelector('input[name=note]').value"), "nozzles counted");
    assert_eq!(otto.value("[...document.querySelectorAll('textarea[readonly]')].some((t) => t.value.startsWith('# Ella measured'))"), true);
    // Leaving now would lose it, and the browser asks; saying so, as the tests do, leaves.
    write(&otto, "# Ella measured the transfer anew.\n");
    otto.follow("form.stack button:not(.plain)");
    assert_eq!(otto.path(), "/lines/one%20station");
    assert_eq!(otto.dialogs(), [""; 0], "saving asks nothing");
    let (_, text) = house.room.block_on(house.room.store.read(store::document::Kind::Line, "one station", Some(3))).expect("version 3");
    assert!(
        String::from_utf8_lossy(&text)
            .replace("\r\n", "\n")
            .starts_with("# Ella measured the transfer anew.\n# Otto counted the nozzles.\n")
    );
    ella.is_clean(&[]);
    otto.is_clean(&[409]);
}

#[test]
fn what_is_wrong_with_a_sheet_is_marked_where_it_stands() {
    let Some(house) = House::start() else { return };
    let tab = house.person("Ella", Role::Engineer);
    line_from_example(&tab, "one-station", "one station");
    tab.go("/lines/one%20station/edit");
    write(&tab, "# one\nspeed = 3\n");
    tab.follow("form.stack button:not(.plain)");
    tab.wait("ul.findings");
    tab.wait(".numbers .marked");
    assert_eq!(tab.text("document.querySelector('.numbers .marked').textContent"), "2");
    tab.click(".sheet-help button");
    assert_eq!(tab.text("document.querySelector('textarea[name=text]').value.slice(document.activeElement.selectionStart, document.activeElement.selectionEnd)"), "speed = 3");
    // Tab leaves the sheet, except after Enter until Escape.
    tab.press("Tab");
    assert_ne!(tab.text("document.activeElement.name"), "text");
    tab.value("document.querySelector('textarea[name=text]').focus()");
    tab.press("Enter");
    tab.press("Tab");
    assert_eq!(tab.text("document.activeElement.name"), "text");
    assert!(tab.text("document.activeElement.value").contains("\n  "), "two spaces are written");
    tab.press("Escape");
    tab.press("Tab");
    assert_ne!(tab.text("document.activeElement.name"), "text", "a sheet must not hold the focus");
    // Leaving what is not saved is asked about.
    tab.follow("header.bar a.home");
    assert_eq!(tab.dialogs().len(), 1, "{:?}", tab.dialogs());
    tab.is_clean(&[422]);
}
