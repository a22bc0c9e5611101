//! Ordering a plan: the form, and what becomes of it.

use crate::access::Who;
use crate::page::{self, Part};
use crate::pages::boards::panel::Asked;
use crate::pages::plan::{self, TAKEN};
use crate::room::{Room, aside};
use crate::trouble::{Answer, Refusal};
use crate::work::{self, MOST_SECONDS, Of, Order};
use axum::Form;
use axum::extract::{Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use diag::Finding;
use domain::job::{Job, Turned};
use domain::product::Side;
use domain::rules::Rules;
use maud::{Markup, html};
use serde::{Deserialize, Serialize};
use store::document::{Head, Kind};

/// Time for planning if none is said [s].
const SECONDS: u32 = 20;
/// Longest text of rules that is read [bytes].
pub const MOST_RULES: usize = 1 << 20;

/// The form as it is typed; the address of a new one may fill it.
#[derive(Clone, Debug, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Typed {
    product: String,
    line: String,
    locks: String,
    rules: String,
    from: String,
    keep_setup: String,
    seconds: String,
    seed: String,
    plan: String,
    #[serde(flatten)]
    panel: Asked,
}

/// An empty form, or one filled by the address.
pub async fn page(State(room): State<Room>, who: Who, Query(typed): Query<Typed>) -> Answer<Markup> {
    let typed = begun(&room, typed).await?;
    form_page(&room, &who, &typed, None, &[]).await
}

/// What the plan to begin with says of what was not said.
async fn begun(room: &Room, mut typed: Typed) -> Answer<Typed> {
    if typed.from.is_empty() {
        return Ok(typed);
    }
    let (head, made) = from_plan(room, &typed.from).await?;
    let fill = |field: &mut String, text: String| {
        if field.is_empty() {
            *field = text;
        }
    };
    let p = &made.panel;
    let (product, line) = plan::keep::inputs_of(room, &head, &made).await?;
    fill(&mut typed.product, product.map(|of| of.name).unwrap_or_default());
    fill(&mut typed.line, line.map(|of| of.name).unwrap_or_default());
    fill(&mut typed.plan, head.name);
    fill(&mut typed.panel.side, made.side.word().to_owned());
    if made.rules != Rules::default() && typed.locks.is_empty() {
        fill(&mut typed.rules, made.rules.to_text().map_err(Refusal::Failed)?);
    }
    if typed.panel.columns.is_empty() {
        let point = |p: units::Point| format!("{}x{}", p.x, p.y);
        typed.panel = Asked {
            side: typed.panel.side,
            columns: p.columns.to_string(),
            rows: p.rows.to_string(),
            pitch_x: p.pitch_x_um.to_string(),
            pitch_y: p.pitch_y_um.to_string(),
            rail_x: p.rail_x_um.to_string(),
            rail_y: p.rail_y_um.to_string(),
            turned: p.turned.word().to_owned(),
            marks: p.marks.map(point).unwrap_or_default(),
            bad_mark: p.bad_mark.map(point).unwrap_or_default(),
        };
    }
    Ok(typed)
}

/// A plan as lists name it, `NAME@VERSION`; the latest version without one.
async fn from_plan(room: &Room, text: &str) -> Answer<(Head, std::sync::Arc<domain::plan::Plan>)> {
    match text.rsplit_once('@').map(|(name, v)| (name, v.parse::<i64>())) {
        Some((name, Ok(version))) => room.plan(name, Some(version)).await,
        _ => room.plan(text, None).await,
    }
}

/// Orders what was typed; if it cannot be ordered, the form comes back as it was with what stands against it.
pub async fn order(State(room): State<Room>, who: Who, Form(typed): Form<Typed>) -> Answer {
    let ordered = match order_of(&room, &typed).await {
        Ok(order) => work::order(&room.store, &order, &who.name).await.map_err(Refusal::from),
        Err(refusal) => Err(refusal),
    };
    let (why, found) = match ordered {
        Ok(job) => return Ok(Redirect::to(&format!("/jobs/{}", job.id)).into_response()),
        Err(Refusal::Findings(found)) => ("The plan was not ordered; what stands against it is said below.".to_owned(), found),
        Err(Refusal::Wrong(why) | Refusal::Missing(why)) => (why, Vec::new()),
        Err(other) => return Err(other),
    };
    let body = form_page(&room, &who, &typed, Some(&why), &found).await?;
    Ok((StatusCode::UNPROCESSABLE_ENTITY, body).into_response() as Response)
}

