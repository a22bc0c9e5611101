//! Boards and parts: reading, hostile files, settling doubts, conflicts, versions, panels, the library.

mod common;

use common::http::escape;
use common::{Browser, File, Page, Room, example, example_folder, real_board};
use std::io::Write as _;

const LIST: &str = "Ref,Val,Package,PosX,PosY,Rot,Side\n\
    R1,10k,R_0603_1608Metric,10.0,10.0,0,top\n\
    R2,10k,R_0603_1608Metric,15.0,10.0,90,top\n\
    C1,100n,C_0603_1608Metric,20.0,12.0,0,top\n\
    X1,odd,ODD-THING,30.0,20.0,0,bottom\n";

fn upload(browser: &Browser, fields: &[(&str, &str)], files: &[File]) -> Page {
    let sent: Vec<(&str, &File)> = files.iter().map(|f| ("files", f)).collect();
    browser.post_files("/boards", fields, &sent)
}

/// A board of the small list.
fn small(browser: &Browser, name: &str) {
    let page = upload(browser, &[("name", name)], &[File::new("list.csv", LIST)]);
    assert_eq!(page.status, 303, "{}", page.words());
    assert_eq!(page.location(), format!("/boards/{}", escape(name)));
}

fn zip(entries: &[(&str, &[u8])]) -> File {
    let mut writer = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    for (name, bytes) in entries {
        writer.start_file(*name, zip::write::SimpleFileOptions::default()).expect("an entry");
        writer.write_all(bytes).expect("bytes");
    }
    File::new("board.zip", writer.finish().expect("an archive").into_inner())
}

/// The figure under a word of the page's list of figures.
fn figure(page: &Page, word: &str) -> String {
    let rest = page.text.split_once(&format!("<dt>{word}</dt>")).unwrap_or_else(|| panic!("no figure `{word}`: {}", page.text)).1;
    rest.split_once("</dd>").expect("a figure").0.rsplit('>').next().expect("its text").to_owned()
}

#[test]
fn a_board_is_read_shown_and_listed() {
    let room = Room::start();
    let anna = room.as_role("engineer");
    let files = example_folder("products/river-logger");
    let page = upload(&anna, &[("name", "river-logger")], &files);
    assert_eq!(page.status, 303, "{}", page.words());
    let board = anna.follow(page);
    for (word, count) in [("fitted", "402"), ("top", "365"), ("bottom", "37"), ("not fitted", "9"), ("no parts", "28"), ("rows", "439")] {
        assert_eq!(figure(&board, word), count, "{word}");
    }
    assert!(board.text.contains("read.unit-stated") && board.text.contains("<svg"), "{}", board.words());
    let words = board.words();
    assert!(
        words.contains("bill of materials") && words.contains("Its coordinates are in") && words.contains("placements reach over"),
        "{words}"
    );
    let viewer = room.as_role("viewer");
    let list = viewer.see("/boards");
    assert!(list.words().contains("402") && !list.text.contains("type=\"file\""), "{}", list.words());
    assert!(viewer.see("/boards/river-logger/top.svg").text.starts_with("<svg"));
    assert!(viewer.see("/boards/river-logger?side=bottom").text.contains("bottom side"));

    let operator = room.as_role("operator");
    let document = operator.see("/boards/river-logger/product.json");
    assert_eq!(document.json()["placements"].as_array().map(Vec::len), Some(439));
    let originals = operator.see("/boards/river-logger/originals.zip");
    let mut archive = zip::ZipArchive::new(std::io::Cursor::new(originals.bytes)).expect("an archive");
    assert_eq!(archive.len(), files.len());
    assert!(archive.by_name("placements.csv").is_ok());
    assert!(operator.see("/boards/river-logger/parts.csv").text.starts_with("number,package,"));
    assert!(operator.see("/boards/river-logger/parts.xlsx").bytes.starts_with(b"PK"));
}

