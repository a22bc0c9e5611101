//! `evenline explain`.

use crate::args::PlanFile;
use crate::{End, files, say};

pub fn run(a: &PlanFile) -> Result<End, End> {
    let plan = files::plan(&a.plan)?;
    if a.json {
        return say::print_json(&plan.reasons);
    }
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
    let mut by_reason: std::collections::BTreeMap<(&str, &str), Vec<&str>> = std::collections::BTreeMap::new();
    for u in &plan.unplaced {
        by_reason.entry((&u.code, &u.message)).or_default().push(&u.reference);
    }
    for ((code, message), references) in by_reason {
        let cure = diag::codes::find(code).map_or("", |c| c.cure);
        text += &format!("- Not placed: {} [{code}]: {message}. {cure}\n", references.join(", "));
    }
    say::print(&text)
}
