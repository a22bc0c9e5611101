//! From one set-up to another: every step finds its place free, and nothing is carried without need.

use domain::line::Line;
use domain::moves::{Moves, moves};
use domain::rules::Keep;
use proptest::prelude::*;
use std::collections::BTreeSet;

fn line() -> Line {
    Line::parse("one-station.toml", include_str!("../../../examples/lines/one-station.toml")).expect("the example sheet is sound")
}

fn feeder(part: usize, bank: &str, slot: u32, kind: &str) -> Keep {
    Keep {
        part: format!("RG-{part}"),
        station: "solo-1".to_owned(),
        bank: Some(bank.to_owned()),
        slot: Some(slot),
        feeder: Some(kind.to_owned()),
        ..Keep::default()
    }
}

fn width(k: &Keep) -> u32 {
    if k.feeder.as_deref() == Some("tape 12") { 2 } else { 1 }
}

fn slots(k: &Keep) -> impl Iterator<Item = (String, u32)> + '_ {
    let first = k.slot.unwrap_or(0);
    (first..first + width(k)).map(|s| (k.bank.clone().unwrap_or_default(), s))
}

/// Carries the steps out by hand; what stands in the end.
fn carried_out(from: &[Keep], m: &Moves) -> BTreeSet<Keep> {
    let mut stands: BTreeSet<Keep> = from.iter().cloned().collect();
    for step in &m.steps {
        if let Some(k) = &step.from {
            assert!(stands.remove(k), "`{step}`: nothing stands there");
        }
        if let Some(k) = &step.to {
            let taken: BTreeSet<(String, u32)> = stands.iter().flat_map(slots).collect();
            assert!(slots(k).all(|s| !taken.contains(&s)), "`{step}`: the place is not free");
            stands.insert(k.clone());
        }
    }
    m.idle.iter().for_each(|k| assert!(stands.remove(k), "{k:?} stands idle"));
    stands
}

#[test]
fn two_feeders_change_places() {
    let (from, to) = (
        [feeder(1, "front", 3, "tape 8"), feeder(2, "front", 4, "tape 8")],
        [feeder(1, "front", 4, "tape 8"), feeder(2, "front", 3, "tape 8")],
    );
    let m = moves(&line(), &from, &to);
    assert_eq!(m.moved, 2);
    let said: Vec<String> = m.steps.iter().map(ToString::to_string).collect();
    assert_eq!(
        said,
        [
            "set feeder of RG-1 at solo-1 front 3 aside for now",
            "take feeder of RG-2 from solo-1 front 4 to solo-1 front 3",
            "bring feeder of RG-1 that was set aside to solo-1 front 4",
        ]
    );
    assert_eq!(carried_out(&from, &m), to.into_iter().collect());
}

/// A set-up of distinct parts that overlap nowhere.
fn set_up() -> impl Strategy<Value = Vec<Keep>> {
    proptest::collection::vec((0..12usize, any::<bool>(), 1..14u32), 0..12).prop_map(|wishes| {
        let mut all: Vec<Keep> = Vec::new();
        let mut taken = BTreeSet::new();
        for (part, rear, slot) in wishes {
            let kind = if part % 3 == 0 { "tape 12" } else { "tape 8" };
            let k = feeder(part, if rear { "rear" } else { "front" }, slot, kind);
            if all.iter().any(|x| x.part == k.part) || slots(&k).any(|s| taken.contains(&s)) {
                continue;
            }
            taken.extend(slots(&k));
            all.push(k);
        }
        all
    })
}

proptest! {
    #[test]
    fn the_steps_lead_from_one_set_up_to_the_other(from in set_up(), to in set_up()) {
        let m = moves(&line(), &from, &to);
        let stands = carried_out(&from, &m);
        prop_assert_eq!(&stands, &to.iter().cloned().collect::<BTreeSet<_>>());
        let same = to.iter().filter(|k| from.contains(k)).count();
        prop_assert_eq!(m.moved as usize, to.len() - same);
        prop_assert_eq!(m.moved, domain::moves::moved(&from, &to));
    }
}