#[test]
fn roles_hold_at_every_door() {
    let room = Room::start();
    let anna = room.as_role("engineer");
    small(&anna, "gauge");
    let (nobody, viewer, operator) = (room.browser(), room.as_role("viewer"), room.as_role("operator"));
    for path in ["/boards", "/boards/gauge", "/boards/gauge/panel", "/parts", "/parts/check", "/boards/gauge/product.json"] {
        assert_eq!(nobody.get(path).status, 303, "{path}");
    }
    assert_eq!(viewer.get("/boards/gauge/product.json").status, 403);
    assert_eq!(viewer.get("/parts/export.csv").status, 403);
    for who in [&viewer, &operator] {
        assert_eq!(upload(who, &[], &[File::new("list.csv", LIST)]).status, 403);
        assert_eq!(who.post_form("/boards/gauge/remove", &[("base", "1")]).status, 403);
        assert_eq!(who.get("/boards/gauge/settle").status, 403);
        assert_eq!(who.post_form("/parts/add", &[("product", "gauge"), ("version", "1"), ("base", "0")]).status, 403);
        assert_eq!(who.post_form("/parts/X1", &[("base", "0")]).status, 403);
    }
}

#[test]
fn hostile_files_come_to_findings() {
    let room = Room::start();
    let anna = room.as_role("engineer");
    let png = b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR\x00\x00\x00\x01\x00\x00\x00\x01\x08\x06\x00\x00\x00".to_vec();
    let mut state = 7_u64;
    let mut random = || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
        (state >> 56) as u8
    };
    let noise: Vec<u8> = (0..60_000).map(|_| random()).collect();
    let bomb = zip(&[("list.csv", LIST.as_bytes()), ("zeros.csv", &vec![0; 40 << 20])]);
    let nested = zip(&[("inner.zip", &zip(&[("list.csv", LIST.as_bytes())]).bytes)]);
    let names: Vec<String> = (0..600).map(|i| format!("{i}.csv")).collect();
    let many = zip(&names.iter().map(|n| (n.as_str(), b"x".as_slice())).collect::<Vec<_>>());
    let mut cut = zip(&[("list.csv", LIST.as_bytes())]);
    cut.bytes.truncate(40);
    let cases = [
        ("nothing in it", File::new("empty.csv", ""), "read.empty-file"),
        ("a picture", File::new("list.csv", png), "read.binary"),
        ("noise", File::new("noise.csv", noise.clone()), "read.no-placements"),
        ("noise as a workbook", File::new("noise.xlsx", [b"PK\x03\x04".as_slice(), &noise].concat()), "read.spreadsheet"),
        ("a bomb", bomb, "read.too-large"),
        ("an archive within", nested, "read.format-later"),
        ("many entries", many, "read.too-large"),
        ("a cut archive", cut, "read.binary"),
        ("a broken product", File::new("p.json", "{\"schema\": \"evenline-product/1\""), "read.product-syntax"),
        ("XML", File::new("x.xml", "<?xml version=\"1.0\"?><a/>"), "read.format-later"),
    ];
    for (what, file, code) in cases {
        let page = upload(&anna, &[], &[file]);
        assert_eq!(page.status, 422, "{what}: {}", page.words());
        assert!(page.text.contains(code), "{what}: {}", page.words());
        assert!(page.text.contains("nothing was kept"), "{what}");
    }
    assert!(anna.see("/boards").text.contains("No board is known yet"));
    // A form without files, and one that is none.
    assert_eq!(upload(&anna, &[], &[]).status, 422);
    assert_eq!(anna.post_form("/boards", &[("name", "x")]).status, 422);
    for name in ["a/b", "..", "x\"y", &"n".repeat(121)] {
        let page = upload(&anna, &[("name", name)], &[File::new("list.csv", LIST)]);
        assert_eq!(page.status, 422, "{name}: {}", page.words());
    }
}

#[test]
fn names_in_archives_are_only_names() {
    let room = Room::start();
    let anna = room.as_role("engineer");
    let page = upload(&anna, &[("name", "gauge")], &[zip(&[("../../etc/list.csv", LIST.as_bytes()), ("C:\\x\\readme.txt", b"read me")])]);
    let board = anna.follow(page);
    assert_eq!(figure(&board, "fitted"), "4");
    let originals = anna.see("/boards/gauge/originals.zip");
    let archive = zip::ZipArchive::new(std::io::Cursor::new(originals.bytes)).expect("an archive");
    let names: Vec<String> = archive.file_names().map(|n| n.expect("a name").into_owned()).collect();
    assert_eq!(names, ["list.csv", "readme.txt"]);
}

