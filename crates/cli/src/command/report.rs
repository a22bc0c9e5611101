//! `evenline report`.

use crate::args::ReportArgs;
use crate::{End, files, say};
use diag::{Finding, codes};

pub fn run(a: &ReportArgs) -> Result<End, End> {
    let written = match files::saved(&a.plan)? {
        files::Saved::Plan(plan) => app::documents::report(&plan).map(|files| files.into_iter().map(|f| (f.name, f.bytes)).collect()),
        files::Saved::Family(family) => app::family::report(&family).map(|files| files.into_iter().map(|f| (f.name, f.bytes)).collect()),
    };
    let written: Vec<(String, Vec<u8>)> = written.map_err(|e| say::refuse(&Finding::new(codes::plan::FILE, e.to_string()), End::File))?;
    files::folder(&a.output)?;
    let mut text = String::new();
    for (name, bytes) in &written {
        let path = a.output.join(name);
        if let Some(folder) = path.parent() {
            files::folder(folder)?;
        }
        files::write(&path, bytes)?;
        text += &format!("{}\n", path.display());
    }
    say::print(&text)
}
