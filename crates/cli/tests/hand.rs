//! The engineer's hand on a plan, through the command line: what stays, what is down, how two plans differ.

mod common;

use common::{Ran, arg, example, folder, run};
use serde_json::Value;

/// Moves tried in these tests.
const WORK: &str = "3000";

/// Plans the small example on three stations; the path of the plan.
fn planned(into: &tempfile::TempDir) -> String {
    let path = arg(&into.path().join("old.json"));
    plan(&[&example("products/gauge-node"), "--side", "top", "-o", &path]).ends(0);
    path
}

fn plan(more: &[&str]) -> Ran {
    let line = example("lines/head-swap.toml");
    let mut arguments = vec!["plan", "--line", &line, "--work", WORK];
    arguments.extend(more);
    run(&arguments)
}

fn read(path: &str) -> Value {
    serde_json::from_slice(&std::fs::read(path).unwrap()).unwrap()
}

fn verified(path: &str) {
    assert!(run(&["verify", path]).ends(0).out.starts_with("accepted"));
}

#[test]
fn a_kept_set_up_stays() {
    let temporary = folder(&[]);
    let old = planned(&temporary);
    let new = arg(&temporary.path().join("new.json"));
    plan(&[&example("products/gauge-node"), "--side", "top", "--from", &old, "--keep-setup", "-o", &new]).ends(0);
    verified(&new);
    let diff = run(&["diff", &old, &new, "--json"]).ends(0).json();
    assert_eq!(diff["moves"]["moved"], 0, "{diff}");
    assert!(diff["to"]["takt_us"].as_i64() <= diff["from"]["takt_us"].as_i64());
    assert_eq!(read(&new)["rules"]["closed"].as_array().map(Vec::len), Some(3));
}

#[test]
fn one_station_or_one_part_stays() {
    let temporary = folder(&[]);
    let old = planned(&temporary);
    let new = arg(&temporary.path().join("new.json"));
    let product = example("products/gauge-node");
    plan(&[&product, "--side", "top", "--from", &old, "--keep-setup=swap-2", "--add", "1", "--keep", "RG-C04-100N", "-o", &new]).ends(0);
    verified(&new);
    let rules = &read(&new)["rules"];
    assert_eq!((&rules["closed"][0]["station"], &rules["closed"][0]["add"]), (&"swap-2".into(), &1.into()));
    assert!(rules["keep"].as_array().unwrap().iter().any(|k| k["part"] == "RG-C04-100N"), "{rules}");
    plan(&[&product, "--side", "top", "--from", &old, "--keep-setup=nowhere"]).ends(3).says("plan.lock-unknown");
    plan(&[&product, "--side", "top", "--from", &old, "--keep", "RG-NONE"]).ends(3).says("plan.lock-unknown");
    plan(&[&product, "--side", "top", "--keep", "RG-C04-100N"]).ends(2);
}

#[test]
fn a_plan_to_begin_with_is_never_lost() {
    let temporary = folder(&[]);
    let old = planned(&temporary);
    let line = example("lines/head-swap.toml");
    let json = run(&["plan", &example("products/gauge-node"), "--side", "top", "--line", &line, "--from", &old, "--work", "1", "--json"])
        .ends(0)
        .json();
    assert!(json["takt_us"].as_i64() <= read(&old)["takt_us"].as_i64(), "{json}");
}

#[test]
fn a_failure_is_planned_around() {
    let temporary = folder(&[]);
    let old = planned(&temporary);
    let new = arg(&temporary.path().join("new.json"));
    let said = run(&["replan", &old, "--down", "station:swap-2", "--move-price", "20s", "--work", WORK, "-o", &new]).ends(0);
    verified(&new);
    for word in ["down: station:swap-2", "takt ", "cost ", "bound ", "take feeder of "] {
        assert!(said.out.contains(word), "no `{word}` in\n{}", said.out);
    }
    assert_eq!(read(&new)["rules"]["down"][0]["station"], "swap-2");
    let json = run(&["replan", &old, "--down", "station:swap-2", "--move-price", "0s", "--work", WORK, "--json"]).ends(0).json();
    for field in ["down", "takt_before_us", "takt_us", "bound_us", "move_price_us", "cost_us", "cost_bound_us", "least_moved", "moves"] {
        assert!(!json[field].is_null(), "no field `{field}` in {json}");
    }
    assert!(json["least_moved"].as_i64() <= json["moves"]["moved"].as_i64());
    // Repaired, the line can be planned as it was.
    let back = run(&["replan", &new, "--up", "station:swap-2", "--work", WORK, "--json"]).ends(0).json();
    assert_eq!(back["down"], Value::Array(Vec::new()));
}

#[test]
fn failures_that_make_no_sense() {
    let temporary = folder(&[]);
    let old = planned(&temporary);
    run(&["replan", &old]).ends(2).says("use.arguments");
    run(&["replan", &old, "--down", "swap-2"]).ends(2);
    run(&["replan", &old, "--down", "head:swap-2"]).ends(2);
    run(&["replan", &old, "--down", "head:swap-9/drum", "--work", WORK]).ends(3).says("plan.lock-unknown");
    run(&["replan", &old, "--up", "station:swap-2", "--work", WORK]).ends(3).says("plan.lock-unknown");
}

#[test]
fn two_plans_differ_in_words() {
    let temporary = folder(&[]);
    let old = planned(&temporary);
    let same = run(&["diff", &old, &old]).ends(0).out;
    assert!(same.contains("no feeder or tray is moved") && same.contains("as before"), "{same}");
    let other = arg(&temporary.path().join("other.json"));
    plan(&[&example("products/gauge-node"), "--side", "top", "--seed", "9", "--locks", &arg(&locks(&temporary)), "-o", &other]).ends(0);
    let said = run(&["diff", &old, &other]).ends(0).out;
    assert!(said.contains("input rules.forbid: new: ") && said.contains("takt "), "{said}");
    let json = run(&["diff", &old, &other, "--json"]).ends(0).json();
    for field in ["from", "to", "inputs", "placements", "stations", "parts", "moves"] {
        assert!(!json[field].is_null(), "no field `{field}` in {json}");
    }
    assert!(!json["parts"].as_array().unwrap().is_empty(), "what was forbidden went elsewhere, or another seed spread it otherwise");
}

fn locks(into: &tempfile::TempDir) -> std::path::PathBuf {
    let path = into.path().join("locks.toml");
    let text = ["swap-1", "swap-2"].map(|s| format!("[[forbid]]\npart = \"RG-C04-100N\"\nstation = \"{s}\"\n")).concat();
    std::fs::write(&path, text).unwrap();
    path
}
