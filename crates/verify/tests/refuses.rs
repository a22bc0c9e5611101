//! Corrupted plans, one for each rule, each refused for exactly the reason named.
//!
//! Every case changes one thing in the valid plan. Where the change is to a program, times and bound
//! are recomputed, so that only the rule in question is broken. The corrupted plans are kept as
//! files in `tests/corrupted`; `UPDATE_GOLDEN=1` writes them.

mod common;

use domain::plan::Plan;
use serde_json::{Value, json};
use std::collections::BTreeSet;
use std::path::PathBuf;

/// Whether times and bound are computed anew after the change.
#[derive(Clone, Copy, PartialEq)]
enum Then {
    Keep,
    Retime,
}
use Then::{Keep, Retime};

/// Name of the case, codes expected (the first is the point of the case), what to do.
type Case = (&'static str, &'static [&'static str], Then, fn(&mut Value));

/// Sets the value at a JSON pointer, which must exist.
fn set(plan: &mut Value, pointer: &str, to: Value) {
    if let (None, Some((parent, key))) = (plan.pointer(pointer), pointer.rsplit_once('/')) {
        // Keys that a plan leaves out where they say nothing.
        let parent = plan.pointer_mut(parent).and_then(Value::as_object_mut).filter(|_| key == "after");
        parent.unwrap_or_else(|| panic!("no {pointer}")).insert(key.to_owned(), to);
        return;
    }
    *plan.pointer_mut(pointer).unwrap_or_else(|| panic!("no {pointer}")) = to;
}

fn list<'v>(plan: &'v mut Value, pointer: &str) -> &'v mut Vec<Value> {
    plan.pointer_mut(pointer).and_then(Value::as_array_mut).unwrap_or_else(|| panic!("no list {pointer}"))
}

fn add(plan: &mut Value, pointer: &str, by: i64) {
    let at = plan.pointer(pointer).and_then(Value::as_i64).unwrap_or_else(|| panic!("no number {pointer}"));
    set(plan, pointer, json!(at + by));
}

/// A leaf's entry for a head in use.
fn used(station: u32, head: u32) -> Value {
    json!({"station": station, "head": head, "at_least": 1})
}

/// A leaf's entry for a head not in use.
fn unused(station: u32, head: u32) -> Value {
    json!({"station": station, "head": head, "at_least": 0, "at_most": 0})
}

/// Passes and trips of the valid plan.
const ROW: &str = "/stations/0/passes/1";
const DRUM: &str = "/stations/1/passes/1";
const SINGLE: &str = "/stations/1/passes/2";

fn drop_picks(plan: &mut Value, pass: &str, trip: usize) {
    list(plan, &format!("{pass}/trips")).remove(trip);
}

