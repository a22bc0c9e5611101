//! The banks and tray places of a station, slot by slot, as tiles that can be taken and put elsewhere.
//!
//! A tile is a link to the form below with its feeder chosen, so that it works without the script; the script takes it by pointer or
//! keys (`plan.js`). Every place that something can be put on says where it is: `data-place` as the form has it, `data-number`.

use super::change::To;
use domain::line::{Bank, Station, TrayPlace};
use domain::plan::{Plan, StationPlan, SupplyPlace};
use domain::rules::Failure;
use maud::{Markup, html};

/// Slots and levels shown at most of one bank or tray place, so that a typing error on a sheet does not fill a page.
const MOST: u32 = 480;
/// Widest feeder that has a style of its own [slots].
const WIDEST: u32 = 12;

/// The set-up of one station.
pub struct Setup<'a> {
    /// The plan.
    pub plan: &'a Plan,
    /// The station, counted from 0.
    pub station: usize,
    /// What the sheet of the line says of it.
    pub sheet: &'a Station,
    /// What the plan says of it.
    pub planned: &'a StationPlan,
    /// How many parts a panel takes from each supply.
    pub counts: Vec<usize>,
    /// Where a tile leads; none for whoever may not move it.
    pub form: Option<String>,
}

impl<'a> Setup<'a> {
    /// The set-up of a station of the plan; `None` when plan or sheet has none.
    pub fn of(plan: &'a Plan, station: usize, form: Option<String>) -> Option<Self> {
        let planned = plan.stations.get(station)?;
        let sheet = plan.line.station.get(station)?;
        let mut counts = vec![0; planned.supplies.len()];
        for supply in planned.passes.iter().flat_map(|p| p.work.picked()) {
            if let Some(n) = counts.get_mut(supply as usize) {
                *n += 1;
            }
        }
        Some(Self { plan, station, sheet, planned, counts, form })
    }

    /// All of it.
    pub fn markup(&self) -> Markup {
        html! {
            @for (b, bank) in self.sheet.bank.iter().enumerate() { (self.bank(b, bank)) }
            @if !self.sheet.tray.is_empty() {
                div.trays { @for (t, place) in self.sheet.tray.iter().enumerate() { (self.tray(t, place)) } }
            }
        }
    }

    fn bank(&self, index: usize, bank: &Bank) -> Markup {
        let standing = self.standing(index);
        let used: u32 = standing.iter().map(|f| f.slots).sum();
        let place = To { station: self.station, on: Some(super::change::On::Bank(index)) };
        html! {
            section.bank aria-labelledby={ "bank-" (index) } {
                h3 id={ "bank-" (index) } {
                    (bank.name) " " small { (standing.len()) " feeders on " (used) " of " (bank.slots) " slots, " (bank.mount.word())
                        @if let Some(beam) = bank.beam { ", beam " (beam) } }
                }
                ol.slots data-bank=(bank.name) {
                    @for slot in self.slots(bank, &standing) { (self.slot(bank, &place, &slot)) }
                }
                @if bank.slots > MOST { p.quiet { "The first " (MOST) " slots are shown." } }
            }
        }
    }

    /// Feeders of a bank by their first slot.
    fn standing(&self, bank: usize) -> Vec<Standing> {
        let mut all: Vec<Standing> = self
            .planned
            .supplies
            .iter()
            .enumerate()
            .filter_map(|(supply, at)| match at.place {
                SupplyPlace::Feeder { bank: b, slot, feeder } if b as usize == bank => {
                    let slots = self.plan.line.feeder.get(feeder as usize).map_or(1, |k| k.slots.max(1));
                    Some(Standing { supply, slot, slots })
                }
                _ => None,
            })
            .collect();
        all.sort_by_key(|f| (f.slot, f.supply));
        all
    }

    /// What is drawn of a bank, from left to right.
    fn slots(&self, bank: &Bank, standing: &[Standing]) -> Vec<Drawn> {
        let mut drawn = Vec::new();
        let mut next = 1;
        for feeder in standing {
            drawn.extend((next..feeder.slot.min(bank.slots.min(MOST) + 1)).map(|s| self.free(bank, s)));
            // One that stands on another's slots is drawn beside it: nothing that the plan says is hidden.
            drawn.push(Drawn::Feeder(*feeder));
            next = next.max(feeder.slot.saturating_add(feeder.slots));
        }
        drawn.extend((next..=bank.slots.min(MOST)).map(|s| self.free(bank, s)));
        drawn
    }

    fn free(&self, bank: &Bank, slot: u32) -> Drawn {
        if self.is_down(&bank.name, slot) { Drawn::Down(slot) } else { Drawn::Free(slot) }
    }

