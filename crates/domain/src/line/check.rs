//! What must be true of a sheet beyond its form.

mod kind;

use super::{Axis, Bank, BankMount, Head, HeadKind, Line, SCHEMA, SightMode, Station, StationKind, TrayKind, TrayPlace};
use crate::part::{NozzleClass, Supply};
use diag::{Code, Finding, codes};
use std::collections::{BTreeMap, HashSet};

/// Collects findings about one sheet.
struct Check<'a> {
    file: &'a str,
    findings: Vec<Finding>,
}

impl Check<'_> {
    fn add(&mut self, code: &'static Code, message: String, value: &str) {
        self.findings.push(Finding::new(code, message).at(self.file, 0).value(value));
    }

    fn positive(&mut self, what: String, value: i64, shown: &str) {
        if value <= 0 {
            self.add(codes::line::OUT_OF_RANGE, format!("{what} must be more than zero"), shown);
        }
    }

    fn not_negative(&mut self, what: String, value: i64, shown: &str) {
        if value < 0 {
            self.add(codes::line::OUT_OF_RANGE, format!("{what} must not be negative"), shown);
        }
    }

    fn missing(&mut self, place: &str, key: &str, why: &str) {
        self.add(codes::line::MISSING_KEY, format!("{place} has no `{key}`, which {why} needs"), key);
    }

    fn unique<'n>(&mut self, what: &str, names: impl Iterator<Item = &'n String>) {
        let mut seen = HashSet::new();
        for name in names {
            if name.trim().is_empty() {
                self.add(codes::line::MISSING_KEY, format!("a {what} has an empty name"), name);
            } else if !seen.insert(name) {
                self.add(codes::line::DUPLICATE_NAME, format!("two {what}s are called `{name}`"), name);
            }
        }
    }
}

impl Line {
    /// Everything wrong with the sheet that its form does not show.
    pub fn check(&self, file: &str) -> Vec<Finding> {
        let mut c = Check { file, findings: Vec::new() };
        if self.schema != SCHEMA {
            c.add(codes::line::SCHEMA, format!("this program reads `{SCHEMA}`"), &self.schema);
        }
        if self.station.is_empty() {
            c.add(codes::line::EMPTY, "the sheet has no station".to_owned(), &self.name);
        }
        c.unique("station", self.station.iter().map(|s| &s.name));
        c.unique("feeder", self.feeder.iter().map(|f| &f.name));
        c.unique("nozzle", self.nozzle.iter().map(|n| &n.name));
        c.unique("cart", self.cart.iter().map(|k| &k.name));
        c.not_negative("clearance.reach".to_owned(), self.clearance.reach.0.0, &self.clearance.reach.0.to_string());
        c.positive("clearance.height_step".to_owned(), self.clearance.height_step.0.0, &self.clearance.height_step.0.to_string());
        if self.clearance.steps.windows(2).any(|w| w[0].0 >= w[1].0) {
            c.add(codes::line::OUT_OF_RANGE, "clearance.steps must rise".to_owned(), "steps");
        }
        self.check_feeders(&mut c);
        for e in &self.equipment {
            c.not_negative(format!("equipment `{}`: time", e.name), e.time.0.0, &e.time.0.to_string());
        }
        for s in &self.station {
            self.check_station(&mut c, s);
        }
        self.check_carts(&mut c);
        c.findings
    }

    fn check_feeders(&self, c: &mut Check<'_>) {
        for f in &self.feeder {
            let place = format!("feeder `{}`", f.name);
            c.positive(format!("{place}: slots"), f.slots.into(), &f.slots.to_string());
            c.positive(format!("{place}: advance_step"), f.advance_step.0.0, &f.advance_step.0.to_string());
            c.not_negative(format!("{place}: advance"), f.advance.0.0, &f.advance.0.to_string());
            match (f.supply, f.tape_width, f.max_body) {
                (Supply::Tape, None, _) => c.missing(&place, "tape_width", "a tape feeder"),
                (Supply::Stick, _, None) => c.missing(&place, "max_body", "a stick feeder"),
                (Supply::Tray, _, _) => {
                    c.add(codes::line::OUT_OF_RANGE, format!("{place}: trays stand on tray places, not on feeders"), "tray");
                }
                _ => {}
            }
        }
    }