const CASES: &[Case] = &[
    ("schema", &["verify.schema"], Keep, |p| set(p, "/schema", json!("evenline-plan/9"))),
    ("sheet-speed-zero", &["verify.sheet"], Keep, |p| set(p, "/line/station/0/axes/x/speed", json!("0 m/s"))),
    ("product-no-board", &["verify.product"], Keep, |p| set(p, "/panel/rows", json!(0))),
    ("product-boards-overlap", &["verify.product"], Keep, |p| set(p, "/panel/pitch_y_um", json!(30_000))),
    ("range-board-20-m", &["verify.range"], Keep, |p| set(p, "/product/width_um", json!(20_000_000))),
    ("reference-station-name", &["verify.reference"], Keep, |p| set(p, "/stations/0/station", json!("chip-9"))),
    ("reference-station-missing", &["verify.reference"], Keep, |p| drop(list(p, "/stations").pop())),
    ("reference-head", &["verify.reference"], Keep, |p| set(p, &format!("{DRUM}/head"), json!(7))),
    ("reference-supply", &["verify.reference"], Keep, |p| set(p, &format!("{DRUM}/trips/0/strokes/0/0/supply"), json!(7))),
    ("reference-task", &["verify.reference"], Keep, |p| set(p, &format!("{DRUM}/trips/0/places/0/task"), json!(700))),
    ("reference-spindle", &["verify.reference"], Keep, |p| set(p, &format!("{DRUM}/trips/0/places/0/spindle"), json!(6))),
    ("reference-nozzle", &["verify.reference"], Keep, |p| set(p, &format!("{DRUM}/layouts/0/0"), json!(9))),
    ("reference-unplaced-name", &["verify.reference"], Keep, |p| set(p, "/unplaced/0/reference", json!("J7@1"))),
    ("panel-size", &["verify.panel-size"], Retime, |p| set(p, "/line/station/0/max_panel/x", json!("59 mm"))),
    ("placed-twice", &["verify.placed-twice"], Retime, |p| {
        let again = p.pointer(&format!("{DRUM}/trips/0")).unwrap().clone();
        list(p, &format!("{DRUM}/trips")).push(again);
    }),
    ("not-placed", &["verify.not-placed"], Retime, |p| drop_picks(p, SINGLE, 3)),
    ("placed-and-unplaced", &["verify.placed-and-unplaced", "verify.unplaced-reason"], Keep, |p| {
        let also = json!({ "reference": "C1@1", "task": 0, "code": "plan.by-hand", "message": "by hand" });
        list(p, "/unplaced").push(also);
    }),
    ("unplaced-twice", &["verify.placed-and-unplaced"], Keep, |p| {
        let again = p.pointer("/unplaced/0").unwrap().clone();
        list(p, "/unplaced").push(again);
    }),
    ("unplaced-reason-by-hand", &["verify.unplaced-reason"], Keep, |p| set(p, "/unplaced/0/code", json!("plan.by-hand"))),
    ("unplaced-reason-unknown", &["verify.unplaced-reason"], Keep, |p| set(p, "/unplaced/0/code", json!("plan.tired"))),
    ("unplaced-reason-too-large", &["verify.unplaced-reason"], Retime, |p| give_up(p, "plan.part-too-large")),
    ("unplaced-reason-no-nozzle", &["verify.unplaced-reason"], Retime, |p| give_up(p, "plan.no-nozzle")),
    ("unplaced-reason-no-feeder", &["verify.unplaced-reason"], Retime, |p| give_up(p, "plan.no-feeder")),
    ("unplaced-reason-off-board", &["verify.unplaced-reason"], Retime, |p| give_up(p, "plan.off-board")),
    ("unplaced-reason-no-slot", &["verify.unplaced-reason"], Retime, |p| {
        // Without orders nothing but room could keep R1 off, and there is room.
        set(p, "/rules/order_rule", json!("none"));
        list(p, "/rules/inspect").clear();
        list(p, "/stations/0/passes").remove(0);
        give_up_in(p, "/stations/0/passes/0", "plan.no-slot");
    }),
    ("mount-through-hole", &["verify.mount"], Keep, |p| {
        set(p, "/product/parts/0/mount/value", json!("through-hole"));
        let bound = rebound(p);
        set(p, "/bound_us", bound);
    }),
    ("off-panel", &["verify.off-panel"], Retime, |p| set(p, "/product/placements/0/at/x_um", json!(-5_000))),
    ("envelope-height", &["verify.envelope"], Retime, |p| set(p, "/product/parts/0/height_um/value", json!(6_001))),
    ("envelope-side", &["verify.envelope"], Retime, |p| set(p, "/line/station/0/head/0/envelope/min_side", json!("0.6 mm"))),
    ("accuracy", &["verify.accuracy"], Retime, |p| set(p, "/product/parts/0/accuracy_um/value", json!(44))),
    ("nozzle-wrong", &["verify.nozzle"], Retime, |p| set(p, &format!("{DRUM}/layouts/0/0"), json!(0))),
    ("nozzle-none", &["verify.nozzle"], Retime, |p| set(p, &format!("{DRUM}/layouts/0/1"), json!(null))),
    ("nozzle-not-of-head", &["verify.nozzle"], Retime, |p| set(p, "/line/station/1/head/1/nozzles", json!(["tiny"]))),
    ("feeder-kind", &["verify.feeder-kind"], Retime, |p| {
        set(p, "/line/feeder/1/slots", json!(1));
        set(p, "/stations/0/supplies/0/feeder", json!(1));
    }),
    ("feeder-tape-width", &["verify.feeder-kind"], Retime, |p| set(p, "/product/parts/4/tape_width_um/value", json!(12_000))),
    ("tray-too-high", &["verify.feeder-kind"], Retime, |p| set(p, "/line/station/1/tray/0/stack_height", json!("7 mm"))),
    ("slot-outside", &["verify.slot-outside"], Keep, |p| set(p, "/stations/1/supplies/0/slot", json!(6))),
    ("slot-zero", &["verify.slot-outside"], Keep, |p| set(p, "/stations/0/supplies/0/slot", json!(0))),
    ("slot-overlap", &["verify.slot-overlap"], Retime, |p| {
        list(p, "/stations/1/supplies").push(json!({ "part": 0, "on": "feeder", "bank": 0, "slot": 3, "feeder": 1 }));
    }),
    ("tray-level", &["verify.tray-place"], Keep, |p| set(p, "/stations/1/supplies/2/level", json!(5))),
    ("tray-twice", &["verify.tray-place"], Retime, |p| {
        list(p, "/stations/1/supplies").push(json!({ "part": 2, "on": "tray", "tray": 1, "level": 2 }));
    }),
    ("feeder-stock", &["verify.feeder-stock"], Keep, |p| set(p, "/line/feeder/0/stock", json!(1))),
    ("nozzle-stock", &["verify.nozzle-stock"], Keep, |p| set(p, "/line/nozzle/0/stock", json!(2))),
    ("stroke-reach", &["verify.stroke-reach"], Retime, |p| set(p, "/stations/0/supplies/1/slot", json!(4))),
    ("stroke-empty", &["verify.stroke-reach"], Keep, |p| list(p, &format!("{ROW}/trips/0/strokes")).push(json!([]))),
    ("stroke-two-on-a-drum", &["verify.stroke-reach"], Retime, |p| {
        let second = list(p, &format!("{DRUM}/trips/0/strokes")).remove(1);
        list(p, &format!("{DRUM}/trips/0/strokes/0")).push(second[0].clone());
    }),
    ("spindle-twice", &["verify.spindle-twice"], Retime, |p| {
        let again = json!([{ "spindle": 2, "supply": 0 }]);
        list(p, &format!("{ROW}/trips/0/strokes")).push(again);
    }),
    ("pick-without-place", &["verify.pick-without-place"], Retime, |p| {
        list(p, &format!("{ROW}/trips/0/strokes")).push(json!([{ "spindle": 3, "supply": 0 }]));
    }),
    ("place-without-pick", &["verify.place-without-pick"], Retime, |p| drop(list(p, &format!("{ROW}/trips/0/strokes")).pop())),
    ("wrong-supply", &["verify.wrong-supply"], Retime, |p| set(p, &format!("{ROW}/trips/0/strokes/1/0/supply"), json!(1))),
    ("nozzle-change-without-rack", &["verify.nozzle-change-without-rack"], Retime, |p| {
        list(p, &format!("{ROW}/layouts")).push(json!([0, 0, 0, 0]));
        set(p, &format!("{ROW}/trips/1/layout"), json!(1));
    }),
    ("head-work-dispense", &["verify.head-work"], Retime, |p| set(p, "/stations/1/passes/0/head", json!(1))),
    ("head-work-inspect", &["verify.head-work"], Keep, |p| set(p, "/line/station/0/inspection", json!(null))),
    ("alternating", &["verify.alternating"], Retime, |p| {
        set(p, "/line/station/0/head_swap", json!({ "time": "1 s", "at": { "x": "0 mm", "y": "0 mm" } }));
        set(p, "/stations/0/alternating", json!(true));
        list(p, "/rules/inspect").clear();
    }),
    ("beam-other-side", &["verify.beam"], Retime, |p| kinds(p, |p| set(p, &format!("{REAR}/trips/0/strokes/0/0/supply"), json!(0)))),
    ("beam-not-there", &["verify.beam"], Keep, |p| set(p, &format!("{ROW}/trips/0/after"), json!(1))),
    ("beams-wait-for-ever", &["verify.reference"], Keep, |p| {
        kinds(p, |p| {
            set(p, &format!("{FRONT}/trips/0/after"), json!(1));
            set(p, &format!("{REAR}/trips/0/after"), json!(1));
        });
    }),
    ("beam-tray", &["verify.beam"], Retime, |p| kinds(p, |p| set(p, "/line/station/1/tray/0/beam", json!(1)))),
    ("beam-inspects", &["verify.head-work"], Keep, |p| {
        kinds(p, |p| set(p, FRONT, json!({ "head": 0, "work": "inspect", "views": [] })));
    }),
    ("order-cover-beams", &["verify.order-cover"], Retime, |p| {
        // The front beam picks so slowly that the rear one has the shield on before it comes.
        kinds(p, |p| set(p, "/line/station/1/head/0/pick", json!("3 s")));
    }),
    ("drum-nozzles", &["verify.drum-nozzles"], Retime, |p| {
        kinds(p, |p| set(p, &format!("{BEATS}/nozzles/3"), json!([0, 1, 2])));
        set(p, "/line/nozzle/2/stock", json!(2));
    }),
    ("drum-nozzle-wrong", &["verify.nozzle"], Retime, |p| kinds(p, |p| set(p, &format!("{BEATS}/nozzles/2"), json!([1])))),
    ("drum-nozzles-changed", &["verify.nozzle-change-without-rack"], Retime, |p| {
        kinds(p, |p| {
            let mut again = p.pointer(BEATS).unwrap().clone();
            again["beats"] = json!([null]);
            again["nozzles"][0] = json!([0, 1]);
            list(p, "/stations/0/passes").push(again);
        });
    }),
    ("drum-nozzle-stock", &["verify.nozzle-stock"], Keep, |p| kinds(p, |p| set(p, "/line/nozzle/0/stock", json!(5)))),
    ("drum-heads", &["verify.reference"], Keep, |p| kinds(p, |p| drop(list(p, &format!("{BEATS}/nozzles")).pop()))),
    ("beat-wrong-supply", &["verify.wrong-supply"], Retime, |p| kinds(p, |p| set(p, &format!("{BEATS}/beats/2/supply"), json!(0)))),
    ("beat-no-such-supply", &["verify.reference"], Keep, |p| kinds(p, |p| set(p, &format!("{BEATS}/beats/2/supply"), json!(7)))),
    ("beats-on-beams", &["verify.head-work"], Keep, |p| {
        kinds(p, |p| {
            let beats = p.pointer(BEATS).unwrap().clone();
            set(p, FRONT, beats);
        });
    }),
    ("trips-on-a-turret", &["verify.head-work"], Retime, |p| {
        kinds(p, |p| {
            let trip = json!({ "layout": 0, "strokes": [[{ "spindle": 0, "supply": 0 }]], "places": [{ "spindle": 0, "task": 0 }] });
            list(p, &format!("{BEATS}/beats")).remove(0);
            let pass = json!({ "head": 0, "work": "place", "layouts": [[0, 0, 0, 0, 0, 0]], "trips": [trip] });
            list(p, "/stations/0/passes").push(pass);
        });
    }),
    ("dots-missing", &["verify.dots"], Retime, |p| drop(list(p, "/stations/1/passes/0/tasks").pop())),
    ("dots-twice", &["verify.dots"], Retime, |p| list(p, "/stations/1/passes/0/tasks").push(json!(4))),
    ("dots-for-none", &["verify.dots"], Retime, |p| list(p, "/stations/1/passes/0/tasks").push(json!(5))),
    ("inspection-missing", &["verify.inspection"], Retime, |p| drop(list(p, "/stations/0/passes/0/views").pop())),
    ("inspection-beside", &["verify.inspection"], Retime, |p| add(p, "/stations/0/passes/0/views/0/x_um", 2_001)),
    ("order-stated", &["verify.order-stated"], Retime, |p| set(p, "/rules/order/0", json!({ "first": ["S1"], "then": ["C*"] }))),
    ("order-rank-low-before-tall", &["verify.order-rank"], Retime, |p| {
        // X1 stands in the highest step and comes before S1.
        set(p, "/rules/order_rule", json!("low-before-tall"));
    }),
    ("order-rank-operation", &["verify.order-rank"], Retime, |p| set(p, "/rules/order_rule", json!("operation"))),
    ("order-clearance", &["verify.order-clearance"], Retime, |p| {
        // As tall as the connector, the chips beside it come in the wrong order.
        set(p, "/product/parts/1/height_um/value", json!(4_900));
        set(p, "/product/placements/2/at/x_um", json!(15_000));
        set(p, "/product/placements/2/at/y_um", json!(25_500));
        list(p, &format!("{ROW}/trips/0/places")).swap(1, 2);
    }),
    ("order-cover", &["verify.order-cover"], Retime, |p| list(p, "/stations/1/passes").swap(1, 2)),
    ("order-dots", &["verify.order-dots"], Retime, |p| list(p, "/stations/1/passes").rotate_left(1)),
    ("order-back", &["verify.order-cover", "verify.order-dots"], Retime, |p| set(p, "/stations/1/alternating", json!(true))),
    ("order-inspection", &["verify.order-inspection"], Retime, |p| {
        set(p, "/line/station/1/inspection", json!({ "field": { "x": "20 mm", "y": "20 mm" }, "time": "150 ms" }));
        let mut looks = list(p, "/stations/0/passes").remove(0);
        looks["head"] = json!(2);
        list(p, "/stations/1/passes").push(looks);
    }),
    ("lock-head", &["verify.lock"], Retime, |p| set(p, "/rules/lock/0/head", json!("drum"))),
    ("lock-slot", &["verify.lock"], Retime, |p| {
        list(p, "/rules/lock").push(json!({ "part": "RG-RES-10K", "station": "chip-1", "bank": "front", "slot": 4 }));
    }),
    ("lock-unknown", &["verify.lock"], Keep, |p| list(p, "/rules/lock").push(json!({ "part": "RG-NONE", "station": "chip-1" }))),
    ("forbid", &["verify.forbid"], Retime, |p| {
        list(p, "/rules/forbid").push(json!({ "part": "RG-ADC-16", "station": "flex-2", "head": "drum" }))
    }),
    ("lock-tray", &["verify.lock"], Retime, |p| {
        list(p, "/rules/lock").push(json!({ "part": "RG-CON-6", "station": "flex-2", "tray": "magazine" }));
    }),
    ("lock-level", &["verify.lock"], Retime, |p| {
        set(p, "/rules/lock/0", json!({ "part": "RG-SHIELD", "station": "flex-2", "tray": "magazine", "level": 1 }))
    }),
    ("keep-gone", &["verify.keep"], Keep, |p| keep(p, json!({ "part": "RG-RES-10K", "station": "chip-1", "bank": "front", "slot": 4 }))),
    ("keep-tray-level", &["verify.keep"], Keep, |p| keep(p, json!({ "part": "RG-SHIELD", "station": "flex-2", "tray": "magazine" }))),
    ("keep-unknown", &["verify.keep"], Keep, |p| keep(p, json!({ "part": "RG-NONE", "station": "chip-1", "bank": "front", "slot": 1 }))),
    ("closed-added", &["verify.closed"], Keep, |p| {
        keep(p, json!({ "part": "RG-CAP-100N", "station": "chip-1", "bank": "front", "slot": 1 }));
        keep(p, json!({ "part": "RG-RES-10K", "station": "chip-1", "bank": "front", "slot": 3, "feeder": "tape 8" }));
        list(p, "/stations/0/supplies").push(json!({ "part": 4, "on": "feeder", "bank": 0, "slot": 4, "feeder": 0 }));
        append(p, "closed", json!({ "station": "chip-1", "add": 0 }));
    }),
    ("feeders-per-part", &["verify.feeders-per-part"], Keep, |p| {
        p["rules"]["feeders_per_part"] = json!(1);
        let part = p["stations"][0]["supplies"][0]["part"].clone();
        list(p, "/stations/0/supplies").push(json!({ "part": part, "on": "feeder", "bank": 0, "slot": 4, "feeder": 0 }));
    }),
    ("closed-unknown", &["verify.closed"], Keep, |p| append(p, "closed", json!({ "station": "chip-9" }))),
    ("down-station", &["verify.down"], Retime, |p| down(p, json!({ "station": "chip-1" }))),
    ("down-head", &["verify.down"], Retime, |p| down(p, json!({ "station": "flex-2", "head": "glue" }))),
    ("down-slot", &["verify.down"], Keep, |p| down(p, json!({ "station": "chip-1", "bank": "front", "from": 2, "to": 3 }))),
    ("down-bank-slot-of-a-wide-feeder", &["verify.down"], Keep, |p| down(p, json!({ "station": "flex-2", "bank": "front", "from": 3 }))),
    ("down-tray", &["verify.down"], Keep, |p| down(p, json!({ "station": "flex-2", "tray": "magazine" }))),
    ("down-nozzles", &["verify.down"], Keep, |p| down(p, json!({ "nozzle": "tiny", "count": 2 }))),
    ("down-feeders", &["verify.down"], Keep, |p| down(p, json!({ "feeder": "tape 8", "count": 2 }))),
    ("down-unknown", &["verify.down"], Keep, |p| down(p, json!({ "station": "chip-1", "head": "drum" }))),
    ("down-nothing", &["verify.down"], Keep, |p| down(p, json!({ "head": "drum" }))),
    ("time", &["verify.time"], Keep, |p| add(p, "/stations/0/time_us", -1)),
    ("breakdown", &["verify.breakdown"], Keep, |p| {
        add(p, "/stations/1/breakdown/sight_us", -1);
        add(p, "/stations/1/breakdown/pick_travel_us", 1);
    }),
    ("takt", &["verify.takt"], Keep, |p| add(p, "/takt_us", -1)),
    ("bound-too-high", &["verify.bound"], Keep, |p| add(p, "/bound_us", 1)),
    ("bound-no-weights", &["verify.bound"], Keep, |p| set(p, "/certificate/leaves/0/weights", json!([0, 0]))),
    ("bound-weights-short", &["verify.bound"], Keep, |p| set(p, "/certificate/leaves/0/weights", json!([1]))),
    ("bound-no-leaf", &["verify.bound"], Keep, |p| set(p, "/certificate/leaves", json!([]))),
    ("bound-uncovered", &["verify.bound"], Keep, |p| set(p, "/certificate/leaves/0/heads", json!([used(0, 0)]))),
    ("bound-head-twice", &["verify.bound"], Keep, |p| {
        set(p, "/certificate/leaves/0/heads", json!([used(0, 0), unused(0, 0)]));
    }),
    ("bound-head-twice-in-use", &["verify.bound"], Keep, |p| {
        set(p, "/certificate/leaves/0/heads", json!([used(1, 1), used(0, 0), used(1, 1)]));
    }),
    ("bound-no-such-station", &["verify.bound"], Keep, |p| set(p, "/certificate/leaves/0/heads", json!([used(9, 0)]))),
    ("bound-no-such-head", &["verify.bound"], Keep, |p| set(p, "/certificate/leaves/0/heads", json!([unused(0, 1)]))),
    // A head of one spindle is named with each of its nozzle kinds apart.
    ("bound-no-nozzle", &["verify.bound"], Keep, |p| set(p, "/certificate/leaves/0/heads", json!([unused(1, 2)]))),
    ("bound-limits-crossed", &["verify.bound"], Keep, |p| {
        set(p, "/certificate/leaves/0/heads", json!([{"station": 1, "head": 1, "at_least": 3, "at_most": 2}]));
    }),
    ("bound-trips-of-a-dispense-head", &["verify.bound"], Keep, |p| {
        set(p, "/certificate/leaves/0/heads", json!([{"station": 1, "head": 0, "at_least": 0, "seat_ns": 1}]));
    }),
    ("bound-seat-below-zero", &["verify.bound"], Keep, |p| {
        set(p, "/certificate/leaves/0/heads", json!([{"station": 1, "head": 1, "at_least": 0, "seat_ns": -1}]));
    }),
    ("bound-price-out-of-range", &["verify.range"], Keep, |p| {
        set(p, "/certificate/leaves/0/heads", json!([{"station": 1, "head": 1, "at_least": 0, "first_ns": 200_000_000_000i64}]));
    }),
    ("bound-trips-uncovered", &["verify.bound"], Keep, |p| {
        // Covered are up to two trips and four or more, but not three.
        let limits = [json!({"station": 1, "head": 1, "at_least": 0, "at_most": 2}), json!({"station": 1, "head": 1, "at_least": 4})];
        let leaves: Vec<Value> = limits.iter().map(|limit| json!({"heads": [limit], "weights": [1, 3]})).collect();
        set(p, "/certificate/leaves", json!(leaves));
    }),
    ("bound-one-set-uncovered", &["verify.bound"], Keep, |p| {
        // Covered are the sets with the one head or with the other, but not those with neither.
        let leaves = json!([
            {"heads": [used(1, 1)], "weights": [1, 3]},
            {"heads": [used(0, 0), unused(1, 1)], "weights": [1, 3]},
        ]);
        set(p, "/certificate/leaves", leaves);
    }),
    ("bound-second-leaf-no-weights", &["verify.bound"], Keep, |p| {
        list(p, "/certificate/leaves").push(json!({"heads": [], "weights": [0, 0]}));
    }),
    ("bound-other-weights", &["verify.bound"], Keep, |p| set(p, "/certificate/leaves/0/weights", json!([3, 1]))),
    ("bound-beams-weights-short", &["verify.bound"], Keep, |p| kinds(p, |p| set(p, "/certificate/leaves/0/weights", json!([1, 1])))),
    ("bound-beams-without-the-board", &["verify.bound"], Keep, |p| {
        kinds(p, |p| set(p, "/certificate/leaves/0/weights", json!([1, 1, 1, 0])))
    }),
    ("bound-beam-no-nozzle", &["verify.bound"], Keep, |p| kinds(p, |p| set(p, "/certificate/leaves/0/heads", json!([unused(1, 1)])))),
    ("bound-trips-of-a-turret", &["verify.bound"], Keep, |p| {
        kinds(p, |p| set(p, "/certificate/leaves/0/heads", json!([{"station": 0, "head": 0, "at_least": 0, "seat_ns": 1}])));
    }),
    ("outcome-proven", &["verify.outcome"], Keep, |p| set(p, "/outcome", json!("proven-optimal"))),
    ("outcome-infeasible", &["verify.outcome"], Keep, |p| set(p, "/outcome", json!("infeasible"))),
    ("outcome-unknown-with-takt", &["verify.outcome"], Keep, |p| {
        set(p, "/outcome", json!("unknown"));
        set(p, "/bound_us", json!(0));
        list(p, "/stations").clear();
    }),
];

