//! Boards: files chosen in the browser, and names that would like to be more than text.

use crate::common::{File, example};
use crate::house::House;
use crate::tab::Tab;
use std::path::{Path, PathBuf};
use store::people::Role;

/// A file of the examples.
pub fn example_path(path: &str) -> PathBuf {
    Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../../examples")).join(path)
}

/// Chooses the files of the river logger, sends them, and is on the page of the board; gives its path.
pub fn upload_river_logger(tab: &Tab) -> String {
    tab.go("/boards");
    let files = [example_path("products/river-logger/placements.csv"), example_path("products/river-logger/bill-of-materials.tsv")];
    tab.files("form.drop input[name=files]", &[&files[0], &files[1]]);
    tab.wait_text("2 files, 35.5 kB.");
    tab.files("form.drop input[name=table]", &[&example_path("parts/river-logger.csv")]);
    tab.fill("form.drop input[name=name]", "river-logger");
    tab.follow("form.drop button");
    tab.until("document.querySelector('h1')?.textContent === 'river-logger'");
    tab.path()
}

#[test]
fn files_are_sent_from_the_browser_and_the_board_is_shown() {
    let Some(house) = House::start() else { return };
    let tab = house.person("Ella", Role::Engineer);
    assert_eq!(upload_river_logger(&tab), "/boards/river-logger");
    tab.wait("figure.picture svg.picture");
    assert!(tab.text("document.querySelector('dl.figures').innerText").contains("fitted"));
    // What is no board comes back as the same form, with what was chosen still in it.
    tab.go("/boards");
    let notes = tempfile::NamedTempFile::with_suffix(".csv").expect("a file");
    std::fs::write(notes.path(), "water level,high\nsince,yesterday\n").expect("a file is written");
    tab.files("form.drop input[name=files]", &[notes.path()]);
    tab.fill("form.drop input[name=name]", "no board");
    tab.click("form.drop button");
    tab.until("document.querySelector('h1')?.textContent === 'No board was found'");
    assert_eq!(tab.text("document.querySelector('form.drop input[name=name]').value"), "no board");
    assert_eq!(tab.value("document.querySelector('form.drop input[name=files]').files.length"), 1);
    tab.is_clean(&[422]);
}

#[test]
fn a_dropped_file_is_listed_and_sent() {
    let Some(house) = House::start() else { return };
    let tab = house.person("Ella", Role::Engineer);
    tab.go("/boards");
    let text = String::from_utf8(example("products/rain-counter/rain-counter-pick.csv")).expect("text");
    let dropped = format!(
        "(() => {{ const data = new DataTransfer(); data.items.add(new File([{}], 'rain-counter-pick.csv')); \
         for (const kind of ['dragenter', 'dragover', 'drop']) document.querySelector('form.drop').dispatchEvent(\
         new DragEvent(kind, {{ dataTransfer: data, bubbles: true, cancelable: true }})); return true; }})()",
        serde_json::json!(text)
    );
    tab.value(&dropped);
    tab.wait_text("rain-counter-pick.csv");
    tab.follow("form.drop button");
    tab.until("location.pathname.startsWith('/boards/')");
    tab.is_clean(&[]);
}

#[test]
fn a_script_in_a_part_name_stays_text() {
    let Some(house) = House::start() else { return };
    let tab = house.person("Ella", Role::Engineer);
    let part = "<img src=x onerror=alert(1)><script>alert(2)</script>";
    let rows = format!("Ref,Value,Package,X mm,Y mm,Rotation,Side\nR1,{part},ODD-7,10,10,0,top\nR2,{part},ODD-7,20,10,0,top\n");
    let ella = house.room.as_role("engineer");
    let page = ella.post_files("/boards", &[("name", "&lt;b&gt; 'board' & co")], &[("files", &File::new("<i>.csv", rows))]);
    assert_eq!(page.status, 303, "{}", page.text);
    for path in ["/boards".to_owned(), page.location().to_owned(), "/parts".to_owned(), "/".to_owned()] {
        tab.go(&path);
        let taken = "[...document.querySelectorAll('main :is(b, i, img, script)')].some((e) => e.localName === 'img' || \
                     e.localName === 'script' || ['bold', '.csv'].includes(e.textContent))";
        assert_eq!(tab.value(taken), false, "{path} takes text for tags");
    }
    tab.go(&format!("{}/settle", page.location()));
    tab.until(&format!("document.body.textContent.includes({})", serde_json::json!(part)));
    assert_eq!(tab.dialogs(), [""; 0]);
    tab.is_clean(&[]);
}
