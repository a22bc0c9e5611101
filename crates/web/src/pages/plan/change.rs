//! A change by hand: what is wished for, what it costs.

use super::{Here, Shown, change_of, exact};
use crate::access::Who;
use crate::room::{Room, aside};
use crate::trouble::{Answer, Refusal};
use app::try_out::{Change, Place, PlaceRef, Price, try_out};
use axum::extract::{Path, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::{Form, Json};
use diag::Finding;
use domain::plan::{Plan, SupplyPlace};
use maud::{Markup, html};
use serde::{Deserialize, Serialize};
use std::sync::Arc;

/// What is wished for, as the form has it.
#[derive(Clone, Debug, Deserialize, Serialize)]
pub struct Wish {
    /// The version that it is about.
    pub base: i64,
    /// The station something is taken from, counted from 1.
    pub station: usize,
    /// What is taken: index into the supplies of the station.
    pub supply: usize,
    /// Where it goes; see [`To`].
    #[serde(default)]
    pub to: String,
    /// Slot or level; empty where the best place is wanted.
    #[serde(default)]
    pub number: String,
    /// What comes after keeping it: `plan` to plan on.
    #[serde(default, skip_serializing)]
    pub then: String,
}

/// Where something goes, as forms and tiles write it: `2` is station 2, `2.b1` its first bank, `2.t1` its first tray place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct To {
    /// The station, counted from 0.
    pub station: usize,
    /// The bank or tray place; the best place at the station if not given.
    pub on: Option<On>,
}

/// A bank or tray place, counted from 0.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum On {
    /// A bank.
    Bank(usize),
    /// A tray place.
    Tray(usize),
}

impl To {
    /// As forms write it.
    pub fn text(&self) -> String {
        let station = self.station + 1;
        match self.on {
            None => station.to_string(),
            Some(On::Bank(b)) => format!("{station}.b{}", b + 1),
            Some(On::Tray(t)) => format!("{station}.t{}", t + 1),
        }
    }

    /// Reads it.
    fn read(text: &str) -> Option<Self> {
        let from_one = |t: &str| t.parse::<usize>().ok()?.checked_sub(1);
        let (station, on) = match text.split_once('.') {
            None => (text, None),
            Some((station, on)) => match (on.strip_prefix('b'), on.strip_prefix('t')) {
                (Some(b), _) => (station, Some(On::Bank(from_one(b)?))),
                (_, Some(t)) => (station, Some(On::Tray(from_one(t)?))),
                _ => return None,
            },
        };
        Some(Self { station: from_one(station)?, on })
    }
}

impl Wish {
    /// The change it means for a plan.
    ///
    /// # Errors
    /// When it names what the plan does not have, or no place.
    pub fn change(&self, plan: &Plan) -> Answer<Change> {
        let wrong = |text: &str| Refusal::Wrong(text.to_owned());
        let from = self.station.checked_sub(1).and_then(|s| Some((plan.stations.get(s)?, plan.line.station.get(s)?)));
        let (planned, sheet) = from.ok_or_else(|| wrong("The plan has no such station."))?;
        let supply = planned.supplies.get(self.supply).ok_or_else(|| wrong("Nothing such stands at this station."))?;
        let part = plan
            .product
            .parts
            .get(supply.part.index())
            .ok_or_else(|| wrong("What stands there is no part of the product."))?
            .number
            .clone();
        let to = To::read(&self.to).ok_or_else(|| wrong("Say where it is to go: choose a bank, a tray place or a station."))?;
        let target = plan.line.station.get(to.station).ok_or_else(|| wrong("The line has no such station to move it to."))?;
        let number = match self.number.trim() {
            "" => None,
            text => Some(text.parse::<u32>().map_err(|_| Refusal::Wrong(format!("`{text}` is no number of a slot or level.")))?),
        };
        let wanted = |what: &str| number.ok_or_else(|| Refusal::Wrong(format!("Say which {what} it is to go to.")));
        let place = match to.on {
            None => None,
            Some(On::Bank(b)) => {
                let bank = target.bank.get(b).ok_or_else(|| wrong("The station has no such bank."))?;
                Some(Place::Bank { bank: bank.name.clone(), slot: wanted("slot")? })
            }
            Some(On::Tray(t)) => {
                let tray = target.tray.get(t).ok_or_else(|| wrong("The station has no such tray place."))?;
                Some(Place::Tray { tray: tray.name.clone(), level: if tray.levels() > 1 { wanted("level")? } else { number.unwrap_or(1) } })
            }
        };
        match (place, &supply.place) {
            (Some(Place::Bank { bank, slot }), SupplyPlace::Feeder { bank: stood, slot: first, .. }) if to.station + 1 == self.station => {
                let there =
                    sheet.bank.get(*stood as usize).ok_or_else(|| wrong("The feeder stands on a bank that the sheet does not have."))?;
                let from = PlaceRef { bank: there.name.clone(), slot: *first };
                Ok(Change::MoveFeeder { station: sheet.name.clone(), part, from, bank, slot })
            }
            (place, _) => Ok(Change::MovePart { part, from: Some(sheet.name.clone()), to: target.name.clone(), head: None, place }),
        }
    }