#[test]
fn what_users_write_is_text_and_nothing_else() {
    let room = Room::start();
    let anna = room.as_role("engineer");
    let evil = "<script>alert(1)</script>";
    let list = LIST.replace("odd,ODD-THING", &format!("{evil},{evil}")).replace("R2,", "\"<img src=x onerror=alert(2)>\",");
    let page = upload(&anna, &[], &[File::new("<b>list</b>.csv", list)]);
    assert_eq!(page.status, 303, "{}", page.words());
    let at = page.location().to_owned();
    let name = at.trim_start_matches("/boards/").to_owned();
    let add = anna.post_form("/parts/import", &[("base", "0")]);
    assert_eq!(add.status, 422, "{}", add.words());
    let table = File::new("t.csv", format!("number,package,height_mm\n{evil},{evil},1.5\n"));
    let imported = anna.post_files("/parts/import", &[("base", "0"), ("from", evil)], &[("table", &table)]);
    assert_eq!(imported.status, 200, "{}", imported.words());
    let part = format!("/parts/{}", escape(evil));
    let check = format!("/parts/check?product={name}");
    for path in ["/boards", &at, &format!("{at}/settle"), &format!("{at}/top.svg"), &format!("{at}/bottom.svg"), &check, "/parts", &part] {
        let page = anna.see(path);
        assert!(!page.text.contains(evil) && !page.text.contains("<img src=x") && !page.text.contains("<b>list"), "{path}: {}", page.text);
        assert!(!page.text.contains("style=\"") && !page.text.contains(" onclick"), "{path}: {}", page.text);
    }
    assert!(anna.see(&part).words().contains(evil));
}

#[test]
fn a_board_that_is_none_is_tried_again_with_a_mapping() {
    let room = Room::start();
    let anna = room.as_role("engineer");
    let odd = File::new("odd.csv", "Delta;Gamma;Beta;Alpha\n0;2,5;1,5;R1\n90;2,5;4,5;R2\n0;2,5;7,5;R3\n");
    let page = upload(&anna, &[("name", "odd")], std::slice::from_ref(&odd));
    assert_eq!(page.status, 422, "{}", page.words());
    assert_eq!(page.field("name"), "odd");
    let mapping = File::new(
        "m.toml",
        "[[file]]\nname = \"odd.csv\"\nrole = \"placements\"\nunit = \"mm\"\nside = \"top\"\n\
         columns = { reference = \"Alpha\", x = \"Beta\", y = \"Gamma\", rotation = \"Delta\" }\n",
    );
    let page = anna.post_files("/boards", &[("name", "odd")], &[("files", &odd), ("mapping", &mapping)]);
    let board = anna.follow(page);
    assert_eq!(figure(&board, "fitted"), "3", "{}", board.words());
    assert!(anna.see("/boards/odd/settle").field("mapping").contains("role = \"placements\""));
}

