//! The contract of the command line: JSON fields, exit codes, which stream says what, and
//! that the same work gives the same bytes.

mod common;

use common::{arg, example, folder, run};
use serde_json::Value;

/// Moves tried in these tests: enough for a real plan, few enough to be quick.
const WORK: &str = "3000";

/// Fails unless an object has all of these fields.
#[track_caller]
fn has(value: &Value, fields: &[&str]) {
    let object = value.as_object().unwrap_or_else(|| panic!("no object: {value}"));
    for field in fields {
        assert!(object.contains_key(*field), "no field `{field}` in {value}");
    }
}

/// Plans the small example and returns the path of the plan inside the folder.
fn planned(into: &tempfile::TempDir, more: &[&str]) -> String {
    let path = arg(&into.path().join("plan.json"));
    let mut arguments = vec!["plan".to_owned(), example("products/gauge-node"), "--line".to_owned(), example("lines/one-station.toml")];
    arguments.extend(["--side", "top", "--work", WORK, "-o", &path].map(str::to_owned));
    arguments.extend(more.iter().map(|s| (*s).to_owned()));
    run(&arguments).ends(0);
    path
}

#[test]
fn read_gives_its_fields() {
    let read = run(&["read", &example("products/river-logger"), "--json"]).ends(0);
    assert_eq!(read.err, "", "JSON stands alone on standard output");
    let json = read.json();
    has(&json, &["placements", "fitted", "not_fitted", "ignored", "findings"]);
    let count = |name: &str| json[name].as_u64().unwrap();
    assert_eq!((count("placements"), count("fitted"), count("not_fitted"), count("ignored")), (439, 402, 9, 28));
    let findings = json["findings"].as_array().unwrap();
    assert!(!findings.is_empty());
    for finding in findings {
        has(finding, &["code", "severity", "file", "line", "value", "hint"]);
        assert!(diag::codes::find(finding["code"].as_str().unwrap()).is_some(), "unknown code in {finding}");
    }
}

#[test]
fn read_for_people_keeps_data_and_messages_apart() {
    let read = run(&["read", &example("products/gauge-node")]).ends(0);
    assert!(read.out.contains("placements: 128 = 117 fitted (69 top, 48 bottom) + 2 not fitted + 9 ignored"), "{}", read.out);
    assert!(!read.out.contains("hint:") && read.err.contains("hint:"), "findings belong to standard error");
}

#[test]
fn both_sides_are_drawn_with_what_warnings_name() {
    let temporary = folder(&[(
        "list.csv",
        b"Ref,Val,Package,X (mm),Y (mm),Rot,Side\nU1,,SOIC-8,10,10,0,top\nC1,100n,C_0603_1608Metric,10.2,10,0,top\nR1,1k,R_0603_1608Metric,20,10,0,bottom\nR2,1k,R_0603_1608Metric,25,12,90,top\n",
    )]);
    let pictures = arg(&temporary.path().join("pictures"));
    let read = run(&["read", &arg(temporary.path()), "--pictures", &pictures]).ends(0);
    assert!(read.err.contains("[read.overlap]") && read.err.contains("C1 with U1"), "{}", read.err);
    let drawn = |side: &str| std::fs::read_to_string(temporary.path().join("pictures").join(side)).unwrap();
    let (top, bottom) = (drawn("top.svg"), drawn("bottom.svg"));
    for reference in ["U1: ", "C1: ", "R2: "] {
        assert!(top.contains(reference) && !bottom.contains(reference), "{reference}");
    }
    assert!(bottom.contains("R1: ") && bottom.contains("seen from the bottom"));
    assert!(top.contains("a warning names it (2)") && !bottom.contains("a warning names it"));
}

#[test]
fn what_was_concluded_is_remembered_for_the_next_board() {
    let temporary = folder(&[]);
    let profile = arg(&temporary.path().join("customer.toml"));
    let first = run(&["read", &example("products/gauge-node"), "--remember", &profile, "--json"]).ends(0).json();
    has(&first["concluded"][0], &["name", "role", "headings", "columns", "unit", "mirrored", "because"]);
    let next = run(&["read", &example("products/gauge-node"), "--mapping", &profile]).ends(0);
    assert!(next.err.contains("[read.mapping-by-headings]"), "{}", next.err);
    assert!(next.out.contains("placements: 128 = 117 fitted (69 top, 48 bottom) + 2 not fitted + 9 ignored"), "{}", next.out);
}