    /// In words, for a plan that has what it names.
    pub fn words(&self, plan: &Plan) -> String {
        match self.change(plan) {
            Ok(Change::MoveFeeder { station, part, from, bank, slot }) => {
                format!("the feeder of {part} from {station} {} {} to {bank} {slot}", from.bank, from.slot)
            }
            Ok(Change::MovePart { part, from, to, place, .. }) => {
                let from = from.map(|f| format!(" from {f}")).unwrap_or_default();
                let place = match place {
                    None => String::new(),
                    Some(Place::Bank { bank, slot }) => format!(", {bank} {slot}"),
                    Some(Place::Tray { tray, level }) => format!(", {tray} level {level}"),
                };
                format!("{part}{from} to {to}{place}")
            }
            Err(refusal) => refusal.sentence(),
        }
    }

    /// The same wish for another version of the plan, where the same part still stands at the same place.
    pub fn again(&self, old: &Plan, new: &Plan, base: i64) -> Option<Self> {
        let s = self.station.checked_sub(1)?;
        let (was, part) = part_at(old, s, self.supply)?;
        let supply = (0..new.stations.get(s)?.supplies.len()).find(|i| part_at(new, s, *i) == Some((was, part)))?;
        Some(Self { base, supply, ..self.clone() })
    }

    /// As hidden fields of a form.
    pub fn hidden(&self) -> Markup {
        html! {
            input type="hidden" name="base" value=(self.base);
            input type="hidden" name="station" value=(self.station);
            input type="hidden" name="supply" value=(self.supply);
            input type="hidden" name="to" value=(self.to);
            input type="hidden" name="number" value=(self.number);
        }
    }
}

fn part_at(plan: &Plan, station: usize, supply: usize) -> Option<(&SupplyPlace, &str)> {
    let at = plan.stations.get(station)?.supplies.get(supply)?;
    Some((&at.place, plan.product.parts.get(at.part.index())?.number.as_str()))
}

/// The form that moves something, with what was typed; `why` says what was wrong with it.
pub fn form(shown: &Shown, wish: &Wish, why: Option<&str>) -> Markup {
    let plan = &shown.plan;
    let Some(s) = wish.station.checked_sub(1).filter(|s| *s < plan.stations.len().min(plan.line.station.len())) else { return html! {} };
    let (planned, sheet) = (&plan.stations[s], &plan.line.station[s]);
    let label = |i: usize| {
        let place = match planned.supplies[i].place {
            SupplyPlace::Feeder { bank, slot, .. } => sheet.bank.get(bank as usize).map(|b| format!("{} {slot}", b.name)),
            SupplyPlace::Tray { tray, level } => sheet.tray.get(tray as usize).map(|t| format!("{} level {level}", t.name)),
        };
        let part = plan.product.parts.get(planned.supplies[i].part.index()).map_or("?", |p| p.number.as_str());
        format!("{part} at {}", place.unwrap_or_else(|| "?".to_owned()))
    };
    let mut order: Vec<usize> = (0..planned.supplies.len()).collect();
    order.sort_by_key(|i| label(*i));
    let option = |to: To, words: String| html! { option value=(to.text()) selected[to.text() == wish.to] { (words) } };
    html! {
        form.stack method="post" action={ (shown.at()) "/try" } {
            input type="hidden" name="base" value=(wish.base);
            input type="hidden" name="station" value=(wish.station);
            @if let Some(why) = why { p.refused role="alert" { (why) } }
            label { "What is moved"
                select name="supply" { @for i in order { option value=(i) selected[i == wish.supply] { (label(i)) } } }
            }
            label { "Where to"
                select name="to" {
                    @for (t, station) in plan.line.station.iter().enumerate() {
                        optgroup label=(station.name) {
                            @if t != s { (option(To { station: t, on: None }, format!("{}: the best free place", station.name))) }
                            @for (b, bank) in station.bank.iter().enumerate() {
                                (option(To { station: t, on: Some(On::Bank(b)) }, format!("{}: {}, slots 1 to {}", station.name, bank.name, bank.slots)))
                            }
                            @for (p, place) in station.tray.iter().enumerate() {
                                (option(To { station: t, on: Some(On::Tray(p)) }, format!("{}: {}, levels 1 to {}", station.name, place.name, place.levels())))
                            }
                        }
                    }
                }
            }
            label { "Slot or level" input name="number" inputmode="numeric" pattern="[0-9]*" value=(wish.number); }
            button { "What would it cost?" }
        }
    }
}

