//! Attacks on the bound of `docs/planning.md` §3: small nasty lines, all kinds of dumb plans that keep the rules,
//! all kinds of certificates. No certificate may prove more than any of the plans takes.
//!
//! Every attack also counts how often it came close, so that it cannot become harmless unnoticed.

mod attack;
mod common;

use attack::choice::{Choice, Dice, Odometer, Tape};
use domain::line::StationKind;
use domain::plan::{Certificate, Plan};
use units::Time;

/// How an attack went.
#[derive(Default)]
struct Tally {
    /// Cases that have a plan.
    planned: usize,
    /// Cases whose fastest plan takes exactly what is proven.
    met: usize,
}

/// The fastest of some plans of a case against the strongest of some certificates.
fn hold(dice: &mut Dice, plan: Plan, tally: &mut Tally, name: &str) -> (Time, Time) {
    let (bound, certificate) = strongest(dice, &plan, 8);
    tally.planned += 1;
    tally.met += usize::from(bound == plan.takt_us);
    assert!(bound <= plan.takt_us, "{name}: {} us proven, {} us taken\n{}", bound.0, plan.takt_us.0, show(&plan, certificate));
    (bound, plan.takt_us)
}

/// The largest bound of some certificates, and which it is: each row alone, and any others.
fn strongest(dice: &mut Dice, plan: &Plan, count: usize) -> (Time, Certificate) {
    let job = plan.job().expect("a job");
    let alone = (0..common::rows(&plan.line)).map(|r| attack::alone(plan, r));
    let columns = common::columns(plan);
    let any: Vec<Certificate> = (0..count).map(|_| attack::certificate(dice, plan, &columns)).collect();
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

/// A case to show: all that is needed to follow it by hand.
fn show(plan: &Plan, certificate: Certificate) -> String {
    serde_json::to_string(&Plan { certificate, ..plan.clone() }).expect("a plan is written")
}

/// A case of gantries, or of stations of this kind.
fn case<C: Choice>(dice: &mut C, most: usize, kind: StationKind) -> Plan {
    let mut case = attack::case(dice, most);
    if kind != StationKind::Gantry {
        attack::kinds::convert(dice, &mut case, Some(kind));
    }
    case
}

fn dumb_plans(kind: Option<StationKind>, seeds: u64) -> Tally {
    let mut tally = Tally::default();
    for seed in 0..seeds {
        let mut dice = Dice::new(seed);
        let most = 1 + dice.below(6);
        let case = match kind {
            Some(kind) => case(&mut dice, most, kind),
            None => {
                let mut case = attack::case(&mut dice, most);
                attack::kinds::convert(&mut dice, &mut case, None);
                case
            }
        };
        let plans = (0..12).filter_map(|_| attack::decide(&mut dice, &case));
        if let Some(fastest) = plans.min_by_key(|p| p.takt_us) {
            hold(&mut dice, fastest, &mut tally, &format!("seed {seed}"));
        }
    }
    tally
}

#[test]
fn dumb_plans_at_random() {
    let tally = dumb_plans(Some(StationKind::Gantry), 1_200);
    assert!(tally.planned > 500 && tally.met > 0, "{} cases with a plan, {} bounds met", tally.planned, tally.met);
}

#[test]
fn dumb_plans_of_turrets() {
    let tally = dumb_plans(Some(StationKind::Turret), 1_200);
    assert!(tally.planned > 300 && tally.met > 20, "{} cases with a plan, {} bounds met", tally.planned, tally.met);
}

#[test]
fn dumb_plans_of_two_beams() {
    let tally = dumb_plans(Some(StationKind::TwoBeam), 1_200);
    assert!(tally.planned > 300 && tally.met > 20, "{} cases with a plan, {} bounds met", tally.planned, tally.met);
}

#[test]
fn dumb_plans_of_mixed_lines() {
    let tally = dumb_plans(None, 600);
    assert!(tally.planned > 200 && tally.met > 0, "{} cases with a plan, {} bounds met", tally.planned, tally.met);
}

/// Line and board change a little at a time, towards where plan and bound lie close; so do the plans, towards fast ones.
fn climbing_adversary(kind: StationKind) -> Tally {
    let mut tally = Tally::default();
    for seed in 0..12 {
        let mut dice = Dice::new(seed);
        let most = 1 + dice.below(4);
        let mut nearest: Option<(f64, Tape)> = None;
        for step in 0..50 {
            let mut tape = match &nearest {
                Some((_, tape)) => tape.changed(&mut dice),
                None => Tape::new(dice.below(1 << 30) as u64),
            };
            let case = case(&mut tape, most, kind);
            let Some(fastest) = climbed(&mut dice, &case) else { continue };
            // What every panel costs whatever is done is no merit of the bound.
            let fixed = fastest.stations.iter().map(|s| s.breakdown.transfer_us + s.breakdown.fiducials_us).max().unwrap_or(Time::ZERO);
            let (bound, takt) = hold(&mut dice, fastest, &mut tally, &format!("seed {seed}, step {step}"));
            let apart = (takt - bound).0 as f64 / (takt - fixed).0.max(1) as f64;
            if nearest.as_ref().is_none_or(|(least, _)| apart <= *least) {
                nearest = Some((apart, tape));
            }
        }
    }
    tally
}

#[test]
fn an_adversary_that_climbs() {
    let tally = climbing_adversary(StationKind::Gantry);
    assert!(tally.planned > 100 && tally.met > 0, "{} cases with a plan, {} bounds met", tally.planned, tally.met);
}

#[test]
fn an_adversary_that_climbs_turrets() {
    let tally = climbing_adversary(StationKind::Turret);
    assert!(tally.planned > 100 && tally.met > 0, "{} cases with a plan, {} bounds met", tally.planned, tally.met);
}

/// The fastest plan found by changing a few decisions at a time.
fn climbed(dice: &mut Dice, case: &Plan) -> Option<Plan> {
    let mut best: Option<(Plan, Tape)> = None;
    for round in 0..24 {
        let mut tape = match &best {
            Some((_, tape)) if round % 5 != 0 => tape.changed(dice),
            _ => Tape::new(dice.below(1 << 30) as u64),
        };
        let Some(plan) = attack::decide(&mut tape, case) else { continue };
        if best.as_ref().is_none_or(|(b, _)| plan.takt_us <= b.takt_us) {
            best = Some((plan, tape));
        }
    }
    best.map(|b| b.0)
}

#[test]
fn an_adversary_that_climbs_two_beams() {
    let tally = climbing_adversary(StationKind::TwoBeam);
    assert!(tally.planned > 100 && tally.met > 0, "{} cases with a plan, {} bounds met", tally.planned, tally.met);
}

/// Every plan of the tiniest cases: one station, `heads` of it at most, up to `most` placements.
fn best_of_all(kind: StationKind, heads: usize, most: usize) -> Tally {
    const MOST_PLANS: usize = 1_500;
    let mut tally = Tally::default();
    for seed in 0..400 {
        let mut dice = Dice::new(seed);
        let most = 1 + dice.below(most);
        let mut case = case(&mut dice, most, kind);
        case.line.station.truncate(1);
        case.line.station[0].head.truncate(heads);
        case.panel = domain::job::Panel::SINGLE;
        let mut odometer = Odometer::default();
        let mut fastest: Option<Plan> = None;
        for _ in 0..MOST_PLANS {
            let plan = attack::decide(&mut odometer, &case);
            fastest = plan.into_iter().chain(fastest).min_by_key(|p| p.takt_us);
            if odometer.turn() {
                continue;
            }
            if let Some(fastest) = fastest {
                hold(&mut dice, fastest, &mut tally, &format!("seed {seed}"));
            }
            break;
        }
    }
    tally
}

#[test]
fn the_best_of_all_plans() {
    let tally = best_of_all(StationKind::Gantry, 1, 3);
    assert!(tally.planned > 50 && tally.met > 0, "{} cases with a plan, {} bounds met", tally.planned, tally.met);
}

#[test]
fn the_best_of_all_plans_of_turrets() {
    let tally = best_of_all(StationKind::Turret, 1, 3);
    assert!(tally.planned > 50 && tally.met > 20, "{} cases with a plan, {} bounds met", tally.planned, tally.met);
}

#[test]
fn the_best_of_all_plans_of_two_beams() {
    let tally = best_of_all(StationKind::TwoBeam, 2, 2);
    assert!(tally.planned > 50 && tally.met > 0, "{} cases with a plan, {} bounds met", tally.planned, tally.met);
}
