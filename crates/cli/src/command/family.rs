//! `evenline family`.

use crate::args::{FamilyArgs, Inputs};
use crate::watch::Terminal;
use crate::{End, files, say};
use app::family::{FamilyProduct, FamilyRequest, FamilyResult, ProductRequest};
use app::plan::Limits;
use diag::Finding;
use domain::job::Panel;
use domain::plan::Outcome;
use domain::rules::Rules;
use std::path::{Path, PathBuf};

/// Seconds planned when neither seconds nor work are given.
const DEFAULT_SECONDS: f64 = 60.0;

pub fn run(a: &FamilyArgs) -> Result<End, End> {
    let told = |found: Vec<Finding>| {
        say::findings(&found, false);
        End::Input
    };
    let line = app::documents::read_line(&files::name(&a.line), &files::text(&a.line)?).map_err(told)?;
    let sheet = app::family::read_family(&files::name(&a.family), &files::text(&a.family)?).map_err(told)?;
    let folder = a.family.parent().unwrap_or(Path::new("")).to_path_buf();
    let locks = rules(&folder, sheet.locks.as_deref())?;
    let mut products = Vec::new();
    for p in &sheet.product {
        products.push(product(&folder, p, sheet.library.as_deref())?);
    }
    let watch = Terminal::new();
    let limits = Limits {
        seconds: a.seconds.or(a.work.is_none().then_some(DEFAULT_SECONDS)),
        work: a.work,
        seed: a.seed,
        threads: a.threads.unwrap_or_else(|| std::thread::available_parallelism().map_or(1, usize::from)).max(1),
    };
    let result = app::family::plan(FamilyRequest { name: sheet.name, products, locks, line, limits }, &watch);
    watch.finish();
    if let Some(plan) = &result.plan {
        if let Some(path) = &a.output {
            files::write(path, app::family::write(plan).map_err(|_| End::File)?.as_bytes())?;
        }
        if let Some(folder) = &a.plans {
            files::folder(folder)?;
            for f in app::family::plans(plan).map_err(|_| End::File)? {
                files::write(&folder.join(&f.name), &f.bytes)?;
            }
        }
    }
    if a.json {
        say::print_json(&result)?;
    } else {
        say::findings(&result.findings, true);
        if let Some(plan) = &result.plan {
            plan.members.iter().for_each(|m| say::findings(&m.plan.findings, true));
        }
        say::findings(&left_out(&result), true);
        say::print(&summary(&result))?;
    }
    Ok(match &result.plan {
        None => End::Input,
        Some(_) if matches!(result.outcome, Outcome::Infeasible | Outcome::Unknown) => End::No,
        Some(_) if left_out(&result).iter().any(Finding::is_error) => End::No,
        Some(_) => End::Done,
    })
}

fn rules(folder: &Path, file: Option<&str>) -> Result<Rules, End> {
    let Some(path) = file.map(|f| folder.join(f)) else { return Ok(Rules::default()) };
    Rules::parse(&files::name(&path), &files::text(&path)?).map_err(|f| say::refuse(&f, End::Input))
}

fn product(folder: &Path, p: &FamilyProduct, library: Option<&str>) -> Result<ProductRequest, End> {
    let at = |file: &String| -> PathBuf { folder.join(file) };
    let inputs = Inputs {
        inputs: p.files.iter().map(at).collect(),
        mapping: p.mapping.as_ref().map(at),
        library: library.map(|file| folder.join(file)),
        parts: p.parts.as_ref().map(at),
        name: p.name.clone(),
    };
    let reading = super::read::inputs(&inputs)?;
    let Some(mut product) = reading.product else {
        say::findings(&reading.findings, false);
        return Err(End::Input);
    };
    if let Some(name) = &p.name {
        // A product document holds a name of its own; the family file goes before it.
        product.name.clone_from(name);
    }
    Ok(ProductRequest {
        product,
        findings: reading.findings,
        rules: rules(folder, p.locks.as_deref())?,
        side: p.side,
        panel: p.panel.map_or(Panel::SINGLE, Into::into),
        boards: p.demand,
    })
}

/// One finding for each product and reason why parts are left out.
fn left_out(r: &FamilyResult) -> Vec<Finding> {
    let mut found = Vec::new();
    for p in &r.products {
        let all = super::plan::left_out_of(&p.unplaced);
        found.extend(all.into_iter().map(|f| f.at(&p.name, 0)));
    }
    found
}

fn summary(r: &FamilyResult) -> String {
    let Some(gap) = r.gap else { return String::new() };
    let hours = |t: units::Time| t.to_s() / 3600.0;
    let mut text =
        format!("{}: whole demand {:.3} h, bound {:.3} h, gap {:.1} %\n", r.outcome, hours(r.time_us), hours(r.bound_us), 100.0 * gap);
    for p in &r.products {
        let gap = if p.bound_us.0 > 0 { 100.0 * (p.takt_us - p.bound_us).0 as f64 / p.bound_us.0 as f64 } else { 0.0 };
        text += &format!(
            "  {:<20} {:>7} panels, takt {:>8.3} s, bound {:>8.3} s, gap {gap:>4.1} %, placed {}, not placed {}\n",
            p.name,
            p.panels,
            p.takt_us.to_s(),
            p.bound_us.to_s(),
            p.placed,
            p.unplaced.len()
        );
    }
    for s in &r.setup {
        text += &format!("  {:<20} {} feeders and trays\n", s.station, s.supplies.len());
    }
    for reason in &r.reasons {
        text += &format!("- {}\n", reason.text);
    }
    text
}