/// A price with the wish it is for, as the script gets it.
#[derive(Serialize)]
struct Priced<'a> {
    #[serde(flatten)]
    price: &'a Price,
    /// What is moved, in words.
    words: String,
    /// The fields of the form that keeps it.
    wish: &'a Wish,
}

/// How far a change is worked out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pains {
    /// Timed by the clock: what is told while somebody drags.
    Timed,
    /// Timed by the clock and accepted by the checker: what can be kept.
    Checked,
}

/// Prices a wish on the version it is about.
///
/// # Errors
/// What is wrong with it.
pub async fn price(shown: &Shown, wish: &Wish, pains: Pains) -> Answer<Result<Price, Vec<Finding>>> {
    let change = wish.change(&shown.plan)?;
    let plan = Arc::clone(&shown.plan);
    aside(move || match pains {
        Pains::Timed => app::try_out::price(&plan, &change),
        Pains::Checked => try_out(&plan, &change),
    })
    .await
}

/// Tells what a change would cost; nothing is kept.
pub async fn try_it(State(room): State<Room>, who: Who, Path(name): Path<String>, headers: HeaderMap, Form(wish): Form<Wish>) -> Answer {
    let shown = Shown::load(&room, &name, Some(wish.base)).await?;
    let wants_json = headers.get(header::ACCEPT).is_some_and(|v| v.to_str().is_ok_and(|v| v.contains("application/json")));
    let pains = if wants_json { Pains::Timed } else { Pains::Checked };
    let result = match price(&shown, &wish, pains).await {
        Err(Refusal::Wrong(why)) if !wants_json => return Ok(refused(&shown, &who, &wish, &why, &[])),
        other => other?,
    };
    match result {
        Ok(price) if wants_json => Ok(Json(Priced { price: &price, words: wish.words(&shown.plan), wish: &wish }).into_response()),
        Ok(price) => Ok(priced(&shown, &who, &wish, &price).into_response()),
        Err(found) if wants_json => Err(found.into()),
        Err(found) => Ok(refused(&shown, &who, &wish, "This change cannot be made; why is said below.", &found)),
    }
}

fn here(wish: &Wish) -> Here {
    Here::Station(wish.station.saturating_sub(1))
}

/// The form again, with what stands against it.
pub fn refused(shown: &Shown, who: &Who, wish: &Wish, why: &str, found: &[Finding]) -> Response {
    let body = html! {
        (form(shown, wish, Some(why)))
        (crate::page::findings(found))
        p { a href={ (shown.at()) "/stations/" (wish.station) } { "Back to the station" } }
    };
    (StatusCode::UNPROCESSABLE_ENTITY, shown.page(who, here(wish), "Not possible", &body)).into_response()
}

fn priced(shown: &Shown, who: &Who, wish: &Wish, price: &Price) -> Markup {
    let d = price.takt_after_us - price.takt_before_us;
    let body = html! {
        p.outcome { "Moving " (wish.words(&shown.plan)) ":" }
        dl.figures {
            div { dt { "takt now" } dd { (exact(price.takt_before_us.0)) } }
            div { dt { "takt then" } dd.warn[d.0 > 0] { (exact(price.takt_after_us.0)) } }
            div { dt { "change" } dd { (change_of(d.0)) } }
            div { dt { "bound with it" } dd { (exact(price.bound_us.0)) } }
        }
        ul { @for told in &price.told { li { (told) } } }
        div.wide { table {
            thead { tr { th { "Station" } th.right { "Now" } th.right { "Then" } th.right { "Change" } } }
            tbody { @for s in &price.stations { tr {
                td { (s.name) } td.right { (exact(s.before_us.0)) } td.right { (exact(s.after_us.0)) } td.right { (change_of((s.after_us - s.before_us).0)) }
            } } }
        } }
        (keep_form(shown, wish))
        section { details { summary { "Move something else" } (form(shown, wish, None)) } }
    };
    shown.page(who, here(wish), "What it costs", &body)
}

/// The form that keeps a change.
pub fn keep_form(shown: &Shown, wish: &Wish) -> Markup {
    html! {
        form.row method="post" action={ (shown.at()) "/keep" } {
            (wish.hidden())
            button name="then" value="look" { "Keep it as a new version" }
            button.plain name="then" value="plan" { "Keep it and plan on" }
            a href={ (shown.at()) "/stations/" (wish.station) } { "Leave it" }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_read_back() {
        let all = [To { station: 0, on: None }, To { station: 2, on: Some(On::Bank(1)) }, To { station: 11, on: Some(On::Tray(0)) }];
        assert!(all.iter().all(|t| To::read(&t.text()) == Some(*t)));
        assert!(["", "0", "1.b0", "1.x1", "b1", "1.b"].iter().all(|t| To::read(t).is_none()));
    }
}
