//! Lines and locks: writing them, errors, two people at one sheet, comparing.

mod common;

use common::{Browser, Page, Room, example};

fn sheet(name: &str) -> String {
    String::from_utf8(example(&format!("lines/{name}.toml"))).expect("text")
}

/// Sends the form of a sheet, as browsers do: with carriage returns.
fn send(browser: &Browser, path: &str, fields: &[(&str, &str)]) -> Page {
    let fields: Vec<(&str, String)> = fields.iter().map(|(n, v)| (*n, v.replace('\n', "\r\n"))).collect();
    let fields: Vec<(&str, &str)> = fields.iter().map(|(n, v)| (*n, v.as_str())).collect();
    browser.post_files(path, &fields, &[])
}

fn add(browser: &Browser, name: &str, text: &str) {
    let page = send(browser, "/lines", &[("name", name), ("text", text), ("note", "")]);
    assert_eq!(page.status, 303, "{}", page.text);
}

#[test]
fn a_line_begins_with_an_example_and_is_shown_with_its_picture() {
    let room = Room::start();
    let anna = room.as_role("engineer");
    let form = anna.see("/lines/new?from=head-swap");
    assert_eq!(form.field("text").trim_start_matches('\n'), sheet("head-swap"));
    add(&anna, "line 7", &form.field("text"));
    let list = anna.see("/lines").words();
    let row: Vec<&str> = list.split_once("line 7").expect("it is listed").1.split_whitespace().take(4).collect();
    assert_eq!(row, ["3", "12", "250", "38"], "stations, heads, slots, tray places");
    let page = anna.see("/lines/line%207");
    assert!(page.text.contains("<svg class=\"picture\"") && page.text.contains("station 1: swap-1"), "{}", page.text);
    assert!(page.words().contains("gantry") && page.words().contains("460 mm × 400 mm"));
    // What is kept is what was typed, with plain line ends.
    let kept = anna.see("/lines/line%207/sheet.toml");
    assert_eq!(kept.text, sheet("head-swap"));
    assert!(kept.header("content-disposition").is_some_and(|v| v.contains("line%207.toml")));
}

#[test]
fn all_sheets_to_begin_with_are_sound() {
    let room = Room::start();
    let anna = room.as_role("engineer");
    let page = anna.see("/lines/new");
    let keys: Vec<&str> = page.text.split("/lines/new?from=").skip(1).filter_map(|r| r.split('"').next()).collect();
    assert_eq!(keys.len(), 7);
    for key in keys {
        add(&anna, key, &anna.see(&format!("/lines/new?from={key}")).field("text"));
    }
    let page = anna.see("/locks/new");
    for key in page.text.split("/locks/new?from=").skip(1).filter_map(|r| r.split('"').next()) {
        let text = anna.see(&format!("/locks/new?from={key}")).field("text");
        assert_eq!(send(&anna, "/locks", &[("name", key), ("text", &text)]).status, 303, "{key}");
    }
}

#[test]
fn a_sheet_may_come_as_a_file() {
    let room = Room::start();
    let anna = room.as_role("engineer");
    let file = common::File::new("mixed.toml", sheet("mixed"));
    let page = anna.post_files("/lines", &[("name", "mixed"), ("text", ""), ("note", "from the plant")], &[("file", &file)]);
    assert_eq!(page.status, 303, "{}", page.text);
    assert!(anna.see("/lines/mixed").words().contains("from the plant"));
}

#[test]
fn a_file_that_is_no_text_costs_nothing_typed() {
    let room = Room::start();
    let anna = room.as_role("engineer");
    let file = common::File::new("mixed.toml", vec![0xff, 0xfe, 0]);
    let page = anna.post_files("/lines", &[("name", "mixed"), ("text", "# typed"), ("note", "why")], &[("file", &file)]);
    assert_eq!((page.status, page.field("name").as_str(), page.field("text").trim()), (422, "mixed", "# typed"));
    assert!(page.words().contains("no text in UTF-8"), "{}", page.words());
}