    fn check_carts(&self, c: &mut Check<'_>) {
        let mut used: BTreeMap<&str, u32> = BTreeMap::new();
        for bank in self.station.iter().flat_map(|s| &s.bank) {
            if let (BankMount::Cart, Some(cart)) = (bank.mount, &bank.cart) {
                *used.entry(cart).or_default() += 1;
            }
        }
        for (cart, count) in used {
            match self.cart.iter().find(|k| k.name == cart) {
                None => c.add(codes::line::UNKNOWN_NAME, format!("no [[cart]] is called `{cart}`"), cart),
                Some(k) if k.stock < count => {
                    c.add(codes::line::OUT_OF_RANGE, format!("{count} banks take cart `{cart}`, stock is {}", k.stock), cart);
                }
                Some(_) => {}
            }
        }
    }

    fn check_station(&self, c: &mut Check<'_>, s: &Station) {
        let place = format!("station `{}`", s.name);
        for (what, t) in [
            ("transfer", s.transfer),
            ("clamp", s.clamp),
            ("settle_pick", s.settle_pick),
            ("settle_place", s.settle_place),
            ("fiducial", s.fiducial),
        ] {
            c.not_negative(format!("{place}: {what}"), t.0.0, &t.0.to_string());
        }
        for (what, l) in [("max_panel.x", s.max_panel.x), ("max_panel.y", s.max_panel.y)] {
            c.positive(format!("{place}: {what}"), l.0.0, &l.0.to_string());
        }
        check_axis(c, &format!("{place}: axes.x"), &s.axes.x);
        check_axis(c, &format!("{place}: axes.y"), &s.axes.y);
        if s.head.is_empty() {
            c.add(codes::line::EMPTY, format!("{place} has no head"), &s.name);
        }
        kind::check(c, &place, s);
        if s.kind == StationKind::Gantry && s.head.len() > 1 && s.head_swap.is_none() {
            c.missing(&place, "head_swap", "a station with several heads");
        }
        if let Some(swap) = &s.head_swap {
            c.not_negative(format!("{place}: head_swap.time"), swap.time.0.0, &swap.time.0.to_string());
        }
        if let Some(rack) = &s.nozzle_rack {
            c.not_negative(format!("{place}: nozzle_rack.change"), rack.change.0.0, &rack.change.0.to_string());
        }
        if let Some(i) = &s.inspection {
            c.positive(format!("{place}: inspection.field.x"), i.field.x.0.0, &i.field.x.0.to_string());
            c.positive(format!("{place}: inspection.field.y"), i.field.y.0.0, &i.field.y.0.to_string());
            c.not_negative(format!("{place}: inspection.time"), i.time.0.0, &i.time.0.to_string());
        }
        c.unique("head", s.head.iter().map(|h| &h.name));
        c.unique("bank", s.bank.iter().map(|b| &b.name));
        c.unique("tray place", s.tray.iter().map(|t| &t.name));
        for h in &s.head {
            self.check_head(c, &format!("{place}, head `{}`", h.name), h);
        }
        for b in &s.bank {
            check_bank(c, &format!("{place}, bank `{}`", b.name), b);
        }
        for t in &s.tray {
            check_tray(c, &format!("{place}, tray place `{}`", t.name), t);
        }
    }

