//! `evenline explain`.

use crate::args::ExplainArgs;
use crate::watch::Terminal;
use crate::{End, files, say};
use app::explain::{Explanation, Worth};
use app::plan::Limits;
use diag::{Finding, codes};
use domain::plan::{Plan, Reason};
use std::collections::BTreeMap;

/// Seconds for all comparisons together when neither seconds nor work are given.
const DEFAULT_SECONDS: f64 = 60.0;
/// Worth less than this share of the takt is told among what would not help.
const NOTABLE: f64 = 0.004;

pub fn run(a: &ExplainArgs) -> Result<End, End> {
    match files::saved(&a.plan)? {
        files::Saved::Plan(plan) => {
            let explained = explained(a, &plan)?;
            if a.json { say::print_json(&explained) } else { say::print(&told(&plan, &explained.reasons, &worth(&explained))) }
        }
        files::Saved::Family(_) if a.worth => {
            Err(say::refuse(&Finding::new(codes::plan::USAGE, "--worth is for the plan of one product"), End::Usage))
        }
        files::Saved::Family(family) if a.json => say::print_json(&Told {
            reasons: &family.reasons,
            products: family.members.iter().map(|m| (m.plan.product.name.as_str(), m.plan.reasons.as_slice())).collect(),
        }),
        files::Saved::Family(family) => {
            let mut text = format!("Family `{}`, {} products on one set-up.\n", family.name, family.members.len());
            for r in &family.reasons {
                text += &format!("- {}\n", r.text);
            }
            for m in &family.members {
                text += "\n";
                text += &told(&m.plan, &m.plan.reasons, "");
            }
            say::print(&text)
        }
    }
}

fn explained(a: &ExplainArgs, plan: &Plan) -> Result<Explanation, End> {
    let watch = Terminal::new();
    let limits = a.worth.then(|| Limits {
        seconds: a.seconds.or(a.work.is_none().then_some(DEFAULT_SECONDS)),
        work: a.work,
        seed: a.seed,
        threads: a.threads.unwrap_or_else(|| std::thread::available_parallelism().map_or(1, usize::from)).max(1),
    });
    let explained = app::explain::explain(plan, limits, &watch);
    watch.finish();
    explained.map_err(|found| {
        say::findings(&found, false);
        End::Input
    })
}

/// What holds a family back, and each of its products.
#[derive(serde::Serialize)]
struct Told<'a> {
    reasons: &'a [Reason],
    products: BTreeMap<&'a str, &'a [Reason]>,
}

fn told(plan: &Plan, reasons: &[Reason], worth: &str) -> String {
    let mut text = format!(
        "{} on `{}`, {} side: takt {:.3} s, bound {:.3} s, gap {:.1} %.\n",
        plan.product.name,
        plan.line.name,
        plan.side.word(),
        plan.takt_us.to_s(),
        plan.bound_us.to_s(),
        100.0 * plan.gap()
    );
    for r in reasons {
        text += &format!("- {}\n", r.text);
    }
    text += worth;
    let mut by_reason: BTreeMap<(&str, &str), Vec<&str>> = BTreeMap::new();
    for u in &plan.unplaced {
        by_reason.entry((&u.code, &u.message)).or_default().push(&u.reference);
    }
    for ((code, message), references) in by_reason {
        let cure = diag::codes::find(code).map_or("", |c| c.cure);
        text += &format!("- Not placed: {} [{code}]: {message}. {cure}\n", references.join(", "));
    }
    for f in plan.findings.iter().filter(|f| f.code.starts_with("conflict.")) {
        text += &format!("- {} [{}]. {}\n", f.message, f.code, f.hint);
    }
    text
}

/// What is worth something, then what is not.
fn worth(e: &Explanation) -> String {
    let notable = |w: &&Worth| w.replanned.is_some() || w.estimate_us.is_none_or(|t| t.to_s() > NOTABLE * e.takt_us.to_s());
    let mut text = String::new();
    for (heading, wanted) in [("What would help:\n", true), ("What would not:\n", false)] {
        let mut lines = e.worth.iter().filter(|w| notable(w) == wanted).peekable();
        if lines.peek().is_some() {
            text += heading;
        }
        for w in lines {
            text += &format!("- {}\n", w.text);
            text += &w.replanned.as_ref().map_or(String::new(), |anew| format!("  {}\n", anew.text));
        }
    }
    text
}