/// What was typed, as an order of what is kept here now.
///
/// # Errors
/// What is wrong, in a sentence or as findings.
async fn order_of(room: &Room, typed: &Typed) -> Answer<Order> {
    let wrong = Refusal::Wrong;
    if typed.product.is_empty() || typed.line.is_empty() {
        return Err(wrong("Choose a board and a line.".to_owned()));
    }
    let missing = |what: &str, name: &str, e: Refusal| match e {
        Refusal::Missing(_) => Refusal::Wrong(format!("There is no {what} named `{name}` here any more; choose another one.")),
        other => other,
    };
    let (product_head, product) = room.product(&typed.product, None).await.map_err(|e| missing("board", &typed.product, e))?;
    let (line_head, _, _) = room.line(&typed.line, None).await.map_err(|e| missing("line", &typed.line, e))?;
    let text = typed.rules.trim();
    let locks = match (typed.locks.as_str(), text) {
        ("", _) => None,
        (_, text) if !text.is_empty() => return Err(wrong("Locks are either chosen or typed. Empty the text, or choose none.".to_owned())),
        (name, _) => {
            let (head, _, _) = room.locks(name, None).await.map_err(|e| missing("set of locks", name, e))?;
            Some(Of { name: head.name, version: head.version })
        }
    };
    if text.len() > MOST_RULES {
        return Err(wrong(format!("The rules are longer than {} KiB.", MOST_RULES >> 10)));
    }
    let rules = if text.is_empty() { None } else { Rules::parse("rules and locks", text).map(|_| Some(text.to_owned()))? };
    let from = match typed.from.as_str() {
        "" => None,
        name => {
            let (head, _) = from_plan(room, name).await.map_err(|e| missing("plan", name, e))?;
            Some(Of { name: head.name, version: head.version })
        }
    };
    let keep_setup = !typed.keep_setup.is_empty();
    if keep_setup && from.is_none() {
        return Err(wrong("A set-up can only be kept from a plan to begin with. Choose that plan.".to_owned()));
    }
    let (side, panel) = panel_of(&typed.panel, &product)?.parse()?;
    // What every plan of this panel would be refused for is told now, not by a job that fails.
    let sound = aside(move || Job::new(&product, side, panel).map(|_| ())).await?;
    sound?;
    let plan = match typed.plan.trim() {
        "" => format!("{} on {}", product_head.name, line_head.name),
        name => name.to_owned(),
    };
    if TAKEN.contains(&plan.as_str()) {
        return Err(wrong(format!("No plan can be named `{plan}`: the room has a page of that name.")));
    }
    Ok(Order {
        plan,
        product: Of { name: product_head.name, version: product_head.version },
        line: Of { name: line_head.name, version: line_head.version },
        locks,
        rules,
        from,
        keep_setup,
        side: Some(side),
        panel,
        seconds: number(&typed.seconds, u64::from(SECONDS), "seconds")
            .and_then(|s| u32::try_from(s).map_err(|_| Refusal::Wrong(format!("planning takes 1 to {MOST_SECONDS} seconds, not {s}"))))?,
        seed: number(&typed.seed, 1, "the seed")?,
    })
}

/// The panel with what is left empty said: a single board, its fuller side.
fn panel_of(typed: &Asked, product: &app::read::Product) -> Answer<Asked> {
    let or = |text: &str, empty: &str| if text.trim().is_empty() { empty.to_owned() } else { text.to_owned() };
    let fuller = if product.fitted_on(Side::Bottom) > product.fitted_on(Side::Top) { Side::Bottom } else { Side::Top };
    Ok(Asked {
        side: or(&typed.side, fuller.word()),
        columns: or(&typed.columns, "1"),
        rows: or(&typed.rows, "1"),
        pitch_x: or(&typed.pitch_x, "0mm"),
        pitch_y: or(&typed.pitch_y, "0mm"),
        rail_x: or(&typed.rail_x, "0mm"),
        rail_y: or(&typed.rail_y, "0mm"),
        ..typed.clone()
    })
}

fn number(text: &str, empty: u64, what: &str) -> Answer<u64> {
    match text.trim() {
        "" => Ok(empty),
        text => text.parse().map_err(|_| Refusal::Wrong(format!("`{text}` is no whole number for {what}."))),
    }
}

