//! Plans: ordering one, its pages and pictures, its sheets, a change by hand, two side by side.

mod common;

use app::plan::{Limits, PlanRequest, Progress, Watch};
use app::read::{NamedBytes, ReadRequest};
use common::{Browser, Room, example, http::escape};
use domain::job::Panel;
use domain::plan::{Method, Plan, SupplyPlace};
use domain::rules::Rules;
use std::collections::BTreeSet;
use std::sync::OnceLock;
use store::document::{Draft, Head, Kind};
use web::work::{Order, Summary};

const PRODUCT: &str = "examples/products/gauge-node.json";
const PLAN: &str = "gauge node & co, première";

/// Somebody who never stops.
struct Quiet;

impl Watch for Quiet {
    fn seconds(&self) -> f64 {
        0.0
    }

    fn stopped(&self) -> bool {
        false
    }

    fn progress(&self, _: &Progress) {}
}

fn product() -> app::read::Product {
    let file = NamedBytes { name: PRODUCT.to_owned(), bytes: example("products/gauge-node.json") };
    app::read::read(&ReadRequest { files: vec![file], ..Default::default() }).product.expect("the example is a product")
}

fn line_text() -> String {
    String::from_utf8(example("lines/head-swap.toml")).expect("text")
}

fn line() -> domain::line::Line {
    app::documents::read_line("head-swap.toml", &line_text()).expect("the example is a line")
}

/// A plan of the example, made once with fixed work.
fn plan() -> &'static Plan {
    static MADE: OnceLock<Plan> = OnceLock::new();
    MADE.get_or_init(|| {
        let request = PlanRequest {
            product: product(),
            findings: Vec::new(),
            line: line(),
            rules: Rules::default(),
            from: None,
            side: None,
            panel: Panel::SINGLE,
            method: Method::Search,
            limits: Limits { seconds: None, work: Some(3_000), seed: 1, threads: 1 },
        };
        app::plan::plan(request, &Quiet).plan.expect("a plan")
    })
}

fn save(room: &Room, kind: Kind, name: &str, summary: &str, body: &str) -> Head {
    let draft = Draft { kind, name, summary, body: body.as_bytes(), note: "for the test" };
    room.block_on(room.store.save(draft, None, "somebody")).expect("it is kept")
}

/// The line is kept under another name than it says.
const LINE: &str = "line of hall 3";

/// Keeps board and line.
fn keep_inputs(room: &Room) {
    let product = product();
    save(room, Kind::Product, &product.name, "{}", &app::documents::write_product(&product).expect("a document"));
    save(room, Kind::Line, LINE, "{}", &line_text());
}

/// A room that keeps the plan, with its address.
fn room_with_plan() -> (Room, String) {
    let room = Room::start();
    keep_inputs(&room);
    save(&room, Kind::Plan, PLAN, &Summary::of(plan()).text(), &app::documents::write_plan(plan()).expect("a document"));
    (room, format!("/plans/{}", escape(PLAN)))
}

fn kept(room: &Room) -> (Head, Plan) {
    let (head, body) = room.block_on(room.store.read(Kind::Plan, PLAN, None)).expect("the plan is kept");
    let plan = Plan::parse(PLAN, &String::from_utf8(body).expect("text")).expect("a plan");
    (head, plan)
}

/// A feeder of the plan and a place that it can go to, found by asking.
fn possible_move(anna: &Browser, at: &str) -> (Vec<(String, String)>, serde_json::Value) {
    let mut tries = 0;
    for (s, (planned, sheet)) in plan().stations.iter().zip(&plan().line.station).enumerate() {
        for (i, supply) in planned.supplies.iter().enumerate() {
            let SupplyPlace::Feeder { bank, slot, .. } = supply.place else { continue };
            let slots = sheet.bank[bank as usize].slots;
            for to in [slots / 2, slot + 1, slots - 2].into_iter().filter(|n| *n != slot && *n >= 1) {
                tries += 1;
                assert!(tries < 200, "no feeder can be moved");
                let fields: Vec<(String, String)> = [
                    ("base", "1".to_owned()),
                    ("station", (s + 1).to_string()),
                    ("supply", i.to_string()),
                    ("to", format!("{}.b{}", s + 1, bank + 1)),
                    ("number", to.to_string()),
                ]
                .map(|(k, v)| (k.to_owned(), v))
                .to_vec();
                let page = try_json(anna, at, &fields);
                if page.status == 200 {
                    return (fields, page.json());
                }
                assert_eq!(page.status, 422, "{}", page.text);
                assert!(page.json()["findings"].as_array().is_some_and(|f| !f.is_empty()), "a refusal says why: {}", page.text);
            }
        }
    }
    panic!("the plan has no feeder");
}

