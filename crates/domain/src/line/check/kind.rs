//! What two-beam stations and turrets must have, and what they cannot have.

use super::{Check, check_axis};
use crate::line::{HeadKind, SightMode, Station, StationKind};
use diag::codes;

pub(super) fn check(c: &mut Check<'_>, place: &str, s: &Station) {
    match s.kind {
        StationKind::Gantry => no_beams(c, place, s),
        StationKind::TwoBeam => two_beams(c, place, s),
        StationKind::Turret => {
            no_beams(c, place, s);
            turret(c, place, s);
        }
    }
    if s.kind != StationKind::Turret && s.turret.is_some() {
        c.add(codes::line::OUT_OF_RANGE, format!("{place}: only a turret has a `turret`"), s.kind.word());
    }
}

/// Everything that can say which beam it belongs to.
fn of_beams(s: &Station) -> impl Iterator<Item = (String, Option<u8>)> + '_ {
    let heads = s.head.iter().map(|h| (format!("head `{}`", h.name), h.beam));
    let banks = s.bank.iter().map(|b| (format!("bank `{}`", b.name), b.beam));
    let trays = s.tray.iter().map(|t| (format!("tray place `{}`", t.name), t.beam));
    heads.chain(banks).chain(trays)
}

fn no_beams(c: &mut Check<'_>, place: &str, s: &Station) {
    for (what, beam) in of_beams(s) {
        if let Some(beam) = beam {
            c.add(codes::line::OUT_OF_RANGE, format!("{place}, {what}: only a two-beam station has beams"), &beam.to_string());
        }
    }
}

fn two_beams(c: &mut Check<'_>, place: &str, s: &Station) {
    for (what, beam) in of_beams(s) {
        match beam {
            None => c.missing(&format!("{place}, {what}"), "beam", "a two-beam station"),
            Some(1 | 2) => {}
            Some(n) => c.add(codes::line::OUT_OF_RANGE, format!("{place}, {what}: beams are 1 and 2"), &n.to_string()),
        }
    }
    for beam in [1, 2] {
        let heads = s.head.iter().filter(|h| h.beam == Some(beam)).count();
        if heads != 1 {
            c.add(codes::line::OUT_OF_RANGE, format!("{place}: beam {beam} carries {heads} heads, not one"), &heads.to_string());
        }
    }
    for h in s.head.iter().filter(|h| h.kind == HeadKind::Dispense) {
        c.add(codes::line::OUT_OF_RANGE, format!("{place}: a beam of two carries a head that places"), &h.name);
    }
    without(c, place, "a two-beam station", &[("head_swap", s.head_swap.is_some()), ("inspection", s.inspection.is_some())]);
}

fn turret(c: &mut Check<'_>, place: &str, s: &Station) {
    without(
        c,
        place,
        "a turret",
        &[("head_swap", s.head_swap.is_some()), ("nozzle_rack", s.nozzle_rack.is_some()), ("tray", !s.tray.is_empty())],
    );
    if s.head.len() > 1 {
        c.add(codes::line::OUT_OF_RANGE, format!("{place}: the drum is the only head of a turret"), &s.head.len().to_string());
    }
    for h in s.head.iter().filter(|h| h.kind != HeadKind::Rotary) {
        c.add(codes::line::OUT_OF_RANGE, format!("{place}: the head of a turret is its drum, of kind rotary"), h.kind.word());
    }
    for h in s.head.iter().filter(|h| h.sight.as_ref().is_some_and(|x| x.mode == SightMode::Camera)) {
        c.add(codes::line::OUT_OF_RANGE, format!("{place}: a drum that stands still carries its parts to no camera"), &h.name);
    }
    let Some(t) = &s.turret else {
        c.missing(place, "turret", "a turret");
        return;
    };
    check_axis(c, &format!("{place}: turret.carriage"), &t.carriage);
    c.positive(format!("{place}: turret.nozzles_per_head"), t.nozzles_per_head.into(), &t.nozzles_per_head.to_string());
    if s.head.first().is_some_and(|h| t.gap >= h.spindles) {
        c.add(codes::line::OUT_OF_RANGE, format!("{place}: turret.gap must be less than the drum's spindles"), &t.gap.to_string());
    }
}

fn without(c: &mut Check<'_>, place: &str, kind: &str, keys: &[(&str, bool)]) {
    for (key, _) in keys.iter().filter(|(_, there)| *there) {
        c.add(codes::line::OUT_OF_RANGE, format!("{place}: {kind} has no `{key}`"), key);
    }
}
