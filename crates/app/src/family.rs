//! Planning a family: several products on one set-up.

use crate::plan::{Limits, StationRow, UnplacedRow, Watch, doubts, fuller_side};
use crate::read::NamedBytes;
use diag::{Finding, codes};
use domain::family::parts::share_parts;
use domain::family::plan::{FamilyPlan, SharedSetup};
use domain::job::{Job, Panel};
use domain::line::Line;
use domain::plan::{Outcome, Reason};
use domain::product::{Product, Side};
use domain::rules::Rules;
use optimise::family::{Wanted, plan_family};
use serde::Serialize;
use std::collections::BTreeSet;
use units::Time;

pub use domain::family::{FamilyProduct, FamilySheet};
pub use verify::{FamilyVerdict, MemberVerdict};

/// A product to be planned with others.
#[derive(Clone, Debug)]
pub struct ProductRequest {
    /// The product.
    pub product: Product,
    /// Findings of reading it, kept in its plan.
    pub findings: Vec<Finding>,
    /// Its order rules and inspections.
    pub rules: Rules,
    /// The side; `None` takes the fuller one and says so.
    pub side: Option<Side>,
    /// How boards are repeated.
    pub panel: Panel,
    /// Boards wanted, at least 1.
    pub boards: u64,
}

/// What to plan.
#[derive(Clone, Debug)]
pub struct FamilyRequest {
    /// Name of the family.
    pub name: String,
    /// Its products.
    pub products: Vec<ProductRequest>,
    /// Locks that hold for all of them.
    pub locks: Rules,
    /// The line.
    pub line: Line,
    /// When to stop.
    pub limits: Limits,
}

/// A family plan with what an edge shows of it. The JSON fields are part of the command line's contract.
#[derive(Clone, Debug, Serialize)]
pub struct FamilyResult {
    /// How it ended.
    pub outcome: Outcome,
    /// Time of the whole demand [µs].
    pub time_us: Time,
    /// No family plan takes less [µs].
    pub bound_us: Time,
    /// (time − bound) / bound; `null` without a plan.
    pub gap: Option<f64>,
    /// The products.
    pub products: Vec<ProductRow>,
    /// What stands where.
    pub setup: Vec<SharedSetup>,
    /// Milliseconds from the start of planning to the first valid family plan.
    pub first_plan_ms: u64,
    /// Seed of the search.
    pub seed: u64,
    /// Moves tried.
    pub work: u64,
    /// What holds it back.
    pub reasons: Vec<Reason>,
    /// Everything noticed.
    pub findings: Vec<Finding>,
    /// The plan.
    #[serde(skip)]
    pub plan: Option<FamilyPlan>,
}

/// A product of the result.
#[derive(Clone, Debug, Serialize)]
pub struct ProductRow {
    /// Its name.
    pub name: String,
    /// Side planned.
    pub side: Side,
    /// Boards wanted.
    pub boards: u64,
    /// Panels that hold them.
    pub panels: u64,
    /// Time per panel [µs].
    pub takt_us: Time,
    /// No plan of it has a smaller takt [µs].
    pub bound_us: Time,
    /// Takt of the best plan of it with a set-up of its own that was found on the way [µs].
    pub alone_us: Time,
    /// Tasks placed.
    pub placed: usize,
    /// Tasks not placed, with their reasons.
    pub unplaced: Vec<UnplacedRow>,
    /// Time of each station.
    pub stations: Vec<StationRow>,
}

/// Reads a family file.
///
/// # Errors
/// Everything wrong with it.
pub fn read_family(name: &str, text: &str) -> Result<FamilySheet, Vec<Finding>> {
    FamilySheet::parse(name, text)
}

/// Plans. Whatever happens, the result says so by its outcome and findings.
pub fn plan(request: FamilyRequest, watch: &dyn Watch) -> FamilyResult {
    let limits = request.limits;
    let mut findings = Vec::new();
    let mut names = BTreeSet::new();
    for p in request.products.iter().filter(|p| !names.insert(p.product.name.clone())) {
        let text = format!("two products are called `{}`", p.product.name);
        findings.push(Finding::new(codes::family::NAME_TWICE, text).value(&p.product.name));
    }
    let mut products: Vec<Product> = request.products.iter().map(|p| p.product.clone()).collect();
    findings.extend(share_parts(&mut products));
    let (mut own, mut rules, mut jobs) = (Vec::new(), Vec::new(), Vec::new());
    for (p, product) in request.products.iter().zip(&products) {
        let mut found = p.findings.clone();
        let side = p.side.unwrap_or_else(|| fuller_side(product, &mut found));
        rules.push(joined(&request.locks, &p.rules));
        match Job::new(product, side, p.panel) {
            Ok(job) => {
                found.extend(doubts(&job));
                jobs.push(job);
            }
            Err(f) => findings.push(f.at(&product.name, 0)),
        }
        own.push(found);
    }
    if findings.iter().any(Finding::is_error) {
        return refused(findings, limits.seed);
    }
    let wanted: Vec<Wanted<'_>> =
        jobs.iter().zip(&rules).zip(&request.products).map(|((job, rules), p)| Wanted { job, rules, boards: p.boards }).collect();
    match plan_family(&request.name, &wanted, &request.line, limits, watch) {
        Err(wrong) => {
            findings.extend(wrong);
            refused(findings, limits.seed)
        }
        Ok(planned) => {
            if planned.stopped {
                findings.push(Finding::new(codes::plan::STOPPED, "planning was stopped; this is the best plan so far"));
            }
            let mut plan = planned.plan;
            for (member, found) in plan.members.iter_mut().zip(own) {
                member.plan.findings = found;
            }
            plan.findings = findings;
            show(plan, (planned.first_plan_seconds * 1000.0).ceil() as u64)
        }
    }
}

