//! `evenline family` and what the other commands make of a family plan.

mod common;

use common::{arg, example, folder, run};

/// A family of two small boards, with what may be changed in its text.
fn family_file(into: &tempfile::TempDir, demand: &str) -> String {
    let text = format!(
        "schema = \"evenline-family/1\"\nname = \"two gauges\"\n\
         [[product]]\nname = \"node\"\nfiles = [\"{}\"]\nside = \"top\"\ndemand = {demand}\n\
         [[product]]\nname = \"counter\"\nfiles = [\"{}\"]\nparts = \"{}\"\nside = \"top\"\ndemand = 300\n\
         panel = {{ columns = 2, rows = 1, pitch_x = \"54 mm\", pitch_y = \"42 mm\" }}\n",
        example("products/gauge-node"),
        example("products/rain-counter"),
        example("parts/rain-counter.csv")
    );
    let path = into.path().join("gauges.toml");
    std::fs::write(&path, text).unwrap();
    arg(&path)
}

#[test]
fn a_family_is_planned_checked_explained_timed_and_reported() {
    let temporary = folder(&[]);
    let (file, line) = (family_file(&temporary, "101"), example("lines/fixed-roles.toml"));
    let at = |name: &str| arg(&temporary.path().join(name));
    let (plan, plans, out) = (at("family.json"), at("plans"), at("report"));
    let json = run(&["family", &file, "--line", &line, "--work", "20000", "-o", &plan, "--plans", &plans, "--json"]).ends(0).json();
    for field in ["outcome", "time_us", "bound_us", "gap", "products", "setup", "first_plan_ms", "seed", "work", "reasons", "findings"] {
        assert!(json.get(field).is_some(), "no `{field}` in {json}");
    }
    let panels: Vec<u64> = json["products"].as_array().unwrap().iter().map(|p| p["panels"].as_u64().unwrap()).collect();
    assert_eq!(panels, [101, 150]);
    let sum: u64 =
        json["products"].as_array().unwrap().iter().map(|p| p["panels"].as_u64().unwrap() * p["takt_us"].as_u64().unwrap()).sum();
    assert_eq!(json["time_us"].as_u64(), Some(sum));

    let verdict = run(&["verify", &plan, "--json"]).ends(0).json();
    assert_eq!((&verdict["accepted"], verdict["time_us"].as_u64()), (&true.into(), Some(sum)));
    for name in ["node.json", "counter.json"] {
        run(&["verify", &arg(&temporary.path().join("plans").join(name))]).ends(0);
    }
    let told = run(&["explain", &plan]).ends(0).out;
    assert!(
        told.contains("Family `two gauges`") && told.contains("Sharing one set-up") && told.contains("counter on `fixed roles`"),
        "{told}"
    );
    let timed = run(&["time", &plan]).ends(0).out;
    assert!(timed.contains("counter, 150 panels") && timed.contains("whole demand"), "{timed}");
    let written = run(&["report", &plan, "-o", &out]).ends(0).out;
    for name in ["family.html", "family.pdf", "family.xlsx", "node/report.html", "counter/report.pdf"] {
        assert!(written.contains(name) && temporary.path().join("report").join(name).is_file(), "{name} in {written}");
    }
    let page = std::fs::read_to_string(temporary.path().join("report/family.html")).unwrap();
    let supplies: usize = json["setup"].as_array().unwrap().iter().map(|s| s["supplies"].as_array().unwrap().len()).sum();
    assert_eq!(page.matches("<td class=\"code\">").count(), supplies, "each supply stands on the set-up sheet once");

    // A feeder moved for one product only.
    let mut bad: serde_json::Value = serde_json::from_str(&std::fs::read_to_string(&plan).unwrap()).unwrap();
    bad["setup"][0]["supplies"][0]["slot"] = 59.into();
    std::fs::write(temporary.path().join("bad.json"), bad.to_string()).unwrap();
    let refused = run(&["verify", &at("bad.json")]).ends(1).out;
    assert!(refused.starts_with("refused") && refused.contains("[verify.family-set-up]"), "{refused}");
}

