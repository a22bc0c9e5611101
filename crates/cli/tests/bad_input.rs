//! Bad input of all kinds: each ends with a code, a next step and an exit code, and never in a panic.

mod common;

use common::{Ran, arg, example, folder, run};
use std::path::Path;

/// Headings of a plain placement list.
const HEADINGS: &str = "Ref,Value,Package,X(mm),Y(mm),Rot,Side\n";

fn list(rows: &str) -> String {
    HEADINGS.to_owned() + rows
}

/// Reads one file made of these bytes.
fn read(name: &str, bytes: &[u8]) -> Ran {
    let temporary = folder(&[(name, bytes)]);
    run(&["read", &arg(&temporary.path().join(name))])
}

/// Plans a product on a sheet, with more arguments.
fn plan(product: &str, sheet: &str, more: &[&str]) -> Ran {
    let mut arguments = vec!["plan", product, "--line", sheet, "--side", "top", "--work", "100"];
    arguments.extend(more);
    run(&arguments)
}

/// Plans the small example on one station.
fn plan_small(more: &[&str]) -> Ran {
    plan(&example("products/gauge-node"), &example("lines/one-station.toml"), more)
}

/// Plans the small example on a sheet made from that of one station by replacing a text.
fn plan_on_changed_sheet(from: &str, to: &str) -> Ran {
    let sheet = std::fs::read_to_string(example("lines/one-station.toml")).unwrap();
    assert!(sheet.contains(from), "the sheet no longer holds `{from}`");
    let temporary = folder(&[("sheet.toml", sheet.replace(from, to).as_bytes())]);
    plan(&example("products/gauge-node"), &arg(&temporary.path().join("sheet.toml")), &[])
}

/// Plans the small example with this locks file.
fn plan_with_locks(locks: &str) -> Ran {
    let temporary = folder(&[("locks.toml", locks.as_bytes())]);
    plan_small(&["--locks", &arg(&temporary.path().join("locks.toml"))])
}

#[test]
fn an_empty_file() {
    read("empty.csv", b"").ends(3).says("read.empty-file").says("read.no-placements");
}

#[test]
fn wrong_columns() {
    read("wrong.csv", b"a,b,c\n1,2,3\n4,5,6\n").ends(3).says("read.no-placements");
}

#[test]
fn a_binary_file() {
    let bytes: Vec<u8> = (0..4000_u32).map(|i| (i.wrapping_mul(2_654_435_761) >> 13) as u8).collect();
    read("picture.csv", &bytes).ends(3).says("read.no-placements");
}

#[test]
fn ten_megabytes_in_one_line() {
    read("long.csv", &vec![b'x'; 10_000_000]).ends(3).says("read.no-placements");
    let commas = HEADINGS.to_owned() + &"C1,".repeat(3_000_000);
    read("commas.csv", commas.as_bytes()).ends(3).says("read.no-placements");
}

#[test]
fn coordinates_that_are_no_numbers() {
    let rows = "C1,1u,CAPC1005X55N,NaN,5,0,top\nC2,1u,CAPC1005X55N,8,inf,0,top\nC3,1u,CAPC1005X55N,20,9,0,top\n";
    let read = read("nan.csv", list(rows).as_bytes()).ends(3).says("read.bad-coordinate");
    assert!(read.err.contains("nan.csv:2") && read.err.contains("NaN"), "{}", read.err);
    assert!(read.out.contains("placements: 3 = 1 fitted"), "what could be read is kept: {}", read.out);
}

#[test]
fn one_reference_twice_is_a_warning_and_both_rows_stay() {
    let rows = "C1,1u,CAPC1005X55N,5,5,0,top\nC1,1u,CAPC1005X55N,15,5,0,top\nC3,1u,CAPC1005X55N,20,9,0,top\n";
    let read = read("twice.csv", list(rows).as_bytes()).ends(0).says("read.duplicate-reference");
    assert!(read.out.contains("placements: 3 = 3 fitted"), "{}", read.out);
}

#[test]
fn a_part_too_large_for_every_station() {
    let rows = "U1,hull,MODULE_60.0x160.0x9.0mm,60,100,0,top\nC2,1u,CAPC1005X55N,15,5,0,top\n";
    let temporary = folder(&[("large.csv", list(rows).as_bytes())]);
    let path = arg(&temporary.path().join("large.csv"));
    let planned = plan(&path, &example("lines/one-station.toml"), &[]).ends(1).says("plan.part-too-large");
    assert!(planned.out.contains("placed 1 ") && planned.out.contains("not placed 1"), "{}", planned.out);
    let json = plan(&path, &example("lines/one-station.toml"), &["--json"]).ends(1).json();
    assert_eq!((&json["unplaced"][0]["reference"], &json["unplaced"][0]["code"]), (&"U1".into(), &"plan.part-too-large".into()));
}

