//! A bank of feeder slots, slot by slot: each feeder over the slots it covers, with its part
//! number and tape width; free slots light.
//!
//! A long bank is broken into rows, never inside a feeder.

use crate::lookup;
use crate::palette::{INK, PAPER, QUIET, RULE, SKY, VERMILION};
use crate::scene::{Anchor, Colour, Node, Paint, Role, Scene};
use crate::text;
use domain::line::{Bank, FeederKind};
use domain::part::Supply;
use domain::plan::{Plan, StationPlan, SupplyPlace, covered_slots};

const WIDTH: f64 = 960.0;
const SIDE: f64 = 8.0;
/// Slots in a row; common banks of 20 to 30 slots stay in one.
const ROW_SLOTS: u32 = 30;
/// Slots drawn at most; no bank known has more (own choice, so that a typing error on a sheet
/// does not fill a page).
const MOST_SLOTS: u32 = 480;
const FEEDER: f64 = 112.0;
/// Height of slots in a row without feeders.
const FREE: f64 = 22.0;

/// A feeder as it is drawn.
struct Standing {
    slot: u32,
    slots: u32,
    number: String,
    label: String,
    foot: String,
    overlaps: bool,
}

/// One bank of one station, both as indices; `None` when the plan or the sheet has no such bank.
pub fn scene(plan: &Plan, station: usize, bank: usize) -> Option<Scene> {
    let planned = plan.stations.get(station)?;
    let sheet = lookup::station(plan, planned)?.bank.get(bank)?;
    let feeders = standing(plan, planned, bank);
    let shown = sheet.slots.clamp(1, MOST_SLOTS);
    let rows = rows(shown, &feeders);
    let pitch = (WIDTH - 2.0 * SIDE) / f64::from(rows.iter().map(|(a, b)| b - a).max().unwrap_or(1).max(12));
    let mut scene = Scene::new(format!("Bank {} of {}", sheet.name, planned.station), WIDTH, 30.0);
    scene.extend(heading(sheet, &feeders, shown));
    for (from, to) in rows {
        let height = if feeders.iter().any(|f| (from..to).contains(&f.slot)) { FEEDER } else { FREE };
        scene.push(Node::group(SIDE, scene.height - 2.0, row_nodes(&feeders, from, to, pitch, height)));
        scene.height += height + 26.0;
    }
    Some(scene)
}

fn heading(sheet: &Bank, feeders: &[Standing], shown: u32) -> Vec<Node> {
    let used: u64 = feeders.iter().map(|f| u64::from(f.slots)).sum();
    let mut words = format!("{} feeders on {used} of {} slots", feeders.len(), sheet.slots);
    if shown < sheet.slots {
        words.push_str(&format!("; the first {shown} slots are drawn"));
    }
    let name = text::fit(&sheet.name, 300.0, 13.0, true);
    let wide = text::width(&name, 13.0, true);
    vec![Node::text(SIDE, 16.0, 13.0, name).bold(), Node::text(SIDE + wide + 12.0, 16.0, 11.0, words).quiet()]
}

/// The feeders on a bank, by slot.
fn standing(plan: &Plan, planned: &StationPlan, bank: usize) -> Vec<Standing> {
    let mut all: Vec<Standing> = planned
        .supplies
        .iter()
        .filter_map(|supply| match supply.place {
            SupplyPlace::Feeder { bank: b, slot, feeder } if b as usize == bank => {
                let kind = plan.line.feeder.get(feeder as usize);
                let part = lookup::part(plan, supply.part);
                let number = lookup::part_number(plan, supply.part);
                let value = part.map(|p| p.value.clone()).unwrap_or_default();
                let package = part.map(|p| p.package.clone()).unwrap_or_default();
                let label = [value, package].into_iter().filter(|s| !s.is_empty()).collect::<Vec<_>>().join("  ");
                Some(Standing { slot, slots: kind.map_or(1, |k| k.slots.clamp(1, 40)), number, label, foot: foot(kind), overlaps: false })
            }
            _ => None,
        })
        .collect();
    all.sort_by(|a, b| (a.slot, &a.number).cmp(&(b.slot, &b.number)));
    let mut end = 0u32;
    for feeder in &mut all {
        feeder.overlaps = feeder.slot < end;
        end = end.max(feeder.slot.saturating_add(feeder.slots));
    }
    all
}