fn form(fields: &[(String, String)]) -> Vec<(&str, &str)> {
    fields.iter().map(|(k, v)| (k.as_str(), v.as_str())).collect()
}

fn try_json(anna: &Browser, at: &str, fields: &[(String, String)]) -> common::Page {
    let body: Vec<String> = fields.iter().map(|(k, v)| format!("{}={}", escape(k), escape(v))).collect();
    let headers = [("content-type", "application/x-www-form-urlencoded"), ("accept", "application/json")];
    anna.send("POST", &format!("{at}/try"), &headers, body.join("&").as_bytes())
}

#[test]
fn a_plan_is_ordered_by_the_form_and_made_while_somebody_watches() {
    let room = Room::start_planning();
    keep_inputs(&room);
    let anna = room.person("anna", "engineer");
    let (product, line) = (product().name, LINE);
    let page = anna.see(&format!("/plans/new?product={}", escape(&product)));
    assert!(page.text.contains(&format!("<option value=\"{product}\" selected>")), "the address chooses the board: {}", page.text);
    let ordered = anna.post_form("/plans", &[("product", &product), ("line", line), ("seconds", "2"), ("seed", "7")]);
    assert_eq!(ordered.status, 303, "{}", ordered.text);
    let job = ordered.location().to_owned();
    assert!(job.starts_with("/jobs/"), "{job}");
    let told: Vec<String> = anna.stream(&format!("{job}/live")).collect();
    let last: serde_json::Value = serde_json::from_str(told.last().expect("the stream tells something")).expect("JSON");
    assert_eq!(last["state"], "done", "{last}");
    let name = format!("{product} on {line}");
    assert_eq!(last["made"]["plan"], name.as_str());
    let at = format!("/plans/{}", escape(&name));
    let page = anna.see(&at);
    for words in ["Where the seconds go", "What holds it back", "Versions"] {
        assert!(page.words().contains(words), "{words} is missing");
    }
    // Planning on from it knows what it was made from.
    let page = anna.see(&format!("/plans/new?from={}", escape(&format!("{name}@1"))));
    assert!(page.text.contains(&format!("<option value=\"{line}\" selected>")), "{}", page.text);
    assert_eq!(page.field("plan"), name);
    let list = anna.see(&format!("/plans?product={}", escape(&product)));
    assert!(list.text.contains(&at), "{}", list.text);
    assert!(anna.see("/plans?product=another").words().contains("None of the plans"));
}

#[test]
fn what_cannot_be_ordered_comes_back_as_it_was_typed() {
    let room = Room::start();
    keep_inputs(&room);
    let anna = room.as_role("engineer");
    let (product, line) = (product().name, LINE);
    let order = |more: &[(&str, &str)]| {
        let mut fields = vec![("product", product.as_str()), ("line", line)];
        fields.retain(|(k, _)| !more.iter().any(|(m, _)| m == k));
        fields.extend_from_slice(more);
        let page = anna.post_form("/plans", &fields);
        assert_eq!(page.status, 422, "{more:?}: {}", page.text);
        page
    };
    assert!(order(&[("product", "")]).words().contains("Choose a board and a line"));
    assert!(order(&[("line", "gone")]).words().contains("no line named `gone`"));
    let page = order(&[("columns", "2"), ("rows", "1"), ("pitch_x", "60 furlongs"), ("plan", "mine <b>")]);
    assert!(page.words().contains("60 furlongs") && page.field("pitch_x") == "60 furlongs" && page.field("plan") == "mine <b>");
    let page = order(&[("columns", "2"), ("rows", "1"), ("pitch_x", "1 mm")]);
    assert!(page.text.contains("plan.panel"), "boards that overlap are told at once: {}", page.text);
    let page = order(&[("rules", "lok = 1")]);
    assert!(page.text.contains("plan.lock-syntax") && page.field("rules") == "lok = 1", "{}", page.text);
    assert!(order(&[("keep_setup", "yes")]).words().contains("plan to begin with"));
    assert!(order(&[("plan", "new")]).words().contains("No plan can be named `new`"));
    assert!(order(&[("plan", "a/b")]).words().contains("holds a character"));
    assert!(order(&[("seconds", "0")]).words().contains("1 to 3600 seconds"));
    assert!(order(&[("seconds", "soon")]).words().contains("no whole number"));
    assert!(room.block_on(room.store.jobs(10)).expect("jobs").is_empty(), "nothing of it was ordered");
    let ordered = anna.post_form(
        "/plans",
        &[("product", &product), ("line", line), ("columns", "2"), ("rows", "1"), ("pitch_x", "100"), ("marks", "5mmx3.5mm")],
    );
    assert_eq!(ordered.status, 303, "a length without a unit is in mm: {}", ordered.text);
    let jobs = room.block_on(room.store.jobs(10)).expect("jobs");
    let order: Order = serde_json::from_str(&jobs[0].payload).expect("an order");
    assert_eq!(
        (order.panel.pitch_x_um.0, order.panel.marks.expect("marks").y.0, order.product.version, order.seconds),
        (100_000, 3_500, 1, 20)
    );
}

