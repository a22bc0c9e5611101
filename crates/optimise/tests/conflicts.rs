//! What cannot be placed is named with the smallest set that stands against it, and each cure cures: it is carried
//! out here and the job planned again.

mod common;

use common::{Quiet, board, chip, job, part, planned, row, work};
use domain::line::Line;
use domain::part::{NozzleClass, Part, Sourced, Supply};
use domain::product::Product;
use domain::rules::Rules;
use optimise::conflict::{Conflict, conflicts};
use optimise::plan;
use units::{Length, Text};

fn line() -> Line {
    Line::parse("line.toml", include_str!("data/line.toml")).expect("the tests' sheet is sound")
}

fn rules(text: &str) -> Rules {
    Rules::parse("rules.toml", text).unwrap_or_else(|finding| panic!("{finding:?}"))
}

fn tape_16(number: &str) -> Part {
    let mut p = part(number, (8_000, 8_000, 3_000), NozzleClass::Large);
    (p.tape_width_um, p.tape_pitch_um) = (Sourced::engineer(Length(16_000)), Sourced::engineer(Length(12_000)));
    p
}

fn in_tray(number: &str) -> Part {
    let mut p = part(number, (14_000, 14_000, 1_400), NozzleClass::Wide);
    p.supply = Sourced::engineer(Supply::Tray);
    p
}

/// One placement of each part, in rows far enough apart.
fn gauge(parts: Vec<Part>) -> Product {
    let at = |k: i64| (10_000 + 20_000 * (k % 10), 10_000 + 20_000 * (k / 10));
    let rows = (0..parts.len()).map(|k| row(&format!("P{}", k + 1), k as u32, at(k as i64), 0)).collect();
    board((220_000, 120_000), parts, rows)
}

/// How many placements a plan leaves out, and the conflicts behind them.
fn left_out(product: &Product, line: &Line, rules: &Rules) -> (usize, Vec<Conflict>) {
    let plan = planned(product, line, rules, work(2_000)).plan;
    let verdict = verify::verify(&plan);
    assert!(verdict.accepted, "{:#?}", verdict.violations);
    (plan.unplaced.len(), conflicts(&job(product), line, rules, &plan.unplaced))
}

/// The one conflict behind what is left out.
fn conflict(product: &Product, line: &Line, rules: &Rules, code: &str) -> Conflict {
    let (left, mut found) = left_out(product, line, rules);
    assert!(left > 0 && found.len() == 1, "{left} left out: {found:#?}");
    let found = found.remove(0);
    assert_eq!(found.code.id, code, "{found:#?}");
    let finding = found.finding();
    assert!(!finding.hint.is_empty() && !finding.value.is_empty());
    found
}

fn cured(product: &Product, line: &Line, rules: &Rules) {
    let (left, found) = left_out(product, line, rules);
    assert_eq!((left, found), (0, Vec::new()));
}

/// 26 feeders of one slot and 24 slots.
#[test]
fn short_of_slots() {
    let product = gauge((0..26).map(|k| chip(&format!("RG-CHIP-{k:02}"))).collect());
    let mut sheet = line();
    sheet.feeder[0].stock = 60;
    let found = conflict(&product, &sheet, &Rules::default(), "conflict.slots");
    assert_eq!(found.members.len(), 25, "without any of them the others would fit");
    assert!(found.text.contains("need 25 slots and 24 can hold them") && found.text.contains("2 slots are missing"), "{}", found.text);
    for (s, name) in [(0, "chip-1"), (1, "flex-2")] {
        assert!(found.cures.contains(&format!("one more bank of 2 slots at station `{name}`")), "{:?}", found.cures);
        let mut more = sheet.clone();
        let mut bank = more.station[s].bank[0].clone();
        (bank.name, bank.slots, bank.first.y) = ("extra".to_owned(), 2, Text(Length(-140_000)));
        more.station[s].bank.push(bank);
        cured(&product, &more, &Rules::default());
    }
}

