//! Who comes in, and what each may see and do.

use crate::chromium::Chromium;
use crate::common::PASSWORD;
use crate::house::{House, join};
use crate::tab::Tab;
use store::people::Role;

#[test]
fn the_first_administrator_joins_by_the_link_and_signs_in_again() {
    let Some(browser) = Chromium::start() else { return };
    let folder = tempfile::TempDir::new().expect("a temporary folder");
    let store = folder.path().join("room.db").display().to_string();
    let listen = std::net::SocketAddr::from(([127, 0, 0, 1], 0));
    let runtime = tokio::runtime::Runtime::new().expect("a runtime");
    let config = web::Config { listen, store, planners: 0, threads: 1, https: false };
    let started = runtime.block_on(async { web::start(web::open(config).await?).await }).expect("the room starts");
    let link = started.first_link.clone().expect("a new room gives a link");
    let tab = Tab::open(&browser, &format!("http://{}", started.address));
    join(&tab, &link, "Ada of the weir");
    tab.wait_text("Boards: 0 boards are known.");
    tab.follow(".who button");
    assert_eq!(tab.path(), "/sign-in");
    tab.go("/plans");
    assert_eq!(tab.path(), "/sign-in", "nobody sees anything");
    tab.fill("input[name=name]", "Ada of the weir");
    tab.fill("input[name=password]", "not this one");
    tab.follow("form.stack button");
    tab.wait_text("Name and password do not go together");
    assert_eq!(tab.text("document.querySelector('input[name=name]').value"), "Ada of the weir");
    tab.fill("input[name=password]", PASSWORD);
    tab.follow("form.stack button");
    assert_eq!(tab.path(), "/");
    tab.go(&link);
    tab.wait_text("This link has been used or has ended.");
    tab.is_clean(&[401, 404]);
    drop(browser);
    runtime.block_on(started.stop()).expect("the room ends in good order");
}

#[test]
fn a_viewer_sees_no_way_to_change_anything_and_is_refused_one() {
    let Some(house) = House::start() else { return };
    let tab = house.person("Vera", Role::Viewer);
    for path in ["/", "/boards", "/parts", "/lines", "/plans", "/jobs"] {
        tab.go(path);
        let forms = tab.value("[...document.querySelectorAll('main form')].filter((f) => f.method === 'post').map((f) => f.action)");
        assert_eq!(forms, serde_json::json!([]), "{path} offers a viewer to change something");
    }
    assert!(!tab.has("header.bar nav a[href='/people']"));
    tab.go("/people");
    tab.wait_text("This needs the role administrator; you are signed in as viewer.");
    // By hand what no page offers.
    let status = tab.value("fetch('/boards', { method: 'POST', body: new FormData() }).then((a) => a.status)");
    assert_eq!(status, 403);
    let status =
        tab.value("fetch('/lines', { method: 'POST', body: new URLSearchParams({ name: 'x', sheet: 'y' }) }).then((a) => a.status)");
    assert_eq!(status, 403);
    tab.is_clean(&[403]);
}
