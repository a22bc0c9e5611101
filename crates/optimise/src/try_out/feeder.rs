//! A feeder goes to other slots of its station; feeders that stand there come to where it stood.

use super::{Refused, Run, lies, number, settled};
use crate::station::timing::STROKE_TOLERANCE;
use diag::{Finding, codes::change as code};
use domain::job::Job;
use domain::line::HeadKind;
use domain::plan::{Pick, Plan, StationPlan, Stroke, SupplyPlace, Trip, Work, pick_point};
use domain::rules::Lock;
use motion::{Clock, StationClock};
use units::Point;

/// The plan with a supply of a station moved to slots of one of its banks, the station timed anew.
///
/// Trips, their picks and placements stay as they are; of inline heads strokes are split and joined, and picks
/// that were swept along the bank are swept again where that is faster. Indices must exist; `slot` is counted from 1.
///
/// # Errors
/// A finding of the area `change`, when the feeder cannot stand there.
pub fn move_feeder(plan: &Plan, job: &Job<'_>, station: usize, supply: usize, bank: u32, slot: u32) -> Result<Plan, Vec<Finding>> {
    let moving = moving(plan, station, supply, bank, slot)?;
    let mut new = plan.clone();
    for (i, run) in &moving {
        if let SupplyPlace::Feeder { bank, slot, .. } = &mut new.stations[station].supplies[*i].place {
            (*bank, *slot) = (run.bank, run.slot);
        }
    }
    let moved: Vec<u32> = moving.iter().map(|(i, _)| *i as u32).collect();
    let clock = Clock::new(&plan.line, job);
    let mut timed = Vec::new();
    for swept in [false, true] {
        let mut formed = new.stations[station].clone();
        Strokes::new(plan, &new, station, clock.station(station)).form(&mut formed, &moved, swept);
        let wrong = |e: motion::ClockError| vec![Finding::new(code::PROGRAM, format!("the station cannot be timed: {}", e.0))];
        formed.breakdown = clock.time(station, &formed).map_err(wrong)?;
        formed.time_us = formed.breakdown.total();
        timed.push(formed);
    }
    if let Some(best) = timed.into_iter().min_by_key(|s| s.time_us) {
        new.stations[station] = best;
    }
    Ok(settled(new))
}

/// What moves where: the feeder, then those whose slots it takes, one after the other from where it stood.
fn moving(plan: &Plan, station: usize, supply: usize, bank: u32, slot: u32) -> Result<Vec<(usize, Run)>, Refused> {
    let (sheet, supplies) = (&plan.line.station[station], &plan.stations[station].supplies);
    let name = |i: usize| number(plan, supplies[i].part.index());
    let runs: Vec<Option<Run>> = supplies.iter().map(|s| Run::of(&plan.line, &s.place)).collect();
    let Some(from) = runs[supply] else {
        let text = format!("`{}` comes in trays, which do not stand on a bank", name(supply));
        return Err(vec![Finding::new(code::SUPPLY, text).value(name(supply))]);
    };
    let to = Run { bank, slot, ..from };
    if to == from {
        let text = format!("the feeder of `{}` stands there already", name(supply));
        return Err(vec![Finding::new(code::NOTHING, text).value(slot.to_string())]);
    }
    lies(plan, station, to)?;
    let banks = &sheet.bank;
    if banks[from.bank as usize].beam != banks[bank as usize].beam {
        let text = format!("bank `{}` is that of the other beam, which does not pick `{}`", banks[bank as usize].name, name(supply));
        let hint = "Move the part's work to the other head: its feeder comes along.";
        return Err(vec![Finding::new(code::SUPPLY, text).value(&banks[bank as usize].name).hint(hint)]);
    }
    let mut others: Vec<(usize, Run)> =
        runs.iter().enumerate().filter_map(|(i, run)| Some((i, (*run)?))).filter(|(i, run)| *i != supply && run.meets(to)).collect();
    others.sort_by_key(|(_, run)| run.slot);
    for (i, run) in std::iter::once((supply, to)).chain(others.iter().copied()) {
        if let Some(why) = held(plan, station, i, run) {
            return Err(vec![Finding::new(code::RULES, format!("the feeder of `{}` cannot move: {why}", name(i))).value(name(i))]);
        }
    }
    // From the slot it leaves, or as far before it as keeps one of those in it: wider ones come back to where they stood.
    let width: u32 = others.iter().map(|(_, run)| run.width).sum();
    let mut blocked = None;
    for back in 0..width.max(1).min(from.slot) {
        let mut first = from.slot - back;
        let mut moving = vec![(supply, to)];
        for (i, run) in &others {
            moving.push((*i, Run { bank: from.bank, slot: first, width: run.width }));
            first += run.width;
        }
        let wrong = moving.iter().enumerate().skip(1).find_map(|(k, _)| Some((moving[k].0, in_its_way(plan, station, &runs, &moving, k)?)));
        match wrong {
            None => return Ok(moving),
            Some(wrong) => blocked = blocked.or(Some(wrong)),
        }
    }
    let (i, why) = blocked.unwrap_or((supply, String::new()));
    let text = format!("`{}` stands there and cannot go to where `{}` stands: {why}", name(i), name(supply));
    Err(vec![Finding::new(code::IN_THE_WAY, text).value(name(i))])
}

