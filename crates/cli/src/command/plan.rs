//! `evenline plan`.

use crate::args::{PanelArgs, PlanArgs};
use crate::watch::Terminal;
use crate::{End, files, say};
use app::plan::{Begin, Hold, PlanRequest, PlanResult, UnplacedRow};
use diag::{Finding, codes};
use domain::job::{Panel, Turned};
use domain::plan::Outcome;
use domain::rules::Rules;
use std::collections::BTreeMap;
use units::{Length, Point};

pub fn run(a: &PlanArgs) -> Result<End, End> {
    let sheet = app::documents::read_line(&files::name(&a.line), &files::text(&a.line)?);
    let line = sheet.map_err(|found| {
        say::findings(&found, false);
        End::Input
    })?;
    let rules = match &a.locks {
        None => Rules::default(),
        Some(path) => Rules::parse(&files::name(path), &files::text(path)?).map_err(|f| say::refuse(&f, End::Input))?,
    };
    let reading = super::read::inputs(&a.inputs)?;
    let Some(product) = reading.product else {
        say::findings(&reading.findings, false);
        return Ok(End::Input);
    };
    let panel = panel(&a.panel)?;
    let watch = Terminal::new();
    let from = match &a.from {
        None => None,
        Some(path) => Some(Begin { plan: files::plan(path)?, hold: hold(a) }),
    };
    let request = PlanRequest {
        product,
        findings: reading.findings,
        line,
        rules,
        from,
        side: a.side.map(Into::into),
        panel,
        method: a.method.into(),
        limits: a.limits.limits(),
    };
    let result = app::plan::plan(request, &watch);
    watch.finish();
    if let (Some(path), Some(plan)) = (&a.output, &result.plan) {
        let text = app::documents::write_plan(plan).map_err(|_| End::File)?;
        files::write(path, text.as_bytes())?;
    }
    if a.json {
        say::print_json(&result)?;
    } else {
        say::findings(&result.findings, true);
        say::findings(&left_out(&result), true);
        say::print(&summary(&result))?;
    }
    Ok(end(&result))
}

/// How planning ends for whoever calls the program.
pub fn end(result: &PlanResult) -> End {
    match (&result.plan, result.outcome) {
        (None, _) => End::Input,
        (_, Outcome::Infeasible | Outcome::Unknown) => End::No,
        // A through-hole part is no fault of the plan; a part that finds no nozzle is.
        _ if left_out(result).iter().any(Finding::is_error) => End::No,
        _ => End::Done,
    }
}

/// What of the plan of `--from` is to stay.
fn hold(a: &PlanArgs) -> Hold {
    let whole_line = a.keep_setup.iter().any(|s| s == "*");
    let stations = a.keep_setup.iter().filter(|s| *s != "*").cloned().collect();
    Hold { stations, whole_line, add: a.add, parts: a.keep.clone() }
}

/// One finding for each reason why a plan leaves parts out, with the next step.
pub fn left_out(r: &PlanResult) -> Vec<Finding> {
    left_out_of(&r.unplaced)
}

/// One finding for each reason why parts are left out, with the next step.
pub(super) fn left_out_of(unplaced: &[UnplacedRow]) -> Vec<Finding> {
    let mut references: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for u in unplaced {
        references.entry(&u.code).or_default().push(&u.reference);
    }
    let finding = |(code, references): (&str, Vec<&str>)| {
        let message = match references.len() {
            1 => "1 placement is left out".to_owned(),
            n => format!("{n} placements are left out"),
        };
        diag::codes::find(code).map(|c| Finding::new(c, message).value(references.join(" ")))
    };
    references.into_iter().filter_map(finding).collect()
}

/// The panel of the arguments.
pub(super) fn panel(a: &PanelArgs) -> Result<Panel, End> {
    let (columns, rows) = a.panel.unwrap_or((1, 1));
    if a.panel.is_none() && a.pitch.is_some() {
        return Err(say::refuse(&Finding::new(codes::plan::PANEL, "--pitch is given without --panel"), End::Usage));
    }
    let zero = (Length::ZERO, Length::ZERO);
    let (pitch, rails) = (if (columns, rows) == (1, 1) { zero } else { a.pitch.unwrap_or(zero) }, a.rails.unwrap_or(zero));
    let point = |(x, y): (Length, Length)| Point { x, y };
    Ok(Panel {
        columns,
        rows,
        pitch_x_um: pitch.0,
        pitch_y_um: pitch.1,
        rail_x_um: rails.0,
        rail_y_um: rails.1,
        turned: a.turned.unwrap_or(Turned::None),
        marks: a.panel_marks.map(point),
        bad_mark: a.bad_mark.map(point),
    })
}

pub fn summary(r: &PlanResult) -> String {
    let mut text = String::new();
    if r.plan.is_none() {
        return text;
    }
    let gap = r.gap.map_or("no gap".to_owned(), |g| format!("gap {:.1} %", 100.0 * g));
    text += &format!("{}: takt {:.3} s, bound {:.3} s, {gap}\n", r.outcome, r.takt_us.to_s(), r.bound_us.to_s());
    text += &format!("placed {} on the {} side, not placed {}\n", r.placed, r.side.word(), r.unplaced.len());
    for s in &r.stations {
        text += &format!("  {:<16} {:>8.3} s\n", s.name, s.time_us.to_s());
    }
    for reason in &r.reasons {
        text += &format!("- {}\n", reason.text);
    }
    let mut codes: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for u in &r.unplaced {
        codes.entry(&u.code).or_default().push(&u.reference);
    }
    for (code, references) in codes {
        let more = references.len().saturating_sub(12);
        let rest = if more > 0 { format!(" and {more} more") } else { String::new() };
        text += &format!("not placed [{code}]: {}{rest}\n", references[..references.len() - more].join(" "));
    }
    text
}
