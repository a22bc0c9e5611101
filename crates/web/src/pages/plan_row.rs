//! A plan as a row of a list.

use crate::page;
use crate::work::Summary;
use maud::{Markup, html};
use store::document::Head;

/// The head of the list.
pub fn head() -> Markup {
    html! { thead { tr { (heads()) } } }
}

/// The cells of the head.
pub fn heads() -> Markup {
    html! {
        th { "Plan" } th { "Product" } th { "Line" } th.right { "Takt" } th.right { "Bound" } th.right { "Gap" }
        th.right { "Placed" } th.right { "Left out" } th { "Saved" }
    }
}

/// One plan.
pub fn row(plan: &Head) -> Markup {
    html! { tr { (cells(plan)) } }
}

/// The cells of one plan.
pub fn cells(plan: &Head) -> Markup {
    // A summary of another program's version is no reason to hide the plan.
    let s: Option<Summary> = serde_json::from_str(&plan.summary).ok();
    html! {
        td { a href={ "/plans/" (page::path(&plan.name)) } { (plan.name) } }
        @match s {
            Some(s) => {
                td { (s.product) " · " (s.side) }
                td { (s.line) }
                td.right { (seconds(s.takt_us)) }
                td.right { (seconds(s.bound_us)) }
                td.right { (gap(s.takt_us, s.bound_us)) }
                td.right { (s.placed) }
                td.right.warn[s.unplaced > 0] { (s.unplaced) }
            }
            None => td colspan="7" { "–" }
        }
        td { (page::when(plan.at)) " by " (plan.author) }
    }
}

/// Microseconds as seconds with their unit.
pub fn seconds(us: i64) -> String {
    format!("{:.2} s", us as f64 / 1e6)
}

/// The gap between takt and bound.
pub fn gap(takt_us: i64, bound_us: i64) -> String {
    if bound_us > 0 { format!("{:.1} %", 100.0 * (takt_us - bound_us) as f64 / bound_us as f64) } else { "–".to_owned() }
}
