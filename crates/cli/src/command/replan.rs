//! `evenline replan`.

use super::plan::{end, left_out, summary};
use crate::args::ReplanArgs;
use crate::watch::Terminal;
use crate::{End, files, say};
use app::replan::{ReplanRequest, ReplanResult};
use diag::{Finding, codes};

pub fn run(a: &ReplanArgs) -> Result<End, End> {
    let plan = files::plan(&a.plan)?;
    if a.down.is_empty() && a.up.is_empty() {
        return Err(say::refuse(
            &Finding::new(codes::plan::USAGE, "nothing is said to be down (--down) or to work again (--up)"),
            End::Usage,
        ));
    }
    if a.move_price < units::Time::ZERO {
        return Err(say::refuse(&Finding::new(codes::plan::USAGE, "--move-price is less than nothing"), End::Usage));
    }
    let watch = Terminal::new();
    let request = ReplanRequest { plan, down: a.down.clone(), up: a.up.clone(), price: a.move_price, limits: a.limits.limits() };
    let found = app::replan::replan(request, &watch);
    watch.finish();
    let found = found.map_err(|wrong| {
        say::findings(&wrong, false);
        End::Input
    })?;
    if let (Some(path), Some(plan)) = (&a.output, &found.result.plan) {
        let text = app::documents::write_plan(plan).map_err(|_| End::File)?;
        files::write(path, text.as_bytes())?;
    }
    if a.json {
        say::print_json(&found)?;
    } else {
        say::findings(&found.result.findings, true);
        say::findings(&left_out(&found.result), true);
        say::print(&text(&found))?;
    }
    Ok(end(&found.result))
}

fn text(r: &ReplanResult) -> String {
    let mut t = format!("down: {}\n", if r.down.is_empty() { "nothing".to_owned() } else { r.down.join(", ") });
    t += &format!(
        "takt {:.3} s -> {:.3} s ({:+.3} s)\n",
        r.takt_before_us.to_s(),
        r.result.takt_us.to_s(),
        (r.result.takt_us - r.takt_before_us).to_s()
    );
    t += &format!(
        "cost {:.3} s = takt + {} x {:.3} s; no plan costs less than {:.3} s\n",
        r.cost_us.to_s(),
        r.moves.moved,
        r.move_price_us.to_s(),
        r.cost_bound_us.to_s()
    );
    t += &super::diff::steps(&r.moves);
    t + &summary(&r.result)
}