#[test]
fn what_is_wrong_is_told_with_its_line_and_nothing_typed_is_lost() {
    let room = Room::start();
    let anna = room.as_role("engineer");
    let wrong = sheet("mixed").replace("max_panel", "max_pannel");
    let line = wrong.lines().position(|l| l.contains("max_pannel")).expect("it is there") + 1;
    let page = send(&anna, "/lines", &[("name", "mixed"), ("text", &wrong), ("note", "why not")]);
    assert_eq!(page.status, 422);
    assert_eq!(
        (page.field("text").trim_start_matches('\n'), page.field("name"), page.field("note")),
        (wrong.as_str(), "mixed".to_owned(), "why not".to_owned())
    );
    assert!(
        page.words().contains(&format!("line {line}")) && page.words().contains("line.unknown-key") && page.words().contains("max_panel"),
        "{}",
        page.words()
    );
    assert!(page.text.contains(&format!("data-lines=\"{line}\"")), "{}", page.text);
    assert_eq!(anna.get("/lines/mixed").status, 404, "nothing was kept");
    // Markup in a text stays text.
    let page = send(&anna, "/lines", &[("name", "<b>x"), ("text", "</textarea><script>alert(1)</script>"), ("note", "")]);
    assert_eq!(page.status, 422);
    assert!(!page.text.contains("<script>alert") && !page.text.contains("<b>x"), "{}", page.text);
}

#[test]
fn names_that_cannot_be_keep_the_text() {
    let room = Room::start();
    let anna = room.as_role("engineer");
    add(&anna, "mixed", &sheet("mixed"));
    for name in ["mixed", "new", "compare", "a/b", "", "."] {
        let page = send(&anna, "/lines", &[("name", name), ("text", &sheet("turret")), ("note", "")]);
        assert_eq!(page.status, 422, "{name}");
        assert_eq!(page.field("text").trim_start_matches('\n'), sheet("turret"), "{name}");
    }
}

#[test]
fn the_second_of_two_people_sees_both_texts() {
    let room = Room::start();
    let (anna, bert) = (room.person("anna", "engineer"), room.person("bert", "engineer"));
    add(&anna, "mixed", &sheet("mixed"));
    let (hers, his) = (anna.see("/lines/mixed/edit"), bert.see("/lines/mixed/edit"));
    let base = hers.field("base");
    assert_eq!(base, his.field("base"));
    let (faster, slower) = (
        sheet("mixed").replace("pick = \"110 ms\"", "pick = \"101 ms\""),
        sheet("mixed").replace("pick = \"110 ms\"", "pick = \"122 ms\""),
    );
    assert_eq!(send(&anna, "/lines/mixed", &[("base", &base), ("text", &faster), ("note", "measured")]).status, 303);
    let page = send(&bert, "/lines/mixed", &[("base", &base), ("text", &slower), ("note", "guessed")]);
    assert_eq!(page.status, 409);
    let words = page.words();
    assert!(words.contains("anna saved version 2") && words.contains("measured"), "{words}");
    assert!(words.contains("pick = \"101 ms\"") && words.contains("pick = \"122 ms\""), "both texts are shown");
    assert!(
        words.contains("station flex-3, head broad drum") && words.contains("101 ms") && words.contains("122 ms"),
        "and what differs: {words}"
    );
    assert_eq!(
        (page.field("text").trim_start_matches('\n'), page.field("base").as_str(), page.field("note").as_str()),
        (slower.as_str(), "2", "guessed")
    );
    // Nothing was overwritten; saved again on top of what was seen, it is the next version.
    assert_eq!(anna.see("/lines/mixed/sheet.toml").text, faster);
    assert_eq!(send(&bert, "/lines/mixed", &[("base", "2"), ("text", &slower), ("note", "guessed")]).status, 303);
    assert_eq!(bert.see("/lines/mixed/sheet.toml?version=2").text, faster);
    assert_eq!(bert.see("/lines/mixed/sheet.toml").text, slower);
    let old = bert.see("/lines/mixed?version=1").words();
    assert!(old.contains("This is version 1 of 3"), "{old}");
    let log = room.admin.see("/audit").words();
    assert!(log.contains("version 3: guessed") && log.contains("bert"), "{log}");
}

