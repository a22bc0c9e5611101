//! Attacks on the bound of `docs/planning.md` §3: small nasty lines, all kinds of dumb plans that keep the rules,
//! all kinds of certificates. No certificate may prove more than any of the plans takes.

mod attack;
mod common;

use attack::choice::{Choice, Dice};
use domain::plan::{Certificate, Leaf, Plan};
use proptest::prelude::*;
use units::Time;

/// The fastest of some plans of a case.
fn fastest(plans: impl Iterator<Item = Plan>) -> Option<Plan> {
    plans.min_by_key(|p| p.takt_us)
}

/// The largest bound of some certificates, and which it is: each station alone, and any others.
fn strongest(dice: &mut Dice, plan: &Plan, count: usize) -> (Time, Certificate) {
    let job = plan.job().expect("a job");
    let stations = plan.line.station.len();
    let alone = (0..stations).map(|s| {
        let weights = (0..stations).map(|k| u64::from(k == s)).collect();
        Certificate { leaves: vec![Leaf { weights, ..Leaf::default() }] }
    });
    let any: Vec<Certificate> = (0..count).map(|_| attack::certificate(dice, plan)).collect();
    let mut best = (Time(-1), Certificate::default());
    for certificate in alone.chain(any) {
        let with = Plan { certificate, ..plan.clone() };
        let bound = verify::bound(&with, &job).expect("a sound certificate");
        if bound > best.0 {
            best = (bound, with.certificate);
        }
    }
    best
}

/// A case to show: what is needed to follow it by hand.
fn show(plan: &Plan, certificate: &Certificate) -> String {
    let text = |value: serde_json::Result<String>| value.expect("a value is written");
    let parts: Vec<String> = plan
        .product
        .parts
        .iter()
        .map(|p| {
            let (supply, pitch, speed) = (p.supply.value, p.tape_pitch_um.value.0, p.speed.value.0);
            format!("{}: {supply} {} pitch {pitch} speed {speed} dots {}", p.number, p.tape_width_um.value.0, p.adhesive_dots.value)
        })
        .collect();
    let rows: Vec<String> = plan
        .product
        .placements
        .iter()
        .map(|p| format!("{} part {:?} at {:?} turn {}", p.reference, p.part, p.at, p.rotation_mdeg.0))
        .collect();
    format!(
        "line {}\npanel {:?}\nrules {}\nparts {parts:#?}\nrows {rows:#?}\nstations {}\ncertificate {}",
        text(serde_json::to_string(&plan.line.station)),
        plan.panel,
        text(serde_json::to_string(&plan.rules)),
        text(serde_json::to_string(&plan.stations)),
        text(serde_json::to_string(certificate)),
    )
}

fn attack_one(seed: u64, most: usize, tries: usize) -> Result<Option<(Time, Time)>, String> {
    let mut dice = Dice(seed);
    dice.below(2);
    let case = attack::case(&mut dice, most);
    let sound = case.line.check("");
    assert!(sound.is_empty(), "{sound:?}");
    let plans: Vec<Plan> = (0..tries).filter_map(|_| attack::decide(&mut dice, &case)).collect();
    let Some(best) = fastest(plans.into_iter()) else { return Ok(None) };
    let (bound, certificate) = strongest(&mut dice, &best, 12);
    if bound > best.takt_us {
        return Err(format!("seed {seed}: {} us proven, {} us taken\n{}", bound.0, best.takt_us.0, show(&best, &certificate)));
    }
    Ok(Some((bound, best.takt_us)))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1_500, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn no_plan_beats_any_certificate(seed in any::<u64>(), most in 1usize..7) {
        if let Err(beaten) = attack_one(seed, most, 12) {
            prop_assert!(false, "{beaten}");
        }
    }
}
