//! `evenline explain`.

use crate::args::PlanFile;
use crate::{End, files, say};
use domain::plan::{Plan, Reason};
use std::collections::BTreeMap;

pub fn run(a: &PlanFile) -> Result<End, End> {
    match files::saved(&a.plan)? {
        files::Saved::Plan(plan) if a.json => say::print_json(&plan.reasons),
        files::Saved::Plan(plan) => say::print(&reasons(&plan)),
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
                text += &reasons(&m.plan);
            }
            say::print(&text)
        }
    }
}

/// What holds a family back, and each of its products.
#[derive(serde::Serialize)]
struct Told<'a> {
    reasons: &'a [Reason],
    products: BTreeMap<&'a str, &'a [Reason]>,
}

fn reasons(plan: &Plan) -> String {
    let mut text = format!(
        "{} on `{}`, {} side: takt {:.3} s, bound {:.3} s, gap {:.1} %.\n",
        plan.product.name,
        plan.line.name,
        plan.side.word(),
        plan.takt_us.to_s(),
        plan.bound_us.to_s(),
        100.0 * plan.gap()
    );
    for r in &plan.reasons {
        text += &format!("- {}\n", r.text);
    }
    let mut by_reason: BTreeMap<(&str, &str), Vec<&str>> = BTreeMap::new();
    for u in &plan.unplaced {
        by_reason.entry((&u.code, &u.message)).or_default().push(&u.reference);
    }
    for ((code, message), references) in by_reason {
        let cure = diag::codes::find(code).map_or("", |c| c.cure);
        text += &format!("- Not placed: {} [{code}]: {message}. {cure}\n", references.join(", "));
    }
    text
}