/// What keeps the `k`th of the feeders that move from its new slots.
fn in_its_way(plan: &Plan, station: usize, runs: &[Option<Run>], moving: &[(usize, Run)], k: usize) -> Option<String> {
    let (i, run) = moving[k];
    let stays = (0..runs.len()).filter(|j| !moving.iter().any(|(m, _)| m == j));
    let mut others = stays.filter_map(|j| Some((j, runs[j]?))).chain(moving[..k].iter().copied());
    let name = |j: usize| number(plan, plan.stations[station].supplies[j].part.index());
    let other = others.find(|(_, other)| other.meets(run)).map(|(j, _)| format!("`{}` is in its way there", name(j)));
    other.or_else(|| lies(plan, station, run).err().map(|f| f[0].message.clone())).or_else(|| held(plan, station, i, run))
}

/// What of the rules binds a feeder to where it stands, or keeps it from where it is to stand.
fn held(plan: &Plan, station: usize, supply: usize, to: Run) -> Option<String> {
    let (sheet, at) = (&plan.line.station[station], &plan.stations[station].supplies[supply]);
    let part = number(plan, at.part.index());
    let from = Run::of(&plan.line, &at.place)?;
    let bank = |run: Run| sheet.bank[run.bank as usize].name.as_str();
    let kept = |k: &domain::rules::Keep| {
        k.part == part && k.station == sheet.name && k.bank.as_deref() == Some(bank(from)) && k.slot == Some(from.slot)
    };
    if plan.rules.keep.iter().any(kept) {
        return Some(format!("a keep entry keeps it on bank `{}`, slot {}", bank(from), from.slot));
    }
    let away = |l: &Lock| l.bank.as_deref().is_some_and(|b| b != bank(to)) || l.slot.is_some_and(|s| s != to.slot);
    let here = |l: &Lock| l.part == part && l.station.as_deref().is_none_or(|s| s == sheet.name);
    plan.rules.lock.iter().any(|l| here(l) && away(l)).then(|| "a lock binds it to its place".to_owned())
}

/// Strokes of a station's inline heads after feeders have moved.
struct Strokes<'s> {
    clock: &'s StationClock,
    kinds: Vec<HeadKind>,
    /// Pick point of each supply before and after.
    old: Vec<Point>,
    new: Vec<Point>,
}

impl<'s> Strokes<'s> {
    fn new(before: &Plan, after: &Plan, station: usize, clock: &'s StationClock) -> Self {
        let points = |plan: &Plan| {
            let at = |s: &domain::plan::SupplyAt| pick_point(&plan.line, station, &s.place).unwrap_or_default();
            plan.stations[station].supplies.iter().map(at).collect()
        };
        let kinds = after.line.station[station].head.iter().map(|h| h.kind).collect();
        Self { clock, kinds, old: points(before), new: points(after) }
    }

    /// Forms the strokes of trips anew that pick from what moved, swept again or in the order they had.
    fn form(&self, station: &mut StationPlan, moved: &[u32], swept: bool) {
        for pass in &mut station.passes {
            let head = pass.head as usize;
            let Work::Place { trips, .. } = &mut pass.work else { continue };
            if self.kinds.get(head) != Some(&HeadKind::Inline) {
                continue;
            }
            let concerned = |t: &&mut Trip| t.strokes.iter().flat_map(|s| &s.0).any(|p| moved.contains(&p.supply));
            for trip in trips.iter_mut().filter(concerned) {
                let picks: Vec<Pick> = trip.strokes.iter().flat_map(|s| &s.0).copied().collect();
                let sweep = (0..4u8).find(|k| swept && self.sweep(head, &self.old, &picks, *k) == picks);
                let picks = sweep.map_or_else(|| picks.clone(), |k| self.sweep(head, &self.new, &picks, k));
                trip.strokes = self.joined(head, picks);
            }
        }
    }

    fn want(&self, head: usize, points: &[Point], pick: Pick) -> Point {
        self.clock.reference(head, pick.spindle, points[pick.supply as usize])
    }

    /// Picks row by row along X, as the search orders those of inline heads; bit 0 turns the way along, bit 1 the rows.
    fn sweep(&self, head: usize, points: &[Point], picks: &[Pick], sweep: u8) -> Vec<Pick> {
        let turn = |bit: u8, x: i64| if sweep & bit == 0 { x } else { -x };
        let mut sorted = picks.to_vec();
        sorted.sort_by_key(|p| {
            let want = self.want(head, points, *p);
            (turn(2, want.y.0), turn(1, want.x.0), p.spindle)
        });
        sorted
    }

    /// Picks that follow each other and want the head at one place are one stroke.
    fn joined(&self, head: usize, picks: Vec<Pick>) -> Vec<Stroke> {
        let mut strokes: Vec<Stroke> = Vec::new();
        for pick in picks {
            let joins = |s: &&mut Stroke| {
                let d = self.want(head, &self.new, pick) - self.want(head, &self.new, s.0[0]);
                d.x.0.abs() <= STROKE_TOLERANCE && d.y.0.abs() <= STROKE_TOLERANCE
            };
            match strokes.last_mut().filter(joins) {
                Some(stroke) => stroke.0.push(pick),
                None => strokes.push(Stroke(vec![pick])),
            }
        }
        strokes
    }
}
