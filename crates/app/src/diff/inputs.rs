//! Which inputs of two plans differ.

use domain::plan::Plan;
use domain::product::{Placement, Status};
use schemars::JsonSchema;
use serde::Serialize;
use serde_json::Value;
use std::collections::BTreeMap;

/// A key of the inputs with another value.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct InputChange {
    /// Which: `line.station.chip-1.transfer`, for instance.
    pub key: String,
    /// Value in the first plan; `null` where it has none.
    pub from: Value,
    /// Value in the second plan; `null` where it has none.
    pub to: Value,
}

/// Fitted placements of the sides planned, by reference.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Placements {
    /// Only in the second plan.
    pub added: Vec<String>,
    /// Only in the first plan.
    pub removed: Vec<String>,
    /// At another place or turned otherwise.
    pub moved: Vec<String>,
    /// With another part.
    pub other_part: Vec<String>,
}

/// Line, rules, panel, side and parts, key by key. Placements are told by [`placements`].
pub fn changes(from: &Plan, to: &Plan) -> Vec<InputChange> {
    let mut found = Vec::new();
    let mut compare = |key: &str, a: Value, b: Value| walk(key, &a, &b, &mut found);
    compare("product", name(&from.product.name), name(&to.product.name));
    compare("side", name(from.side.word()), name(to.side.word()));
    compare("panel", json(&from.panel), json(&to.panel));
    compare("rules", json(&from.rules), json(&to.rules));
    compare("line", json(&from.line), json(&to.line));
    compare("part", json(&from.product.parts), json(&to.product.parts));
    found
}

fn name(text: &str) -> Value {
    Value::String(text.to_owned())
}

fn json<T: Serialize>(value: &T) -> Value {
    serde_json::to_value(value).unwrap_or(Value::Null)
}

/// Descends into objects by key and into lists by the name of their entries; unnamed entries are matched by value.
fn walk(key: &str, a: &Value, b: &Value, found: &mut Vec<InputChange>) {
    match (a, b) {
        _ if a == b => {}
        (Value::Object(x), Value::Object(y)) => {
            let mut keys: Vec<&String> = x.keys().chain(y.keys().filter(|k| !x.contains_key(*k))).collect();
            keys.sort();
            for k in keys {
                walk(&format!("{key}.{k}"), x.get(k).unwrap_or(&Value::Null), y.get(k).unwrap_or(&Value::Null), found);
            }
        }
        (Value::Array(x), Value::Array(y)) => lists(key, x, y, found),
        (Value::Array(x), Value::Null) => lists(key, x, &[], found),
        (Value::Null, Value::Array(y)) => lists(key, &[], y, found),
        _ => found.push(InputChange { key: key.to_owned(), from: a.clone(), to: b.clone() }),
    }
}

fn lists(key: &str, x: &[Value], y: &[Value], found: &mut Vec<InputChange>) {
    let named = |v: &Value| ["name", "number"].iter().find_map(|k| v.get(k)?.as_str().map(str::to_owned));
    let index = |list: &[Value]| list.iter().map(|v| Some((named(v)?, v.clone()))).collect::<Option<BTreeMap<String, Value>>>();
    if let (Some(a), Some(b)) = (index(x), index(y))
        && a.len() == x.len()
        && b.len() == y.len()
    {
        let names: Vec<&String> = a.keys().chain(b.keys().filter(|k| !a.contains_key(*k))).collect();
        for n in names {
            let whole = a.contains_key(n) && b.contains_key(n);
            let here = format!("{key}.{n}");
            match (a.get(n), b.get(n)) {
                (Some(p), Some(q)) if whole => walk(&here, p, q, found),
                // A whole entry more or less is told by its name, not by all its figures.
                (p, _) => {
                    let word = |there: bool| if there { name("there") } else { Value::Null };
                    found.push(InputChange { key: here, from: word(p.is_some()), to: word(p.is_none()) });
                }
            }
        }
        return;
    }
    for gone in x.iter().filter(|v| !y.contains(v)) {
        found.push(InputChange { key: key.to_owned(), from: gone.clone(), to: Value::Null });
    }
    for new in y.iter().filter(|v| !x.contains(v)) {
        found.push(InputChange { key: key.to_owned(), from: Value::Null, to: new.clone() });
    }
}

/// Placements that differ, by reference.
pub fn placements(from: &Plan, to: &Plan) -> Placements {
    let (a, b) = (fitted(from), fitted(to));
    let mut found = Placements::default();
    for (reference, (part, at)) in &a {
        match b.get(reference) {
            None => found.removed.push((*reference).to_owned()),
            Some((other, _)) if other != part => found.other_part.push((*reference).to_owned()),
            Some((_, there)) if (there.at, there.rotation_mdeg) != (at.at, at.rotation_mdeg) => found.moved.push((*reference).to_owned()),
            Some(_) => {}
        }
    }
    found.added = b.keys().filter(|r| !a.contains_key(*r)).map(|r| (*r).to_owned()).collect();
    found
}

/// Fitted placements of the side planned with their part numbers, by reference.
fn fitted(plan: &Plan) -> BTreeMap<&str, (&str, &Placement)> {
    let here = plan.product.placements.iter().filter(|p| p.status == Status::Fitted && p.side == plan.side);
    let number = |p: &Placement| Some(plan.product.parts.get(p.part?.index())?.number.as_str());
    here.filter_map(|p| Some((p.reference.as_str(), (number(p)?, p)))).collect()
}
