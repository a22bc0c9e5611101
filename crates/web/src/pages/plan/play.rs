//! A station's program played in true time.

use super::{Here, Look, Shown, exact};
use crate::access::Who;
use crate::room::{Room, aside};
use crate::trouble::{Answer, Refusal};
use axum::Json;
use axum::extract::{Path, Query, State};
use axum::response::IntoResponse;
use maud::{Markup, PreEscaped, html};
use std::sync::Arc;

/// Speeds offered; the first is chosen.
const SPEEDS: [u32; 3] = [1, 5, 20];

/// The page on which it is played.
pub async fn page(State(room): State<Room>, who: Who, Path((name, n)): Path<(String, usize)>, Query(q): Query<Look>) -> Answer<Markup> {
    let shown = Shown::load(&room, &name, q.version).await?;
    let s = super::station::index(&shown, n)?;
    let plan = Arc::clone(&shown.plan);
    let stage = aside(move || app::pictures::stage(&plan, s)).await?;
    let stage =
        stage.ok_or_else(|| Refusal::Wrong("The station cannot be drawn: product or line of the plan are not sound.".to_owned()))?;
    let planned = &shown.plan.stations[s];
    let at = format!("{}/stations/{n}", shown.at());
    let body = html! {
        div.play data-play={ (at) "/play.json" (shown.fixed()) } data-scale=(stage.scale) data-left=(stage.left) data-bottom=(stage.bottom) data-panel={ (stage.panel.0) " " (stage.panel.1) } {
            div.tools {
                button type="button" data-do="play" aria-pressed="false" { "Play" }
                button.plain type="button" data-do="start" { "To the start" }
                fieldset.speed {
                    legend.unseen { "Speed" }
                    @for (i, x) in SPEEDS.iter().enumerate() { label { input type="radio" name="speed" value=(x) checked[i == 0]; "×" (x) } }
                }
                fieldset.speed {
                    legend.unseen { "What is shown" }
                    label { input type="radio" name="view" value="station" checked; "station" }
                    label { input type="radio" name="view" value="panel"; "panel" }
                }
                label.order hidden { "Panel" select data-do="order" { option value="beams" { "odd: passes forward" } option value="back" { "even: passes backward" } } }
                output data-clock { "0.00 s of " (exact(planned.time_us.0)) }
            }
            label.time { span.unseen { "Time within the panel" } input type="range" min="0" max=(planned.time_us.0) step="1000" value="0" data-do="time"; }
            ul.doing data-doing {}
            figure.picture { (PreEscaped(stage.svg.replacen("<svg ", "<svg class=\"picture\" ", 1))) }
            p.quiet {
                kbd { "Space" } " plays and pauses, " kbd { "←" } " and " kbd { "→" } " step. Grey bodies were placed by stations before; those of this station appear as they are placed. "
                "Rings are the heads; dashed squares stand for cameras, racks and the head changer."
            }
            noscript { p.warned { "Playing needs the script of this page. The program is listed on the page of the station." } }
        }
        p { a href={ (at) (shown.query()) } { "Back to the station" } }
    };
    Ok(shown.page(&who, Here::Station(s), &format!("{name}, station {}, played", planned.station), &body))
}

/// What each beam does when.
pub async fn steps(State(room): State<Room>, Path((name, n)): Path<(String, usize)>, Query(q): Query<Look>) -> Answer {
    let shown = Shown::load(&room, &name, q.version).await?;
    let s = super::station::index(&shown, n)?;
    let plan = Arc::clone(&shown.plan);
    let play = aside(move || app::play::play(&plan, s)).await??;
    Ok(Json(play).into_response())
}
