//! `evenline verify`.

use crate::args::PlanFile;
use crate::{End, files, say};

pub fn run(a: &PlanFile) -> Result<End, End> {
    let verdict = app::check::check(&files::plan(&a.plan)?);
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