#[test]
fn doubts_are_settled_and_the_other_hand_is_told() {
    let room = Room::start();
    let (anna, ben) = (room.person("anna", "engineer"), room.person("ben", "engineer"));
    small(&anna, "gauge");
    let form = anna.see("/boards/gauge/settle");
    assert_eq!(form.field("base"), "1");
    assert_eq!(form.field("part.0"), anna.see("/boards/gauge/settle").field("part.0"));
    assert!(form.field("mapping").contains("headings = ["), "{}", form.field("mapping"));
    let odd = form.field("part.0");
    let settle = |who: &Browser, base: &str, mapping: &str, height: &str| {
        let fields = [
            ("base", base),
            ("mapping", mapping),
            ("part.0", &odd),
            ("body_x_mm.0", "7.5"),
            ("body_y_mm.0", "5"),
            ("height_mm.0", height),
            ("mount.0", "smt"),
        ];
        who.post_files("/boards/gauge/settle", &fields, &[])
    };
    // What cannot be read changes nothing, and stays in the form.
    let page = settle(&anna, "1", "mirrored = maybe", "2");
    assert_eq!(page.status, 422, "{}", page.words());
    assert!(page.text.contains("read.mapping-") && page.field("mapping") == "mirrored = maybe", "{}", page.words());
    let page = settle(&anna, "1", "", "tall");
    assert_eq!(page.status, 422, "{}", page.words());
    assert!(page.text.contains("parts.table-unreadable") && page.field("height_mm.0") == "tall", "{}", page.words());
    assert_eq!(anna.see("/boards/gauge/settle").field("base"), "1");

    let mapping = "[board]\nwidth = \"50 mm\"\ndepth = \"40 mm\"\n";
    let page = settle(&anna, "1", mapping, "2.2");
    assert_eq!(page.status, 303, "{}", page.words());
    let board = anna.follow(page);
    assert_eq!(figure(&board, "board"), "50 × 40 mm");
    let form = anna.see("/boards/gauge/settle");
    assert_eq!(
        (form.field("base"), form.field("mapping"), form.field("height_mm.0")),
        ("2".to_owned(), mapping.to_owned(), "2.2".to_owned())
    );

    // The second, who began from version 1, is told, and loses nothing.
    let bens = "[references]\nnot_fitted = [\"R2\"]\n";
    let page = settle(&ben, "1", bens, "3.3");
    assert_eq!(page.status, 409, "{}", page.words());
    let words = page.words();
    assert!(words.contains("anna saved version 2") && words.contains("width = \"50 mm\"") && words.contains("2.2"), "{words}");
    assert_eq!((page.field("base"), page.field("mapping"), page.field("height_mm.0")), ("2".to_owned(), bens.to_owned(), "3.3".to_owned()));
    let page = settle(&ben, "2", &format!("{mapping}{bens}"), "3.3");
    let board = ben.follow(page);
    assert_eq!((figure(&board, "fitted"), figure(&board, "not fitted")), ("3".to_owned(), "1".to_owned()));

    // Versions can be looked at and compared.
    let old = ben.see("/boards/gauge?version=1");
    assert!(old.words().contains("This is version 1") && figure(&old, "fitted") == "4", "{}", old.words());
    let compared = ben.see("/boards/gauge/compare?from=1&to=3").words();
    assert!(compared.contains("no longer fitted") && compared.contains("R2"), "{compared}");
    assert_eq!(ben.get("/boards/gauge?version=9").status, 404);

    // A value that is taken away is concluded again; a parts table states more.
    let table = File::new("t.csv", "package,height_mm\nR_0603_1608Metric,0.61\n");
    let fields = [("base", "3"), ("mapping", ""), ("part.0", &odd), ("note", "measured")];
    let page = ben.post_files("/boards/gauge/settle", &fields, &[("table", &table)]);
    assert_eq!(page.status, 303, "{}", page.words());
    let document = ben.see("/boards/gauge/product.json").json();
    let parts = document["parts"].as_array().expect("parts");
    let odd = parts.iter().find(|p| p["package"] == "ODD-THING").expect("the odd part");
    assert_ne!(odd["height_um"]["source"], "engineer");
    let resistor = parts.iter().find(|p| p["package"] == "R_0603_1608Metric").expect("the resistor");
    assert_eq!((&resistor["height_um"]["value"], &resistor["height_um"]["source"]), (&610.into(), &"engineer".into()));
    assert_eq!(document["placements"].as_array().expect("placements").iter().filter(|p| p["status"] == "fitted").count(), 4);
}

#[test]
fn a_revision_follows_and_a_board_is_removed() {
    let room = Room::start();
    let anna = room.as_role("engineer");
    small(&anna, "gauge");
    // The name is taken: the way to a revision is told.
    let page = upload(&anna, &[("name", "gauge")], &[File::new("list.csv", LIST)]);
    assert_eq!(page.status, 422, "{}", page.words());
    assert!(page.words().contains("new revision"), "{}", page.words());
    let moved = File::new("list.csv", LIST.replace("C1,100n,C_0603_1608Metric,20.0", "C1,100n,C_0603_1608Metric,23.0"));
    let page = anna.post_files("/boards/gauge/revise", &[("base", "1")], &[("files", &moved)]);
    assert_eq!(page.status, 303, "{}", page.words());
    let seen = anna.follow(page).words();
    assert!(seen.contains("moved") && seen.contains("by 3, 0 mm"), "{seen}");
    let late = anna.post_files("/boards/gauge/revise", &[("base", "1")], &[("files", &moved)]);
    assert_eq!(late.status, 409, "{}", late.words());
    assert_eq!(anna.post_form("/boards/gauge/remove", &[("base", "1")]).status, 409);
    assert_eq!(anna.post_form("/boards/gauge/remove", &[("base", "2")]).status, 303);
    assert_eq!(anna.get("/boards/gauge").status, 404);
    small(&anna, "gauge");
    assert_eq!(figure(&anna.see("/boards/gauge"), "fitted"), "4");
    let log = room.block_on(room.store.audit(i64::MAX, 100));
    assert!(log.is_ok_and(|l| l.iter().any(|e| e.action == "remove")), "the log tells of removals");
}

