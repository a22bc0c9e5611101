//! `evenline verify`.

use crate::args::PlanFile;
use crate::{End, files, say};
use domain::family::plan::FamilyPlan;

pub fn run(a: &PlanFile) -> Result<End, End> {
    let plan = match files::saved(&a.plan)? {
        files::Saved::Plan(plan) => plan,
        files::Saved::Family(family) => return of_family(a, &family),
    };
    let verdict = app::check::check(&plan);
    if a.json {
        say::print_json(&verdict)?;
    } else {
        let mut text = format!("{}\n", if verdict.accepted { "accepted" } else { "refused" });
        text += &format!("takt {:.6} s, bound {:.6} s (both recomputed)\n", verdict.takt_us.to_s(), verdict.bound_us.to_s());
        for v in &verdict.violations {
            text += &format!("[{}] {}\n", v.code, v.detail);
        }
        say::print(&text)?;
    }
    Ok(if verdict.accepted { End::Done } else { End::No })
}

fn of_family(a: &PlanFile, family: &FamilyPlan) -> Result<End, End> {
    let verdict = app::family::check(family);
    if a.json {
        say::print_json(&verdict)?;
    } else {
        let mut text = format!("{}\n", if verdict.accepted { "accepted" } else { "refused" });
        text += &format!("whole demand {:.6} s, bound {:.6} s (both recomputed)\n", verdict.time_us.to_s(), verdict.bound_us.to_s());
        for v in &verdict.violations {
            text += &format!("[{}] {}\n", v.code, v.detail);
        }
        for m in &verdict.members {
            let (takt, bound) = (m.verdict.takt_us.to_s(), m.verdict.bound_us.to_s());
            text += &format!("{:<28} takt {takt:>12.6} s, bound {bound:>12.6} s\n", m.product);
            for v in &m.verdict.violations {
                text += &format!("  [{}] {}\n", v.code, v.detail);
            }
        }
        say::print(&text)?;
    }
    Ok(if verdict.accepted { End::Done } else { End::No })
}