#[test]
fn more_feeders_than_slots() {
    plan_on_changed_sheet("slots = 64", "slots = 4").ends(1).says("plan.no-slot");
}

#[test]
fn no_nozzle_for_a_part() {
    plan_on_changed_sheet("nozzles = [\"fine\", \"chip\", \"body\"]", "nozzles = [\"body\"]").ends(1).says("plan.no-nozzle");
}

#[test]
fn locks_that_contradict_each_other() {
    let same_slot = "[[lock]]\npart = \"RG-C04-100N\"\nstation = \"solo-1\"\nbank = \"front\"\nslot = 3\n\
                     [[lock]]\npart = \"RG-R04-10K\"\nstation = \"solo-1\"\nbank = \"front\"\nslot = 3\n";
    plan_with_locks(same_slot).ends(3).says("plan.lock-conflict");
    let forbidden = "[[lock]]\npart = \"RG-C04-100N\"\nstation = \"solo-1\"\n[[forbid]]\npart = \"RG-C04-100N\"\nstation = \"solo-1\"\n";
    plan_with_locks(forbidden).ends(3).says("plan.lock-conflict");
    let circle = "[[order]]\nfirst = [\"U1\"]\nthen = [\"U2\"]\n[[order]]\nfirst = [\"U2\"]\nthen = [\"U1\"]\n";
    plan_with_locks(circle).ends(3).says("plan.order-cycle");
    plan_with_locks("[[lock]]\npart = \"RG-C04-100N\"\nstation = \"nowhere\"\n").ends(3).says("plan.lock-unknown");
}

#[test]
fn a_misspelt_key_of_a_locks_file_gets_a_suggestion() {
    let locks = plan_with_locks("[[lock]]\nprat = \"RG-C04-100N\"\n").ends(3).says("plan.lock-syntax");
    assert!(locks.err.contains("locks.toml:2") && locks.err.contains("did you mean `part`?"), "{}", locks.err);
}

#[test]
fn a_speed_of_zero() {
    let sheet = plan_on_changed_sheet("speed = \"1.8 m/s\"", "speed = \"0 m/s\"").ends(3).says("line.out-of-range");
    assert!(sheet.err.contains("sheet.toml") && sheet.err.contains("0 m/s"), "{}", sheet.err);
}

#[test]
fn a_misspelt_key_of_a_sheet_gets_a_suggestion() {
    let sheet = plan_on_changed_sheet("spindles = ", "spindels = ").ends(3).says("line.unknown-key");
    assert!(sheet.err.contains("did you mean `spindles`?"), "{}", sheet.err);
}

#[test]
fn a_sheet_that_is_no_sheet() {
    for (text, code) in [("", "line.empty"), ("slots = = 3", "line.syntax"), ("name = \"x\"", "line.missing-key")] {
        let temporary = folder(&[("sheet.toml", text.as_bytes())]);
        plan(&example("products/gauge-node"), &arg(&temporary.path().join("sheet.toml")), &[]).ends(3).says(code);
    }
    let temporary = folder(&[("sheet.toml", &[0xff, 0xfe, 0x00, 0xd8])]);
    plan(&example("products/gauge-node"), &arg(&temporary.path().join("sheet.toml")), &[]).ends(3).says("line.syntax");
}

#[test]
fn a_plan_cut_short() {
    let temporary = folder(&[]);
    let path = arg(&temporary.path().join("plan.json"));
    plan_small(&["-o", &path]).ends(0);
    let whole = std::fs::read(&path).unwrap();
    for length in [0, 1, 100, whole.len() / 2, whole.len() - 2] {
        std::fs::write(&path, &whole[..length]).unwrap();
        for command in ["verify", "time", "explain"] {
            run(&[command, &path]).ends(3).says("plan.syntax");
        }
        run(&["report", &path, "-o", &arg(&temporary.path().join("report"))]).ends(3).says("plan.syntax");
    }
    std::fs::write(&path, b"{\"schema\": \"evenline-plan/9\"}").unwrap();
    run(&["verify", &path]).ends(3).says("plan.schema");
}

#[test]
fn a_product_document_cut_short() {
    let whole = std::fs::read(example("products/gauge-node.json")).unwrap();
    let temporary = folder(&[("product.json", &whole[..whole.len() / 2])]);
    run(&["read", &arg(&temporary.path().join("product.json"))]).ends(3).says("read.product-syntax");
}