#[test]
fn a_panel_is_laid_out_and_handed_to_planning() {
    let room = Room::start();
    let anna = room.as_role("engineer");
    small(&anna, "gauge 2");
    let at = "/boards/gauge%202/panel";
    let first = anna.see(at);
    assert!(first.text.contains("<svg") && figure(&first, "boards") == "4", "{}", first.words());
    let page = anna.see(&format!(
        "{at}?side=top&columns=3&rows=2&pitch_x=60&pitch_y=45mm&rail_x=0mm&rail_y=7mm&turned=rows&marks=5mmx3.5mm&bad_mark=2x3"
    ));
    assert_eq!((figure(&page, "boards"), figure(&page, "placements")), ("6".to_owned(), "18".to_owned()));
    let link = "/plans/new?product=gauge%202&amp;side=top&amp;columns=3&amp;rows=2&amp;pitch_x=60mm&amp;pitch_y=45mm&amp;rail_x=0mm\
        &amp;rail_y=7mm&amp;turned=rows&amp;marks=5mmx3.5mm&amp;bad_mark=2mmx3mm";
    assert!(page.text.contains(link), "{}", page.text);
    for query in [
        "side=top&columns=3&rows=2&pitch_x=1&pitch_y=45",
        "side=top&columns=0&rows=2",
        "side=up&columns=x&rows=2&pitch_y=2 ells",
        "side=top&columns=1&rows=1&marks=5",
    ] {
        let page = anna.see(&format!("{at}?{}", query.replace(' ', "%20")));
        assert!(page.text.contains("plan.panel"), "{query}: {}", page.words());
    }
}

#[test]
fn the_library_grows_is_searched_and_serves_the_next_board() {
    let room = Room::start();
    let (anna, ben) = (room.person("anna", "engineer"), room.person("ben", "engineer"));
    let files = example_folder("products/river-logger");
    let table = File::new("river-logger.csv", example("parts/river-logger.csv"));
    let mut sent: Vec<(&str, &File)> = files.iter().map(|f| ("files", f)).collect();
    sent.push(("table", &table));
    let page = anna.post_files("/boards", &[("name", "logger")], &sent);
    assert_eq!(page.status, 303, "{}", page.words());
    assert!(anna.see("/parts").words().contains("knows no part yet"));
    let added = anna.post_form("/parts/add", &[("product", "logger"), ("version", "1"), ("base", "0")]);
    assert_eq!(added.status, 200, "{}", added.words());
    assert!(added.words().contains("is at version 1 now"), "{}", added.words());
    let stale = ben.post_files("/parts/import", &[("base", "0")], &[("table", &File::new("t.csv", "number,height_mm\nX-1,2\n"))]);
    assert_eq!(stale.status, 409, "{}", stale.words());

    let list = ben.see("/parts?q=rg-cpu&sort=uses");
    assert!(
        list.text.contains("RG-CPU-256") && !list.text.contains("RG-J-CARD") && list.words().contains("stated, certain"),
        "{}",
        list.words()
    );
    for sort in ["number", "body", "uses", "certainty", "x"] {
        assert!(ben.see(&format!("/parts?sort={sort}&page=99")).text.contains("RG-J-CARD"), "{sort}");
    }
    let check = ben.see("/parts/check?product=logger").words();
    assert!(check.contains("RG-J-COAX") && check.contains("whether the line places it"), "{check}");

    // Two hands on one part: the second is told, and keeps what was typed.
    let part = anna.see("/parts/RG-J-CARD");
    assert_eq!((part.field("base"), part.field("value.height_mm")), ("1".to_owned(), "1.9".to_owned()));
    assert!(part.words().contains("logger"), "{}", part.words());
    let page = anna.post_form("/parts/RG-J-CARD", &[("base", "1"), ("value.height_mm", "2.1"), ("value.supply", "tray")]);
    assert_eq!(page.status, 303, "{}", page.words());
    let page =
        ben.post_form("/parts/RG-J-CARD", &[("base", "1"), ("value.height_mm", "2.4"), ("value.supply", "tray"), ("from", "data sheet")]);
    assert_eq!(page.status, 409, "{}", page.words());
    assert!(page.words().contains("anna saved version 2") && page.words().contains("2.1"), "{}", page.words());
    assert_eq!(
        (page.field("base"), page.field("value.height_mm"), page.field("from")),
        ("2".to_owned(), "2.4".to_owned(), "data sheet".to_owned())
    );
    // On another part he is not held up.
    let page = ben.post_form("/parts/RG-J-BUS", &[("base", "1"), ("value.height_mm", "12.0")]);
    assert_eq!(page.status, 303, "{}", page.words());
    let page =
        ben.post_form("/parts/RG-J-CARD", &[("base", "3"), ("value.height_mm", "2.4"), ("from", "data sheet"), ("note", "new maker")]);
    let seen = ben.follow(page).words();
    assert!(seen.contains("measured by anna") && seen.contains("data sheet") && seen.contains("new maker"), "{seen}");
    let page = ben.post_form("/parts/RG-J-CARD", &[("base", "4"), ("value.height_mm", "high")]);
    assert_eq!(page.status, 422, "{}", page.words());
    assert!(page.text.contains("parts.table-unreadable") && page.field("value.height_mm") == "high", "{}", page.words());
    assert_eq!(ben.get("/parts/NO-SUCH-PART").status, 404);

    // Out and in again changes nothing; the next reading uses it.
    let csv = ben.see("/parts/export.csv");
    assert!(ben.see("/parts/export.xlsx").bytes.starts_with(b"PK"));
    let again = ben.post_files("/parts/import", &[("base", "4")], &[("table", &File::new("parts.csv", csv.bytes))]);
    assert!(again.words().contains("stays at version 4"), "{}", again.words());
    let page = upload(&ben, &[("name", "logger 2")], &files);
    let board = ben.follow(page);
    assert!(board.text.contains("parts.library-used"), "{}", board.words());
    let document = ben.see("/boards/logger%202/product.json").json();
    let parts = document["parts"].as_array().expect("parts");
    let card = parts.iter().find(|p| p["number"] == "RG-J-CARD").expect("the card holder");
    assert_eq!((&card["height_um"]["value"], &card["height_um"]["source"]), (&2400.into(), &"library".into()));
}

