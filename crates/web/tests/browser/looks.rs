//! Every page in every light and on every width: nothing sticks out, and nothing keeps people out.

use crate::house::House;
use crate::tab::{Light, Tab};
use std::collections::{BTreeMap, BTreeSet, VecDeque};
use std::path::PathBuf;
use store::people::Role;

/// A phone, a tablet, a desk [px].
const WIDTHS: [u32; 3] = [390, 820, 1280];

/// Pages of one kind that are looked at.
const ALIKE: usize = 3;

/// Follows the links of the room as far as they lead and looks at every kind of page, once as somebody who may do everything.
#[test]
fn every_page_fits_every_screen_and_keeps_nobody_out() {
    let Some(house) = House::start() else { return };
    house.furnish();
    let job = house.order("look", 4);
    let tab = house.tab();
    look_at(&tab, "/sign-in");
    look_at(&tab, &house.invitation(Role::Viewer));
    let tab = house.person("Ada", Role::Administrator);
    tab.go(&job);
    tab.wait("a.button[href='/plans/look']");
    let mut next: VecDeque<String> = ["/".to_owned(), "/me".to_owned(), "/nowhere".to_owned(), job].into();
    let (mut seen, mut kinds) = (BTreeSet::new(), BTreeMap::<String, usize>::new());
    while let Some(path) = next.pop_front() {
        if !seen.insert(path.clone()) || !is_page(&path) {
            continue;
        }
        let count = kinds.entry(kind(&path)).or_default();
        *count += 1;
        if *count > ALIKE {
            continue;
        }
        look_at(&tab, &path);
        let links = tab.value(
            "[...document.querySelectorAll('body a[href]')].filter((a) => a.origin === location.origin).map((a) => a.pathname + a.search)",
        );
        next.extend(links.as_array().expect("links").iter().filter_map(|l| l.as_str().map(str::to_owned)));
    }
    println!("{} pages of {} kinds", seen.len(), kinds.len());
    assert!(kinds.len() > 12, "the links lead to few pages: {kinds:?}");
    tab.is_clean(&[404]);
}

/// Whether an address is a page and no file.
fn is_page(path: &str) -> bool {
    let path = path.split('?').next().unwrap_or_default();
    let files = ["json", "pdf", "xlsx", "csv", "svg", "zip", "toml", "txt"];
    !path.starts_with("/api")
        && !path.starts_with("/assets")
        && !files.iter().any(|f| path.ends_with(&format!(".{f}")))
        && !path.contains("/files/")
}

/// Pages of one kind differ in names only.
fn kind(path: &str) -> String {
    let path = path.split('?').next().unwrap_or_default();
    let pieces: Vec<&str> = path.split('/').skip(1).collect();
    let last = pieces.last().filter(|l| pieces.len() > 2 && !l.chars().all(|c| c.is_ascii_digit())).copied().unwrap_or_default();
    format!("{} {} {last}", pieces[0], pieces.len())
}

/// Looks at a page in all lights and widths: it must not be wider than the screen, and keeps pictures where they are wanted.
fn look_at(tab: &Tab, path: &str) {
    let folder = std::env::var_os("EVENLINE_SCREENS").map(PathBuf::from);
    if let Some(folder) = &folder {
        std::fs::create_dir_all(folder).expect("a folder for pictures");
    }
    let name: String = path.trim_start_matches('/').chars().map(|c| if c.is_ascii_alphanumeric() { c } else { '-' }).take(60).collect();
    for light in [Light::Light, Light::Dark] {
        for width in WIDTHS {
            tab.screen(width, light);
            tab.go(path);
            let wider = tab.value("document.documentElement.scrollWidth - document.documentElement.clientWidth");
            let which = "[...document.querySelectorAll('body *')].filter((e) => e.getBoundingClientRect().right > innerWidth + 1 \
                         && !e.closest('.wide, figure, pre, .scrolls')).slice(0, 4).map((e) => e.outerHTML.slice(0, 160)).join('\\n')";
            assert_eq!(wider, 0, "{path} at {width} px is wider than the screen:\n{}", tab.text(which));
            if let Some(folder) = &folder {
                let file = format!("{name}-{width}-{}.png", if light == Light::Dark { "dark" } else { "light" });
                std::fs::write(folder.join(file), tab.picture()).expect("a picture is written");
            }
            if (width, light) == (390, Light::Dark) || (width, light) == (1280, Light::Light) {
                check(tab, &format!("{path} at {width} px, {light:?}"));
            }
        }
    }
    tab.screen(1280, Light::Light);
}

/// Asks the checker for accessibility whose script `EVENLINE_AXE` names; what it calls serious or critical must not be.
fn check(tab: &Tab, place: &str) {
    let Some(script) = std::env::var_os("EVENLINE_AXE") else { return };
    let script = std::fs::read_to_string(&script).unwrap_or_else(|e| panic!("{}: {e}", script.display()));
    tab.value(&format!("(() => {{ {script}; return true; }})()"));
    // What scrolls is found out when the page has been drawn.
    let found = tab.value(
        "new Promise((drawn) => requestAnimationFrame(() => requestAnimationFrame(drawn))).then(() => axe.run(document, { resultTypes: ['violations'] }).then((r) => r.violations.map((v) => \
         [v.impact, v.id, v.help, v.nodes.slice(0, 3).map((n) => n.html.slice(0, 200) + ' ' + n.failureSummary)])))",
    );
    let all = found.as_array().expect("a list");
    let grave: Vec<_> = all.iter().filter(|v| v[0] == "serious" || v[0] == "critical").collect();
    assert!(grave.is_empty(), "{place}: {grave:#?}");
    for lesser in all {
        println!("{place}: {lesser}");
    }
}