#[test]
fn two_revisions_are_compared() {
    const OLD: &[u8] = b"Ref,Val,Package,X (mm),Y (mm),Rot,Side\nU1,A,SOIC-8,10,10,0,top\nC1,100n,C_0603_1608Metric,20,10,0,top\nC2,100n,C_0603_1608Metric,30,10,0,top\nR1,1k,R_0603_1608Metric,40,10,0,top\nR2,1k,R_0603_1608Metric,50,10,0,top\nR4,1k,R_0603_1608Metric,60,30,0,top\n";
    // All has moved by 100 mm, R1 by 1 mm more; C1 is turned, C2 another part, U1 on the bottom, R2 gone, R3 new, R4 left out.
    const NEW: &[u8] = b"Ref,Val,Package,X (mm),Y (mm),Rot,Side\nU1,A,SOIC-8,110,10,0,bottom\nC1,100n,C_0603_1608Metric,120,10,90,top\nC2,220n,C_0603_1608Metric,130,10,0,top\nR1,1k,R_0603_1608Metric,141,10,0,top\nR3,1k,R_0603_1608Metric,145,10,0,top\nR4,1k DNP,R_0603_1608Metric,160,30,0,top\n";
    let (old, new) = (folder(&[("old.csv", OLD)]), folder(&[("new.csv", NEW)]));
    let told = run(&["read", &arg(new.path()), "--against", &arg(old.path())]).ends(0).out;
    for line in [
        "added (1)\n  R3: 1k R_0603_1608Metric",
        "removed (1)\n  R2: ",
        "C2: 100n C_0603_1608Metric -> 220n C_0603_1608Metric",
        "moved (1)\n  R1: by 1, 0 mm",
        "turned (1)\n  C1: 0° -> 90°",
        "on the other side (1)\n  U1: bottom",
        "no longer fitted (1)\n  R4",
    ] {
        assert!(told.contains(line), "{line} in {told}");
    }
    let json = run(&["read", &arg(new.path()), "--against", &arg(old.path()), "--json"]).ends(0).json();
    assert!(json.as_array().unwrap().iter().any(|c| c["reference"] == "R1" && c["what"]["moved"]["x_um"] == 1000), "{json}");
    let same = run(&["read", &arg(old.path()), "--against", &arg(old.path())]).ends(0).out;
    assert!(same.starts_with("both revisions place the same parts"), "{same}");
}

#[test]
fn a_parts_table_goes_out_and_comes_back_as_a_workbook() {
    let temporary = folder(&[]);
    let at = |name: &str| arg(&temporary.path().join(name));
    let (board, table) = (example("products/river-logger"), example("parts/river-logger.csv"));
    let (book, plain, again) = (at("parts.xlsx"), at("plain.json"), at("again.json"));
    run(&["parts", &board, "--parts", &table, "-o", &book]).ends(0);
    run(&["read", &board, "--parts", &table, "-o", &plain]).ends(0);
    let read = run(&["read", &board, "--parts", &book, "-o", &again]).ends(0);
    assert!(!read.err.contains("parts.table"), "{}", read.err);
    let parts = |path: &str| {
        let json: Value = serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
        json["parts"].clone()
    };
    assert_eq!(parts(&plain), parts(&again), "every value, source and certainty is kept");
}

#[test]
fn parts_to_measure_first_are_named() {
    let temporary = folder(&[(
        "list.csv",
        b"Ref,Val,Package,X (mm),Y (mm),Rot,Side\nJ1,,ODD-7,10,10,0,top\nJ2,,ODD-7,30,10,0,top\nR1,1k,R_0603_1608Metric,20,10,0,top\n",
    )]);
    let check = run(&["parts", &arg(temporary.path()), "--check"]).ends(0).out;
    assert!(check.starts_with("ODD-7 (ODD-7), 2 placements") && check.contains("these 1 of 1 parts") && !check.contains("0603"), "{check}");
    let json = run(&["parts", &arg(temporary.path()), "--check=1", "--json"]).ends(0).json();
    has(&json[0], &["number", "package", "placements", "guessed", "decides", "weight"]);
}

#[test]
fn plan_and_verify_give_their_fields() {
    let temporary = folder(&[]);
    let path = arg(&temporary.path().join("plan.json"));
    let (product, line) = (example("products/gauge-node.json"), example("lines/one-station.toml"));
    let plan = run(&["plan", &product, "--line", &line, "--side", "bottom", "--work", WORK, "--seed", "7", "--json", "-o", &path]).ends(0);
    let json = plan.json();
    has(&json, &["outcome", "takt_us", "bound_us", "gap", "placed", "unplaced", "stations", "first_plan_ms", "seed"]);
    assert_eq!((json["placed"].as_u64(), json["seed"].as_u64()), (Some(48), Some(7)));
    assert_eq!(json["stations"].as_array().unwrap().len(), 1);
    has(&json["stations"][0], &["name", "time_us"]);
    let (takt, bound) = (json["takt_us"].as_i64().unwrap(), json["bound_us"].as_i64().unwrap());
    assert!(0 < bound && bound <= takt, "bound {bound}, takt {takt}");
    let gap = json["gap"].as_f64().unwrap();
    assert!((gap - (takt - bound) as f64 / bound as f64).abs() < 1e-9, "gap {gap}");

    let verdict = run(&["verify", &path, "--json"]).ends(0).json();
    has(&verdict, &["accepted", "violations", "takt_us", "bound_us"]);
    assert_eq!(verdict["accepted"], true, "{verdict}");
    assert_eq!((&verdict["takt_us"], &verdict["bound_us"]), (&json["takt_us"], &json["bound_us"]));

    let timing = run(&["time", &path, "--json"]).ends(0).json();
    assert_eq!(timing["takt_us"], json["takt_us"]);
}