/// Under the feeder: the tape width in mm, or what it is.
fn foot(kind: Option<&FeederKind>) -> String {
    match kind {
        Some(FeederKind { tape_width: Some(width), .. }) => format!("{}", width.to_mm()),
        Some(FeederKind { supply: Supply::Stick, .. }) => "stick".to_owned(),
        Some(_) => String::new(),
        None => "?".to_owned(),
    }
}

/// First slot and the one after the last of each row, breaking only between feeders.
fn rows(slots: u32, feeders: &[Standing]) -> Vec<(u32, u32)> {
    let (mut rows, mut from) = (Vec::new(), 1);
    while from <= slots {
        let mut to = (from + ROW_SLOTS).min(slots + 1);
        if let Some(cut) = feeders.iter().find(|f| f.slot > from && f.slot < to && f.slot.saturating_add(f.slots) > to && to <= slots) {
            to = cut.slot;
        }
        rows.push((from, to));
        from = to;
    }
    rows
}

fn row_nodes(feeders: &[Standing], from: u32, to: u32, pitch: f64, height: f64) -> Vec<Node> {
    let x = |slot: u32| f64::from(slot - from) * pitch;
    let mut nodes = Vec::new();
    for slot in from..to {
        let free = Paint::stroke(RULE, 1.0);
        nodes.push(Node::rect(x(slot) + 1.0, 0.0, pitch - 2.0, height, free).rounded(2.0).role(Role::Rule));
        nodes.push(Node::text(x(slot) + pitch / 2.0, height + 14.0, 9.5, slot.to_string()).anchored(Anchor::Middle).quiet());
    }
    for feeder in feeders.iter().filter(|f| (from..to).contains(&f.slot)) {
        let end = feeder.slot.saturating_add(feeder.slots).min(to);
        nodes.extend(feeder_nodes(feeder, x(feeder.slot), f64::from(end - feeder.slot) * pitch));
    }
    nodes
}

/// Ground of a feeder: a light sky blue that dark ink reads well on.
const GROUND: Colour = Colour(0xdc, 0xee, 0xfa);

fn feeder_nodes(feeder: &Standing, x: f64, w: f64) -> Vec<Node> {
    let tip = format!("slot {}: {} {}", feeder.slot, feeder.number, feeder.label);
    let edge = if feeder.overlaps { VERMILION } else { SKY };
    let middle = x + w / 2.0;
    let mut nodes = vec![Node::rect(x + 1.0, 0.0, w - 2.0, FEEDER, Paint::fill(GROUND).outlined(edge, 1.2)).rounded(2.0).tip(tip)];
    let two_lines = w >= 27.0 && !feeder.label.is_empty();
    let size = if w < 20.0 { 8.0 } else { 10.0 };
    let room = FEEDER - 24.0;
    let at = middle + if two_lines { -1.5 } else { size * 0.36 };
    nodes.push(Node::text(at, FEEDER - 20.0, size, text::fit(&feeder.number, room, size, true)).bold().turned(-90.0).coloured(INK));
    if two_lines {
        nodes.push(Node::text(middle + 10.0, FEEDER - 20.0, 8.5, text::fit(&feeder.label, room, 8.5, false)).turned(-90.0).coloured(QUIET));
    }
    nodes.push(Node::rect(x + 1.6, FEEDER - 16.0, w - 3.2, 15.4, Paint::fill(PAPER)));
    nodes.push(Node::text(middle, FEEDER - 4.5, 9.0, text::fit(&feeder.foot, w, 9.0, false)).anchored(Anchor::Middle).coloured(INK));
    nodes
}

/// Slots a feeder covers in words, such as `7` or `7–8`.
pub fn slots_words(slot: u32, kind: Option<&FeederKind>) -> String {
    match kind {
        Some(kind) if kind.slots > 1 && slot.checked_add(kind.slots).is_some() => format!("{slot}–{}", covered_slots(slot, kind).end - 1),
        _ => slot.to_string(),
    }
}