    fn is_down(&self, bank: &str, slot: u32) -> bool {
        let here = |s: &str| s == self.sheet.name;
        self.plan.rules.down.iter().filter_map(|d| d.what().ok()).any(|failure| match failure {
            Failure::Station(s) => here(s),
            Failure::Bank(s, b) => here(s) && b == bank,
            Failure::Slots(s, b, from, to) => here(s) && b == bank && (from..=to).contains(&slot),
            _ => false,
        })
    }

    fn slot(&self, bank: &Bank, place: &To, drawn: &Drawn) -> Markup {
        match drawn {
            Drawn::Free(slot) => html! {
                li.slot.free data-place=(place.text()) data-number=(slot) data-words={ (bank.name) " " (slot) ", free" } { span.n { (slot) } }
            },
            Drawn::Down(slot) => html! { li.slot.down title={ "slot " (slot) " is down" } { span.n { (slot) } span.turned { "down" } } },
            Drawn::Feeder(f) => {
                let span = format!("slot feeder span-{}", f.slots.min(WIDEST));
                let slots = if f.slots > 1 { format!("{}–{}", f.slot, f.slot + f.slots - 1) } else { f.slot.to_string() };
                let words = format!("{} {slots}", bank.name);
                html! {
                    li class=(span) data-place=(place.text()) data-number=(f.slot) data-words={ (words) ", " (self.number(f.supply)) } {
                        (self.tile(f.supply, &slots, &words))
                    }
                }
            }
        }
    }

    fn number(&self, supply: usize) -> &str {
        let part = self.planned.supplies.get(supply).and_then(|s| self.plan.product.parts.get(s.part.index()));
        part.map_or("a part that the product does not have", |p| p.number.as_str())
    }

    /// A feeder or tray: its part, where it stands, how many a panel takes.
    fn tile(&self, supply: usize, at: &str, words: &str) -> Markup {
        let part = self.planned.supplies.get(supply).and_then(|s| self.plan.product.parts.get(s.part.index()));
        let number = self.number(supply);
        let count = self.counts.get(supply).copied().unwrap_or(0);
        let (value, package) = part.map_or(("", ""), |p| (p.value.as_str(), p.package.as_str()));
        let title =
            format!("{number} {value} {package}, {words}, {count} per panel{}", if self.is_held(number) { ", held by a rule" } else { "" });
        let inside = html! {
            span.n { (at) }
            span.turned { b { (number) } @if !value.is_empty() && value != number { " " span.value { (value) } } }
            span.count { @if self.is_held(number) { span.held title="held by a lock or keep of the rules" { "⚓" } } (count) }
        };
        html! {
            @match &self.form {
                Some(form) => a.tile href={ (form) (supply) "#move" } title=(title) data-supply=(supply) data-part=(number) draggable="false" { (inside) }
                None => span.tile title=(title) { (inside) }
            }
        }
    }

    fn is_held(&self, number: &str) -> bool {
        let rules = &self.plan.rules;
        rules.lock.iter().any(|l| l.part == number) || rules.keep.iter().any(|k| k.part == number && k.station == self.sheet.name)
    }

    fn tray(&self, index: usize, place: &TrayPlace) -> Markup {
        let to = To { station: self.station, on: Some(super::change::On::Tray(index)) };
        let down = self.plan.rules.down.iter().filter_map(|d| d.what().ok()).any(|f| match f {
            Failure::Station(s) => s == self.sheet.name,
            Failure::Tray(s, t) => s == self.sheet.name && t == place.name,
            _ => false,
        });
        let on = |level: u32| {
            let at = |p: &SupplyPlace| matches!(*p, SupplyPlace::Tray { tray, level: l } if tray as usize == index && l == level);
            self.planned.supplies.iter().position(|s| at(&s.place))
        };
        html! {
            section.tray aria-labelledby={ "tray-" (index) } {
                h3 id={ "tray-" (index) } { (place.name) " " small { "tray place, " (place.kind.word()) @if down { ", down" } } }
                ol.levels { @for level in 1..=place.levels().min(MOST) {
                    @match on(level) {
                        Some(supply) => li.level data-place=(to.text()) data-number=(level) data-words={ (place.name) " level " (level) ", " (self.number(supply)) } {
                            (self.tile(supply, &format!("level {level}"), &format!("{} level {level}", place.name)))
                        }
                        None if down => li.level.down { span.n { "level " (level) } " down" }
                        None => li.level.free data-place=(to.text()) data-number=(level) data-words={ (place.name) " level " (level) ", free" } { span.n { "level " (level) } }
                    }
                } }
            }
        }
    }
}

/// A feeder as it stands.
#[derive(Clone, Copy)]
struct Standing {
    supply: usize,
    slot: u32,
    slots: u32,
}

/// One cell of a bank.
enum Drawn {
    Free(u32),
    Down(u32),
    Feeder(Standing),
}
