//! No value that a plan file can hold makes the checker panic.

mod common;

use domain::plan::Plan;
use proptest::prelude::*;
use serde_json::{Value, json};

/// Pointers to all values of a document.
fn pointers(value: &Value, at: &str, all: &mut Vec<String>) {
    all.push(at.to_owned());
    match value {
        Value::Array(items) => items.iter().enumerate().for_each(|(i, v)| pointers(v, &format!("{at}/{i}"), all)),
        Value::Object(fields) => fields.iter().for_each(|(k, v)| pointers(v, &format!("{at}/{k}"), all)),
        _ => {}
    }
}

/// Replaces or reshapes one value.
fn damage(value: &mut Value, how: usize) {
    let numbers = [0, 1, -1, 2, 7, 255, 1_000, -30_000, 10_000_000, i64::from(u32::MAX), i64::MAX, i64::MIN];
    let texts = ["0 mm", "1000 km", "-3 mm", "1e12 us", "1 um/s", "0.001 mm/s", "*", "", "row", "infeasible", "operation"];
    match value {
        Value::Array(items) if !items.is_empty() => match how % 5 {
            0 => items.clear(),
            1 => items.push(items[0].clone()),
            2 => drop(items.pop()),
            3 => items.reverse(),
            _ => items.rotate_left(1),
        },
        Value::Number(_) => *value = json!(numbers[how % numbers.len()]),
        Value::String(_) => *value = json!(texts[how % texts.len()]),
        Value::Bool(b) => *value = json!(!*b),
        _ => *value = Value::Null,
    }
}

fn survives(value: Value) {
    if let Ok(plan) = serde_json::from_value::<Plan>(value) {
        let verdict = verify::verify(&plan);
        assert_eq!(verdict.accepted, verdict.violations.is_empty());
    }
}

#[test]
fn one_damage_at_every_place() {
    let plan = serde_json::to_value(common::plan()).expect("a plan is written");
    let mut all = Vec::new();
    pointers(&plan, "", &mut all);
    for pointer in &all {
        for how in 0..12 {
            let mut damaged = plan.clone();
            damage(damaged.pointer_mut(pointer).expect("a place in the plan"), how);
            survives(damaged);
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2_000, failure_persistence: None, ..ProptestConfig::default() })]
    #[test]
    fn several_damages_at_once(damages in prop::collection::vec((0usize..100_000, 0usize..1_000), 2..8)) {
        let mut plan = serde_json::to_value(common::plan()).expect("a plan is written");
        for (place, how) in damages {
            let mut all = Vec::new();
            pointers(&plan, "", &mut all);
            let pointer = &all[place % all.len()];
            damage(plan.pointer_mut(pointer).expect("a place in the plan"), how);
        }
        survives(plan);
    }
}
