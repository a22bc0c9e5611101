//! Lists: what holds the plan back, what is not placed, what was found, what to mind.

use crate::present::Report;
use crate::table::{Cell, Table};

/// What holds the plan back, with what it is worth.
pub(crate) fn reasons(report: &Report<'_>) -> Table {
    let mut table = Table::new(&["what holds it back", ">worth at most, s per panel"]);
    for reason in &report.plan.reasons {
        let worth = if reason.worth_us.0 > 0 { Cell::Number(reason.worth_us.to_s(), 3) } else { Cell::Empty };
        table.row(vec![reason.text.clone().into(), worth]);
    }
    table
}

/// Placements that no station does, with the reason.
pub(crate) fn unplaced(report: &Report<'_>) -> Table {
    let mut table = Table::new(&["reference", "part", "reason", "what to do", "code"]);
    for left in &report.plan.unplaced {
        let task = report.job.as_ref().ok().and_then(|j| j.tasks.get(left.task.index()));
        let part = task.map(|t| draw::lookup::part_number(report.plan, t.part)).unwrap_or_default();
        let cure = diag::codes::find(&left.code).map(|c| c.cure).unwrap_or_default();
        table.row(vec![left.reference.clone().into(), part.into(), left.message.clone().into(), cure.into(), left.code.clone().into()]);
    }
    table
}

/// Findings of reading and planning, the gravest first.
pub(crate) fn findings(report: &Report<'_>) -> Table {
    let mut table = Table::new(&["severity", "code", "place", "value", "finding", "next step"]);
    let mut findings: Vec<&diag::Finding> = report.plan.findings.iter().collect();
    findings.sort_by_key(|f| std::cmp::Reverse(f.severity));
    for finding in findings {
        let place = if finding.line > 0 { format!("{}:{}", finding.file, finding.line) } else { finding.file.clone() };
        table.row(vec![
            finding.severity.to_string().into(),
            finding.code.clone().into(),
            place.into(),
            finding.value.clone().into(),
            finding.message.clone().into(),
            finding.hint.clone().into(),
        ]);
    }
    table
}

/// The cautions.
pub(crate) fn cautions() -> Table {
    let mut table = Table::new(&["topic", "what to mind", "source"]);
    for caution in crate::cautions::ALL {
        table.row(vec![caution.topic.into(), caution.text.into(), caution.source.into()]);
    }
    table
}