#[test]
fn roles_pass_where_they_may() {
    let (room, at) = room_with_plan();
    let (viewer, operator) = (room.as_role("viewer"), room.as_role("operator"));
    for path in
        ["", "/stations/1", "/stations/1/play", "/stations/1/play.json", "/sheets", "/board.svg", "/balance.svg", "/check", "/explain"]
    {
        viewer.see(&format!("{at}{path}"));
    }
    for path in ["/sheets/report.pdf", "/sheets/report.xlsx", "/sheets/kit", "/plan.json"] {
        assert_eq!(viewer.get(&format!("{at}{path}")).status, 403, "{path}");
        operator.see(&format!("{at}{path}"));
    }
    let page = viewer.see(&format!("{at}/stations/1"));
    assert!(!page.text.contains("data-try") && !page.text.contains("id=\"move\""), "a viewer is offered no move");
    for path in ["/try", "/keep", "/remove"] {
        assert_eq!(operator.post_form(&format!("{at}{path}"), &[("base", "1")]).status, 403, "{path}");
    }
    assert_eq!(operator.get("/plans/new").status, 403);
    assert_eq!(room.browser().get(&at).status, 303);
}

#[test]
fn a_long_list_comes_in_pages() {
    let room = Room::start();
    let summary = Summary::of(plan()).text();
    for n in 0..101 {
        save(&room, Kind::Plan, &format!("plan {n}"), &summary, "{}");
    }
    let anna = room.as_role("viewer");
    let ways = |page: &common::Page| page.text.matches("href=\"/plans/plan%20").count();
    let first = anna.see("/plans");
    assert_eq!((ways(&first), first.words().contains("101–101")), (100, true));
    let second = anna.see("/plans?page=1");
    assert!(ways(&second) == 1 && second.text.contains("plan%200\""), "the oldest comes last");
    assert_eq!(ways(&anna.see("/")), 8);
    assert!(anna.see("/").words().contains("101 plans are"));
}

#[test]
fn a_plan_page_tells_what_the_plan_says() {
    let (room, at) = room_with_plan();
    let anna = room.as_role("engineer");
    let page = anna.see(&at);
    let words = page.words();
    assert!(words.contains(&format!("{:.2} s", plan().takt_us.to_s())));
    for reason in &plan().reasons {
        assert!(words.contains(&reason.text), "{} is missing", reason.text);
    }
    for left in &plan().unplaced {
        assert!(words.contains(&left.reference) && words.contains(&left.code), "{} is missing", left.reference);
    }
    for station in &plan().stations {
        assert!(words.contains(&station.station));
    }
    assert!(anna.see(&format!("{at}/check?bare=1")).words().contains("Accepted."));
    assert!(!anna.see(&format!("{at}/explain?bare=1")).text.contains("<html"));
    assert_eq!(anna.get(&format!("{at}?version=9")).status, 404);
    assert_eq!(anna.get("/plans/nothing").status, 404);
    // What came from people stands on the page as text.
    assert!(page.text.contains("gauge node &amp; co, première"));
    let document = anna.see(&format!("{at}/plan.json"));
    assert_eq!(Plan::parse("", &document.text).expect("the very plan"), *plan());
}

#[test]
fn the_board_has_three_colourings_and_no_fourth() {
    let (room, at) = room_with_plan();
    let eye = room.as_role("viewer");
    let mut seen = BTreeSet::new();
    for (colour, legend) in [("station", " ("), ("pass", ", pass 1 with "), ("order", ": light first, dark last")] {
        let svg = eye.see(&format!("{at}/board.svg?version=1&colour={colour}"));
        assert_eq!(svg.header("content-type"), Some("image/svg+xml"));
        assert!(svg.text.contains(&format!("{}{legend}", plan().stations[0].station)), "{colour}");
        seen.insert(svg.text);
        let page = eye.see(&format!("{at}?colour={colour}"));
        assert!(page.text.contains(&format!("board.svg?version=1&amp;colour={colour}")), "{colour}");
    }
    assert_eq!(seen.len(), 3);
    assert_eq!(eye.get(&format!("{at}/board.svg?colour=hue")).status, 422);
}

