//! The API against its own description: a generator of requests that others wrote (schemathesis, from the Python registry) sends what the
//! description allows and what it forbids; nothing may end in an error of the server or in an answer that is not described.

mod common;

use common::{Browser, File, Room, example, example_folder};
use std::process::Command;
use store::people::Role;

/// Requests of one kind to one address; `EVENLINE_REQUESTS` asks for more.
const REQUESTS: &str = "8";

/// Left out: what would take the generator's own right away.
const ITSELF: &str = "^/api/(tokens|people)/";

/// Left out: that everything a schema allows is taken. A schema cannot say that a board must lie on its panel.
const UNSAID: &str = "positive_data_acceptance";

#[test]
fn a_generator_of_requests_finds_no_error_of_the_server() {
    let Some(python) = std::env::var_os("EVENLINE_PYTHON") else {
        assert!(std::env::var_os("EVENLINE_REQUIRE_ORACLES").is_none(), "EVENLINE_PYTHON names no interpreter");
        println!("left out: EVENLINE_PYTHON names no interpreter with schemathesis");
        return;
    };
    let room = Room::start_planning();
    let admin = room.block_on(room.store.person_named("admin")).expect("the first administrator");
    let token =
        room.block_on(room.store.make_token(&admin, "generator", Role::Administrator, store::now() + 3_600_000_000)).expect("a token");
    let mut program = room.browser();
    program.token = Some(token.clone());
    furnish(&room, &program);
    // What the generator calls things, so that it often meets what is there.
    let names = "[parameters]\n\"path.name\" = \"first\"\n\"query.with\" = \"first\"\n";
    std::fs::write(room.folder.path().join("schemathesis.toml"), names).expect("its settings are written");
    let requests = std::env::var("EVENLINE_REQUESTS").unwrap_or_else(|_| REQUESTS.to_owned());
    let answer = Command::new(python)
        .args(["-m", "schemathesis.cli", "run", &format!("http://{}/api/openapi.json", room.address)])
        .args(["--header", &format!("Authorization: Bearer {token}"), "--exclude-path-regex", ITSELF, "--exclude-checks", UNSAID])
        .args(["--max-examples", &requests, "--seed", "1", "--no-color", "--generation-database", "none"])
        .current_dir(room.folder.path())
        .output()
        .expect("the interpreter starts");
    let told = String::from_utf8_lossy(&answer.stdout);
    println!("{told}");
    assert!(answer.status.success(), "{told}\n{}", String::from_utf8_lossy(&answer.stderr));
    assert!(told.contains("Tested: 18"), "some operations were not tried");
}

/// A board, a line and a plan, so that there is something to ask for.
fn furnish(room: &Room, program: &Browser) {
    let anna = room.as_role("engineer");
    let files = example_folder("products/solar-charger");
    let table = File::new("solar-charger.csv", example("parts/solar-charger.csv"));
    let mut sent: Vec<(&str, &File)> = files.iter().map(|f| ("files", f)).collect();
    sent.push(("table", &table));
    let page = anna.post_files("/boards", &[("name", "solar-charger")], &sent);
    assert_eq!(page.status, 303, "{}", page.text);
    assert_eq!(program.send("PUT", "/api/line/one", &[("content-type", "text/plain")], &example("lines/one-station.toml")).status, 201);
    let order = br#"{"product": {"name": "solar-charger"}, "line": {"name": "one"}, "seconds": 1, "plan": "first"}"#;
    let job = program.send("POST", "/api/jobs", &[("content-type", "application/json")], order);
    // The stream ends with the job.
    program.get(&format!("/api/jobs/{}/live", job.json()["id"].as_str().expect("a job")));
    assert_eq!(program.get("/api/plans/first/verify").json()["accepted"], true);
}