#[test]
fn what_was_removed_meanwhile_is_not_lost() {
    let room = Room::start();
    let (anna, bert) = (room.as_role("engineer"), room.as_role("engineer"));
    add(&anna, "mixed", &sheet("mixed"));
    assert_eq!(anna.post_form("/lines/mixed/remove", &[("base", "7")]).status, 409, "another version was seen");
    assert_eq!(anna.post_form("/lines/mixed/remove", &[("base", "1")]).status, 303);
    assert_eq!(anna.get("/lines/mixed").status, 404);
    let page = send(&bert, "/lines/mixed", &[("base", "1"), ("text", &sheet("mixed")), ("note", "")]);
    assert_eq!(page.status, 409);
    assert_eq!(page.field("text").trim_start_matches('\n'), sheet("mixed"));
    add(&bert, &page.field("name"), &page.field("text"));
    assert_eq!(bert.see("/lines/mixed/sheet.toml").text, sheet("mixed"));
}

#[test]
fn two_lines_are_compared_in_words() {
    let room = Room::start();
    let anna = room.as_role("engineer");
    add(&anna, "a", &sheet("mixed"));
    add(&anna, "b", &sheet("mixed").replace("slots = 56", "slots = 48").replace("speed = \"1.6 m/s\"", "speed = \"1.4 m/s\""));
    let page = anna.see("/lines/compare?a=a&b=b");
    let words = page.words();
    assert!(words.contains("station flex-3, bank front") && words.contains("56") && words.contains("48"), "{words}");
    assert!(words.contains("speed along the line") && words.contains("1.4 m/s"), "{words}");
    assert_eq!(page.text.matches("<svg class=\"picture\"").count(), 2);
    assert!(anna.see("/lines/compare?a=a&b=a").words().contains("The two sheets say the same."));
    assert_eq!(anna.get("/lines/compare?a=a&b=none").status, 404);
    assert!(anna.see("/lines").text.contains("/lines/compare"));
}

#[test]
fn who_may_only_look_sees_no_way_to_change() {
    let room = Room::start();
    let (anna, vera) = (room.as_role("engineer"), room.as_role("viewer"));
    add(&anna, "mixed", &sheet("mixed"));
    let page = vera.see("/lines/mixed");
    assert!(!page.text.contains("/edit") && !page.text.contains("/remove") && !page.text.contains("sheet.toml"), "{}", page.text);
    assert_eq!(vera.get("/lines/mixed/edit").status, 403);
}

#[test]
fn locks_are_kept_like_lines() {
    let room = Room::start();
    let anna = room.as_role("engineer");
    let text = String::from_utf8(example("locks/river-logger.toml")).expect("text");
    assert_eq!(send(&anna, "/locks", &[("name", "logger"), ("text", &text), ("note", "")]).status, 303);
    let page = anna.see("/locks/logger").words();
    assert!(page.contains("RG-C02-100N at chip-2, from bank front, slot 12.") && page.contains("U1, U2, U3 before SH1."), "{page}");
    let page = send(&anna, "/locks/logger", &[("base", "1"), ("text", "order_rul = \"none\""), ("note", "")]);
    assert_eq!(page.status, 422);
    assert!(page.words().contains("order_rule") && page.field("text").contains("order_rul ="), "{}", page.words());
    assert_eq!(send(&anna, "/locks/logger", &[("base", "1"), ("text", "order_rule = \"none\""), ("note", "")]).status, 303);
    let page = send(&anna, "/locks/logger", &[("base", "1"), ("text", "order_rule = \"operation\""), ("note", "")]);
    assert_eq!(page.status, 409);
    assert_eq!(anna.post_form("/locks/logger/remove", &[("base", "2")]).status, 303);
    assert!(!anna.see("/locks").words().contains("logger"));
}