#[test]
fn a_parts_table_that_cannot_be_used() {
    for (text, code) in [
        ("", "parts.table-empty"),
        ("body_x_mm\n3\n", "parts.table-no-key"),
        ("number,bodyx_mm\nRG-C04-100N,1\n", "parts.table-unknown-column"),
        ("number,height_mm\nRG-C04-100N,800\n", "parts.table-out-of-range"),
        ("number,height_mm\nRG-C04-100N,tall\n", "parts.table-unreadable"),
    ] {
        let temporary = folder(&[("parts.csv", text.as_bytes())]);
        run(&["read", &example("products/gauge-node"), "--parts", &arg(&temporary.path().join("parts.csv"))]).ends(3).says(code);
    }
}

#[test]
fn files_that_are_not_there() {
    let temporary = folder(&[]);
    let missing = arg(&temporary.path().join("missing.csv"));
    run(&["read", &missing]).ends(4).says("use.file");
    run(&["read", &arg(temporary.path())]).ends(4).says("use.file");
    run(&["verify", &missing]).ends(4).says("use.file");
    run(&["verify", &arg(temporary.path())]).ends(4).says("use.file");
    plan(&example("products/gauge-node"), &missing, &[]).ends(4).says("use.file");
    plan_small(&["--locks", &missing]).ends(4).says("use.file");
    plan_small(&["--parts", &missing]).ends(4).says("use.file");
}

#[test]
fn panels_that_are_none() {
    plan_small(&["--panel", "0x3"]).ends(3).says("plan.panel");
    plan_small(&["--panel", "0x3", "--pitch", "60mmx45mm"]).ends(3).says("plan.panel");
    plan_small(&["--panel", "2x3", "--pitch", "10mmx10mm"]).ends(3).says("plan.panel");
    plan_small(&["--panel", "4000000000x4000000000", "--pitch", "60mmx45mm"]).ends(3).says("plan.panel");
    plan_small(&["--pitch", "60mmx45mm"]).ends(2).says("plan.panel");
    plan_small(&["--rails", "-1mmx5mm"]).ends(2);
    plan_small(&["--rails=-1mmx5mm"]).ends(3).says("plan.panel");
    plan_small(&["--panel-marks", "50mmx3mm"]).ends(3).says("plan.panel");
    plan_small(&["--bad-mark", "3mmx90mm"]).ends(3).says("plan.panel");
    plan_small(&["--turned", "sideways"]).ends(2);
    plan_small(&["--panel", "40x40", "--pitch", "60mmx45mm"]).ends(1).says("plan.board-too-large");
}

#[test]
fn a_side_with_nothing_on_it() {
    let rows = "C2,1u,CAPC1005X55N,15,5,0,bottom\n";
    let temporary = folder(&[("bottom.csv", list(rows).as_bytes())]);
    plan(&arg(&temporary.path().join("bottom.csv")), &example("lines/one-station.toml"), &[]).ends(3).says("plan.nothing-to-place");
}

#[test]
fn a_write_that_fails_leaves_no_half_file() {
    let temporary = folder(&[]);
    // A folder stands where the file should go, so the last step of the write must fail.
    let taken = temporary.path().join("taken");
    std::fs::create_dir(&taken).unwrap();
    plan_small(&["-o", &arg(&taken)]).ends(4).says("use.file");
    run(&["read", &example("products/gauge-node"), "-o", &arg(&taken)]).ends(4).says("use.file");
    assert_eq!(names(temporary.path()), ["taken"], "a half file is left");
    assert!(names(&taken).is_empty());
    plan_small(&["-o", &arg(&temporary.path().join("no/such/folder.json"))]).ends(4).says("use.file");
    assert_eq!(names(temporary.path()), ["taken"]);
}

#[test]
fn a_read_only_folder() {
    use std::os::unix::fs::PermissionsExt;
    let temporary = folder(&[("plan.json", b"before")]);
    std::fs::set_permissions(temporary.path(), std::fs::Permissions::from_mode(0o555)).unwrap();
    if std::fs::write(temporary.path().join("probe"), b"").is_ok() {
        println!("not checked: this account may write to read-only folders");
        return;
    }
    plan_small(&["-o", &arg(&temporary.path().join("plan.json"))]).ends(4).says("use.file");
    assert_eq!(std::fs::read(temporary.path().join("plan.json")).unwrap(), b"before");
    assert_eq!(names(temporary.path()), ["plan.json"]);
    std::fs::set_permissions(temporary.path(), std::fs::Permissions::from_mode(0o755)).unwrap();
}

#[test]
fn a_refused_plan_leaves_the_file_before_it_alone() {
    let temporary = folder(&[("plan.json", b"before")]);
    let path = temporary.path().join("plan.json");
    plan_small(&["--panel", "0x3", "-o", &arg(&path)]).ends(3).says("plan.panel");
    assert_eq!(std::fs::read(&path).unwrap(), b"before");
}

fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> =
        std::fs::read_dir(folder).unwrap().map(|e| e.unwrap().file_name().to_string_lossy().into_owned()).collect();
    names.sort();
    names
}
