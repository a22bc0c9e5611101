//! The line sheet inside the plan is sound by its own rules.

use crate::verdict::Log;
use diag::codes::verify as code;
use domain::plan::Plan;

pub(crate) fn check(plan: &Plan, log: &mut Log) {
    for finding in plan.line.check("") {
        log.add(code::SHEET, format!("{}: {}", finding.code, finding.message));
    }
}
