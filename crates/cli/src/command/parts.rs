//! `evenline parts`.

use crate::args::PartsArgs;
use crate::{End, files, say};
use diag::{Finding, codes};

pub fn run(a: &PartsArgs) -> Result<End, End> {
    let result = super::read::inputs(&a.read.inputs)?;
    let Some(product) = &result.product else {
        say::findings(&result.findings, false);
        return Ok(End::Input);
    };
    if let Some(most) = a.check {
        return check(product, most, a.read.json);
    }
    let only_parts: Vec<_> = result.findings.iter().filter(|f| f.code.starts_with("parts.")).cloned().collect();
    say::findings(&only_parts, false);
    if a.read.json {
        return say::print_json(&product.parts);
    }
    let Some(path) = &a.read.output else { return say::print(&app::documents::write_parts(product)) };
    let bytes = if path.extension().is_some_and(|e| e.eq_ignore_ascii_case("xlsx")) {
        app::documents::write_parts_workbook(product)
            .map_err(|e| say::refuse(&Finding::new(codes::plan::FILE, e.to_string()), End::File))?
    } else {
        app::documents::write_parts(product).into_bytes()
    };
    files::write(path, &bytes).map(|()| End::Done)
}

/// The parts to measure first, and how much of all doubt they settle.
fn check(product: &app::read::Product, most: usize, json: bool) -> Result<End, End> {
    let all = app::read::to_measure(product);
    let first = &all[..all.len().min(most)];
    if json {
        return say::print_json(&first);
    }
    let weight = |parts: &[app::read::ToMeasure]| parts.iter().map(|p| p.weight).sum::<usize>();
    let mut text = if all.is_empty() { "no guess of a size would change what the line needs\n".to_owned() } else { String::new() };
    for p in first {
        text += &format!("{} ({}), {} placements\n", p.number, if p.package.is_empty() { "no package" } else { &p.package }, p.placements);
        text += &format!("  guessed: {}\n  decides: {}\n", p.guessed.join(", "), p.decides.join(", "));
    }
    if !all.is_empty() {
        let share = 100 * weight(first) / weight(&all).max(1);
        text += &format!("these {} of {} parts with such guesses settle {share} % of what depends on them\n", first.len(), all.len());
    }
    say::print(&text)
}