/// Two wide feeders for three slots at the one station that takes them; the chips have nothing to do with it.
#[test]
fn the_smallest_set_leaves_out_what_does_not_matter() {
    let mut parts: Vec<Part> = (0..6).map(|k| chip(&format!("RG-CHIP-{k}"))).collect();
    parts.extend([tape_16("RG-CAN-A"), tape_16("RG-CAN-B")]);
    let product = gauge(parts);
    let mut sheet = line();
    sheet.station[1].bank.truncate(1);
    sheet.station[1].bank[0].slots = 3;
    let found = conflict(&product, &sheet, &Rules::default(), "conflict.slots");
    assert_eq!(found.members, ["RG-CAN-A", "RG-CAN-B"]);
    assert_eq!(found.cures[0], "one more bank of 2 slots at station `flex-2`");
    let mut more = sheet.clone();
    let mut bank = more.station[1].bank[0].clone();
    (bank.name, bank.slots, bank.first.y) = ("rear".to_owned(), 2, Text(Length(180_000)));
    more.station[1].bank.push(bank);
    cured(&product, &more, &Rules::default());
}

#[test]
fn short_of_feeders() {
    let product = gauge(vec![chip("RG-CHIP"), tape_16("RG-CAN-A"), tape_16("RG-CAN-B")]);
    let mut sheet = line();
    sheet.feeder[1].stock = 1;
    let found = conflict(&product, &sheet, &Rules::default(), "conflict.feeders");
    assert_eq!(found.members, ["RG-CAN-A", "RG-CAN-B"]);
    assert_eq!(found.cures[0], "1 more feeders `tape 16`");
    sheet.feeder[1].stock += 1;
    cured(&product, &sheet, &Rules::default());
}

#[test]
fn short_of_tray_places() {
    let product = gauge(vec![in_tray("RG-LOGGER"), in_tray("RG-MODEM"), chip("RG-CHIP")]);
    let mut sheet = line();
    sheet.station[1].tray[0].levels = Some(1);
    let found = conflict(&product, &sheet, &Rules::default(), "conflict.trays");
    assert_eq!(found.members, ["RG-LOGGER", "RG-MODEM"]);
    assert_eq!(found.cures[0], "1 more tray places (or levels) at station `flex-2`");
    sheet.station[1].tray[0].levels = Some(2);
    cured(&product, &sheet, &Rules::default());
}

#[test]
fn no_nozzle() {
    let product = gauge(vec![in_tray("RG-LOGGER"), chip("RG-CHIP")]);
    let mut sheet = line();
    sheet.station[1].head[2].nozzles.retain(|n| n != "large");
    let found = conflict(&product, &sheet, &Rules::default(), "conflict.nozzle");
    assert_eq!(found.members, ["RG-LOGGER"]);
    assert_eq!(found.cures, ["`large` among the nozzles of head `single` of station `flex-2`"]);
    cured(&product, &line(), &Rules::default());
}

#[test]
fn outside_every_envelope() {
    let product = gauge(vec![part("RG-HULL", (30_000, 63_000, 26_000), NozzleClass::Large), chip("RG-CHIP")]);
    let found = conflict(&product, &line(), &Rules::default(), "conflict.envelope");
    assert!(found.text.contains("head `single` of station `flex-2` comes nearest"), "{}", found.text);
    assert!(found.cures[0].contains("max_long") && found.cures[0].contains("max_height"), "{:?}", found.cures);
    let mut sheet = line();
    let e = sheet.station[1].head[2].envelope.as_mut().expect("an envelope");
    (e.max_long, e.max_height) = (Text(Length(63_000)), Text(Length(26_000)));
    cured(&product, &sheet, &Rules::default());
}