/// The plan of other kinds with a change, and its passes.
fn kinds(plan: &mut Value, change: impl FnOnce(&mut Value)) {
    *plan = serde_json::to_value(common::kinds::plan()).expect("a plan is written");
    change(plan);
}

const BEATS: &str = "/stations/0/passes/0";
const FRONT: &str = "/stations/1/passes/0";
const REAR: &str = "/stations/1/passes/1";

fn keep(plan: &mut Value, entry: Value) {
    append(plan, "keep", entry);
}

fn down(plan: &mut Value, entry: Value) {
    append(plan, "down", entry);
}

/// Adds an entry to a list of the rules that a plan without such entries does not hold.
fn append(plan: &mut Value, name: &str, entry: Value) {
    let rules = plan.pointer_mut("/rules").and_then(Value::as_object_mut).expect("rules");
    let list = rules.entry(name).or_insert_with(|| json!([]));
    list.as_array_mut().expect("a list").push(entry);
}

/// Leaves R1 of the first board off the inline station with this reason.
fn give_up(plan: &mut Value, code: &str) {
    give_up_in(plan, ROW, code);
}

fn give_up_in(plan: &mut Value, pass: &str, code: &str) {
    list(plan, &format!("{pass}/trips/0/places")).remove(1);
    list(plan, &format!("{pass}/trips/0/strokes/0")).remove(1);
    list(plan, "/unplaced").push(json!({ "reference": "R1@1", "task": 2, "code": code, "message": "given up" }));
}

