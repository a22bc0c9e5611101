//! `evenline parts`.

use crate::args::ReadArgs;
use crate::{End, files, say};

pub fn run(a: &ReadArgs) -> Result<End, End> {
    let result = super::read::inputs(&a.inputs)?;
    let Some(product) = &result.product else {
        say::findings(&result.findings, false);
        return Ok(End::Input);
    };
    let only_parts: Vec<_> = result.findings.iter().filter(|f| f.code.starts_with("parts.")).cloned().collect();
    say::findings(&only_parts, false);
    if a.json {
        return say::print_json(&product.parts);
    }
    let table = app::documents::write_parts(product);
    match &a.output {
        Some(path) => files::write(path, table.as_bytes()).map(|()| End::Done),
        None => say::print(&table),
    }
}