#[test]
fn entries_that_leave_no_head() {
    let product = gauge(vec![chip("RG-CHIP"), tape_16("RG-CAN")]);
    let forbid = "[[forbid]]\npart = \"RG-CHIP\"\nstation = \"chip-1\"\n";
    let beside = "[[forbid]]\npart = \"RG-CHIP\"\nstation = \"flex-2\"\nhead = \"single\"\n";
    let down = "[[down]]\nstation = \"flex-2\"\nhead = \"drum\"\n";
    let all = rules(&format!("{forbid}{beside}{down}"));
    let found = conflict(&product, &line(), &all, "conflict.entries");
    assert_eq!(found.members, ["forbid RG-CHIP at chip-1", "down head:flex-2/drum"]);
    assert_eq!(found.cures, ["remove: forbid RG-CHIP at chip-1", "repair head:flex-2/drum"]);
    cured(&product, &line(), &rules(&format!("{beside}{down}")));
    cured(&product, &line(), &rules(&format!("{forbid}{beside}")));
}

#[test]
fn an_order_against_the_line() {
    let product = gauge(vec![chip("RG-CHIP"), tape_16("RG-CAN"), chip("RG-OTHER")]);
    let forbid = "[[forbid]]\npart = \"RG-CHIP\"\nstation = \"flex-2\"\n";
    let order = "[[order]]\nfirst = [\"P2\"]\nthen = [\"P1\"]\n";
    let found = conflict(&product, &line(), &rules(&format!("{forbid}{order}")), "conflict.order");
    assert_eq!(found.members, ["P2", "order 1: first = [P2], then = [P1]", "P1"]);
    assert_eq!(found.cures[0], "remove or relax order 1: first = [P2], then = [P1]");
    assert_eq!(found.cures[2], "a head that takes `RG-CHIP` at `flex-2` or behind");
    cured(&product, &line(), &rules(forbid));
    cured(&product, &line(), &rules(order));
}

fn refused(product: &Product, text: &str) -> diag::Finding {
    let mut found = plan(&job(product), &line(), &rules(text), work(500), &Quiet::new()).expect_err("it is refused");
    assert_eq!(found.len(), 1, "{found:?}");
    found.remove(0)
}

#[test]
fn orders_in_a_circle() {
    let product = gauge((0..5).map(|k| chip(&format!("RG-CHIP-{k}"))).collect());
    let order = |a: &str, b: &str| format!("[[order]]\nfirst = [\"{a}\"]\nthen = [\"{b}\"]\n");
    let entries = [order("P1", "P2"), order("P2", "P3"), order("P4", "P5"), order("P3", "P1")];
    let found = refused(&product, &entries.concat());
    assert_eq!((found.code.as_str(), found.value.as_str()), ("plan.order-cycle", "P1 P2 P3"));
    for word in ["P1 before P2 (order 1", "P2 before P3 (order 2", "P3 before P1 (order 4"] {
        assert!(found.message.contains(word), "{}", found.message);
    }
    assert!(!found.hint.contains("order 3"), "{}", found.hint);
    for cure in [0, 1, 3] {
        assert!(found.hint.contains(&format!("remove or relax order {}:", cure + 1)), "{}", found.hint);
        let rest: String = entries.iter().enumerate().filter(|(k, _)| *k != cure).map(|(_, e)| e.as_str()).collect();
        cured(&product, &line(), &rules(&rest));
    }
}

#[test]
fn an_order_against_the_ranks() {
    let mut parts = vec![chip("RG-CHIP"), in_tray("RG-LOGGER")];
    parts[1].ball_grid = Sourced::engineer(true);
    let found = refused(&gauge(parts), "order_rule = \"operation\"\n[[order]]\nfirst = [\"P1\"]\nthen = [\"P2\"]\n");
    assert_eq!(found.code, "plan.order-cycle");
    assert!(
        found.message.contains("P1 before P2 (order 1") && found.message.contains("P2 before P1 (order_rule = operation)"),
        "{}",
        found.message
    );
}