#[test]
fn the_same_work_gives_the_same_bytes() {
    let temporary = folder(&[]);
    let (file, line) = (family_file(&temporary, "10"), example("lines/fixed-roles.toml"));
    let mut read = Vec::new();
    for threads in ["1", "2"] {
        let path = temporary.path().join(threads);
        run(&["family", &file, "--line", &line, "--work", "12000", "--threads", threads, "-o", &arg(&path)]).ends(0);
        read.push(std::fs::read(path).unwrap());
    }
    assert!(read[0] == read[1]);
}

#[test]
fn wrong_families_are_named() {
    let temporary = folder(&[("empty.toml", b""), ("cut.json", b"{\"schema\": \"evenline-family-plan/1\", \"na")]);
    let line = example("lines/one-station.toml");
    let at = |name: &str| arg(&temporary.path().join(name));
    run(&["family", &at("empty.toml"), "--line", &line]).ends(3).says("family.syntax");
    run(&["family", &family_file(&temporary, "0"), "--line", &line]).ends(3).says("family.empty");
    run(&["family", &at("none.toml"), "--line", &line]).ends(4).says("use.file");
    run(&["verify", &at("cut.json")]).ends(3);
    std::fs::write(temporary.path().join("old.json"), "{\"schema\": \"evenline-family-plan/9\"}").unwrap();
    run(&["verify", &at("old.json")]).ends(3).says("family.plan-schema");
}

/// One layout with two bills, and the other side of the board: three products of one order, each read by itself.
#[test]
fn variants_and_both_sides_are_products_of_one_order() {
    let temporary = folder(&[
        (
            "layout.csv",
            b"Ref,X (mm),Y (mm),Rot,Side,Package\nR1,5,5,0,top,R_0603_1608Metric\nR2,10,5,0,top,R_0603_1608Metric\nR3,15,9,0,top,R_0603_1608Metric\nC1,20,5,0,bottom,C_0603_1608Metric\nC2,25,9,0,bottom,C_0603_1608Metric\n",
        ),
        ("brook.csv", b"References,Value,Quantity\n\"R1, R2, R3\",10k,3\n\"C1, C2\",100n,2\n"),
        ("river.csv", b"References,Value,Quantity,DNP\n\"R1, R2\",22k,2,\nR3,10k,1,x\n\"C1, C2\",100n,2,\n"),
        (
            "order.toml",
            b"schema = \"evenline-family/1\"\nname = \"gauges\"\n\
              [[product]]\nname = \"brook top\"\nfiles = [\"layout.csv\", \"brook.csv\"]\nside = \"top\"\ndemand = 40\n\
              [[product]]\nname = \"river top\"\nfiles = [\"layout.csv\", \"river.csv\"]\nside = \"top\"\ndemand = 25\n\
              [[product]]\nname = \"bottom of both\"\nfiles = [\"layout.csv\", \"brook.csv\"]\nside = \"bottom\"\ndemand = 65\n",
        ),
    ]);
    let order = arg(&temporary.path().join("order.toml"));
    let json = run(&["family", &order, "--line", &example("lines/head-swap.toml"), "--work", "3000", "--json"]).ends(0).json();
    let placed: Vec<u64> = json["products"].as_array().unwrap().iter().map(|p| p["placed"].as_u64().unwrap()).collect();
    assert_eq!(placed, [3, 2, 2]);
    // R3 of the one and R1 of the other are the same part on one feeder.
    let supplies: usize = json["setup"].as_array().unwrap().iter().map(|s| s["supplies"].as_array().unwrap().len()).sum();
    assert!(supplies >= 3, "{}", json["setup"]);
    // Any kind of line serves a family.
    run(&["family", &order, "--line", &example("lines/mixed.toml"), "--work", "3000"]).ends(0);
}
