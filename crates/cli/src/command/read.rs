//! `evenline read`.

use crate::args::{Inputs, ReadFiles};
use crate::{End, files, say};
use app::read::ReadResult;
use std::path::Path;

/// Reads the inputs of a command.
pub fn inputs(inputs: &Inputs) -> Result<ReadResult, End> {
    Ok(app::read::read(&files::request(inputs)?))
}

/// How a reading ends: without a product, or with an error among its findings, the input is wrong.
pub fn end(result: &ReadResult) -> End {
    if result.product.is_none() || result.findings.iter().any(diag::Finding::is_error) { End::Input } else { End::Done }
}

pub fn run(a: &ReadFiles) -> Result<End, End> {
    let result = inputs(&a.read.inputs)?;
    if let Some(folder) = &a.pictures {
        files::folder(folder)?;
        for (name, svg) in app::read::pictures(&result) {
            files::write(&folder.join(name), svg.as_bytes())?;
        }
    }
    if let Some(path) = &a.remember {
        files::write(path, app::read::write_profile(&result.concluded).as_bytes())?;
    }
    if let (Some(path), Some(product)) = (&a.read.output, &result.product) {
        let text = app::documents::write_product(product).map_err(|_| End::File)?;
        files::write(path, text.as_bytes())?;
    }
    if let Some(old) = &a.against {
        return against(old, &result, a.read.json);
    }
    if a.read.json {
        say::print_json(&result)?;
    } else {
        say::findings(&result.findings, false);
        say::print(&summary(&result))?;
    }
    Ok(end(&result))
}

/// What changed since an older revision.
fn against(old: &Path, result: &ReadResult, json: bool) -> Result<End, End> {
    let before = inputs(&Inputs { inputs: vec![old.to_owned()], mapping: None, library: None, parts: None, name: None })?;
    let (Some(before_product), Some(product)) = (&before.product, &result.product) else {
        say::findings(&before.findings, false);
        say::findings(&result.findings, false);
        return Ok(End::Input);
    };
    let changes = app::revision::changes(before_product, product);
    if json {
        return say::print_json(&changes);
    }
    say::findings(&result.findings, false);
    say::print(&app::revision::told(&changes))?;
    Ok(end(result))
}

fn summary(r: &ReadResult) -> String {
    let mut text = String::new();
    for f in &r.files {
        text += &format!("{}: {} ({} rows)\n", f.name, f.role, f.rows);
    }
    if let Some(p) = &r.product {
        let size = if p.size_stated { "" } else { " (from the extent of the placements)" };
        text += &format!("product: {}, {} x {}{size}\n", p.name, p.width_um, p.depth_um);
    }
    text += &format!(
        "placements: {} = {} fitted ({} top, {} bottom) + {} not fitted + {} ignored\npart types: {}\nfindings: {}\n",
        r.placements,
        r.fitted,
        r.fitted_top,
        r.fitted_bottom,
        r.not_fitted,
        r.ignored,
        r.parts,
        r.findings.len()
    );
    text
}