/// Locks of the family with the orders and inspections of a product. Its own order rule goes before the family's.
fn joined(family: &Rules, own: &Rules) -> Rules {
    let mut rules = family.clone();
    rules.order_rule = own.order_rule.or(family.order_rule);
    rules.feeders_per_part = own.feeders_per_part.or(family.feeders_per_part);
    rules.order.extend(own.order.iter().cloned());
    rules.inspect.extend(own.inspect.iter().cloned());
    rules.lock.extend(own.lock.iter().cloned());
    rules.forbid.extend(own.forbid.iter().cloned());
    rules.keep.extend(own.keep.iter().cloned());
    rules.closed.extend(own.closed.iter().cloned());
    rules.down.extend(own.down.iter().cloned());
    rules
}

fn refused(findings: Vec<Finding>, seed: u64) -> FamilyResult {
    FamilyResult {
        outcome: Outcome::Infeasible,
        time_us: Time::ZERO,
        bound_us: Time::ZERO,
        gap: None,
        products: Vec::new(),
        setup: Vec::new(),
        first_plan_ms: 0,
        seed,
        work: 0,
        reasons: Vec::new(),
        findings,
        plan: None,
    }
}

fn show(plan: FamilyPlan, first_plan_ms: u64) -> FamilyResult {
    let row = |m: &domain::family::plan::Member| ProductRow {
        name: m.plan.product.name.clone(),
        side: m.plan.side,
        boards: m.boards,
        panels: m.panels,
        takt_us: m.plan.takt_us,
        bound_us: m.plan.bound_us,
        alone_us: m.alone_us,
        placed: m.plan.placed(),
        unplaced: m.plan.unplaced.iter().map(UnplacedRow::of).collect(),
        stations: m.plan.stations.iter().map(|s| StationRow { name: s.station.clone(), time_us: s.time_us }).collect(),
    };
    FamilyResult {
        outcome: plan.outcome,
        time_us: plan.time_us,
        bound_us: plan.bound_us,
        gap: (plan.bound_us.0 > 0).then(|| plan.gap()),
        products: plan.members.iter().map(row).collect(),
        setup: plan.setup.clone(),
        first_plan_ms,
        seed: plan.seed,
        work: plan.work,
        reasons: plan.reasons.clone(),
        findings: plan.findings.clone(),
        plan: Some(plan),
    }
}

/// A family plan as a document.
///
/// # Errors
/// Only if the JSON writer itself fails, which it does not for this type.
pub fn write(plan: &FamilyPlan) -> Result<String, serde_json::Error> {
    serde_json::to_string(plan).map(|s| s + "\n")
}

/// Checks a family plan with the independent checker.
pub fn check(plan: &FamilyPlan) -> FamilyVerdict {
    verify::verify_family(plan)
}

/// The reports of a family: the shared set-up once, and below a folder for each product its whole report.
///
/// Names of files may hold one folder, as `family.html` and `gauge-node/report.html`.
///
/// # Errors
/// When a document cannot be written.
pub fn report(plan: &FamilyPlan) -> Result<Vec<NamedBytes>, report::ReportError> {
    let file = |name: String, bytes: Vec<u8>| NamedBytes { name, bytes };
    let mut files = vec![
        file("family.html".to_owned(), report::family_html(plan).into_bytes()),
        file("family.pdf".to_owned(), report::family_pdf(plan)?),
        file("family.xlsx".to_owned(), report::family_xlsx(plan)?),
    ];
    for (name, m) in folders(plan).into_iter().zip(&plan.members) {
        files.extend(crate::documents::report(&m.plan)?.into_iter().map(|f| file(format!("{name}/{}", f.name), f.bytes)));
    }
    Ok(files)
}

/// The plan of every product by itself, as `gauge-node.json`.
///
/// # Errors
/// As [`write`].
pub fn plans(plan: &FamilyPlan) -> Result<Vec<NamedBytes>, serde_json::Error> {
    let one = |(name, m): (String, &domain::family::plan::Member)| {
        crate::documents::write_plan(&m.plan).map(|text| NamedBytes { name: format!("{name}.json"), bytes: text.into_bytes() })
    };
    folders(plan).into_iter().zip(&plan.members).map(one).collect()
}

/// A name for each product that every file system takes, none twice.
fn folders(plan: &FamilyPlan) -> Vec<String> {
    let mut taken = BTreeSet::new();
    let mut names = Vec::new();
    for m in &plan.members {
        let plain = |c: char| if c.is_alphanumeric() || c == '-' || c == '_' { c } else { '-' };
        let name: String = m.plan.product.name.chars().map(plain).take(80).collect();
        let name = if name.is_empty() { "product".to_owned() } else { name };
        let numbered = |k: usize| if k == 1 { name.clone() } else { format!("{name}-{k}") };
        let free = (1..).map(numbered).find(|n| !taken.contains(n)).unwrap_or(name.clone());
        taken.insert(free.clone());
        names.push(free);
    }
    names
}