fn rebound(plan: &Value) -> Value {
    let plan: Plan = serde_json::from_value(plan.clone()).expect("a plan");
    json!(verify::bound(&plan, &plan.job().expect("a job")).expect("weights").0)
}

fn corrupted(case: &Case) -> Value {
    let mut value = serde_json::to_value(common::plan()).expect("a plan is written");
    (case.3)(&mut value);
    if case.2 == Retime {
        let mut plan: Plan = serde_json::from_value(value).unwrap_or_else(|e| panic!("{}: {e}", case.0));
        common::retime(&mut plan);
        value = serde_json::to_value(plan).expect("a plan is written");
    }
    value
}

fn folder() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/corrupted")
}

#[test]
fn each_corruption_is_refused_for_its_reason() {
    let mut wrong = Vec::new();
    for case in CASES {
        let plan: Plan = serde_json::from_value(corrupted(case)).unwrap_or_else(|e| panic!("{}: {e}", case.0));
        let verdict = verify::verify(&plan);
        let found: BTreeSet<&str> = verdict.violations.iter().map(|v| v.code.as_str()).collect();
        let expected: BTreeSet<&str> = case.1.iter().copied().collect();
        if verdict.accepted || found != expected {
            wrong.push(format!("{}: expected {expected:?}, found {:#?}", case.0, verdict.violations));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_folder_holds_the_cases() {
    let mut names = BTreeSet::new();
    for case in CASES {
        let (path, text) = (folder().join(format!("{}.json", case.0)), corrupted(case).to_string());
        assert!(names.insert(format!("{}.json", case.0)), "two cases are called {}", case.0);
        if std::env::var_os("UPDATE_GOLDEN").is_some() {
            std::fs::write(&path, &text).expect("the folder can be written");
        }
        let kept = std::fs::read_to_string(&path).unwrap_or_default();
        assert!(kept == text, "{} is stale: run UPDATE_GOLDEN=1 cargo test -p verify", path.display());
    }
    let kept: BTreeSet<String> = std::fs::read_dir(folder())
        .expect("tests/corrupted")
        .map(|e| e.expect("a file").file_name().to_string_lossy().into_owned())
        .collect();
    assert_eq!(kept, names);
}

#[test]
fn every_code_of_the_checker_has_a_case() {
    let shown: BTreeSet<&str> = CASES.iter().flat_map(|c| c.1).copied().collect();
    // Those of a family have theirs in `families.rs`.
    for code in diag::codes::verify::ALL.iter().filter(|c| !c.id.starts_with("verify.family-")) {
        assert!(shown.contains(code.id), "no corrupted plan is refused with {}", code.id);
    }
}
