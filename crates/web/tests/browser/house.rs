//! A room with its browser, and people who sit in front of it.

use crate::chromium::Chromium;
use crate::common::{PASSWORD, Room, example, example_folder};
use crate::tab::Tab;
use store::document::{Draft, Kind};
use store::people::Role;
use web::work::Order;

/// A room and a browser.
pub struct House {
    /// The browser; ended before the room, which waits for its connections.
    pub browser: Chromium,
    /// The room.
    pub room: Room,
}

impl House {
    /// One with a worker that plans, or `None` with a message where there is no browser.
    pub fn start() -> Option<Self> {
        let browser = Chromium::start()?;
        Some(Self { browser, room: Room::start_planning() })
    }

    /// A tab of nobody.
    pub fn tab(&self) -> Tab {
        Tab::open(&self.browser, &format!("http://{}", self.room.address))
    }

    /// A tab of somebody new of this role, signed in by an invitation.
    pub fn person(&self, name: &str, role: Role) -> Tab {
        let tab = self.tab();
        join(&tab, &self.invitation(role), name);
        tab
    }

    /// The path of a link that lets somebody in.
    pub fn invitation(&self, role: Role) -> String {
        let key = self.room.block_on(self.room.store.invite(role, store::now() + 3_600_000_000, "tests")).expect("an invitation");
        format!("/join?key={key}")
    }

    /// Puts the river logger and a line into the room.
    pub fn furnish(&self) {
        let ella = self.room.as_role("engineer");
        let files = example_folder("products/river-logger");
        let table = crate::common::File::new("river-logger.csv", example("parts/river-logger.csv"));
        let mut sent: Vec<(&str, &crate::common::File)> = files.iter().map(|f| ("files", f)).collect();
        sent.push(("table", &table));
        let page = ella.post_files("/boards", &[("name", "river-logger")], &sent);
        assert_eq!(page.status, 303, "{}", page.text);
        let sheet = example("lines/one-station.toml");
        let line = Draft { kind: Kind::Line, name: "one station", summary: "{}", body: &sheet, note: "" };
        self.room.block_on(self.room.store.save(line, None, "tests")).expect("the line is kept");
    }

    /// Orders a plan of some seconds in the furnished room; gives the path of the job.
    pub fn order(&self, plan: &str, seconds: u32) -> String {
        let order: Order = serde_json::from_value(serde_json::json!({
            "plan": plan, "product": { "name": "river-logger", "version": 1 }, "line": { "name": "one station", "version": 1 },
            "locks": null, "rules": null, "from": null, "keep_setup": false, "side": "top",
            "panel": { "columns": 1, "rows": 1, "pitch_x_um": 0, "pitch_y_um": 0 }, "seconds": seconds, "seed": 1
        }))
        .expect("an order");
        let job = self.room.block_on(web::work::order(&self.room.store, &order, "tests")).expect("the job is ordered");
        format!("/jobs/{}", job.id)
    }
}

/// Joins by a link, as a person does.
pub fn join(tab: &Tab, link: &str, name: &str) {
    tab.go(link);
    tab.fill("input[name=name]", name);
    tab.fill("input[name=password]", PASSWORD);
    tab.fill("input[name=again]", PASSWORD);
    tab.follow("form.stack button");
    assert_eq!(tab.path(), "/");
}
