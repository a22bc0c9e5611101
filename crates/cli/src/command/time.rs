//! `evenline time`.

use crate::args::PlanFile;
use crate::{End, files, say};

pub fn run(a: &PlanFile) -> Result<End, End> {
    let plan = files::plan(&a.plan)?;
    let timing = app::check::time(&plan).map_err(|f| say::refuse(&f, End::Input))?;
    if a.json {
        return say::print_json(&timing);
    }
    let mut text = format!("takt {:.6} s ({})\n", timing.takt_us.to_s(), timing.slowest);
    for s in &timing.stations {
        text += &format!("{:<28} {:>12.6} s\n", s.name, s.time_us.to_s());
        for (name, t) in s.breakdown.items().into_iter().filter(|(_, t)| t.0 != 0) {
            text += &format!("  {name:<26} {:>12.6} s\n", t.to_s());
        }
    }
    say::print(&text)
}
