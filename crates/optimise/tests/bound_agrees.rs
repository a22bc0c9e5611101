//! Planner and checker work out the bound each by itself, from `docs/planning.md` §3: they must find the same figure for the
//! planner's certificates, on the example lines and on the small nasty lines that the checker's tests attack the bound with.

#[path = "../../verify/tests/attack/mod.rs"]
mod attack;
#[path = "../../verify/tests/common/mod.rs"]
mod common;

use attack::choice::{Choice, Dice};
use domain::job::{Job, Panel};
use domain::line::Line;
use domain::product::{Product, Side};
use domain::rules::Rules;
use optimise::hand::by_hand;
use optimise::{Progress, Watch};
use std::path::Path;

/// A watch that never stops anything.
struct Quiet;

impl Watch for Quiet {
    fn seconds(&self) -> f64 {
        0.0
    }
    fn stopped(&self) -> bool {
        false
    }
    fn progress(&self, _: &Progress) {}
}

/// What a bound says.
#[derive(Default)]
struct Says {
    /// Whether it is above 0.
    anything: bool,
    /// Whether its certificate parts plans by the manner of a station.
    manners: bool,
}

/// Panics unless the checker finds the bound of the plan.
fn agrees(job: &Job<'_>, line: &Line, rules: &Rules, name: &str) -> Option<Says> {
    let plan = by_hand(job, line, rules, &Quiet).ok()?;
    if plan.certificate.leaves.is_empty() {
        // Nothing is claimed and nothing can be checked: some work can be done nowhere.
        assert_eq!(plan.bound_us.0, 0, "{name}");
        return Some(Says::default());
    }
    let proven = verify::bound(&plan, job);
    let shown = || serde_json::to_string(&plan).expect("a plan is written");
    assert_eq!(Some(plan.bound_us), proven, "{name}: {}", shown());
    assert!(plan.bound_us <= plan.takt_us, "{name}: {}", shown());
    let manners = plan.certificate.leaves.iter().any(|l| !l.manners.is_empty());
    Some(Says { anything: plan.bound_us.0 > 0, manners })
}

#[test]
fn on_the_example_lines() {
    let examples = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples");
    let read = |file: &str| std::fs::read_to_string(examples.join(file)).expect("an example");
    let product: Product = serde_json::from_str(&read("products/gauge-node.json")).expect("a product");
    let mut lines = 0;
    for name in ["fixed-roles", "gang-pick", "head-swap", "one-station", "turret", "two-beam", "mixed"] {
        let line = Line::parse(name, &read(&format!("lines/{name}.toml"))).expect("a sound sheet");
        for rule in ["clearance", "operation", "low-before-tall", "none"] {
            let rules = Rules::parse("rules.toml", &format!("order_rule = \"{rule}\"\n")).expect("rules");
            for side in [Side::Top, Side::Bottom] {
                let Ok(job) = Job::new(&product, side, Panel::SINGLE) else { continue };
                lines += usize::from(agrees(&job, &line, &rules, name).is_some_and(|s| s.anything));
            }
        }
    }
    assert!(lines >= 16, "{lines} bounds");
}

#[test]
fn on_small_nasty_lines() {
    let (mut agreed, mut manners) = (0, 0);
    for seed in 0..900 {
        let mut dice = Dice::new(seed);
        let most = 1 + dice.below(8);
        let mut case = attack::case(&mut dice, most);
        if seed >= 600 {
            attack::kinds::convert(&mut dice, &mut case, None);
        }
        let job = case.job().expect("a job");
        let says = agrees(&job, &case.line, &case.rules, &format!("seed {seed}")).unwrap_or_default();
        agreed += usize::from(says.anything);
        manners += usize::from(says.manners);
    }
    assert!(agreed > 450 && manners > 5, "{agreed} bounds of 900 lines, {manners} that tell manners apart");
}