#[test]
fn an_edited_plan_is_refused_with_code_and_detail() {
    let temporary = folder(&[]);
    let path = planned(&temporary, &[]);
    let mut plan: Value = serde_json::from_slice(&std::fs::read(&path).unwrap()).unwrap();
    plan["takt_us"] = 1.into();
    std::fs::write(&path, plan.to_string()).unwrap();
    let verdict = run(&["verify", &path, "--json"]).ends(1).json();
    assert_eq!(verdict["accepted"], false);
    has(&verdict["violations"][0], &["code", "detail"]);
    assert!(verdict["violations"].as_array().unwrap().iter().any(|v| v["code"] == "verify.takt"), "{verdict}");
    let said = run(&["verify", &path]).ends(1);
    assert!(said.out.contains("refused") && said.out.contains("[verify.takt]"), "{}", said.out);
}

#[test]
fn the_same_work_gives_the_same_bytes() {
    let bytes = |threads: &str| {
        let temporary = folder(&[]);
        std::fs::read(planned(&temporary, &["--threads", threads])).unwrap()
    };
    let one = bytes("1");
    assert!(one == bytes("1"), "two runs differ");
    assert!(one == bytes("2"), "one thread and two threads differ");
}

#[test]
fn the_hand_method_is_a_valid_baseline() {
    let temporary = folder(&[]);
    let path = planned(&temporary, &["--method", "hand"]);
    assert!(run(&["verify", &path]).ends(0).out.starts_with("accepted"));
}

#[test]
fn a_parts_table_comes_back_unchanged() {
    let temporary = folder(&[]);
    let product = example("products/river-logger");
    let table = arg(&temporary.path().join("parts.csv"));
    run(&["parts", &product, "-o", &table]).ends(0);
    let printed = std::fs::read_to_string(&table).unwrap();
    let again = run(&["parts", &product, "--parts", &table]).ends(0);
    assert_eq!(printed, again.out, "an unedited table changes nothing");
}

#[test]
fn explain_and_report_speak_of_the_plan() {
    let temporary = folder(&[]);
    let path = planned(&temporary, &[]);
    let explained = run(&["explain", &path]).ends(0);
    assert!(explained.out.contains("takt") && explained.out.contains("bound") && explained.out.contains("solo-1"), "{}", explained.out);
    // What would help is said with figures, as text and for other programs, and can be planned anew.
    assert!(
        explained.out.contains("What would help:") && explained.out.contains("One more station like `solo-1` is worth about"),
        "{}",
        explained.out
    );
    let anew = run(&["explain", &path, "--worth", "--work", "2000", "--json"]).ends(0);
    let told: serde_json::Value = serde_json::from_str(&anew.out).expect("JSON");
    let first = &told["worth"][0];
    let (before, after) = (first["replanned"]["before_us"].as_i64(), first["replanned"]["after_us"].as_i64());
    assert_eq!(before.zip(after).map(|(b, a)| b - a), first["replanned"]["worth_us"].as_i64(), "{first}");
    assert!(before.is_some() && first["estimate_us"].as_i64() > Some(0), "{first}");
    run(&["explain", &path, "--work", "2000"]).ends(2);
    let into = temporary.path().join("report");
    let written = run(&["report", &path, "-o", &arg(&into)]).ends(0);
    for (name, start) in [("report.html", &b"<!"[..]), ("report.pdf", b"%PDF"), ("report.xlsx", b"PK")] {
        assert!(written.out.contains(name));
        assert!(std::fs::read(into.join(name)).unwrap().starts_with(start), "{name}");
    }
    let left: Vec<_> =
        std::fs::read_dir(&into).unwrap().map(|e| e.unwrap().file_name()).filter(|n| n.to_string_lossy().ends_with(".part")).collect();
    assert!(left.is_empty(), "half files are left: {left:?}");
}

#[test]
fn usage_is_told_from_input() {
    let help = run(&["--help"]).ends(0);
    assert!(help.out.contains("Exit codes: 0 done, 1 the answer is no, 2 usage, 3 wrong input, 4 file trouble"), "{}", help.out);
    assert!(!run(&["plan"]).ends(2).err.is_empty());
    run(&["plan", "x", "--line", "y", "--seconds", "-1"]).ends(2);
    run(&["plan", "x", "--line", "y", "--panel", "2y3"]).ends(2);
    run(&["schema", "nothing"]).ends(2);
    assert!(run(&["completion", "bash"]).ends(0).out.contains("evenline"));
}