#[test]
fn a_station_shows_every_supply_and_plays_its_own_time() {
    let (room, at) = room_with_plan();
    let anna = room.as_role("engineer");
    for (s, planned) in plan().stations.iter().enumerate() {
        let page = anna.see(&format!("{at}/stations/{}", s + 1));
        let tiles: BTreeSet<&str> = page.text.split("data-supply=\"").skip(1).filter_map(|t| t.split('"').next()).collect();
        assert_eq!(tiles.len(), planned.supplies.len(), "station {}", planned.station);
        let free: u32 = plan().line.station[s].bank.iter().map(|b| b.slots).sum();
        assert!(page.text.matches("slot free").count() < free as usize);
        let play = anna.see(&format!("{at}/stations/{}/play.json", s + 1)).json();
        assert_eq!(play["period_us"], planned.time_us.0, "station {}", planned.station);
        let stage = anna.see(&format!("{at}/stations/{}/play", s + 1));
        let job = plan().job().expect("a job");
        for task in planned.passes.iter().flat_map(|p| p.work.placed()) {
            assert!(stage.text.contains(&format!("<title>{}: ", job.name(task))), "{} cannot be shown", job.name(task));
        }
    }
    assert_eq!(anna.get(&format!("{at}/stations/0")).status, 404);
    assert_eq!(anna.get(&format!("{at}/stations/99")).status, 404);
    // Without the script a tile is a link to the form with its feeder chosen.
    let page = anna.see(&format!("{at}/stations/1?supply=1"));
    assert!(page.text.contains("<option value=\"1\" selected>"), "{}", page.text);
}

#[test]
fn sheets_are_printed_and_the_first_panel_is_checked_part_by_part() {
    let (room, at) = room_with_plan();
    let bob = room.as_role("operator");
    let pdf = bob.see(&format!("{at}/sheets/report.pdf"));
    assert!(pdf.bytes.starts_with(b"%PDF"));
    assert!(pdf.header("content-disposition").is_some_and(|d| d.starts_with("attachment")));
    assert!(bob.see(&format!("{at}/sheets/report.xlsx")).bytes.starts_with(b"PK"));
    for which in ["kit", "set-up", "program", "first-panel", "cautions"] {
        assert!(bob.see(&format!("{at}/sheets")).text.contains(&format!("/sheets/{which}\"")));
        bob.see(&format!("{at}/sheets/{which}"));
    }
    let list = bob.see(&format!("{at}/sheets/first-panel"));
    assert_eq!(list.text.matches('☐').count(), plan().placed() + plan().unplaced.len());
    let supplies: usize = plan().stations.iter().map(|s| s.supplies.len()).sum();
    assert_eq!(bob.see(&format!("{at}/sheets/set-up")).text.matches("<td class=\"code\"><svg").count(), supplies);
    assert_eq!(bob.get(&format!("{at}/sheets/nothing")).status, 404);
    assert!(bob.see(&format!("{at}/sheets")).words().contains("Static electricity"));
}

#[test]
fn a_plan_compared_with_itself_does_not_differ() {
    let (room, at) = room_with_plan();
    let eye = room.as_role("viewer");
    let one = escape(&format!("{PLAN}@1"));
    let page = eye.see(&format!("/plans/compare?a={one}&b={one}"));
    assert!(page.words().contains("There is no difference between the two."), "{}", page.words());
    assert_eq!(page.text.matches("/balance.svg?version=1").count(), 2);
    assert!(eye.see(&format!("/plans/compare?pick={one}&pick={one}")).words().contains("no difference"));
    assert!(eye.see(&format!("/plans/compare?a={one}")).words().contains("Choose two plans"));
    assert_eq!(eye.get(&format!("/plans/compare?pick={one}&pick={one}&pick={one}")).status, 422);
    assert_eq!(eye.get("/plans/compare?a=nothing&b=nothing").status, 404);
    assert!(eye.see(&at).status == 200);
}

