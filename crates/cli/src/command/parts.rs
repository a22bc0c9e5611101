//! `evenline parts`.

use crate::args::PartsArgs;
use crate::{End, files, say};

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
    let table = app::documents::write_parts(product);
    match &a.read.output {
        Some(path) => files::write(path, table.as_bytes()).map(|()| End::Done),
        None => say::print(&table),
    }
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
