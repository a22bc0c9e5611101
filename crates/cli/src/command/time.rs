//! `evenline time`.

use crate::args::PlanFile;
use crate::{End, files, say};
use app::check::Timing;

pub fn run(a: &PlanFile) -> Result<End, End> {
    match files::saved(&a.plan)? {
        files::Saved::Plan(plan) => {
            let timing = app::check::time(&plan).map_err(|f| say::refuse(&f, End::Input))?;
            if a.json { say::print_json(&timing) } else { say::print(&table(&timing)) }
        }
        files::Saved::Family(family) => {
            let mut timings = Vec::new();
            for m in &family.members {
                timings.push((m, app::check::time(&m.plan).map_err(|f| say::refuse(&f, End::Input))?));
            }
            if a.json {
                let rows: Vec<Row<'_>> =
                    timings.iter().map(|(m, timing)| Row { product: &m.plan.product.name, panels: m.panels, timing }).collect();
                return say::print_json(&rows);
            }
            let text: String =
                timings.iter().map(|(m, t)| format!("{}, {} panels\n{}\n", m.plan.product.name, m.panels, table(t))).collect();
            let all: f64 = timings.iter().map(|(m, t)| m.panels as f64 * t.takt_us.to_s()).sum();
            say::print(&format!("{text}whole demand {:.3} h\n", all / 3600.0))
        }
    }
}

/// A product of a family as the clock times it.
#[derive(serde::Serialize)]
struct Row<'a> {
    product: &'a str,
    panels: u64,
    timing: &'a Timing,
}

fn table(timing: &Timing) -> String {
    let mut text = format!("takt {:.6} s ({})\n", timing.takt_us.to_s(), timing.slowest);
    for s in &timing.stations {
        text += &format!("{:<28} {:>12.6} s\n", s.name, s.time_us.to_s());
        for (name, t) in s.breakdown.items().into_iter().filter(|(_, t)| t.0 != 0) {
            text += &format!("  {name:<26} {:>12.6} s\n", t.to_s());
        }
    }
    text
}