    fn check_head(&self, c: &mut Check<'_>, place: &str, h: &Head) {
        c.positive(format!("{place}: spindles"), h.spindles.into(), &h.spindles.to_string());
        if h.spindles > 32 {
            c.add(codes::line::OUT_OF_RANGE, format!("{place}: at most 32 spindles are planned"), &h.spindles.to_string());
        }
        for (what, t) in [("pick", h.pick), ("place", h.place), ("turn_90", h.turn_90)] {
            c.not_negative(format!("{place}: {what}"), t.0.0, &t.0.to_string());
        }
        match h.kind {
            HeadKind::Inline => match h.pitch {
                None if h.spindles > 1 => c.missing(place, "pitch", "an inline head"),
                Some(p) => c.positive(format!("{place}: pitch"), p.0.0, &p.0.to_string()),
                None => {}
            },
            HeadKind::Rotary => match h.index {
                None => c.missing(place, "index", "a rotary head"),
                Some(t) => c.positive(format!("{place}: index"), t.0.0, &t.0.to_string()),
            },
            HeadKind::Single | HeadKind::Dispense => {
                if h.spindles > 1 {
                    c.add(codes::line::OUT_OF_RANGE, format!("{place}: this kind of head has one spindle"), &h.spindles.to_string());
                }
            }
        }
        if h.kind == HeadKind::Dispense {
            match h.dot {
                None => c.missing(place, "dot", "a dispense head"),
                Some(t) => c.not_negative(format!("{place}: dot"), t.0.0, &t.0.to_string()),
            }
            return;
        }
        match &h.envelope {
            None => c.missing(place, "envelope", "a head that places"),
            Some(e) => {
                c.not_negative(format!("{place}: envelope.min_side"), e.min_side.0.0, &e.min_side.0.to_string());
                c.positive(format!("{place}: envelope.max_height"), e.max_height.0.0, &e.max_height.0.to_string());
                if e.max_short.0 < e.min_side.0 || e.max_long.0 < e.max_short.0 {
                    c.add(
                        codes::line::OUT_OF_RANGE,
                        format!("{place}: envelope needs min_side ≤ max_short ≤ max_long"),
                        &e.max_short.0.to_string(),
                    );
                }
            }
        }
        match h.accuracy {
            None => c.missing(place, "accuracy", "a head that places"),
            Some(a) => c.positive(format!("{place}: accuracy"), a.0.0, &a.0.to_string()),
        }
        match &h.sight {
            None => c.missing(place, "sight", "a head that places"),
            Some(s) => {
                c.not_negative(format!("{place}: sight.time"), s.time.0.0, &s.time.0.to_string());
                if s.mode == SightMode::Camera {
                    if s.at.is_none() {
                        c.missing(place, "sight.at", "sight at a camera");
                    }
                    match s.field {
                        None => c.missing(place, "sight.field", "sight at a camera"),
                        Some(f) => c.positive(format!("{place}: sight.field"), f.0.0, &f.0.to_string()),
                    }
                }
            }
        }
        if h.nozzles.is_empty() {
            c.missing(place, "nozzles", "a head that places");
        }
        for name in &h.nozzles {
            match self.nozzle_named(name) {
                None => c.add(codes::line::UNKNOWN_NAME, format!("{place}: no [[nozzle]] is called `{name}`"), name),
                Some(n) if n.classes.contains(&NozzleClass::Gripper) && h.kind == HeadKind::Rotary => {
                    c.add(codes::line::OUT_OF_RANGE, format!("{place}: a drum does not take the gripper `{name}`"), name);
                }
                Some(_) => {}
            }
        }
    }
}

fn check_axis(c: &mut Check<'_>, place: &str, axis: &Axis) {
    c.positive(format!("{place}.speed"), axis.speed.0.0, &axis.speed.0.to_string());
    c.positive(format!("{place}.acceleration"), axis.acceleration.0.0, &axis.acceleration.0.to_string());
    if let Some(j) = axis.jerk {
        c.positive(format!("{place}.jerk"), j.0.0, &j.0.to_string());
    }
}

fn check_bank(c: &mut Check<'_>, place: &str, b: &Bank) {
    c.positive(format!("{place}: slots"), b.slots.into(), &b.slots.to_string());
    if b.slots > 1_000 {
        c.add(codes::line::OUT_OF_RANGE, format!("{place}: at most 1000 slots are planned"), &b.slots.to_string());
    }
    c.positive(format!("{place}: pitch"), b.pitch.0.0, &b.pitch.0.to_string());
    if b.mount == BankMount::Cart && b.cart.is_none() {
        c.missing(place, "cart", "a bank on a cart");
    }
}

fn check_tray(c: &mut Check<'_>, place: &str, t: &TrayPlace) {
    c.not_negative(format!("{place}: change"), t.change.0.0, &t.change.0.to_string());
    match (t.kind, t.stack_height, t.levels) {
        (TrayKind::Stack, None, _) => c.missing(place, "stack_height", "a stack"),
        (TrayKind::Stack, Some(h), _) => c.positive(format!("{place}: stack_height"), h.0.0, &h.0.to_string()),
        (TrayKind::Magazine, _, None) => c.missing(place, "levels", "a magazine"),
        (TrayKind::Magazine, _, Some(n)) => c.positive(format!("{place}: levels"), n.into(), &n.to_string()),
        (TrayKind::Fixed, _, _) => {}
    }
}
