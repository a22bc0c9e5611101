//! `evenline report`.

use crate::args::ReportArgs;
use crate::{End, files, say};
use diag::{Finding, codes};

pub fn run(a: &ReportArgs) -> Result<End, End> {
    let plan = files::plan(&a.plan)?;
    let written = app::documents::report(&plan).map_err(|e| say::refuse(&Finding::new(codes::plan::FILE, e.to_string()), End::File))?;
    files::folder(&a.output)?;
    let mut text = String::new();
    for f in &written {
        let path = a.output.join(&f.name);
        files::write(&path, &f.bytes)?;
        text += &format!("{}\n", path.display());
    }
    say::print(&text)
}