#[test]
fn a_change_is_priced_kept_as_a_new_version_and_never_over_anothers() {
    let (room, at) = room_with_plan();
    let (anna, ben) = (room.person("anna", "engineer"), room.person("ben", "engineer"));
    let (fields, price) = possible_move(&anna, &at);
    assert_eq!(price["takt_before_us"], plan().takt_us.0);
    assert_eq!(price["stations"].as_array().map(Vec::len), Some(plan().stations.len()));
    assert!(price["told"].as_array().is_some_and(|t| !t.is_empty()));
    assert_eq!(price["wish"]["number"], fields[4].1.as_str());
    assert_eq!(kept(&room).0.version, 1, "trying keeps nothing");
    // The same as a page, without the script.
    let page = anna.post_form(&format!("{at}/try"), &form(&fields));
    assert_eq!(page.status, 200, "{}", page.text);
    assert!(page.words().contains("Keep it as a new version") && page.field("supply") == fields[2].1);
    let saved = anna.post_form(&format!("{at}/keep"), &form(&fields));
    assert_eq!(saved.status, 303, "{}", saved.text);
    let (head, changed) = kept(&room);
    assert_eq!((head.version, head.author.as_str()), (2, "anna"));
    assert!(head.note.starts_with("by hand: "), "{}", head.note);
    assert_eq!(changed.takt_us.0, price["takt_after_us"].as_i64().expect("a takt"));
    assert_eq!(changed.rules.lock.len() + changed.rules.keep.len(), 1, "what keeps the change stands in the rules");
    assert!(app::check::check(&changed).accepted);
    // Ben still looks at version 1.
    let late = ben.post_form(&format!("{at}/keep"), &form(&fields));
    assert_eq!(late.status, 409, "{}", late.text);
    assert!(late.words().contains("anna saved version 2") && late.words().contains("Your change:"), "{}", late.words());
    assert_eq!(kept(&room).0.version, 2, "nothing was overwritten");
    let compare = anna.see(&format!("/plans/compare?a={0}%401&b={0}%402", escape(PLAN)));
    assert!(!compare.words().contains("no difference") && compare.words().contains("is carried"), "{}", compare.words());
    let old = anna.see(&format!("{at}?version=1"));
    assert!(old.words().contains("This is version 1") && !old.text.contains("/remove\""));
    let log = room.block_on(room.store.audit(i64::MAX, 10)).expect("the log");
    assert!(log.iter().any(|e| e.who == "anna" && e.subject == format!("plan {PLAN}") && e.action == "save"));
}

#[test]
fn a_kept_change_is_planned_on_with_its_rules() {
    let (room, at) = room_with_plan();
    let anna = room.as_role("engineer");
    let (mut fields, _) = possible_move(&anna, &at);
    fields.push(("then".to_owned(), "plan".to_owned()));
    let page = anna.post_form(&format!("{at}/keep"), &form(&fields));
    assert!(page.status == 303 && page.location().starts_with("/jobs/"), "{}", page.text);
    let jobs = room.block_on(room.store.jobs(10)).expect("jobs");
    let order: Order = serde_json::from_str(&jobs[0].payload).expect("an order");
    assert_eq!((order.plan.as_str(), order.from.expect("a plan to begin with").version), (PLAN, 2));
    assert_eq!((order.product.name.as_str(), order.line.name.as_str()), (product().name.as_str(), LINE));
    let rules = Rules::parse("the order", &order.rules.expect("rules")).expect("rules that can be read");
    assert_eq!(rules, kept(&room).1.rules);
}

#[test]
fn a_wish_that_means_nothing_is_told_so() {
    let (room, at) = room_with_plan();
    let anna = room.as_role("engineer");
    let wish = |supply: &str, to: &str, number: &str| {
        let page =
            anna.post_form(&format!("{at}/try"), &[("base", "1"), ("station", "1"), ("supply", supply), ("to", to), ("number", number)]);
        assert_eq!(page.status, 422, "{supply} {to} {number}: {}", page.text);
        page.words()
    };
    assert!(wish("0", "", "3").contains("Say where it is to go"));
    assert!(wish("0", "1.b1", "").contains("which slot"));
    assert!(wish("0", "1.b1", "third").contains("no number of a slot"));
    assert!(wish("0", "99", "").contains("no such station"));
    assert!(wish("99999", "1.b1", "3").contains("Nothing such stands"));
    assert!(wish("0", "1.b1", "100000").contains("cannot be made"));
    assert_eq!(anna.post_form(&format!("{at}/try"), &[("base", "7"), ("station", "1"), ("supply", "0"), ("to", "1.b1")]).status, 404);
    assert_eq!(kept(&room).0.version, 1);
}

#[test]
fn a_plan_is_removed_only_as_it_stands() {
    let (room, at) = room_with_plan();
    let anna = room.as_role("engineer");
    assert_eq!(anna.post_form(&format!("{at}/remove"), &[("base", "4")]).status, 409);
    assert_eq!(anna.post_form(&format!("{at}/remove"), &[("base", "1")]).status, 303);
    assert_eq!(anna.get(&at).status, 404);
    assert!(anna.see("/plans").words().contains("No plan is kept yet"));
}