async fn form_page(room: &Room, who: &Who, typed: &Typed, why: Option<&str>, found: &[Finding]) -> Answer<Markup> {
    let (products, lines) = (room.store.list(Kind::Product).await?, room.store.list(Kind::Line).await?);
    let (locks, plans) = (room.store.list(Kind::Locks).await?, room.store.list(Kind::Plan).await?);
    let body = html! {
        (plan::assets())
        @if let Some(why) = why { p.refused role="alert" { (why) } }
        (page::findings(found))
        @if products.is_empty() { p.warned { "No board is known yet: " a href="/boards" { "read one" } " first." } }
        @if lines.is_empty() { p.warned { "No line is known yet: " a href="/lines" { "describe one" } " first." } }
        form.stack method="post" action="/plans" data-guard=(if why.is_some() { "unsaved" } else { "" }) {
            (choice("Board", "product", "choose a board", products.iter().map(|h| h.name.clone()), &typed.product, true))
            (side(&typed.panel.side))
            (choice("Line", "line", "choose a line", lines.iter().map(|h| h.name.clone()), &typed.line, true))
            (panel_fields(&typed.panel))
            fieldset {
                legend { "Rules and locks" }
                (choice("Kept here", "locks", "none", locks.iter().map(|h| h.name.clone()), &typed.locks, false))
                details open[!typed.rules.is_empty()] {
                    summary { "Or typed" }
                    label { "As a locks file (TOML)" textarea.rules name="rules" rows="10" spellcheck="false" { (typed.rules) } }
                }
            }
            fieldset {
                legend { "To begin with" }
                (choice("Plan", "from", "none: begin anew", with_chosen(&plans, &typed.from), &typed.from, false))
                label { input type="checkbox" name="keep_setup" value="yes" checked[!typed.keep_setup.is_empty()]; "Leave its whole set-up as it stands" }
            }
            div.row {
                label { "Seconds of planning" input name="seconds" inputmode="numeric" value=(shown(&typed.seconds, &SECONDS.to_string())) autocomplete="off"; }
                label { "Seed" input name="seed" inputmode="numeric" value=(shown(&typed.seed, "1")) autocomplete="off"; }
            }
            label { "Name of the plan" input name="plan" value=(typed.plan) maxlength="120" placeholder="BOARD on LINE" autocomplete="off";
                small.quiet { "Left empty, it is named after board and line. A plan of that name gets one more version; older ones stay." } }
            button { "Order the plan" }
        }
    };
    Ok(page::page(who, Part::Plans, "Order a plan", &body))
}

fn shown(typed: &str, otherwise: &str) -> String {
    if typed.is_empty() { otherwise.to_owned() } else { typed.to_owned() }
}

/// Latest versions, and the one that is chosen if it is none of them.
fn with_chosen(plans: &[Head], chosen: &str) -> Vec<String> {
    let mut all: Vec<String> = plans.iter().map(plan::named).collect();
    if !chosen.is_empty() && !all.iter().any(|n| n == chosen) {
        all.insert(0, chosen.to_owned());
    }
    all
}

fn choice(label: &str, name: &str, none: &str, all: impl IntoIterator<Item = String>, chosen: &str, required: bool) -> Markup {
    html! {
        label { (label) select name=(name) required[required] {
            option value="" { (none) }
            @for n in all { option value=(n) selected[n == chosen] { (n) } }
        } }
    }
}

fn side(chosen: &str) -> Markup {
    html! {
        label { "Side" select name="side" {
            option value="" { "the fuller one" }
            @for s in [Side::Top, Side::Bottom] { option value=(s.word()) selected[s.word() == chosen] { (s.word()) } }
        } }
    }
}

fn panel_fields(p: &Asked) -> Markup {
    let field = |label: &str, name: &str, value: &str| html! { label { (label) input name=(name) value=(value) autocomplete="off"; } };
    let is_plain = [&p.columns, &p.rows].iter().all(|t| t.is_empty() || *t == "1") && p.marks.is_empty() && p.bad_mark.is_empty();
    html! {
        details.panel open[!is_plain] {
            summary { "Panel" @if is_plain { " (a single board)" } }
            div.row { (field("Boards along X", "columns", &shown(&p.columns, "1"))) (field("Boards along Y", "rows", &shown(&p.rows, "1"))) }
            div.row { (field("From board to board along X", "pitch_x", &p.pitch_x)) (field("From board to board along Y", "pitch_y", &p.pitch_y)) }
            div.row { (field("Rail left and right", "rail_x", &p.rail_x)) (field("Rail below and above", "rail_y", &p.rail_y)) }
            label { "Boards turned by 180°: every other of" select name="turned" {
                @for t in Turned::ALL { option selected[t.word() == p.turned] { (t.word()) } }
            } }
            (field("Marks of the panel from its corners, such as 5mmx3.5mm; empty for those of the boards", "marks", &p.marks))
            (field("Bad-board spot of each board, such as 2mmx3mm; empty for none", "bad_mark", &p.bad_mark))
            p.quiet { "Lengths have a unit (" code { "60 mm" } ", " code { "0.5 in" } "); without one they are millimetres." }
        }
    }
}
