//! One station: its set-up slot by slot, its program, where its seconds go, and moving something by hand.

use super::change::{self, Wish};
use super::slots::Setup;
use super::{Here, Shown, exact};
use crate::access::Who;
use crate::room::{Room, aside};
use crate::trouble::{Answer, Refusal};
use axum::extract::{Path, Query, State};
use domain::plan::StationPlan;
use maud::{Markup, html};
use serde::Deserialize;
use std::sync::Arc;
use store::people::Role;

/// Which version is asked for, and what is chosen.
#[derive(Deserialize)]
pub struct Asked {
    version: Option<i64>,
    /// The supply chosen to be moved, as an index.
    supply: Option<usize>,
}

/// A station as its address counts it, from 1.
///
/// # Errors
/// When the plan has none of that number.
pub fn index(shown: &Shown, n: usize) -> Answer<usize> {
    let stations = shown.plan.stations.len();
    n.checked_sub(1)
        .filter(|s| *s < stations)
        .ok_or_else(|| Refusal::Missing(format!("The plan has {stations} stations; there is no station {n}.")))
}

/// The page of a station.
pub async fn page(State(room): State<Room>, who: Who, Path((name, n)): Path<(String, usize)>, Query(q): Query<Asked>) -> Answer<Markup> {
    let shown = Shown::load(&room, &name, q.version).await?;
    let s = index(&shown, n)?;
    let plan = Arc::clone(&shown.plan);
    let parts = aside(move || app::documents::work_of(&plan, s)).await?;
    let planned = &shown.plan.stations[s];
    let may = who.may(Role::Engineer) && shown.is_latest();
    let at = format!("{}/stations/{n}", shown.at());
    let form = may.then(|| format!("{at}?supply="));
    let chosen = q.supply.filter(|i| *i < planned.supplies.len());
    let wish = Wish {
        base: shown.head.version,
        station: n,
        supply: chosen.unwrap_or(0),
        to: String::new(),
        number: String::new(),
        then: String::new(),
    };
    let body = html! {
        (figures(&shown, planned))
        p.actions { a.button href={ (at) "/play" (shown.query()) } { "Play the program" } }
        section #set-up data-try=[may.then(|| format!("{}/try", shown.at()))] data-base=(shown.head.version) data-station=(n) {
            h2 { "Set-up" }
            @if may {
                p.quiet {
                    "Drag a feeder to another slot, or onto the tab of another station. By keys: choose it with " kbd { "Enter" } ", move with the arrow keys, "
                    kbd { "Enter" } " puts it there, " kbd { "Esc" } " lets go. What it costs is told before anything is kept."
                }
            }
            @match Setup::of(&shown.plan, s, form) {
                Some(setup) => (setup.markup()),
                None => p.quiet { "The line of this plan has no such station." }
            }
            p.unseen role="status" aria-live="assertive" data-say {}
            div #price aria-live="polite" {}
        }
        @if may && !planned.supplies.is_empty() {
            section #move {
                h2 { "Move by hand" }
                (change::form(&shown, &wish, None))
            }
        }
        section { h2 { "Where its seconds go" } (breakdown(planned)) }
        section #program {
            h2 { "Program" }
            @for part in &parts {
                @if part.table.rows.len() > 40 {
                    details { summary { (part.title) " (" (part.table.rows.len()) ")" } (super::sheets::table(part)) }
                } @else { h3 { (part.title) } (super::sheets::table(part)) }
            }
        }
        p.mind { b { "Mind: " } "gantries, feeders and the tape cutter crush and cut. Keep covers closed; never reach in while the machine can move. "
            a href={ (shown.at()) "/sheets" (shown.query()) } { "All cautions" } }
    };
    Ok(shown.page(&who, Here::Station(s), &format!("{}, station {}", name, planned.station), &body))
}

fn figures(shown: &Shown, planned: &StationPlan) -> Markup {
    let count = |f: fn(&domain::plan::Work) -> usize| planned.passes.iter().map(|p| f(&p.work)).sum::<usize>();
    let trips = count(|w| if let domain::plan::Work::Place { trips, .. } = w { trips.len() } else { 0 });
    html! {
        dl.figures {
            div { dt { "per panel" } dd { (exact(planned.time_us.0)) } }
            div { dt { "below the takt" } dd { (exact((shown.plan.takt_us - planned.time_us).0.max(0))) } }
            div { dt { "placed" } dd { (count(|w| w.placed().count())) } }
            div { dt { "supplies" } dd { (planned.supplies.len()) } }
            div { dt { "passes" } dd { (planned.passes.len()) } }
            @if trips > 0 { div { dt { "trips" } dd { (trips) } } }
        }
        @if planned.alternating { p.quiet { "Consecutive panels run the passes in alternating order." } }
    }
}

fn breakdown(planned: &StationPlan) -> Markup {
    let total = planned.time_us.0.max(1);
    html! {
        div.wide { table.seconds {
            thead { tr { th { "Cause" } th.right { "Seconds" } th.right { "Share" } th { "" } } }
            tbody {
                @for (name, time) in planned.breakdown.items() { @if time.0 > 0 { tr {
                    td { (name) }
                    td.right { (exact(time.0)) }
                    td.right { (format!("{:.1} %", 100.0 * time.0 as f64 / total as f64)) }
                    td { meter min="0" max="1" value=(format!("{:.4}", time.0 as f64 / total as f64)) aria-hidden="true" {} }
                } } }
                tr.total { td { "station" } td.right { (exact(planned.time_us.0)) } td {} td {} }
            }
        } }
    }
}
