//! One plan: what it comes to, its stations slot by slot, its program played, a change by hand and what it costs, two plans side by
//! side, its sheets.
//!
//! Reading order: [`overview`], [`pictures`], [`mod@check`] (what takes longer than a page may), [`station`] with [`slots`],
//! [`play`], [`change`] with [`keep`], [`compare`], [`sheets`].

pub mod change;
pub mod check;
pub mod compare;
pub mod keep;
pub mod overview;
pub mod pictures;
pub mod play;
pub mod sheets;
pub mod slots;
pub mod station;

use crate::access::Who;
use crate::doors::Doors;
use crate::page::{self, Part};
use crate::room::Room;
use crate::trouble::Answer;
use domain::plan::Plan;
use maud::{Markup, html};
use serde::Deserialize;
use std::sync::Arc;
use store::document::{Head, Kind};
use store::people::Role;

/// Names that stand for pages, so no plan can have them.
pub const TAKEN: [&str; 2] = ["new", "compare"];

/// The ways in.
pub fn doors() -> Doors {
    Doors::default()
        .get("/plans/compare", Role::Viewer, compare::page)
        .get("/plans/{name}", Role::Viewer, overview::page)
        .post("/plans/{name}/remove", Role::Engineer, overview::remove)
        .get("/plans/{name}/plan.json", Role::Operator, sheets::document)
        .get("/plans/{name}/board.svg", Role::Viewer, pictures::board)
        .get("/plans/{name}/balance.svg", Role::Viewer, pictures::balance)
        .get("/plans/{name}/check", Role::Viewer, check::verdict)
        .get("/plans/{name}/explain", Role::Viewer, check::explained)
        .get("/plans/{name}/stations/{n}", Role::Viewer, station::page)
        .get("/plans/{name}/stations/{n}/play", Role::Viewer, play::page)
        .get("/plans/{name}/stations/{n}/play.json", Role::Viewer, play::steps)
        .post("/plans/{name}/try", Role::Engineer, change::try_it)
        .post("/plans/{name}/keep", Role::Engineer, keep::keep)
        .get("/plans/{name}/sheets", Role::Viewer, sheets::page)
        .get("/plans/{name}/sheets/report.pdf", Role::Operator, sheets::pdf)
        .get("/plans/{name}/sheets/report.xlsx", Role::Operator, sheets::workbook)
        .get("/plans/{name}/sheets/{which}", Role::Operator, sheets::one)
}

/// Which version is asked for.
#[derive(Debug, Default, Deserialize)]
pub struct Look {
    /// Its number; the latest if not given.
    pub version: Option<i64>,
}

/// A version of a plan that is shown.
pub struct Shown {
    /// The version.
    pub head: Head,
    /// The plan.
    pub plan: Arc<Plan>,
    /// The latest version.
    pub latest: Head,
}

impl Shown {
    /// A stored plan; `None` is the latest version.
    ///
    /// # Errors
    /// When there is none, or what is stored is no plan.
    pub async fn load(room: &Room, name: &str, version: Option<i64>) -> Answer<Self> {
        let (head, plan) = room.plan(name, version).await?;
        let latest = room.store.head(Kind::Plan, name).await?;
        Ok(Self { head, plan, latest })
    }

    /// Whether it is the latest version.
    pub fn is_latest(&self) -> bool {
        self.head.version == self.latest.version
    }

    /// Address of the plan.
    pub fn at(&self) -> String {
        format!("/plans/{}", page::path(&self.head.name))
    }

    /// What is added to the address of a page so that it shows the same version: nothing for the latest.
    pub fn query(&self) -> String {
        if self.is_latest() { String::new() } else { self.fixed() }
    }

    /// What is added to an address so that it shows this version for ever.
    pub fn fixed(&self) -> String {
        format!("?version={}", self.head.version)
    }

    /// How a comparison names it.
    pub fn named(&self) -> String {
        named(&self.head)
    }

    /// That this is an old version, where it is one.
    pub fn old(&self) -> Markup {
        html! {
            @if !self.is_latest() {
                p.told role="status" {
                    "This is version " (self.head.version) " of " (page::when(self.head.at)) ". "
                    a href=(self.at()) { "The latest is version " (self.latest.version) "." } " "
                    a href={ "/plans/compare?a=" (page::path(&self.named())) "&b=" (page::path(&named(&self.latest))) } { "What changed since" }
                }
            }
        }
    }

    /// A page of this plan: its parts as tabs above the body.
    pub fn page(&self, who: &Who, here: Here, title: &str, body: &Markup) -> Markup {
        let (at, query) = (self.at(), self.query());
        let tab = |h: Here, href: String, text: &str| html! { a href=(href) aria-current=[(h == here).then_some("page")] { (text) } };
        let body = html! {
            (assets())
            nav.tabs aria-label="Parts of the plan" {
                (tab(Here::Overview, format!("{at}{query}"), "Overview"))
                @for (s, station) in self.plan.stations.iter().enumerate() {
                    a href={ (at) "/stations/" (s + 1) (query) } data-station=(s + 1) aria-current=[(here == Here::Station(s)).then_some("page")] {
                        (station.station)
                    }
                }
                (tab(Here::Sheets, format!("{at}/sheets{query}"), "Sheets"))
            }
            (self.old())
            (body)
        };
        page::page(who, Part::Plans, title, &body)
    }
}

/// Which part of a plan a page shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Here {
    /// What it comes to.
    Overview,
    /// A station, counted from 0.
    Station(usize),
    /// The sheets.
    Sheets,
}

/// How a comparison names a version of a plan.
pub fn named(head: &Head) -> String {
    format!("{}@{}", head.name, head.version)
}

/// Style and script of the pages of plans.
pub fn assets() -> Markup {
    html! {
        link rel="stylesheet" href="/assets/plan.css";
        script src="/assets/plan.js" type="module" {}
    }
}

/// A picture by its address; the script draws it into the page, so that it follows the page's colours and tells what is pointed at.
pub fn picture(src: &str, alt: &str) -> Markup {
    html! { figure.picture { img data-inline src=(src) alt=(alt); } }
}

/// Seconds with three decimals, as sheets have them.
pub fn exact(us: i64) -> String {
    format!("{:.3} s", us as f64 / 1e6)
}

/// A difference with its sign.
pub fn change_of(us: i64) -> String {
    if us == 0 { "as before".to_owned() } else { format!("{}{:.3} s", if us < 0 { "−" } else { "+" }, us.abs() as f64 / 1e6) }
}