#[test]
fn a_part_called_like_an_address_has_a_page() {
    let room = Room::start();
    let anna = room.as_role("engineer");
    let table = File::new("t.csv", "number,height_mm\ncheck,2\nR-1/2 5%,1\n");
    assert_eq!(anna.post_files("/parts/import", &[("base", "0")], &[("table", &table)]).status, 200);
    let list = anna.see("/parts");
    for address in ["/parts/%63heck", "/parts/R-1%2F2%205%25"] {
        assert!(list.text.contains(&format!("href=\"{address}\"")), "{}", list.text);
        assert!(anna.see(address).text.contains("value.height_mm"));
    }
}

#[test]
fn real_boards_are_read() {
    let room = Room::start();
    let anna = room.as_role("engineer");
    for (name, rows, top, bottom) in [("openbadge", "37", "32", "5"), ("orangecrab", "144", "73", "63")] {
        let Some(files) = real_board(name) else { return };
        let page = upload(&anna, &[("name", name)], &files);
        assert_eq!(page.status, 303, "{name}: {}", page.words());
        let board = anna.follow(page);
        assert_eq!(
            (figure(&board, "rows").as_str(), figure(&board, "top").as_str(), figure(&board, "bottom").as_str()),
            (rows, top, bottom),
            "{name}"
        );
        let page = anna.see(&format!("/boards/{name}/settle"));
        assert!(page.field("mapping").contains("[[file]]"), "{name}");
        // As one archive it is the same board.
        let entries: Vec<(&str, &[u8])> = files.iter().map(|f| (f.name.as_str(), f.bytes.as_slice())).collect();
        let packed = upload(&anna, &[("name", &format!("{name} packed"))], &[zip(&entries)]);
        assert_eq!(packed.status, 303, "{}", packed.words());
        let compared = anna.see(&format!("/boards/{name}/compare?with={name}%20packed"));
        assert!(compared.words().contains("same parts at the same places"), "{}", compared.words());
    }
}
